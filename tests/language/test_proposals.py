"""A proposal and a survey sheet in the pseudo language: each sentence, each unit, each refusal."""

from typing import Any

import pytest
from django.utils import translation

from apps.accounts.selectors import firm_current
from apps.calc.design.survey import Concern
from apps.catalogue.selectors import catalogue_current
from apps.proposals.design_words import DOUBTS
from apps.proposals.models import Proposal, SiteSurvey
from apps.proposals.rendering.document import html_of, survey_html
from apps.proposals.snapshots import snapshot_of
from apps.proposals.survey_words import CONCERNS, concern_words
from tests import factories
from tests.language.clients import untranslated
from tests.language.conftest import everybody_reads, plain_on
from tests.language.pseudo import CODE, Pseudo
from tests.office.conftest import Desk, desk, empty, no_broker, standing_clock  # noqa: F401
from tests.proposals.examples import EXAMPLES, Example
from tests.proposals.test_examples import proposed, undrawn  # noqa: F401


def paper(row: Proposal) -> dict[str, Any]:
    """What a proposal says, in the pseudo language."""
    firm = firm_current()
    return snapshot_of(row, version=1, firm=firm, contact=None, at=factories.NOW)


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda e: e.name)
def test_a_proposal(desk: Desk, pseudo: Pseudo, example: Example) -> None:  # noqa: F811
    row = proposed(desk, example)
    everybody_reads()
    row.extras, row.hours, row.rate = [{"text": "Crane", "amount": 10_000}], 100, 480_000
    row.words, row.left_out = "Words", "Pergola"
    for prices, tax in (({}, None), ({"tank": 5_500}, None), (row.prices, 2_100)):
        row.prices, row.tax = prices, tax
        row.save()
        held = paper(row)
        pseudo.seen.clear()
        page = html_of(held)
        assert f'lang="{CODE}"' in page
        assert not (plain := plain_on(page)), plain
        assert not untranslated(pseudo.seen)


def test_every_concern_and_doubt(desk: Desk, pseudo: Pseudo) -> None:  # noqa: F811
    snapshot = paper(proposed(desk, EXAMPLES[0])) | {
        "language": CODE,
        "concerns": [{"code": c, "level": "stop", "figure": 3.5} for c in CONCERNS],
        "doubts": [
            {"code": code, "figures": [[name, 7.0] for name in (
                "summer", "winter", "limit", "watts", "load", "floor", "alkalinity", "minutes",
                "low", "high", "made", "taken", "needed", "supply",
            )]}
            for code in DOUBTS
        ],
    }  # fmt: skip
    assert not (plain := plain_on(html_of(snapshot))), plain


def test_every_concern_has_its_sentence() -> None:
    for code, text in CONCERNS.items():
        said = concern_words(Concern(code, "care", 3.5))
        assert "%" not in said.replace("1 %", "")
        assert ("3.5" in said) == ("figure" in str(text)), code


def test_a_survey_blank_and_filled_in(desk: Desk, pseudo: Pseudo) -> None:  # noqa: F811
    proposed(desk, EXAMPLES[2])
    for row in (None, SiteSurvey.objects.get()):
        with translation.override(CODE):
            page = survey_html(
                desk.place, row, firm=firm_current(), catalogue=catalogue_current(),
                at=factories.NOW,
            )  # fmt: skip
        assert not (plain := plain_on(page)), plain
