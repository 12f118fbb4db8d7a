"""Incidents below the pages: what their rows refuse, who sees them, who was quicker."""

import datetime as dt
from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError
from django.db import DatabaseError, IntegrityError, transaction

from apps.accounts.models import User
from apps.core.exceptions import Conflict, Invalid, StaleVersion
from apps.core.scoping import Actor
from apps.incidents.models import Incident, IncidentNote, PutOff
from apps.incidents.selectors import incident_counts, incidents_of
from apps.incidents.services import (
    incident_answer,
    incident_close,
    incident_note,
    incident_open,
    incident_step,
)
from apps.systems.models import System
from apps.visits.models import Assignment, Visit
from tests import factories

NOW = factories.NOW


@pytest.fixture
def by(db: None) -> Actor:
    factories.firm()
    return factories.actor(factories.user("office", "office"))


@pytest.fixture
def system(by: Actor) -> System:
    return factories.system(factories.place(factories.client("Okafor"))).system


@pytest.fixture
def incident(system: System, by: Actor) -> Incident:
    return incident_open(system=system, kind="power", by=by, at=NOW)


def pointer(error: Invalid) -> str:
    return str(error.errors[0]["pointer"])


def test_what_was_said_is_taken_as_answered_but_people(incident: Incident) -> None:
    assert incident.answers == {"power": "out"}


def test_a_system_that_has_ended_has_no_incident(system: System, by: Actor) -> None:
    system.active = False
    with pytest.raises(Invalid) as caught:
        incident_open(system=system, kind="power", by=by, at=NOW)
    assert pointer(caught.value) == "/system"
    assert not Incident.objects.exists()


def test_the_same_key_is_the_same_incident(system: System, by: Actor) -> None:
    key = uuid4()
    first = incident_open(system=system, kind="power", by=by, at=NOW, pk=key)
    assert incident_open(system=system, kind="power", by=by, at=NOW, pk=key) == first
    assert Incident.objects.count() == 1
    other = factories.system(system.place, "Yard").system
    with pytest.raises(Conflict):
        incident_open(system=other, kind="power", by=by, at=NOW, pk=key)


@pytest.mark.parametrize(
    ("kind", "caller"), [("fire", ""), ("power", "x" * 121)], ids=["kind", "caller"]
)
def test_bad_words_leave_nothing(system: System, by: Actor, kind: str, caller: str) -> None:
    with pytest.raises((Invalid, ValidationError)):
        incident_open(system=system, kind=kind, caller=caller, by=by, at=NOW)
    assert not Incident.objects.exists()
    assert not IncidentNote.objects.exists()


def test_a_key_of_another_note_is_refused(incident: Incident, by: Actor) -> None:
    key = uuid4()
    incident_note(incident=incident, text="first", pk=key, by=by, at=NOW)
    with pytest.raises(Conflict):
        incident_note(incident=incident, text="second", pk=key, by=by, at=NOW)
    assert IncidentNote.objects.get(pk=key).text == "first"


@pytest.mark.parametrize(("step", "answer"), [("roof", "no"), ("people", "perhaps"), ("", "")])
def test_an_answer_that_the_script_does_not_have(
    incident: Incident, by: Actor, step: str, answer: str
) -> None:
    with pytest.raises(Invalid) as caught:
        incident_answer(incident=incident, step=step, answer=answer, by=by, at=NOW)
    assert pointer(caught.value) in ("/step", "/answer")
    assert caught.value.errors[0]["allowed"]


class TestTwoAtOnce:
    def close(self, incident: Incident, by: Actor, rev: int, outcome: str) -> Incident:
        return incident_close(
            incident=Incident.objects.get(pk=incident.pk), cause="power", outcome=outcome, rev=rev,
            by=by, at=NOW,
        )  # fmt: skip

    def test_the_second_to_close_is_told(self, incident: Incident, by: Actor) -> None:
        self.close(incident, by, 1, "first")
        with pytest.raises(StaleVersion):
            self.close(incident, by, 1, "second")
        assert Incident.objects.get().outcome == "first"

    def test_closing_over_an_answer_that_came_meanwhile(
        self, incident: Incident, by: Actor
    ) -> None:
        incident_answer(incident=incident, step="people", answer="hurt", by=by, at=NOW)
        with pytest.raises(StaleVersion):
            self.close(incident, by, 1, "first")
        assert Incident.objects.get().state == "open"

    def test_a_note_does_not_stand_in_the_way(self, incident: Incident, by: Actor) -> None:
        incident_note(incident=incident, text="one more", by=by, at=NOW)
        assert self.close(incident, by, 1, "first").state == "closed"

    def test_what_is_closed_cannot_close_again(self, incident: Incident, by: Actor) -> None:
        self.close(incident, by, 1, "first")
        with pytest.raises(Conflict):
            self.close(incident, by, 2, "second")


@pytest.mark.parametrize(("state", "to"), [("open", "open"), ("open", "closed"), ("watching", "")])
def test_steps_that_there_are_not(incident: Incident, by: Actor, state: str, to: str) -> None:
    Incident.objects.update(state=state)
    with pytest.raises((Conflict, Invalid)):
        incident_step(incident=incident, to=to, by=by, at=NOW)
    assert Incident.objects.get().state == state


@pytest.mark.parametrize(
    "change",
    [{"kind": "fire"}, {"state": "lost"}, {"cause": "luck"}, {"state": "closed"},
     {"closed_at": NOW}, {"state": "closed", "closed_at": NOW - dt.timedelta(days=1),
                          "cause": "air", "outcome": "x"}],
    ids=str,
)  # fmt: skip
def test_the_database_refuses_what_cannot_be(incident: Incident, change: dict[str, object]) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        Incident.objects.update(**change)


def test_a_visit_put_off_comes_later(incident: Incident, system: System) -> None:
    visit = Visit.objects.create(place=system.place, start=NOW, end=NOW + dt.timedelta(hours=1),
                                 made_at=NOW)  # fmt: skip
    with pytest.raises(IntegrityError), transaction.atomic():
        PutOff.objects.create(incident=incident, visit=visit, was=NOW, now=NOW, at=NOW)


def test_notes_hold_still(incident: Incident) -> None:
    """SQL triggers in both dialects, tried past the models' own rules."""
    with pytest.raises(DatabaseError, match="append-only"), transaction.atomic():
        IncidentNote.objects.update(text="other")
    with pytest.raises(DatabaseError, match="append-only"), transaction.atomic():
        IncidentNote.objects.all()._raw_delete("default")
    assert IncidentNote.objects.get().text == ""


class TestWhoSees:
    def visit(self, incident: Incident, user: User) -> None:
        visit = Visit.objects.create(
            place=incident.system.place, state="booked", start=NOW, made_at=NOW,
            end=NOW + dt.timedelta(hours=1),
        )  # fmt: skip
        Assignment.objects.create(visit=visit, user=user, start=visit.start, end=visit.end)
        Incident.objects.filter(pk=incident.pk).update(visit=visit)

    def test_a_technician_sees_those_of_their_own_visits(self, incident: Incident) -> None:
        ana, marek = factories.user("ana"), factories.user("marek")
        self.visit(incident, ana)
        assert list(incidents_of(factories.actor(ana))) == [incident]
        assert list(IncidentNote.objects.visible_to(factories.actor(ana)))
        assert not incidents_of(factories.actor(marek)).exists()
        assert not IncidentNote.objects.visible_to(factories.actor(marek)).exists()

    def test_one_that_no_visit_followed_is_the_offices(self, incident: Incident, by: Actor) -> None:
        ana = factories.actor(factories.user("ana"))
        assert not incidents_of(ana).exists()
        assert incident_counts(ana)["all"] == 0
        assert incident_counts(by) == {"all": 1, "open": 1, "watching": 0, "closed": 0}

    def test_a_client_sees_none(self, incident: Incident) -> None:
        client = Actor(role="client", at=NOW, client_id=incident.system.place.client_id)
        assert not incidents_of(client).exists()
