"""Working alone: the office is told once when nobody says fine, and told again when all is well."""

import datetime as dt
from collections.abc import Callable
from uuid import uuid4

import pytest
from django.core import mail
from django.core.mail import EmailMessage

from apps.core import clock, outbox
from apps.reports.models import Letter
from apps.visits.models import CheckIn
from tests import factories
from tests.api.conftest import World
from tests.phone.server.sending import Json, Phone

NOW = factories.NOW


@pytest.fixture
def at(monkeypatch: pytest.MonkeyPatch) -> Callable[[float], None]:
    """Let it be some minutes past nine, and what is due be done."""
    monkeypatch.setattr(outbox, "poke", lambda *_args: None)

    def go(minutes: float) -> None:
        moment = NOW + dt.timedelta(minutes=minutes)
        monkeypatch.setattr(clock, "now", lambda: moment)
        outbox.drain(moment)

    return go


def told() -> list[EmailMessage]:
    """Return what was written to the office."""
    return [letter for letter in mail.outbox if letter.to == ["office@reedandroach.example"]]


def stamp(minutes: float) -> str:
    """Return a time so many minutes past nine."""
    return (NOW + dt.timedelta(minutes=minutes)).isoformat()


@pytest.fixture
def ana(world: World) -> Phone:
    world.users["ana"].phone = "0555 0142"
    world.users["ana"].save()
    return Phone(world.ana)


def promise(phone: Phone, visit: Json, minutes: float) -> str:
    """Say by when; return the row's key."""
    key = str(uuid4())
    phone.send(phone.op(visit, f"checkin/{key}/fine_by", stamp(minutes), sheet=None))
    return key


def fine(phone: Phone, visit: Json, key: str, minutes: float) -> None:
    """Say fine."""
    phone.send(phone.op(visit, f"checkin/{key}/fine_at", stamp(minutes), sheet=None))


def test_late_is_told_once_with_person_place_phone_and_how_late(
    ana: Phone, visit: Json, at: Callable[[float], None]
) -> None:
    promise(ana, visit, 30)
    at(30)
    assert not told()
    at(32)
    (letter,) = told()
    assert letter.subject == "Ana works alone and has not said fine: 2 minutes late."
    for words in ("Okafor", "Quarry Lane 31", "Call 0555 0142 now", "by Thursday 11 June at 09:30",
                  f"/visits/{visit['id']}/"):  # fmt: skip
        assert words in letter.body, words
    at(60)
    assert len(told()) == 1


def test_fine_in_time_tells_nobody(ana: Phone, visit: Json, at: Callable[[float], None]) -> None:
    key = promise(ana, visit, 30)
    at(20)
    fine(ana, visit, key, 20)
    at(90)
    assert not told()


def test_fine_afterwards_takes_it_back(
    ana: Phone, visit: Json, at: Callable[[float], None]
) -> None:
    key = promise(ana, visit, 30)
    at(32)
    fine(ana, visit, key, 45)
    fine(ana, visit, key, 50)
    at(50)
    assert [letter.subject for letter in told()] == [
        "Ana works alone and has not said fine: 2 minutes late.", "Ana is fine; nothing to do.",
    ]  # fmt: skip
    assert "no longer holds" in told()[1].body
    assert CheckIn.objects.get().fine_at == NOW + dt.timedelta(minutes=45)


def test_the_end_of_the_visit_takes_it_back(
    ana: Phone, visit: Json, at: Callable[[float], None]
) -> None:
    promise(ana, visit, 30)
    at(32)
    ana.send(*ana.lines(visit))
    assert ana.send(ana.finish(visit))[0]["outcome"] == "applied"
    assert Letter.objects.filter(kind="check_in").count() == 2


def test_a_phone_that_was_away_and_sends_both_at_once_tells_nobody(
    ana: Phone, visit: Json, at: Callable[[float], None]
) -> None:
    at(120)
    key = str(uuid4())
    ana.send(
        ana.op(visit, f"checkin/{key}/fine_by", stamp(30), sheet=None),
        ana.op(visit, f"checkin/{key}/fine_at", stamp(25), sheet=None),
    )
    at(125)
    assert not told()


def test_a_later_time_moves_it(ana: Phone, visit: Json, at: Callable[[float], None]) -> None:
    key = promise(ana, visit, 30)
    ana.send(ana.op(visit, f"checkin/{key}/fine_by", stamp(60), sheet=None, base_rev=1))
    at(45)
    assert not told()
    at(62)
    assert len(told()) == 1


def test_a_key_of_another_visit_moves_nothing(world: World, ana: Phone, visit: Json) -> None:
    key = promise(ana, visit, 30)
    made = world.office(
        "POST", "/visits",
        {"place": str(world.other.system.place_id), "systems": [str(world.other.system.pk)],
         "start": stamp(0), "end": stamp(60), "technicians": [str(world.users["marek"].pk)]},
    ).json()  # fmt: skip
    world.office("POST", f"/visits/{made['id']}/transition", {"to": "booked"})
    marek = Phone(world.marek)
    marek.send(marek.op(made, f"checkin/{key}/fine_by", stamp(600), sheet=None))
    marek.send(marek.op(made, f"checkin/{key}/fine_at", stamp(1), sheet=None))
    row = CheckIn.objects.get()
    assert str(row.visit_id) == visit["id"]
    assert (row.fine_by, row.fine_at) == (NOW + dt.timedelta(minutes=30), None)
