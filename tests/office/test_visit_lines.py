"""Where a booked visit's checklist and what its day asks for disagree, and what a press mends."""

import datetime as dt

import pytest

from apps.care.models import CareTask, Completion
from apps.care.services import task_save, tasks_recompute
from apps.clients.models import VisitingHours
from apps.flows.visit_days import visit_days_make
from apps.systems.models import System
from apps.visits.models import Line, Visit
from tests import factories
from tests.office.conftest import Desk

TOMORROW = factories.NOW + dt.timedelta(days=1)


@pytest.fixture(autouse=True)
def few(desk: Desk) -> None:
    """A care plan of which a visit of an hour does all."""
    rows = CareTask.objects.filter(system=desk.built.system).exclude(who="client")
    keep = (
        rows.filter(mode="after_done").order_by("-every_n", "code").values_list("pk", flat=True)[:4]
    )
    rows.exclude(pk__in=list(keep)).update(active=False)
    rows.update(minutes=5)


def planned(desk: Desk) -> None:
    assert visit_days_make(place_id=desk.place.pk, at=factories.NOW) is not None


def booked(desk: Desk, minutes: int = 60) -> Visit:
    """A visit that is long enough for what it was booked with."""
    return desk.booked(start=TOMORROW, end=TOMORROW + dt.timedelta(minutes=minutes))


def new_task(desk: Desk, minutes: int = 5, **more: object) -> CareTask:
    values = {"system": desk.built.system, "code": "flow_test", "anchor": factories.TODAY,
              "late_min_days": 9, "late_max_days": 9, "minutes": minutes}  # fmt: skip
    old = CareTask.objects.filter(system=values["system"], active=True)
    old.filter(code=values["code"]).update(active=False)
    return task_save(task=CareTask(**(values | more)), at=factories.NOW)


def page(desk: Desk, visit: Visit) -> str:
    return " ".join(desk.get("visit", visit.pk).content.decode().split())


def press(desk: Desk, visit: Visit) -> str:
    visit.refresh_from_db()
    answer = desk.browser.post(f"/visits/{visit.pk}/lines/", {"rev": visit.rev}, follow=True)
    return " ".join(answer.content.decode().split())


def test_a_visit_that_agrees_with_its_day_says_nothing(desk: Desk) -> None:
    visit = booked(desk)
    planned(desk)
    assert 'id="apart"' not in page(desk, visit)
    assert "#apart" not in desk.get("place", desk.place.pk).content.decode()


def test_what_was_planned_since_is_shown_and_added_by_a_press(desk: Desk) -> None:
    visit = booked(desk)
    task = new_task(desk)
    planned(desk)
    before = visit.start, visit.end
    assert "Planned for this day, and not on the checklist" in page(desk, visit)
    at_place = desk.get("place", desk.place.pk).content.decode()
    assert "Its checklist lacks 1 line of this day" in at_place
    said = press(desk, visit)
    assert "1 line added; day and hour stay as they were" in said
    visit.refresh_from_db()
    assert (visit.start, visit.end) == before
    assert visit.client_answer == "asked"
    assert Line.objects.filter(sheet__visit=visit, task=task).count() == 1
    assert 'id="apart"' not in page(desk, visit)


def test_what_was_done_since_is_taken_off_and_said(desk: Desk) -> None:
    visit = booked(desk)
    held = Line.objects.filter(sheet__visit=visit, task__mode="after_done")
    task = held.order_by("-task__every_n")[0].task
    assert task is not None
    Completion.objects.create(task=task, done_on=factories.TODAY, made_at=factories.NOW)
    tasks_recompute(task_ids=[task.pk], at=factories.NOW)
    planned(desk)
    said = page(desk, visit)
    assert "On the checklist, and not needed on this day" in said
    assert "done since" in said
    press(desk, visit)
    assert not Line.objects.filter(sheet__visit=visit, task=task).exists()


def test_a_system_that_the_day_is_for_joins_the_visit(desk: Desk) -> None:
    shed = System.objects.create(place=desk.place, name="Shed", kind="coupled")
    visit = booked(desk)
    new_task(desk, system=shed)
    planned(desk)
    assert "Shed" in page(desk, visit)
    press(desk, visit)
    sheet = visit.sheets.get(system=shed)
    assert {"flow_test", "left_running"} <= set(sheet.lines.values_list("code", flat=True))


def test_answered_lines_stay(desk: Desk) -> None:
    visit = booked(desk)
    line = Line.objects.filter(sheet__visit=visit, task__isnull=False).first()
    assert line is not None
    line.sheet.values.create(
        visit=visit, path=f"lines/{line.pk}/note", value="started", op_id=visit.pk
    )
    CareTask.objects.filter(pk=line.task_id).update(active=False)
    planned(desk)
    press(desk, visit)
    assert Line.objects.filter(pk=line.pk).exists()


def test_a_time_too_short_is_told_with_what_speaks_against_more(desk: Desk) -> None:
    visit = booked(desk)
    new_task(desk, minutes=100)
    planned(desk)
    said = page(desk, visit)
    assert "60\xa0min are booked" in said or "60 min are booked" in said
    assert "Its time stays until somebody moves it" in said
    assert "Let it last until" in said
    desk.pencil(start=visit.end + dt.timedelta(minutes=15), technicians=[desk.ana])
    said = page(desk, visit)
    assert "Against lasting longer" in said
    assert "Ana is at Okafor, garden" in said
    assert "Its time is too short by" in desk.get("place", desk.place.pk).content.decode()


def test_a_place_that_closes_speaks_against_lasting_longer(desk: Desk) -> None:
    for weekday in range(1, 8):
        VisitingHours.objects.create(
            place=desk.place, weekday=weekday, opens=dt.time(6), closes=dt.time(12)
        )
    visit = booked(desk)
    new_task(desk, minutes=200)
    planned(desk)
    assert "nobody may be there after 12:00" in page(desk, visit)


def test_the_move_form_takes_the_longer_time_and_the_checklist_stays(desk: Desk) -> None:
    visit = booked(desk)
    task = new_task(desk, minutes=100)
    planned(desk)
    press(desk, visit)
    form = desk.get("visit_move", visit.pk, until="15:35").context["form"]
    assert form.initial["end"] == dt.time(15, 35)
    assert desk.get("visit_move", visit.pk, until="late").status_code == 400
    lines = set(Line.objects.filter(sheet__visit=visit).values_list("pk", flat=True))
    CareTask.objects.filter(pk=task.pk).update(active=False)
    desk.post("visit_move", visit.pk, day="2026-06-12", start=f"{form.initial['start']:%H:%M}",
              end="15:35", technicians=str(desk.ana.pk), rev=visit.rev + 1)  # fmt: skip
    visit.refresh_from_db()
    assert set(Line.objects.filter(sheet__visit=visit).values_list("pk", flat=True)) == lines


@pytest.mark.parametrize("how", ["begun", "stale"])
def test_a_press_too_late_changes_nothing(desk: Desk, how: str) -> None:
    visit = booked(desk)
    new_task(desk)
    planned(desk)
    before = set(Line.objects.filter(sheet__visit=visit).values_list("pk", flat=True))
    if how == "begun":
        Visit.objects.filter(pk=visit.pk).update(state="under_way")
    rev = visit.rev + (1 if how == "stale" else 0)
    answer = desk.browser.post(f"/visits/{visit.pk}/lines/", {"rev": rev}, follow=True)
    said = answer.content.decode()
    assert "The visit is under way by now" in said or "Somebody else changed" in said
    assert set(Line.objects.filter(sheet__visit=visit).values_list("pk", flat=True)) == before


@pytest.mark.parametrize("rev", ["", "x", "0", "9" * 5000])
def test_a_version_that_is_none_is_refused(desk: Desk, rev: str) -> None:
    """So long a number is none to Python either, and broke the page."""
    visit = booked(desk)
    assert desk.browser.post(f"/visits/{visit.pk}/lines/", {"rev": rev}).status_code == 400
