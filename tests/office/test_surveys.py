"""Surveys of a site: kept with who and when, refused beside the field, and where a design begins."""

from typing import Any

import pytest

from apps.accounts.models import AuditEntry
from apps.clients.models import SourceWater
from apps.core import clock
from apps.proposals.models import SiteSurvey
from apps.reports.rendering.child import CHILD, RenderFailed
from tests import factories
from tests.office.conftest import Desk

SEEN = {
    "on": "2026-06-10", "surveyed_by": "Ana Reyes", "rev": "0", "wants": "Greens for five",
    "species": "nile_tilapia", "allowed": "permit", "allowed_by": "Fisheries office",
    "consent": "own", "length_m": "6,5", "width_m": "4", "ground": "deck", "floor_kg_m2": "1200",
    "sun_hours": "3.5", "winter_c": "16", "summer_c": "29", "source": "tap", "ph": "7.4",
    "alkalinity_mg_l_caco3": "140", "total_chlorine_mg_l": "0.6", "rcd": "none", "earthed": "yes",
    "socket_m": "8", "narrowest_m": "0.85", "drain": "garden",
}  # fmt: skip


def keep(desk: Desk, **change: str) -> SiteSurvey:
    """Write a survey down."""
    answer = desk.post("survey_new", desk.place.pk, **(SEEN | change))
    assert answer.status_code == 302, answer.context["form"].errors
    return SiteSurvey.objects.latest("made_at")


def test_a_survey_is_kept_with_who_and_when(desk: Desk) -> None:
    row = keep(desk)
    assert (row.length_m, row.width_m, row.rcd, row.rev) == (6.5, 4.0, "none", 1)
    assert row.frost_days is None
    assert row.made_at == row.changed_at == clock.now()
    assert row.made_by == row.changed_by == f"office:{desk.office.pk}"
    assert AuditEntry.objects.filter(kind="sitesurvey", verb="made", object_id=row.pk).exists()


def test_its_water_becomes_the_source_water_of_the_place(desk: Desk) -> None:
    row = keep(desk)
    water = SourceWater.objects.get(place=desk.place, on="2026-06-10")
    assert row.water == water
    assert (water.ph, water.alkalinity_mg_l_caco3, water.total_chlorine_mg_l) == (7.4, 140, 0.6)
    assert (water.tan_mg_l, water.chloramine, water.temp_c) == (0, False, None)


def test_a_survey_without_water_leaves_the_record_alone(desk: Desk) -> None:
    before = SourceWater.objects.count()
    row = keep(desk, ph="", alkalinity_mg_l_caco3="", total_chlorine_mg_l="")
    assert row.water is None
    assert SourceWater.objects.count() == before


def test_the_page_says_what_wants_care_first_what_stops(desk: Desk) -> None:
    page = desk.get("survey", keep(desk).pk)
    said = page.context["concerns"]
    assert said[0] == (
        "There is no residual-current device: a licensed electrician fits one before anything is "
        "plugged in.", True,
    )  # fmt: skip
    text = page.content.decode()
    assert "3.5 h of sun in the weakest month" in text
    assert "Nile tilapia" in text
    assert "Not looked at yet: Power cuts." in text


def test_the_design_begins_with_what_was_measured(desk: Desk) -> None:
    keep(desk)
    boxes = desk.get("design", desk.place.pk).context["form"].initial
    assert boxes == {
        "by": "room", "amount": 26.0, "winter_c": 16.0, "summer_c": 29.0, "floor_kg_m2": 1200.0,
        "species": "nile_tilapia",
    }  # fmt: skip
    wish = {
        "by": "beds", "amount": "4", "crop_group": "leafy", "bed_kind": "raft", "lift_m": "1.5",
        "species": "nile_tilapia", "winter_c": "18", "summer_c": "30", "pipe_m": "6",
    }  # fmt: skip
    # its alkalinity counts: the source is not unknown any more, nor harder than 250
    doubts = " ".join(desk.get("design", desk.place.pk, **wish).context["answer"]["doubts"])
    assert "source water" not in doubts


@pytest.mark.parametrize(
    ("change", "field", "says"),
    [({"length_m": "wide"}, "length_m", "number"), ({"sun_hours": "25"}, "sun_hours", "0 to 24"),
     ({"summer_c": "10"}, "summer_c", "colder"), ({"ph": ""}, "ph", "pH, alkalinity and"), ({"total_chlorine_mg_l": ""}, "total_chlorine_mg_l", "all three"),
     ({"on": "2031-01-01"}, "on", "ahead"), ({"surveyed_by": ""}, "surveyed_by", "required"),
     ({"rcd": "maybe"}, "rcd", "valid choice"), ({"ph": "72"}, "ph", "3 to 11"),
     ({"allowed": ""}, "allowed", "what they said"), ({"frost_days": "400"}, "frost_days", "365")],
)  # fmt: skip
def test_what_cannot_be_is_refused_beside_its_field_and_nothing_is_kept(
    desk: Desk, change: dict[str, str], field: str, says: str
) -> None:
    waters = SourceWater.objects.count()
    answer = desk.post("survey_new", desk.place.pk, **(SEEN | change))
    assert answer.status_code == 422
    assert says in str(answer.context["form"].errors[field])
    assert not SiteSurvey.objects.exists()
    assert SourceWater.objects.count() == waters


def test_a_change_is_based_on_what_was_seen(desk: Desk) -> None:
    row = keep(desk)
    page = desk.get("survey_edit", row.pk)
    assert 'value="7.4"' in page.content.decode()
    changed = SEEN | {"rev": "1", "rcd": "trips", "ph": "7.6"}
    assert desk.post("survey_edit", row.pk, **changed).status_code == 302
    row.refresh_from_db()
    assert (row.rcd, row.rev, row.water.ph) == ("trips", 2, 7.6)
    # somebody else with the page of before
    answer = desk.post("survey_edit", row.pk, **(SEEN | {"rev": "1", "rcd": "fails"}))
    assert answer.status_code == 422
    assert answer.context["both"] == [
        ("pH", "7.6", "7.4"),
        ("Residual-current device (RCD)", "trips when tested", "does not trip"),
    ]
    row.refresh_from_db()
    assert row.rcd == "trips"


class TestPaper:
    @pytest.fixture
    def drawn(self, monkeypatch: pytest.MonkeyPatch) -> list[tuple[str, str]]:
        """Keep what is to be drawn, and draw nothing."""
        pages: list[tuple[str, str]] = []

        def draw(html: str, style: str, _paper: str, _photos: Any = None) -> bytes:
            pages.append((html, style))
            return b"%PDF-1.7 drawn"

        monkeypatch.setattr(CHILD, "draw", draw)
        return pages

    def test_blank_to_take_along(self, desk: Desk, drawn: list[tuple[str, str]]) -> None:
        answer = desk.get("survey_blank_pdf", desk.place.pk)
        assert answer["Content-Type"] == "application/pdf"
        html, style = drawn[0]
        assert style == "survey"
        assert "Residual-current device (RCD)" in html
        assert html.count('class="fill"') > 20
        assert desk.place.name in html

    def test_filled_in(self, desk: Desk, drawn: list[tuple[str, str]]) -> None:
        answer = desk.get("survey_pdf", keep(desk).pk)
        assert "survey-2026-06-10.pdf" in answer["Content-Disposition"]
        html = drawn[0][0]
        assert 'class="fill"' not in html
        assert "Greens for five" in html
        assert "there is none" in html
        assert "Not looked at yet" in html

    def test_a_paper_that_cannot_be_drawn_is_told(
        self, desk: Desk, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        def draw(*_args: Any) -> bytes:
            raise RenderFailed("the paper could not be drawn: no memory")

        monkeypatch.setattr(CHILD, "draw", draw)
        answer = desk.browser.get(f"/places/{desk.place.pk}/survey.pdf", follow=True)
        assert answer.redirect_chain[0][0] == f"/places/{desk.place.pk}/"
        assert "could not be drawn" in answer.content.decode()


def test_technicians_and_strangers_see_none(desk: Desk) -> None:
    row = keep(desk)
    assert not SiteSurvey.objects.visible_to(factories.actor(desk.ana)).exists()
    assert SiteSurvey.objects.visible_to(desk.actor).get() == row


def test_all_that_was_left_empty_is_named(desk: Desk) -> None:
    text = desk.get("survey", keep(desk).pk).content.decode()
    assert "A design needs that." in text
    left = text.split("Left empty besides: ")[1].split("</p>")[0]
    for name in ("Out of level", "Stairs on the way", "Wind", "Hardness", "Voltage",
                 "Fuse of the circuit", "Longest one in a year", "Children, pets, herons, cats"):  # fmt: skip
        assert name in left
    # what was measured, and the client's own words, are not
    assert "Narrowest way in" not in left
    assert "In their words" not in left


def test_a_design_is_held_against_the_circuit_that_was_found(desk: Desk) -> None:
    wish = {
        "by": "beds", "amount": "60", "crop_group": "leafy", "bed_kind": "raft", "lift_m": "1.5",
        "species": "nile_tilapia", "winter_c": "8", "summer_c": "28", "pipe_m": "6",
    }  # fmt: skip

    def doubts() -> str:
        return " ".join(desk.get("design", desk.place.pk, **wish).context["answer"]["doubts"])

    keep(desk)
    assert "nobody has looked at voltage and fuse: a licensed electrician" in doubts()
    keep(desk, on="2026-06-11", volts="230", amps="10")
    assert "the circuit gives 2,300 W" in doubts()
    assert "a licensed electrician decides on a circuit of its own" in doubts()
    wish |= {"amount": "2", "winter_c": "22"}
    assert "the circuit gives" not in doubts()
