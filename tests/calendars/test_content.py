"""Whose visits a calendar shows, and what it says of each."""

import datetime as dt

import pytest

from apps.clients.models import Client
from apps.rounds.models import Absence
from apps.visits.models import Assignment, Visit
from apps.visits.services.booking import client_answer
from tests.calendars.conftest import World
from tests.calendars.grammar import Part

BOTH = ("ana", "client")


def by_uid(calendar: Part) -> dict[str, Part]:
    return {event.one("UID"): event for event in calendar.parts}


def test_a_technicians_says_who_where_which_systems_and_how_long(world: World) -> None:
    visit = world.book(world.mine)
    world.book(world.other, who=world.marek)
    calendar = world.read("ana")
    assert calendar.text("NAME") == "Visits of Ana"
    (event,) = calendar.parts
    assert event.one("UID") == f"{visit.pk}@backyard"
    assert event.text("SUMMARY") == "Okafor"
    assert event.text("LOCATION") == "Quarry Lane 31, Oldferry"
    assert event.text("DESCRIPTION") == "Back garden\n60 minutes"
    assert event.one("GEO") == "50.85;4.35"
    assert event.one("URL").endswith(f"/field/visits/{visit.pk}/")
    assert event.one("DTSTART") == "20260612T090000Z"


def test_no_code_and_no_note_is_in_it(world: World) -> None:
    visit = world.step(world.book(world.mine), "booked")
    Visit.objects.filter(pk=visit.pk).update(reason="SECRET reason")
    for whose in BOTH:
        data = world.answer(whose).content
        assert b"BEGIN:VEVENT" in data
        assert b"4711" not in data
        assert b"SECRET" not in data


def test_a_clients_says_what_and_who_comes(world: World) -> None:
    visit = world.step(world.book(world.mine), "booked")
    for whose in ("client", "contact"):
        calendar = world.read(whose)
        assert calendar.text("NAME") == "Visits of Reed & Roach"
        (event,) = calendar.parts
        assert event.one("UID") == f"{visit.pk}@backyard"
        assert event.text("SUMMARY") == "Reed & Roach: Back garden"
        assert event.text("DESCRIPTION") == "Who comes: Ana"
        # the page's address is a key, and calendars are shared
        assert "URL" not in {name for name, _params, _value in event.lines}


def test_a_client_sees_nothing_pencilled_and_nobody_elses(world: World) -> None:
    pencilled = world.book(world.mine)
    world.step(world.book(world.other, who=world.marek), "booked")
    assert world.read("client").parts == []
    world.step(pencilled, "called_off")
    assert world.read("client").parts == [], "what was never agreed on is not called off"
    agreed = world.step(world.book(world.mine, days=3), "booked")
    world.step(agreed, "pencilled", "pump not there yet")
    assert world.read("client").parts == []


def test_status_follows_the_appointment(world: World) -> None:
    visit = world.book(world.mine)

    def status(whose: str) -> str:
        return world.read(whose).parts[0].one("STATUS")

    assert status("ana") == "TENTATIVE"
    visit = world.step(visit, "booked")
    assert [status(whose) for whose in BOTH] == ["TENTATIVE", "TENTATIVE"]
    client_answer(visit=visit, answer="confirmed", words="", by=world.by, at=world.now)
    assert [status(whose) for whose in BOTH] == ["CONFIRMED", "CONFIRMED"]
    client_answer(visit=visit, answer="declined", words="", by=world.by, at=world.now)
    assert [status(whose) for whose in BOTH] == ["TENTATIVE", "TENTATIVE"]
    visit.refresh_from_db()
    world.step(visit, "called_off", "client is away")
    assert [status(whose) for whose in BOTH] == ["CANCELLED", "CANCELLED"]


def test_who_is_only_told_counts_as_agreed(world: World) -> None:
    Client.objects.filter(name="Okafor").update(just_tell=True)
    world.step(world.book(world.mine), "booked")
    assert world.read("client").parts[0].one("STATUS") == "CONFIRMED"


def test_what_is_called_off_stays_thirty_days(world: World) -> None:
    visit = world.step(world.book(world.mine, days=80), "booked")
    world.step(visit, "called_off", "client is away")
    called_off_at = world.now
    world.now = called_off_at + dt.timedelta(days=30)
    assert [len(world.read(whose).parts) for whose in BOTH] == [1, 1]
    world.now += dt.timedelta(seconds=1)
    assert [len(world.read(whose).parts) for whose in BOTH] == [0, 0]


def test_thirty_days_back_and_ninety_ahead(world: World) -> None:
    near = [world.step(world.book(world.mine, days=days), "booked").pk for days in (-29.9, 5, 89.9)]
    for days in (-30.1, 90.1):
        world.step(world.book(world.mine, days=days), "booked")
    for whose in BOTH:
        assert list(by_uid(world.read(whose))) == [f"{pk}@backyard" for pk in near]


def test_beyond_what_a_technician_may_look_into_only_the_time_shows(world: World) -> None:
    world.book(world.mine, days=14.5)
    (event,) = world.read("ana").parts
    assert event.text("SUMMARY") == "Visit"
    assert b"Okafor" not in world.answer("ana").content
    assert b"Quarry" not in world.answer("ana").content
    world.now += dt.timedelta(days=1)
    assert world.read("ana").parts[0].text("SUMMARY") == "Okafor"


def test_who_is_taken_off_a_visit_sees_it_no_more(world: World) -> None:
    visit = world.book(world.mine)
    Assignment.objects.filter(visit=visit).update(user=world.marek)
    assert world.read("ana").parts == []


def test_sequence_rises_with_each_letter_and_the_uid_stays(world: World) -> None:
    from apps.flows import visit_booking

    visit = world.book(world.mine)
    seen = []
    for step in range(4):
        if step == 1:
            visit = world.step(visit, "booked")
        if step > 1:
            visit = visit_booking.move(
                visit=visit, start=visit.start + dt.timedelta(hours=1), rev=visit.rev, at=world.now,
                end=visit.end + dt.timedelta(hours=1), technicians=[world.ana], by=world.by,
            )  # fmt: skip
        (event,) = world.read("ana").parts
        assert event.one("UID") == f"{visit.pk}@backyard"
        seen.append(int(event.one("SEQUENCE")))
    assert seen == sorted(set(seen)), seen
    assert seen[-1] == visit.appointment_sequence


def test_the_letter_and_the_calendar_name_one_event(world: World) -> None:
    from django.core import mail

    from apps.core import outbox

    visit = world.step(world.book(world.mine), "booked")
    outbox.drain(world.now)
    (letter,) = mail.outbox
    (attached,) = [
        str(body) for name, body, _kind in letter.attachments if name == "appointment.ics"
    ]
    (event,) = world.read("client").parts
    for name in ("UID", "SEQUENCE", "DTSTART", "DTEND"):
        assert f"{name}:{event.one(name)}\r\n" in attached.replace("\r\r", "\r")
    assert visit.appointment_sequence == 1


@pytest.mark.parametrize("whose", BOTH)
def test_queries_do_not_grow_with_the_visits(world: World, same_queries, whose: str) -> None:  # type: ignore[no-untyped-def]
    world.step(world.book(world.mine), "booked")

    def grow() -> None:
        for days in range(2, 9):
            world.step(world.book(world.mine, days=days), "booked")
        # the first look after a change notes it
        world.answer(whose)

    assert same_queries(lambda: world.answer(whose), grow) <= 12


def test_a_visit_that_nobody_can_make_is_tentative_and_names_nobody(world: World) -> None:
    """RFC 5545 3.8.1.11: a TENTATIVE event is one that is not certain."""
    visit = world.step(world.book(world.mine), "booked")
    client_answer(visit=visit, answer="confirmed", words="", by=world.by, at=world.now)
    day = (world.now + dt.timedelta(days=1)).date()
    gone = Absence.objects.create(user=world.ana, first=day, last=day)
    sequence = world.read("client").parts[0].one("SEQUENCE")
    for whose in BOTH:
        assert world.read(whose).parts[0].one("STATUS") == "TENTATIVE"
    said = world.read("client").parts[0].one("DESCRIPTION")
    assert said.startswith("Not sure yet")
    assert "Ana" not in said
    assert world.read("client").parts[0].one("SEQUENCE") == sequence
    gone.delete()
    assert world.read("client").parts[0].one("STATUS") == "CONFIRMED"
    assert "Ana" in world.read("client").parts[0].one("DESCRIPTION")
