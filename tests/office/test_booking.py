"""Booking: what is suggested, what is kept, what is refused and why."""

import datetime as dt
from typing import Any

import pytest
from django.utils import timezone

from apps.advice.models import Advice
from apps.clients.models import Place, VisitingHours
from apps.office.selectors.booking import suggest
from apps.reports.models import Letter
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
