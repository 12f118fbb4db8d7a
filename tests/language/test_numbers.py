"""Figures in a language with a decimal comma: people read 7,1, machines read 7.1."""

import json
import re
from html.parser import HTMLParser
from typing import Any

import pytest
from django.urls import reverse
from django.utils import translation
from django.utils.translation import trans_real

from apps.advice.explaining import ASSUMPTIONS, FORMULAS
from apps.flows.letters import compose
from apps.flows.visit_letters import appointment_letters
from apps.reports.rendering.document import html_of
from tests import factories
from tests.language.conftest import everybody_reads
from tests.language.reading import read
from tests.language.test_pages import Fields
from tests.office.conftest import Desk, desk, empty, no_broker, standing_clock  # noqa: F401

# 1.500 is one thousand five hundred in German
POINT = re.compile(r"(?<![\d.,])\d+\.(?!\d{3}(?!\d))\d+(?![\d.])")
COMMA = re.compile(r"(?<![\d.,])\d+,\d+(?![\d.])")
# sentences whose figures are the translators' to write
SENTENCES = {str(text) for text in (*FORMULAS.values(), *ASSUMPTIONS.values())}


@pytest.fixture
def german(monkeypatch: pytest.MonkeyPatch, settings: Any) -> None:
    """The office and its clients read German."""
    monkeypatch.setattr(trans_real, "_default", None)
    settings.LANGUAGE_CODE = "de"
    translation.activate("de")


@pytest.fixture
def written(desk: Desk, german: None) -> Any:  # noqa: F811
    """A visit with readings that have decimals."""
    everybody_reads("de")
    visit = desk.written_up(
        ph=(7.14, ""), temp=(27.5, "°C"), tan=(0.25, "mg/L"), ec=(1.23, "mS/cm")
    )
    desk.drawn(visit)
    return visit


class Machine(HTMLParser):
    """Gathers what programs read: data- attributes, inputs of type number, drawings."""

    def __init__(self) -> None:
        super().__init__()
        self.held: list[tuple[str, str]] = []
        self.drawn: list[tuple[str, str]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        held = {name: value or "" for name, value in attrs}
        for name, value in held.items():
            if name.startswith("data-") or (
                name == "value" and held.get("type") in ("number", "hidden")
            ):
                self.held.append((f"{tag}[{name}]", value))
            if name in (
                "x",
                "y",
                "x1",
                "x2",
                "y1",
                "y2",
                "cx",
                "cy",
                "r",
                "width",
                "height",
                "viewbox",
            ):
                self.drawn.append((f"{tag}[{name}]", value))


def pointed(html: str) -> list[str]:
    """What a person reads with a decimal point."""
    texts = (text for where, text in read(html) if where != "style" and text not in SENTENCES)
    return [text for text in texts if POINT.search(text)]


def test_people_read_commas_and_machines_points(desk: Desk, written: Any) -> None:  # noqa: F811
    system = desk.built.system
    commas = 0
    for name, key in (("visit", written.pk), ("system", system.pk), ("place", system.place_id)):
        html = desk.get(name, key).content.decode()
        assert 'lang="de"' in html
        commas += sum(len(COMMA.findall(text)) for _where, text in read(html))
        assert not pointed(html), name
        page = Machine()
        page.feed(html)
        assert not [item for item in page.held if COMMA.fullmatch(item[1])]
        assert page.drawn or name == "place"
        assert not [item for item in page.drawn if "," in item[1]]
    assert commas >= 10


def test_report_and_its_data(written: Any) -> None:
    snapshot = written.reports.get().versions.get().snapshot
    html = html_of(snapshot)
    assert "7,14" in html
    assert not pointed(html)
    assert '"value": 7.14' in json.dumps(snapshot)


def test_api_csv_and_calendar(desk: Desk, written: Any) -> None:  # noqa: F811
    found = desk.browser.get(
        f"/api/v1/systems/{desk.built.system.pk}", headers={"Accept-Language": "de"}
    )
    assert found.status_code == 200
    assert json.loads(found.content)
    csv = desk.browser.get(reverse("office:reference_csv", args=["species"])).getvalue().decode()
    assert not [cell for cell in re.split(r"[\t;\r\n]", csv) if COMMA.fullmatch(cell)]
    visit = desk.booked()
    letter = appointment_letters(visit, "appointment", factories.NOW)[0]
    parts = [p for p in compose(letter).attachments if "calendar" in str(p[2])]
    assert parts
    assert f"{visit.start:%Y%m%dT%H%M%S}" in str(parts[0][1])


def test_typed_figures_come_back_as_they_are_taken(desk: Desk, german: None) -> None:  # noqa: F811
    desk.built.raft.area_m2 = 2.5
    desk.built.raft.save()
    page = desk.get("component_edit", desk.built.raft.pk).content.decode()
    fields = Fields()
    fields.feed(page)
    # a field takes 2,5 as well as 2.5
    assert fields.names["area_m2"] == "2.5"
