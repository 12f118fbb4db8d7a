"""What the office does with a visit."""

import datetime as dt

import pytest

from apps.accounts.models import AuditEntry
from apps.advice.models import Advice
from apps.reports.models import Letter, Release, Report
from apps.visits.models import CallNote, Reading, Visit
from tests import factories
from tests.office.conftest import Desk


def state_of(visit: Visit) -> str:
    visit.refresh_from_db()
    return str(visit.state)


def test_asking_shows_whom_and_what_to_prepare(desk: Desk) -> None:
    visit = desk.pencil()
    page = desk.get("visit_step", visit.pk, "booked").content.decode()
    assert "okafor@okafor.example" in page
    assert state_of(visit) == "pencilled"
    desk.post("visit_step", visit.pk, "booked")
    assert state_of(visit) == "booked"
    assert Letter.objects.filter(kind="appointment").count() == 1


def test_calling_off_asks_for_a_reason_and_tells_the_client(desk: Desk) -> None:
    visit = desk.booked()
    assert desk.post("visit_step", visit.pk, "called_off").status_code == 422
    assert state_of(visit) == "booked"
    desk.post("visit_step", visit.pk, "called_off", reason="moved away")
    assert state_of(visit) == "called_off"
    assert Letter.objects.filter(kind="called_off").count() == 1


def test_a_step_that_is_not_open_is_refused_in_words(desk: Desk) -> None:
    visit = desk.pencil()
    assert desk.get("visit_step", visit.pk, "reported").status_code == 404
    answer = desk.browser.post(f"/visits/{visit.pk}/to/under_way/", follow=True)
    assert "has moved on" in answer.content.decode()
    assert state_of(visit) == "pencilled"


def test_nobody_there_goes_back_to_pencil(desk: Desk) -> None:
    visit = desk.booked(start=factories.NOW)
    desk.post("visit_step", visit.pk, "under_way")
    assert desk.post("visit_step", visit.pk, "pencilled", reason="gate locked").status_code == 302
    assert state_of(visit) == "pencilled"


def test_writing_up_says_what_is_open(desk: Desk) -> None:
    visit = desk.booked(start=factories.NOW)
    desk.post("visit_step", visit.pk, "under_way")
    answer = desk.post("visit_step", visit.pk, "written_up")
    assert answer.status_code == 422
    assert "left running" in answer.content.decode()


def test_release_waits_for_the_drawing_then_writes_one_letter(desk: Desk) -> None:
    visit = desk.written_up()
    assert "A report is still being drawn" in desk.get("visit", visit.pk).content.decode()
    answer = desk.post("visit_release", visit.pk)
    assert answer.status_code == 422
    assert "Not ready for release" in answer.content.decode()
    desk.drawn(visit)
    desk.post("visit_release", visit.pk)
    assert state_of(visit) == "reported"
    assert Release.objects.count() == 1
    assert Letter.objects.filter(kind="report").count() == 1


def test_a_correction_stands_beside_the_old_reading(desk: Desk) -> None:
    visit = desk.written_up()
    desk.drawn(visit)
    reading = Reading.objects.get(measurand="ph")
    assert desk.post("reading_correct", reading.pk, value="7.1").status_code == 422
    assert desk.post("reading_correct", reading.pk, value="seven", reason="x").status_code == 422
    answer = desk.post("reading_correct", reading.pk, value="7,1", reason="digits turned round")
    assert answer.status_code == 302
    fresh = Reading.objects.get(corrects=reading)
    assert fresh.value == 7.1
    assert Report.objects.get().correction_due
    assert "digits turned round" in desk.get("visit", visit.pk).content.decode()


def test_a_reading_that_cannot_be_is_refused_at_its_field(desk: Desk) -> None:
    desk.written_up()
    reading = Reading.objects.get(measurand="ph")
    answer = desk.post("reading_correct", reading.pk, value="71", reason="x")
    assert answer.status_code == 422
    assert "7.1" in answer.content.decode()


def test_reopening_needs_a_reason(desk: Desk) -> None:
    visit = desk.written_up()
    assert desk.post("visit_step", visit.pk, "under_way").status_code == 422
    desk.post("visit_step", visit.pk, "under_way", reason="one reading is missing")
    assert state_of(visit) == "under_way"


@pytest.mark.parametrize(("how", "closed_as"), [("done", "done"), ("dropped", "dropped")])
def test_open_advice_is_done_or_dropped(desk: Desk, how: str, closed_as: str) -> None:
    desk.written_up(no2=(6.0, "mg/L"), ph=(6.9, ""), temp=(27.5, "°C"), tan=(0.2, "mg/L"))
    row = Advice.objects.filter(closed_at__isnull=True).first()
    assert row is not None
    assert desk.get("advice_end", row.pk, how).status_code == (405 if how == "done" else 200)
    row.refresh_from_db()
    assert row.closed_at is None
    desk.post("advice_end", row.pk, how)
    row.refresh_from_db()
    assert row.closed_as == closed_as


def _done(desk: Desk) -> Advice:
    desk.written_up(no2=(6.0, "mg/L"), ph=(6.9, ""), temp=(27.5, "°C"), tan=(0.2, "mg/L"))
    row = Advice.objects.filter(closed_at__isnull=True).first()
    assert row is not None
    desk.post("advice_end", row.pk, "done")
    return row


def test_advice_noted_as_done_is_taken_back(desk: Desk) -> None:
    row = _done(desk)
    page = desk.get("system", desk.built.system.pk).content.decode()
    assert f"/advice/{row.pk}/undo/" in page
    assert desk.get("advice_undo", row.pk).status_code == 405
    answer = desk.browser.post(f"/advice/{row.pk}/undo/", follow=True)
    assert "it is open again" in answer.content.decode()
    row.refresh_from_db()
    assert (row.closed_at, row.closed_as, row.closed_by) == (None, "", "")
    said = AuditEntry.objects.filter(kind="advice", object_id=str(row.pk)).order_by("at", "pk")
    assert [entry.verb for entry in said] == ["closed", "took back"]
    again = desk.browser.post(f"/advice/{row.pk}/undo/", follow=True)
    assert "nothing was changed" in again.content.decode()


def test_advice_that_a_later_visit_replaced_stays_done(desk: Desk) -> None:
    row = _done(desk)
    later = desk.pencil(start=factories.NOW + dt.timedelta(days=3))
    worked = {"started_at": factories.NOW, "finished_at": factories.NOW + dt.timedelta(days=3)}
    Visit.objects.filter(pk=later.pk).update(state="written_up", **worked)
    assert "undo/" not in desk.get("system", desk.built.system.pk).content.decode()
    desk.post("advice_undo", row.pk)
    row.refresh_from_db()
    assert row.closed_as == "done"
    assert not AuditEntry.objects.filter(verb="took back").exists()


def test_dropped_advice_is_not_undone_as_if_done(desk: Desk) -> None:
    row = _done(desk)
    Advice.objects.filter(pk=row.pk).update(closed_as="dropped")
    desk.post("advice_undo", row.pk)
    row.refresh_from_db()
    assert row.closed_as == "dropped"


def test_a_call_is_noted_and_shown(desk: Desk) -> None:
    assert desk.post("call_new", desk.place.pk, text="").status_code == 422
    desk.post("call_new", desk.place.pk, text="Pump hums.", system=str(desk.built.system.pk))
    assert CallNote.objects.get().system == desk.built.system
    assert "Pump hums." in desk.get("system", desk.built.system.pk).content.decode()
    assert "Pump hums." in desk.get("place", desk.place.pk).content.decode()
