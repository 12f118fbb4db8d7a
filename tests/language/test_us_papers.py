"""Whole papers and letters for a reader of US units: no figure in another unit is left on them."""

import datetime as dt
import re
from typing import Any

import pytest
from django.core.mail import EmailMultiAlternatives
from django.utils import translation

from apps.accounts.selectors import firm_current
from apps.batches.models import Picking, Planting
from apps.clients.choices import Units
from apps.clients.models import Contact
from apps.core.measures import METRIC, US
from apps.flows.letters import compose
from apps.flows.weather_watching import send_list
from apps.proposals.rendering.document import html_of as proposal_html
from apps.proposals.services.proposals import _snapshot_now
from apps.reports.models import Letter, ReportVersion
from apps.reports.rendering.document import html_of
from apps.reports.snapshot_summary import summary_of
from apps.systems.models import System
from apps.visits.models import Visit
from tests import factories
from tests.language.test_told import BAD, seen_before
from tests.office.conftest import Desk, desk, empty, no_broker, standing_clock  # noqa: F401
from tests.proposals.examples import EXAMPLES
from tests.proposals.test_examples import proposed

METRIC_FIGURE = re.compile(
    r"\d[\s\u00a0](?:°C|L|mL|g|kg|m²|m|cm|mm|L/h|L/min|L/day|g/day|kg/m³|kg/m²|litres?|grams?)(?![\w/²³])"
)


# of names: to what conductivity is referred, what pellets and pots are sold as
NAMES = ("25 °C", "2–6 mm", "75 mm")


def left_over(html: str) -> list[str]:
    """Return the metric figures of a paper; exact grams in brackets beside ounces are meant."""
    text = re.sub(r"[\u2066-\u2069]", "", re.sub(r"<[^>]+>", " ", html))
    for name in NAMES:
        text = text.replace(name, "")
    text = re.sub(r"\([^()]*\u00a0(?:g|mL)\)", "", text)
    return [text[max(0, m.start() - 40) : m.end() + 20] for m in METRIC_FIGURE.finditer(text)]


@pytest.fixture
def visit(desk: Desk) -> Visit:  # noqa: F811
    """A written-up visit with bad readings; its client reads US units."""
    Contact.objects.update(units=Units.US)
    seen_before(desk.built)
    made = desk.written_up(**BAD)
    desk.drawn(made)
    return made


@pytest.mark.parametrize("language", ["en", "es", "ar"])
def test_a_report(desk: Desk, visit: Visit, language: str) -> None:  # noqa: F811
    kept = ReportVersion.objects.get().snapshot
    assert kept["units"] == US
    html = html_of(kept | {"language": language})
    assert "°F" in html
    assert left_over(html) == []
    metric = html_of(kept | {"units": METRIC})
    assert "°F" not in metric
    assert left_over(metric)


@pytest.fixture
def summary(visit: Visit) -> dict[str, Any]:
    """A quarter's summary for the same reader: two kilograms picked, forty litres poured."""
    system = System.objects.select_related("place__client").get()
    Picking.objects.create(
        planting=Planting.objects.first(), on=factories.TODAY, mass_kg=2.0, heads=3
    )
    kept = summary_of(
        system, factories.TODAY - dt.timedelta(days=90), factories.TODAY, number=2, version=1,
        firm=firm_current(), contact=Contact.objects.get(), at=factories.NOW,
    )  # fmt: skip
    return kept | {"supplies": [{"item": "Rain water", "unit": "L", "amount": 40.0}]}


@pytest.mark.parametrize("language", ["en", "es", "ar"])
def test_a_summary(summary: dict[str, Any], language: str) -> None:
    assert summary["units"] == US
    html = html_of(summary | {"language": language})
    assert "°F" in html
    assert left_over(html) == []
    metric = html_of(summary | {"units": METRIC})
    assert "°F" not in metric
    assert left_over(metric)


@pytest.mark.outside(
    source="NIST Special Publication 811 (2008), appendix B.8", kind="memory", tolerance=0.05,
    absolute=True,
)  # fmt: skip
def test_a_summarys_values_and_bands(summary: dict[str, Any], outside: Any) -> None:
    """As exact as the kilograms and litres were; a band is never wider inside than it was."""
    row = next(row for row in summary["readings"] if row["measurand"] == "temp")
    row["band"] = {"t_lo": 22.2, "t_hi": 27.3, "red_lo": None, "red_hi": None}
    html = html_of(summary).replace("\xa0", " ")
    said = {
        "°F": re.search(r">(\d+\.\d)</td><td class=\"unit\">°F<", html),
        "lb": re.search(r"Together (\d+\.\d) lb", html),
        "US gal": re.search(r"Rain water, (\d+\.\d) US gal", html),
    }
    for unit, exact in (
        ("°F", 31.0 * 1.8 + 32), ("lb", 2.0 / 0.45359237), ("US gal", 40.0 / 3.785411784),
    ):  # fmt: skip
        found = said[unit]
        assert found, unit
        outside(float(found[1]), exact)
    # 71.96 and 81.14 °F, away from the middle
    assert ">71.9 to 81.2<" in html


def test_a_letter_about_it(desk: Desk) -> None:  # noqa: F811
    Contact.objects.update(units=Units.US)
    visit = desk.written_up(temp=(31.0, "°C"))
    desk.drawn(visit)
    desk.post("visit_release", visit.pk)
    message = compose(Letter.objects.get(kind="report"))
    assert isinstance(message, EmailMultiAlternatives)
    html = str(message.alternatives[0].content)
    for text in (str(message.body), html):
        assert "°F" in text
        assert left_over(text) == []


def test_a_list_before_heat(desk: Desk) -> None:  # noqa: F811
    Contact.objects.update(units=Units.US)
    send_list(kind="heat", systems=[desk.built.system], words="", by=desk.actor, at=factories.NOW)
    text = str(compose(Letter.objects.get(kind="weather")).body)
    assert "below 78 °F" in text
    assert "250 US gallons" in text
    assert left_over(text) == []


@pytest.mark.parametrize("language", ["en", "es", "ar"])
@pytest.mark.parametrize("example", EXAMPLES, ids=lambda row: row.name)
def test_a_proposal(desk: Desk, example: object, language: str) -> None:  # noqa: F811
    Contact.objects.update(units=Units.US)
    row = proposed(desk, example)  # type: ignore[arg-type]
    kept = _snapshot_now(row, 1, factories.NOW)
    assert kept["units"] == US
    with translation.override("en"):
        html = proposal_html(kept | {"language": language})
    assert left_over(html) == []
    assert left_over(proposal_html(kept | {"units": METRIC}))
