"""On my way, and running late: the client is told once, while it is of use, and never twice."""

import datetime as dt
from typing import Any
from uuid import uuid4

import pytest
from django.core import mail

from apps.accounts.models import AuditEntry, Firm
from apps.accounts.services import link_issue
from apps.clients.models import Client, Contact
from apps.core import clock, outbox
from apps.reports.models import Letter
from apps.visits.models import Operation, RefusedOperation, Value, Visit
from tests import factories
from tests.api.conftest import Caller, World
from tests.phone.server.sending import Json, Phone
from tests.reader import Reader as Browser

NOW = factories.NOW
HALF_PAST = NOW + dt.timedelta(minutes=30)


@pytest.fixture
def ana(world: World) -> Phone:
    return Phone(world.ana)


@pytest.fixture
def coming(world: World, visit: Json) -> Json:
    """Ana's visit, booked for ten o'clock; the letter about the appointment is out."""
    start = NOW + dt.timedelta(hours=1)
    Visit.objects.filter(pk=visit["id"]).update(start=start, end=start + dt.timedelta(hours=1))
    outbox.drain(NOW)
    mail.outbox.clear()
    return visit


def way(phone: Phone, visit: Json, minutes: int = 30, **more: Any) -> Json:
    value = {"minutes": minutes, "there": (NOW + dt.timedelta(minutes=minutes)).isoformat()}
    return phone.op(visit, "on_my_way", value, sheet=None, **more)


def late(phone: Phone, visit: Json, minutes: int = 30, **more: Any) -> Json:
    there = NOW + dt.timedelta(hours=1, minutes=minutes)
    value = {"minutes": minutes, "there": there.isoformat()}
    return phone.op(visit, "running_late", value, sheet=None, **more)


def told(phone: Phone, op: Json) -> str:
    """Send it, let the letters go out, and return what became of it."""
    (reply,) = phone.send(op)
    outbox.drain(clock.now())
    assert reply["status"] == "ok", reply
    return str(reply["outcome"])


class TestTold:
    def test_on_my_way(self, ana: Phone, coming: Json) -> None:
        (reply,) = ana.send(way(ana, coming))
        assert reply["outcome"] == "told"
        assert reply["theirs"] == {
            "minutes": 30, "there": HALF_PAST.isoformat(), "became": "told",
            "at": NOW.isoformat(), "name": "Ana",
        }  # fmt: skip
        outbox.drain(NOW)
        (letter,) = mail.outbox
        assert letter.subject == "Ana is on the way, about 09:30."
        assert letter.to == ["okafor@okafor.example"]
        assert "Is nobody there to let us in? Call 0555 0100." in letter.body

    def test_running_late(self, ana: Phone, coming: Json) -> None:
        assert told(ana, late(ana, coming)) == "told"
        (letter,) = mail.outbox
        assert letter.subject == "We come later: about 10:30."
        assert "We had said Thursday 11 June at 10:00; we are sorry that you wait." in letter.body
        assert "danger" not in letter.body

    def test_it_begins_no_visit_and_is_no_answer(self, ana: Phone, coming: Json) -> None:
        before = Visit.objects.get()
        told(ana, way(ana, coming))
        told(ana, late(ana, coming))
        after = Visit.objects.get()
        assert (after.state, after.started_at, after.start, after.rev) == (
            "booked", None, before.start, before.rev,
        )  # fmt: skip
        assert after.appointment_sequence == before.appointment_sequence
        assert not Value.objects.exists()

    def test_each_contact_who_gets_letters(self, ana: Phone, coming: Json) -> None:
        client = Client.objects.get(name="Okafor")
        client.just_tell = True
        client.save()
        Contact.objects.create(client=client, name="Sam", email="sam@okafor.example")
        Contact.objects.create(
            client=client, name="Quiet", email="q@okafor.example", gets_letters=False
        )
        told(ana, way(ana, coming))
        assert sorted(letter.to[0] for letter in mail.outbox) == [
            "okafor@okafor.example", "sam@okafor.example",
        ]  # fmt: skip

    def test_nobody_there_gets_letters(self, ana: Phone, coming: Json) -> None:
        Contact.objects.update(gets_letters=False)
        assert told(ana, way(ana, coming)) == "nobody"
        assert mail.outbox == []

    def test_quiet_hours_do_not_hold_it(self, ana: Phone, coming: Json) -> None:
        Firm.objects.update(quiet_from=dt.time(8), quiet_until=dt.time(20))
        told(ana, way(ana, coming))
        assert Letter.objects.get(kind="on_my_way").not_before is None
        assert len(mail.outbox) == 1

    def test_audit_names_what_became_of_it(self, ana: Phone, coming: Json) -> None:
        told(ana, way(ana, coming))
        entry = AuditEntry.objects.get(verb="on_my_way: told")
        assert (entry.object_id, entry.change) == (coming["id"], {"there": HALF_PAST.isoformat()})


class TestOnce:
    def test_the_same_operation_again_tells_nobody_again(self, ana: Phone, coming: Json) -> None:
        op = way(ana, coming)
        first = ana.send(op)[0]
        for _turn in range(3):
            assert ana.send(op)[0] == first
        assert ana.send(op, op) == [first, first]
        outbox.drain(NOW)
        assert len(mail.outbox) == Operation.objects.filter(path="on_my_way").count() == 1

    def test_again_after_the_visit_has_begun_it_stands_as_told(
        self, ana: Phone, coming: Json
    ) -> None:
        op = way(ana, coming)
        first = ana.send(op)[0]
        ana.send(ana.op(coming, "started_at", NOW.isoformat(), sheet=None))
        assert ana.send(op)[0] == first

    def test_promised_anew_is_told_anew(self, ana: Phone, coming: Json) -> None:
        assert told(ana, way(ana, coming)) == "told"
        assert told(ana, way(ana, coming, minutes=50)) == "told"
        assert [letter.subject for letter in mail.outbox] == [
            "Ana is on the way, about 09:30.", "Ana is on the way, about 09:50.",
        ]  # fmt: skip

    def test_out_of_order_the_older_one_is_not_told(self, ana: Phone, coming: Json) -> None:
        older, newer = way(ana, coming), late(ana, coming)
        assert told(ana, newer) == "told"
        assert told(ana, older) == "too_late"
        assert [letter.subject for letter in mail.outbox] == ["We come later: about 10:30."]
        assert [reply["outcome"] for reply in ana.send(older, newer)] == ["too_late", "told"]

    @pytest.mark.parametrize("what", ["value", "seq"])
    def test_a_mark_used_for_something_else_is_refused(
        self, ana: Phone, coming: Json, what: str
    ) -> None:
        op = way(ana, coming)
        told(ana, op)
        other = (
            {**op, "value": {**op["value"], "minutes": 31}} if what == "value"
            else {**op, "id": str(uuid4())}
        )  # fmt: skip
        (reply,) = ana.send(other)
        assert (reply["status"], reply["why"][0]["code"]) == ("rejected", "reused_id")
        outbox.drain(NOW)
        assert len(mail.outbox) == 1


class TestTooLate:
    """Kept, marked, and nobody is written to."""

    def kept(self, ana: Phone, op: Json) -> None:
        """Assert that it came too late, and is kept as that."""
        assert told(ana, op) == "too_late"
        assert mail.outbox == []
        row = Operation.objects.get(pk=op["id"])
        assert (row.outcome, row.seq) == ("too_late", op["seq"])
        assert ana.send(op)[0]["outcome"] == "too_late"

    def test_the_visit_has_begun(self, ana: Phone, coming: Json) -> None:
        ana.send(ana.op(coming, "started_at", NOW.isoformat(), sheet=None))
        self.kept(ana, way(ana, coming))

    def test_it_comes_with_the_beginning_in_one_go(self, ana: Phone, coming: Json) -> None:
        op = way(ana, coming)
        replies = ana.send(op, ana.op(coming, "started_at", NOW.isoformat(), sheet=None))
        outbox.drain(NOW)
        assert [reply["outcome"] for reply in replies] == ["too_late", "applied"]
        assert mail.outbox == []

    @pytest.mark.parametrize("state", ["called_off", "written_up", "reported", "pencilled"])
    def test_the_visit_stands_otherwise(self, ana: Phone, coming: Json, state: str) -> None:
        Visit.objects.filter(pk=coming["id"]).update(state=state)
        self.kept(ana, way(ana, coming))

    def test_the_promised_time_is_past(
        self, ana: Phone, coming: Json, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        op = way(ana, coming)
        monkeypatch.setattr(clock, "now", lambda: HALF_PAST)
        self.kept(ana, op)

    def test_a_moment_before_it_is_not(
        self, ana: Phone, coming: Json, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        op = way(ana, coming)
        monkeypatch.setattr(clock, "now", lambda: HALF_PAST - dt.timedelta(seconds=1))
        assert told(ana, op) == "told"

    def test_the_office_has_moved_the_visit_to_another_day(self, ana: Phone, coming: Json) -> None:
        start = NOW + dt.timedelta(days=1)
        Visit.objects.filter(pk=coming["id"]).update(start=start, end=start + dt.timedelta(hours=1))
        self.kept(ana, way(ana, coming))

    def test_later_than_what_the_office_says_now_is_not_late(
        self, ana: Phone, coming: Json
    ) -> None:
        start = NOW + dt.timedelta(hours=1, minutes=30)
        Visit.objects.filter(pk=coming["id"]).update(start=start, end=start + dt.timedelta(hours=1))
        self.kept(ana, late(ana, coming))


def test_in_a_copy_that_was_carried_in_it_counts_as_taken(
    world: World, ana: Phone, coming: Json
) -> None:
    copy = ana.copy([way(ana, coming), late(ana, coming)])
    # the phone itself was never heard from: the copy says whose it is
    answer = world.office.browser.post(
        "/api/v1/field/copy", {"copy": copy}, headers=world.office.headers
    )
    assert answer.status_code == 200, answer.content
    assert (answer.json()["taken"], answer.json()["refused"]) == (2, [])


class TestRefused:
    @pytest.mark.parametrize(
        "value",
        [
            None, 30, "30", [], {}, {"minutes": 30}, {"there": HALF_PAST.isoformat()},
            {"minutes": 0, "there": HALF_PAST.isoformat()},
            {"minutes": 481, "there": HALF_PAST.isoformat()},
            {"minutes": True, "there": HALF_PAST.isoformat()},
            {"minutes": 30.0, "there": HALF_PAST.isoformat()},
            {"minutes": 30, "there": "2026-06-11T09:30:00"},
            {"minutes": 30, "there": "soon\0"},
        ],
    )  # fmt: skip
    def test_what_says_no_minutes_or_no_time(self, ana: Phone, coming: Json, value: Any) -> None:
        (reply,) = ana.send(ana.op(coming, "on_my_way", value, sheet=None))
        assert (reply["status"], reply["why"][0]["code"]) == ("rejected", "answer")
        assert reply["why"][0]["message"]
        assert RefusedOperation.objects.count() == 1
        assert not Operation.objects.exists()

    def test_of_a_system(self, ana: Phone, coming: Json) -> None:
        op = {**way(ana, coming), "sheet": coming["sheets"][0]["id"]}
        assert ana.send(op)[0]["status"] == "rejected"

    def test_of_anothers_visit(self, world: World, coming: Json) -> None:
        marek = Phone(world.marek)
        (reply,) = marek.send(way(marek, coming))
        assert (reply["status"], reply["why"][0]["code"]) == ("rejected", "visit")
        outbox.drain(NOW)
        assert mail.outbox == []

    def test_a_bad_one_stops_no_other(self, ana: Phone, coming: Json) -> None:
        bad = ana.op(coming, "on_my_way", 30, sheet=None)
        note = f"lines/{coming['sheets'][0]['lines'][0]['id']}/note"
        replies = ana.send(bad, way(ana, coming), ana.op(coming, note, "rinsed"))
        assert [reply["status"] for reply in replies] == ["rejected", "ok", "ok"]


class TestShown:
    def page(self, coming: Json) -> str:
        """Return the client's page."""
        client_id = Visit.objects.get(pk=coming["id"]).place.client_id
        link = link_issue(client_id=client_id, purpose="page", at=NOW, secret="w" * 43)
        return Browser().get(f"/c/{link}/").content.decode()

    def test_to_the_client_while_it_holds(
        self, ana: Phone, coming: Json, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        assert "on the way" not in self.page(coming)
        told(ana, way(ana, coming))
        said = "Ana is on the way, about 09:30."
        assert said in self.page(coming)
        monkeypatch.setattr(clock, "now", lambda: HALF_PAST + dt.timedelta(minutes=14))
        assert said in self.page(coming)
        monkeypatch.setattr(clock, "now", lambda: HALF_PAST + dt.timedelta(minutes=15))
        assert said not in self.page(coming)

    def test_to_the_client_until_it_begins(self, ana: Phone, coming: Json) -> None:
        told(ana, late(ana, coming))
        assert "We come later: about 10:30." in self.page(coming)
        ana.send(ana.op(coming, "started_at", NOW.isoformat(), sheet=None))
        assert "We come later" not in self.page(coming)

    def test_what_came_too_late_is_not_shown_to_the_client(self, ana: Phone, coming: Json) -> None:
        newer, older = late(ana, coming), way(ana, coming, seq=1)
        newer["seq"] = 9
        told(ana, newer)
        assert told(ana, {**older, "seq": 2}) == "too_late"
        assert "on the way" not in self.page(coming)

    def test_to_the_office(self, world: World, ana: Phone, coming: Json) -> None:
        desk = Browser()
        desk.force_login(world.users["office"])
        told(ana, way(ana, coming))
        ana.send(ana.op(coming, "started_at", NOW.isoformat(), sheet=None))
        told(ana, late(ana, coming))
        page = desk.get(f"/visits/{coming['id']}/").content.decode()
        assert "Ana is on the way, about 09:30" in page
        assert "the client was told Thu 11 June, 09:00" in page
        assert "Ana comes later, about 10:30" in page
        assert "came too late to tell: Thu 11 June, 09:00" in page

    def test_on_every_phone_of_the_visit_with_its_day(self, world: World, coming: Json) -> None:
        ana = Phone(world.ana)
        told(ana, way(ana, coming))
        values = day(world.ana)["values"]
        assert values["on_my_way"]["v"]["became"] == "told"
        assert values["on_my_way"]["v"]["at"] == NOW.isoformat()


def day(caller: Caller) -> Json:
    """Return the first visit of a phone's day."""
    answer = caller("GET", "/field/day")
    assert answer.status_code == 200, answer.content
    first: Json = answer.json()["visits"][0]
    return first
