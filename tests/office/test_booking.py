"""Booking: what is suggested, what is kept, what is refused and why."""

import datetime as dt
from typing import Any

import pytest
from django.utils import timezone

from apps.accounts.models import Closure
from apps.advice.models import Advice
from apps.clients.models import Place, VisitingHours
from apps.office.selectors.booking import suggest
from apps.reports.models import Letter
from apps.rounds.models import Absence, Crew, WorkingHours
from apps.visits.models import Visit
from tests import factories
from tests.office.conftest import Desk

FRIDAY = dt.date(2026, 6, 12)


def values(desk: Desk, **more: Any) -> dict[str, Any]:
    return {
        "day": FRIDAY.isoformat(), "start": "09:00", "end": "10:00",
        "systems": [str(desk.built.system.pk)], "technicians": [str(desk.ana.pk)], "reason": "",
    } | more  # fmt: skip


def test_the_form_knows_the_work_and_a_time_that_fits(desk: Desk) -> None:
    VisitingHours.objects.create(place=desk.place, weekday=5, opens=dt.time(10), closes=dt.time(15))
    answer = desk.get("book", desk.built.system.pk)
    form = answer.context["form"]
    assert form.initial["day"] == FRIDAY
    assert form.initial["start"] == dt.time(10)
    assert form.initial["systems"] == [desk.built.system.pk]
    page = answer.content.decode()
    assert "To do by Fri 12 June" in page
    assert "nobody may come" in page


def test_a_suggestion_goes_round_what_is_booked(desk: Desk) -> None:
    visit = desk.pencil(start=timezone.make_aware(dt.datetime.combine(FRIDAY, dt.time(8))))
    taken = list(visit.assignments.select_related("user"))
    found = suggest(desk.place, FRIDAY, 40, [desk.ana], taken, None)
    assert found["start"] == dt.time(9)
    assert found["technicians"] == [desk.ana.pk]


def test_pencilled_without_asking(desk: Desk) -> None:
    answer = desk.post("book", desk.built.system.pk, **values(desk))
    visit = Visit.objects.get()
    assert answer.url == f"/visits/{visit.pk}/"
    assert visit.state == "pencilled"
    assert timezone.localtime(visit.start).time() == dt.time(9)
    assert not Letter.objects.exists()


def test_booked_and_asked_in_one_go(desk: Desk) -> None:
    desk.post("book", desk.built.system.pk, **values(desk, ask="on"))
    visit = Visit.objects.get()
    assert (visit.state, visit.client_answer) == ("booked", "asked")
    assert Letter.objects.get().kind == "appointment"


def test_a_technician_elsewhere_is_refused_and_what_was_typed_stays(desk: Desk) -> None:
    desk.pencil(start=timezone.make_aware(dt.datetime.combine(FRIDAY, dt.time(8, 30))))
    answer = desk.post("book", desk.built.system.pk, **values(desk, reason="Leak at the raft"))
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "Ana is at Okafor, garden" in page
    assert "Leak at the raft" in page
    assert Visit.objects.count() == 1


def test_hours_are_kept(desk: Desk) -> None:
    VisitingHours.objects.create(place=desk.place, weekday=5, opens=dt.time(13), closes=dt.time(15))
    answer = desk.post("book", desk.built.system.pk, **values(desk))
    assert answer.status_code == 422
    assert "Nobody may come then" in answer.content.decode()


@pytest.mark.parametrize(
    "wrong", [{"day": "soon"}, {"start": "25:00"}, {"technicians": []}, {"systems": []}]
)
def test_each_fault_stands_at_its_field(desk: Desk, wrong: dict[str, Any]) -> None:
    answer = desk.post("book", desk.built.system.pk, **values(desk, **wrong))
    assert answer.status_code == 422
    assert next(iter(wrong)) in answer.context["form"].errors


def doubted(desk: Desk, doubt: str) -> str:
    """Let something speak against 9:00 on Friday; return what is said of it."""
    if doubt == "closed":
        Closure.objects.create(first=FRIDAY, last=FRIDAY, name="Works outing")
        return "Fri 12 June is a holiday, or the firm is closed"
    if doubt == "away":
        Absence.objects.create(user=desk.ana, first=FRIDAY, last=FRIDAY, part="morning")
        return "Ana is noted as away then, on Fri 12 June."
    # who has hours of their own works on no other day of the week
    WorkingHours.objects.create(
        user=desk.ana, weekday=5 if doubt == "early" else 4, starts=dt.time(9, 30), ends=dt.time(17)
    )
    early = "Ana works from 09:30 to 17:00 on Fri 12 June."
    return early if doubt == "early" else "Ana does not work on Fri 12 June."


DOUBTS = pytest.mark.parametrize("doubt", ["closed", "away", "early", "not that day"])


@DOUBTS
def test_a_doubtful_time_is_asked_about_once(desk: Desk, doubt: str) -> None:
    said = doubted(desk, doubt)
    sent = values(desk, ask="on", reason="Leak at the raft")
    answer = desk.post("book", desk.built.system.pk, **sent)
    page = answer.content.decode()
    assert answer.status_code == 422
    assert said in page
    assert "Leak at the raft" in page
    assert "Come then all the same" in page
    assert not Visit.objects.exists()
    assert not Letter.objects.exists()
    ticked = sent | {"all_the_same": answer.context["form"].doubted}
    assert desk.post("book", desk.built.system.pk, **ticked).status_code == 302
    assert Visit.objects.get().state == "booked"


@DOUBTS
def test_so_is_one_that_a_visit_moves_to(desk: Desk, doubt: str) -> None:
    visit = desk.booked(start=factories.NOW + dt.timedelta(days=4))
    said, letters = doubted(desk, doubt), Letter.objects.count()
    data = {
        "day": FRIDAY.isoformat(), "start": "09:00", "end": "10:00",
        "technicians": [str(desk.ana.pk)], "rev": visit.rev,
    }  # fmt: skip
    answer = desk.post("visit_move", visit.pk, **data)
    assert answer.status_code == 422
    assert said in answer.content.decode()
    assert Visit.objects.get().start == visit.start
    assert Letter.objects.count() == letters
    ticked = data | {"all_the_same": answer.context["form"].doubted}
    assert desk.post("visit_move", visit.pk, **ticked).status_code == 302
    assert timezone.localdate(Visit.objects.get().start) == FRIDAY


def test_a_tick_answers_what_it_was_asked_about(desk: Desk) -> None:
    doubted(desk, "away")
    first = desk.post("book", desk.built.system.pk, **values(desk)).context["form"].doubted
    doubted(desk, "closed")
    sent = values(desk, all_the_same=first)
    answer = desk.post("book", desk.built.system.pk, **sent)
    assert answer.status_code == 422
    assert "the firm is closed" in answer.content.decode()
    # a tick that stays where nothing speaks against it any more is no fault
    elsewhere = sent | {"day": "2026-06-15"}
    assert desk.post("book", desk.built.system.pk, **elsewhere).status_code == 302


def test_hours_that_may_grow_longer_are_no_doubt(desk: Desk) -> None:
    WorkingHours.objects.create(user=desk.ana, weekday=5, starts=dt.time(8), ends=dt.time(9, 30))
    Crew.objects.create(user=desk.ana, overtime_minutes=30)
    assert desk.post("book", desk.built.system.pk, **values(desk)).status_code == 302


def test_a_day_that_has_gone_by_is_refused(desk: Desk) -> None:
    visit = desk.booked()
    sent = values(desk, day="2026-06-10", rev=visit.rev)
    for name, key in (("book", desk.built.system.pk), ("visit_move", visit.pk)):
        answer = desk.post(name, key, **sent)
        assert answer.status_code == 422
        assert "Wed 10 June has gone by; choose today or a day to come" in answer.content.decode()
    assert Visit.objects.get().start == visit.start


def test_moved_and_asked_again(desk: Desk) -> None:
    visit = desk.booked()
    data = {
        "day": "2026-06-15", "start": "11:00", "end": "12:00", "technicians": [str(desk.marek.pk)],
        "rev": visit.rev,
    }  # fmt: skip
    assert desk.post("visit_move", visit.pk, **data).status_code == 302
    visit.refresh_from_db()
    assert timezone.localtime(visit.start).date() == dt.date(2026, 6, 15)
    assert [row.user for row in visit.assignments.all()] == [desk.marek]
    assert Letter.objects.count() == 2


def test_a_move_based_on_an_older_version_shows_both(desk: Desk) -> None:
    visit = desk.pencil()
    data = {
        "day": "2026-06-15", "start": "11:00", "end": "12:00", "technicians": [str(desk.ana.pk)],
        "rev": visit.rev,
    }  # fmt: skip
    Visit.objects.filter(pk=visit.pk).update(rev=visit.rev + 1)
    answer = desk.post("visit_move", visit.pk, **data)
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "It now stands on Friday 12 June" in page
    assert f'value="{visit.rev + 1}"' in page
    again = answer.context["form"].data["rev"]
    assert desk.post("visit_move", visit.pk, **(data | {"rev": again})).status_code == 302


def test_the_clients_answer_by_telephone(desk: Desk) -> None:
    visit = desk.booked()
    desk.post("visit_answer", visit.pk, answer="other_time", words="after four")
    visit.refresh_from_db()
    assert (visit.client_answer, visit.client_words) == ("other_time", "after four")


def warm(desk: Desk, **more: Any) -> Advice:
    return Advice.objects.create(
        system=desk.built.system, loop=desk.built.loop, rule="too_hot", urgency="today", position=1,
        parameters={}, made_at=factories.NOW, **more,
    )  # fmt: skip


def test_fish_in_warm_water_are_seen_at_dawn(desk: Desk) -> None:
    """On 12 June at 50.85 N, 4.35 E the sun rises about 03:35 UTC."""
    Place.objects.filter(pk=desk.place.pk).update(latitude=50.85, longitude=4.35)
    rises = timezone.localtime(dt.datetime(2026, 6, 12, 3, 35, tzinfo=dt.UTC))
    said = f"come at dawn (about {rises:%H:%M}), when oxygen is lowest"
    visit = desk.pencil()
    pages = (("book", desk.built.system.pk), ("visit_move", visit.pk))
    assert not any(desk.get(*page, day=FRIDAY.isoformat()).context["dawn"] for page in pages)
    row = warm(desk)
    for page in pages:
        assert said in desk.get(*page, day=FRIDAY.isoformat()).content.decode()
    Place.objects.filter(pk=desk.place.pk).update(latitude=None, longitude=None)
    assert "come at dawn, when" in desk.get(*pages[0]).context["dawn"]
    row.closed_at = factories.NOW
    row.save()
    assert not desk.get(*pages[0]).context["dawn"]


def test_a_refused_form_shows_the_day_that_was_typed(desk: Desk) -> None:
    doubted(desk, "closed")
    later = FRIDAY + dt.timedelta(days=21)
    Closure.objects.create(first=later, last=later, name="Fair")
    answer = desk.post("book", desk.built.system.pk, **values(desk, day=str(later)))
    page = answer.content.decode()
    assert "To do by Fri 3 July" in page
    assert answer.context["day"] == later
    assert any(day.chosen for week in answer.context["weeks"] for day in week)
    assert "Come then all the same?</a>" in page
    odd = desk.post("book", desk.built.system.pk, **values(desk, day="soon"))
    assert odd.status_code == 422
    visit = desk.booked(start=factories.NOW + dt.timedelta(days=4))
    sent = values(desk, day=str(later), rev=visit.rev)
    assert desk.post("visit_move", visit.pk, **sent).context["day"] == later
