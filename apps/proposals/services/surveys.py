"""Changes of surveys: kept with their water, and their photos."""

import datetime as dt
from collections.abc import Mapping
from typing import Any
from uuid import UUID

from django.db import transaction
from django.db.models import F
from django.utils.translation import gettext as _

from apps.accounts.services import audit
from apps.clients.models import Place, SourceWater
from apps.clients.services import photos_admit
from apps.core.exceptions import Conflict, StaleVersion
from apps.core.scoping import Actor
from apps.proposals.models import SiteSurvey, SurveyPhoto
from apps.proposals.survey_words import WATER
from apps.visits.services.photos import Drawn, caption_of, photo_draw
from apps.visits.services.steps import author

MOST_PHOTOS = 24  # of one survey


@transaction.atomic
def survey_save(
    *,
    place: Place,
    values: Mapping[str, Any],
    by: Actor,
    at: dt.datetime,
    survey: SiteSurvey | None = None,
    rev: int = 0,
) -> SiteSurvey:
    """Keep a survey of a place, or a change of one that is based on `rev`; its water beside it.

    Raises ValidationError naming the field, StaleVersion where somebody else was quicker.
    """
    row = survey or SiteSurvey(place=place, made_at=at, made_by=author(by))
    if survey is not None and not SiteSurvey.objects.filter(pk=row.pk, rev=rev).update(
        rev=F("rev") + 1
    ):
        raise StaleVersion(_("Somebody else changed this; read it again."))
    for name, value in values.items():
        if name not in WATER:
            setattr(row, name, value)
    row.changed_at, row.changed_by = at, author(by)
    row.water = _water(row, {name: values.get(name) for name in WATER}, by, at)
    row.rev = rev + 1
    row.full_clean()
    row.save()
    verb = "made" if survey is None else "changed"
    audit(at=at, by=by, verb=verb, kind="sitesurvey", object_id=row.pk)
    return row


def _water(
    survey: SiteSurvey, typed: dict[str, Any], by: Actor, at: dt.datetime
) -> SourceWater | None:
    """Return the day's measurement of the place's source water, made or brought up to date."""
    if typed["ph"] is None:
        return None
    same_day = SourceWater.objects.filter(place=survey.place, on=survey.on).first()
    row = same_day or SourceWater(place=survey.place, on=survey.on)
    for name, value in typed.items():
        setattr(row, name, bool(value) if name == "chloramine" else value)
    row.full_clean()
    row.save()
    audit(at=at, by=by, verb="measured", kind="sourcewater", object_id=row.pk, change=typed)
    return row


def survey_photo_keep(
    *, survey: SiteSurvey, pk: UUID, data: bytes, caption: str, by: Actor, at: dt.datetime
) -> SurveyPhoto:
    """Keep a photo of the site with its survey; the same key again is the same photo.

    Raises Invalid for what is not a picture or too large, Conflict where there are too many.
    """
    held = SurveyPhoto.objects.filter(pk=pk).first()
    if held is not None:
        if held.survey_id != survey.pk:
            raise Conflict(_("This key belongs to another photo."), "key_reused")
        return held
    return survey_photo_add(
        survey=survey, pk=pk, drawn=photo_draw(data), caption=caption_of(caption), by=by, at=at
    )


def survey_photo_add(
    *, survey: SiteSurvey, pk: UUID, drawn: Drawn, caption: str, by: Actor, at: dt.datetime
) -> SurveyPhoto:
    """Add a picture that was drawn already, for which there is no time within a transaction.

    The same key at the same moment is the same photo. Raises Conflict where there are too many,
    and where the client wants none.
    """
    photos_admit(survey.place.client)
    with transaction.atomic():
        SiteSurvey.objects.select_for_update().get(pk=survey.pk)
        held = SurveyPhoto.objects.filter(pk=pk, survey=survey).first()
        if held is not None:
            return held
        numbers = [p.number for p in SurveyPhoto.objects.filter(survey=survey)]
        if len(numbers) >= MOST_PHOTOS:
            raise Conflict(
                _("A survey has at most %(count)d photos: take one away first.")
                % {"count": MOST_PHOTOS}, "too_many",
            )  # fmt: skip
        row = SurveyPhoto.objects.create(
            pk=pk,
            survey=survey,
            number=max(numbers, default=0) + 1,
            caption=caption,
            **vars(drawn),
            kept_at=at,
            kept_by=author(by),
        )
        audit(at=at, by=by, verb="added photo", kind="sitesurvey", object_id=survey.pk)
    return row


@transaction.atomic
def survey_photo_remove(*, photo: SurveyPhoto, by: Actor, at: dt.datetime) -> None:
    """Take a photo out of its survey."""
    audit(at=at, by=by, verb="took photo out", kind="sitesurvey", object_id=photo.survey_id,
          change={"photo": str(photo.pk), "caption": photo.caption})  # fmt: skip
    photo.delete()
