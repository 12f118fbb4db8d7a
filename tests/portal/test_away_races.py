"""Two who write of the same time away at once, and one who writes of many."""

import datetime as dt
import threading
import time
from typing import Any
from uuid import uuid4

import pytest

from apps.clients.models import TimeAway
from apps.core import outbox
from apps.core.exceptions import Conflict, DomainError
from apps.core.scoping import Actor
from apps.flows import times_away
from apps.flows.times_away import Away, away_add, away_change, away_withdraw
from tests import factories
from tests.racing import at_once

NOW, TODAY = factories.NOW, factories.TODAY
OFFICE = Actor(role="office", at=NOW)
FIRST = TODAY + dt.timedelta(days=4)


def said(carer: str = "Robin", first: dt.date = FIRST) -> Away:
    return Away(first, first, carer, "0555 0171", "yes", may_come=True, notes="")


def told() -> TimeAway:
    factories.firm()
    place = factories.system(factories.place(factories.client("Okafor"))).system.place
    return away_add(place=place, said=said(), key=uuid4(), by=OFFICE, at=NOW, today=TODAY)


def change(row: TimeAway) -> TimeAway:
    return away_change(row=row, said=said("Sol"), rev=1, by=OFFICE, at=NOW, today=TODAY)


def withdraw(row: TimeAway) -> TimeAway:
    return away_withdraw(row=row, by=OFFICE, at=NOW, today=TODAY)


@pytest.mark.django_db
def test_a_change_writes_only_what_it_changes(monkeypatch: pytest.MonkeyPatch) -> None:
    """As if the other came between the reading and the writing, whatever lock there is."""
    row, check = told(), times_away._check

    def between(*args: Any, **more: Any) -> None:
        check(*args, **more)
        TimeAway.objects.update(withdrawn_at=NOW)

    monkeypatch.setattr(times_away, "_check", between)
    change(row)
    held = TimeAway.objects.get()
    assert (held.carer_name, held.withdrawn_at) == ("Sol", NOW)


@pytest.mark.django_db
def test_a_stale_row_is_read_anew() -> None:
    row = told()
    old = TimeAway.objects.get()
    change(row)
    assert withdraw(old).rev == 3
    assert TimeAway.objects.get().carer_name == "Sol"
    with pytest.raises(Conflict):
        change(row)


def test_a_withdrawal_waits_for_a_change(
    committed_db: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(outbox, "poke", lambda *_args: None)
    told()
    check, inside = times_away._check, threading.Event()

    def slow(*args: Any, **more: Any) -> None:
        check(*args, **more)
        inside.set()
        time.sleep(0.5)

    def second() -> int:
        inside.wait(5)
        return withdraw(TimeAway.objects.get()).rev

    monkeypatch.setattr(times_away, "_check", slow)
    assert at_once(lambda: change(TimeAway.objects.get()).rev, second) == [2, 3]
    held = TimeAway.objects.get()
    assert (held.carer_name, held.withdrawn_at, held.rev) == ("Sol", NOW, 3)


@pytest.mark.django_db
def test_telling_and_withdrawing_has_an_end(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(times_away, "MOST_A_DAY", 3)
    withdraw(row := told())

    def again(at: dt.datetime) -> str:
        try:
            made = away_add(
                place=row.place, said=said(), key=uuid4(), by=OFFICE, at=at, today=TODAY
            )
        except DomainError as error:
            return error.message
        withdraw(made)
        return ""

    found = [again(NOW) for _n in range(3)]
    assert found[:2] == ["", ""]
    assert "go on tomorrow" in found[2]
    assert TimeAway.objects.count() == 3
    assert again(NOW + dt.timedelta(days=1)) == ""
