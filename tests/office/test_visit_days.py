"""Visit days on the office's pages: of one place, of all places, and when one is booked."""

import datetime as dt
from typing import Any

import pytest
from django.test import Client as Browser

from apps.accounts.models import Closure
from apps.care.models import CareTask, StandingAppointment, VisitDay, VisitDayPlan
from apps.care.services import task_save
from apps.flows.visit_days import visit_days_make
from apps.office.visit_day_words import change_words
from apps.systems.models import System
from tests import factories
from tests.office.conftest import Desk

ON = factories.TODAY


def planned(desk: Desk) -> VisitDayPlan:
    row = visit_days_make(place_id=desk.place.pk, at=factories.NOW)
    assert row is not None
    return row


def test_a_place_lists_its_visit_days_with_what_for(desk: Desk) -> None:
    page = desk.get("place", desk.place.pk).content.decode()
    assert "Not planned yet" in page
    planned(desk)
    page = desk.get("place", desk.place.pk).content.decode()
    first = VisitDay.objects.order_by("on")[0]
    assert f"?day={first.on}" in page
    assert "due " in page
    assert "that the client does" in page


def test_what_moved_and_why_is_told(desk: Desk) -> None:
    planned(desk)
    first = VisitDay.objects.order_by("on")[1].on
    Closure.objects.create(first=first, last=first, name="Stocktaking")
    planned(desk)
    page = desk.get("place", desk.place.pk).content.decode()
    assert "What moved on Thu 11 June" in page
    assert "nobody is sent out, or may come, on that day any more" in page


def test_a_question_about_a_booked_visit_stands_first_and_moves_nothing(desk: Desk) -> None:
    visit = desk.booked(start=factories.NOW + dt.timedelta(days=5))
    Closure.objects.create(first=ON, last=ON + dt.timedelta(days=6), name="Break")
    planned(desk)
    page = desk.get("place", desk.place.pk).content.decode()
    assert "It stays where it is until somebody moves it." in page
    assert f"/visits/{visit.pk}/move/?day=" in page
    visit.refresh_from_db()
    assert visit.start == factories.NOW + dt.timedelta(days=5)


def test_a_booked_visit_says_which_system_it_lacks(desk: Desk) -> None:
    shed = System.objects.create(place=desk.place, name="Shed", kind="coupled")
    task = CareTask(system=shed, code="flow_test", anchor=ON, late_min_days=9, late_max_days=9)
    task_save(task=task, at=factories.NOW)
    desk.booked(start=factories.NOW + dt.timedelta(days=1))
    planned(desk)
    page = desk.get("place", desk.place.pk).content.decode()
    assert "Not on this visit yet: Shed" in " ".join(page.split())


def test_all_places_by_day(desk: Desk) -> None:
    desk.more_systems(2)
    Closure.objects.create(first=dt.date(2026, 6, 20), last=dt.date(2026, 6, 20), name="Fair")
    for place in {built.system.place for built in [desk.built]}:
        visit_days_make(place_id=place.pk, at=factories.NOW)
    answer = desk.get("visit_days")
    page = answer.content.decode()
    assert "Fri 12 June" in page
    assert "Okafor" in page
    assert "Fair" in page
    assert (
        answer.context["visits"]
        == VisitDay.objects.filter(on__lte=ON + dt.timedelta(days=27)).count()
    )
    later = desk.get("visit_days", **{"from": "2026-08-20"}).content.decode()
    assert "Fri 12 June" not in later


@pytest.mark.parametrize("query", [{"from": "soon"}, {"from": "2099-01-01"}, {"area": "nowhere"}])
def test_a_day_or_an_area_that_is_none_is_refused(desk: Desk, query: dict[str, str]) -> None:
    assert desk.get("visit_days", **query).status_code == 400


def test_booking_a_visit_day_takes_all_its_systems(desk: Desk) -> None:
    shed = System.objects.create(place=desk.place, name="Shed", kind="coupled")
    task_save(task=CareTask(system=shed, code="flow_test", anchor=ON), at=factories.NOW)
    planned(desk)
    day = VisitDay.objects.order_by("on")[0].on
    form = desk.get("book", desk.built.system.pk, day=str(day)).context["form"]
    assert set(form.initial["systems"]) == {desk.built.system.pk, shed.pk}


def test_the_number_of_queries_stays(desk: Desk, same_queries: Any) -> None:
    planned(desk)

    def grow() -> None:
        for built in desk.more_systems(3):
            visit_days_make(place_id=built.system.place_id, at=factories.NOW)

    assert same_queries(lambda: desk.get("visit_days"), grow) <= 15


@pytest.mark.parametrize(
    ("old", "new", "names", "said"),
    [("2026-06-15", "2026-06-17", ["X"],
      "X: from Mon 15 June to Wed 17 June, because the task is new"),
     (None, "2026-06-17", ["X", "Y"], "2 tasks: on Wed 17 June, because the task is new"),
     ("2026-06-15", None, ["X"], "X: not on Mon 15 June, because the task is new")],
)  # fmt: skip
def test_changes_in_words(old: str | None, new: str | None, names: list[str], said: str) -> None:
    assert change_words({"old": old, "new": new, "why": "new_task"}, names) == said


def test_technicians_see_no_page_of_the_office(desk: Desk) -> None:
    browser = Browser()
    browser.force_login(desk.ana)
    assert browser.get("/visit-days/").status_code == 403


def test_a_standing_appointment_is_kept_shown_booked_and_let_go(desk: Desk) -> None:
    place = desk.place
    typed = {
        "rrule": "FREQ=WEEKLY;INTERVAL=2;BYDAY=TU", "first": "2026-06-09", "starts": "08:15",
        "ends": "09:45", "technician": str(desk.marek.pk),
    }  # fmt: skip
    assert desk.post("standing_new", place.pk, **typed).status_code == 302
    planned(desk)
    page = " ".join(desk.get("place", place.pk).content.decode().split())
    assert "08:15–09:45" in page
    assert "Tue 23 June, Tue 7 July" in page
    assert "standing appointment" in page
    form = desk.get("book", desk.built.system.pk, day="2026-06-23").context["form"]
    assert (form.initial["start"], form.initial["end"]) == (dt.time(8, 15), dt.time(9, 45))
    assert form.initial["technicians"] == [desk.marek.pk]
    other = desk.get("book", desk.built.system.pk, day="2026-06-24").context["form"]
    assert other.initial["start"] != dt.time(8, 15)
    row = StandingAppointment.objects.get()
    assert desk.post("standing_end", row.pk).url == f"/places/{place.pk}/"
    assert not StandingAppointment.objects.exists()


def test_a_rule_that_is_none_is_refused_beside_its_field(desk: Desk) -> None:
    typed = {"rrule": "every second Tuesday", "first": "2026-06-09", "starts": "8:15", "ends": "9"}
    answer = desk.post("standing_new", desk.place.pk, **(typed | {"ends": "09:45"}))
    assert answer.status_code == 422
    assert set(answer.context["form"].errors) == {"rrule"}


def test_a_client_who_wants_no_question_is_told_on_the_pages(desk: Desk) -> None:
    owner = desk.place.client
    values = {"client_name": owner.name, "kind": owner.kind, "active": "on", "just_tell": "on"}
    desk.post("client_edit", desk.place.pk, **values, rev=owner.rev)
    owner.refresh_from_db()
    assert owner.just_tell
    desk.built.system.place.client.refresh_from_db()
    typed = {
        "day": "2026-06-15", "start": "10:00", "end": "11:00", "ask": "on",
        "systems": [str(desk.built.system.pk)], "technicians": [str(desk.ana.pk)],
    }  # fmt: skip
    where = f"/systems/{desk.built.system.pk}/book/"
    page = desk.browser.post(where, typed, follow=True).content.decode()
    assert "Booked; the client has been told." in page
    place = desk.get("place", desk.place.pk).content.decode()
    assert ">told<" in place
    assert "are told, not asked" in place
