"""Every page of the office opens: with data, and where there is nothing yet."""

from typing import Any

import pytest
from django.contrib.auth import SESSION_KEY
from django.test import Client as Browser
from django.urls import reverse

from apps.batches.models import FishBatch, Planting
from apps.care.models import CareTask
from apps.clients.models import Contact
from apps.reports.models import Letter, Report
from apps.systems.models import Component, Flow, Loop
from apps.visits.models import Photo, Reading, Sheet
from tests import factories
from tests.office.conftest import PDF, Desk

LISTS = ("due", "places", "systems", "letters", "calculators", "reference", "search", "place_new")
OF_PLACE = (
    "place", "place_edit", "client_edit", "contact_new", "links_end", "hours",
    "source_new", "call_new", "system_new",
)  # fmt: skip
OF_SYSTEM = (
    "system", "system_edit", "book", "component_new", "flow_new", "plan", "plan_make", "plan_agreed", "task_new",
    "fish_stock", "treat", "plant_new",
)  # fmt: skip
OF_PART = ("component_edit", "component_swap", "component_remove")
CSV = ("due_csv", "places_csv", "systems_csv", "letters_csv")


@pytest.mark.parametrize("name", LISTS)
def test_lists_open_where_there_is_nothing(empty: Desk, name: str) -> None:
    assert empty.get(name).status_code == 200


@pytest.mark.parametrize("name", CSV)
def test_tables_open_where_there_is_nothing(empty: Desk, name: str) -> None:
    answer = empty.get(name)
    assert answer.status_code == 200
    assert len(b"".join(answer.streaming_content).splitlines()) == 1


def test_lists_and_tables_open_with_data(desk: Desk) -> None:
    desk.drawn(desk.written_up())
    for name in (*LISTS, *CSV):
        assert desk.get(name).status_code == 200, name


def test_pages_of_a_place_and_its_people_open(desk: Desk) -> None:
    desk.drawn(desk.written_up())
    for name in OF_PLACE:
        assert desk.get(name, desk.place.pk).status_code == 200, name
    contact = Contact.objects.get(client=desk.place.client)
    assert desk.get("contact_edit", desk.place.pk, contact.pk).status_code == 200


def test_pages_of_a_system_and_its_parts_open(desk: Desk) -> None:
    system = desk.built.system
    desk.drawn(desk.written_up())
    for name in OF_SYSTEM:
        assert desk.get(name, system.pk).status_code == 200, name
    for name in OF_PART:
        assert desk.get(name, desk.built.raft.pk).status_code == 200, name
    batch, planting = FishBatch.objects.get(), Planting.objects.get()
    for name, row in (
        ("fish_weigh", batch), ("fish_deaths", batch), ("plant_pick", planting),
        ("plant_out", planting), ("task_edit", CareTask.objects.first()),
        ("loop_edit", Loop.objects.get()), ("flow_remove", Flow.objects.first()),
    ):  # fmt: skip
        assert row is not None
        assert desk.get(name, row.pk).status_code == 200, name


def test_a_bare_system_opens_and_says_what_to_do(desk: Desk) -> None:
    desk.post("system_new", desk.place.pk, name="New one", kind="decoupled")
    bare = desk.place.systems.get(name="New one")
    page = desk.get("system", bare.pk).content.decode()
    for words in ("No parts yet", "Nothing has been measured yet.", "never comes due"):
        assert words in page
    assert desk.get("book", bare.pk).status_code == 200


@pytest.mark.parametrize("state", ["pencilled", "booked", "under_way", "written_up", "reported"])
def test_a_visit_opens_in_every_state(desk: Desk, state: str) -> None:
    if state == "pencilled":
        visit = desk.pencil()
    elif state in ("booked", "under_way"):
        visit = desk.booked(start=factories.NOW)
        if state == "under_way":
            desk.post("visit_step", visit.pk, "under_way")
    else:
        visit = desk.written_up()
        desk.drawn(visit)
        if state == "reported":
            desk.post("visit_release", visit.pk)
    answer = desk.get("visit", visit.pk)
    visit.refresh_from_db()
    assert answer.status_code == 200
    assert visit.state == state


def test_figures_of_a_visit_open_to_how_they_came_about(desk: Desk) -> None:
    visit = desk.written_up(
        ph=(7.2, ""), temp=(27.5, "°C"), tan=(0.4, "mg/L"), do=(6.1, "mg/L"), alk=(70, "mg/L CaCO3")
    )
    page = desk.get("visit", visit.pk).content.decode()
    for words in (
        "Un-ionised ammonia as N", "Un-ionised share = 1 /", "Emerson", "0-50 °C", "pH", "7.2",
    ):  # fmt: skip
        assert words in page


def test_a_photo_and_a_report_are_handed_out(desk: Desk) -> None:
    visit = desk.written_up()
    version = desk.drawn(visit)
    answer = desk.get("report_pdf", version.report_id)
    assert answer.content == PDF
    assert answer["Content-Type"] == "application/pdf"
    assert desk.get("report_pdf", version.report_id, version="7").status_code == 404
    name = version.pdf
    photo = Photo.objects.create(
        sheet=Sheet.objects.get(visit=visit), screen=name, small=name, sha256="0" * 64, width=4,
        height=3, taken_at=factories.NOW, by="technician:x",
    )  # fmt: skip
    answer = desk.get("photo", photo.pk, size="small")
    assert answer["Content-Type"] == "image/jpeg"
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert f"/photos/{photo.pk}/" in desk.get("visit", visit.pk).content.decode()


def test_a_report_that_was_never_opened_is_drawn_on_a_word(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    from apps.reports.services import reports

    visit = desk.written_up()
    report = Report.objects.create(
        visit=visit, system=desk.built.system, number=7, made_at=factories.NOW
    )
    answer = desk.get("report_pdf", report.pk)
    assert answer.url == reverse("office:report_draw", args=[report.pk])
    monkeypatch.setattr(reports.CHILD, "render", lambda *_args: PDF)
    assert desk.get("report_draw", report.pk).status_code == 200
    assert report.versions.count() == 0
    desk.post("report_draw", report.pk)
    assert report.versions.count() == 1


def test_the_rest_of_the_forms_open(desk: Desk) -> None:
    visit = desk.written_up()
    desk.drawn(visit)
    reading, letter = Reading.objects.first(), Letter.objects.first()
    assert reading is not None
    assert letter is not None
    coming = desk.booked(start=factories.NOW + factories.dt.timedelta(days=2))
    for name, args in (
        ("reading_correct", [reading.pk]), ("letter", [letter.pk]), ("letter_again", [letter.pk]),
        ("letter_arrived", [letter.pk]), ("visit_release", [visit.pk]),
        ("visit_step", [visit.pk, "under_way"]), ("visit_step", [coming.pk, "called_off"]),
        ("visit_move", [coming.pk]), ("visit_answer", [coming.pk]),
    ):  # fmt: skip
        assert desk.get(name, *args).status_code == 200, name


def test_unknown_rows_are_not_there(desk: Desk) -> None:
    nobody = "00000000-0000-4000-8000-000000000000"
    for name in ("system", "place", "visit", "letter", "book", "photo", "report_pdf"):
        assert desk.get(name, nobody).status_code == 404, name
    assert desk.get("calculator", "nonsense").status_code == 404
    assert desk.get("reference_kind", "nonsense").status_code == 404


def test_system_page_asks_the_same_number_of_queries(desk: Desk, same_queries: Any) -> None:
    desk.written_up()

    def grow() -> None:
        loop = desk.built.loop
        for number in range(6):
            Component.objects.create(loop=loop, kind="probe", name=f"Probe {number}")
            FishBatch.objects.create(
                loop=loop, species_code="nile_tilapia", count=3, mean_weight_g=20,
                stocked_on=factories.TODAY,
            )  # fmt: skip
            Planting.objects.create(
                component=desk.built.raft, crop_code="basil", count=4,
                transplanted_on=factories.TODAY,
            )  # fmt: skip

    assert same_queries(lambda: desk.get("system", desk.built.system.pk), grow) <= 45


@pytest.mark.parametrize("name", ["systems", "places"])
def test_lists_ask_the_same_number_of_queries(desk: Desk, same_queries: Any, name: str) -> None:
    assert same_queries(lambda: desk.get(name), lambda: desk.more_systems(5)) <= 16


def test_sign_in_and_its_list_of_browsers(empty: Desk) -> None:
    browser = Browser()
    page = browser.get("/account/login/")
    assert page.status_code == 200
    wrong = browser.post("/account/login/", {"username": "office", "password": "no"})
    assert wrong.status_code == 422
    assert "Check both." in wrong.content.decode()
    right = browser.post(
        "/account/login/",
        {"username": "office", "password": "office-password-1", "next": "/letters/"},
    )
    assert right.url == "/letters/"
    assert SESSION_KEY in browser.session
    listed = browser.get("/account/sessions/")
    assert listed.status_code == 200
    assert "this one" in listed.content.decode()


def test_every_list_can_be_walked_by_keys(desk: Desk) -> None:
    desk.booked()
    for name in ("due", "systems", "places", "letters"):
        page = desk.get(name).content.decode()
        assert "data-list " in page or "data-list>" in page, name
        assert "data-list-item" in page, name
        assert "js/list-enter.js" in page, name


def test_a_formula_is_written_in_the_signs_of_print(desk: Desk) -> None:
    said = desk.get("calculator", "settler").content.decode()
    assert '<p class="formula">surface = flow / surface load; across = 2 √(surface / π)</p>' in said
    said = desk.get("calculator", "light").content.decode()
    assert "mol/m²/day = PPFD × hours × 0.0036" in said
