"""Surveys, prices and proposals: kept, drawn, sent, answered, built."""

from apps.proposals.services.proposals import (
    VALID_DAYS,
    prices_set,
    proposal_answer,
    proposal_build_begin,
    proposal_built,
    proposal_change,
    proposal_make,
    version_is_current,
    version_make,
)
from apps.proposals.services.sent import (
    version_sendable,
    version_sent,
    word_add,
    word_seen,
)
from apps.proposals.services.surveys import (
    survey_photo_add,
    survey_photo_keep,
    survey_photo_remove,
    survey_save,
)

__all__ = [
    "VALID_DAYS",
    "prices_set",
    "proposal_answer",
    "proposal_build_begin",
    "proposal_built",
    "proposal_change",
    "proposal_make",
    "survey_photo_add",
    "survey_photo_keep",
    "survey_photo_remove",
    "survey_save",
    "version_is_current",
    "version_make",
    "version_sendable",
    "version_sent",
    "word_add",
    "word_seen",
]
