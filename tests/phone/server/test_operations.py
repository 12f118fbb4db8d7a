"""What the server does with operations: each once, none lost, a bad one stops no other."""

from typing import Any
from uuid import uuid4

import pytest

from apps.visits.models import Operation, PhoneRemark, RefusedOperation, Value, Visit
from apps.visits.services import phones
from tests import factories
from tests.api.conftest import World
from tests.phone.server.sending import Json, Phone


@pytest.fixture
def ana(world: World) -> Phone:
    return Phone(world.ana)


def note(visit: Json) -> str:
    """Return the path of a note on the first line."""
    return f"lines/{visit['sheets'][0]['lines'][0]['id']}/note"


def test_an_operation_of_another_technicians_visit_is_refused_and_kept(
    world: World, visit: Json
) -> None:
    marek = Phone(world.marek)
    (reply,) = marek.send(marek.op(visit, note(visit), "mine?"))
    assert (reply["status"], reply["why"][0]["code"]) == ("rejected", "visit")
    kept = RefusedOperation.objects.get()
    assert kept.payload["value"] == "mine?"
    assert kept.device == marek.device
    assert PhoneRemark.objects.get().visit_id == Visit.objects.get().pk
    assert not Value.objects.exists()


def test_the_same_operation_twice_is_one(ana: Phone, visit: Json) -> None:
    op = ana.op(visit, note(visit), "Strainer rinsed.")
    first, again = ana.send(op)[0], ana.send(op)[0]
    assert (first["outcome"], again["outcome"]) == ("applied", "again")
    assert again["rev"] == first["rev"] == 1
    assert Operation.objects.filter(path=note(visit)).count() == 1


def test_the_same_operation_twice_in_one_batch_is_one(ana: Phone, visit: Json) -> None:
    op = ana.op(visit, note(visit), "once")
    assert [r["outcome"] for r in ana.send(op, op)] == ["applied", "again"]


@pytest.mark.parametrize("same", ["id", "seq"])
@pytest.mark.parametrize("together", [True, False])
def test_a_mark_used_for_another_answer_is_refused_and_stops_nothing(
    ana: Phone, visit: Json, same: str, together: bool
) -> None:
    first, other = ana.op(visit, note(visit), "one"), ana.op(visit, note(visit), "two")
    good = ana.op(visit, "findings/" + str(uuid4()) + "/text", "Roots are white.")
    other[same] = first[same]
    replies = ana.send(first, other, good) if together else ana.send(first) + ana.send(other, good)
    assert [r["status"] for r in replies] == ["ok", "rejected", "ok"]
    assert replies[1]["why"][0]["code"] == "reused_id"
    assert Value.objects.get(path=note(visit)).value == "one"
    assert RefusedOperation.objects.get().payload["value"] == "two"


def test_another_phone_meets_a_newer_answer_and_both_are_kept(
    world: World, ana: Phone, visit: Json
) -> None:
    tablet = Phone(world.ana)
    ana.send(ana.op(visit, note(visit), "6.5"))
    (reply,) = tablet.send(tablet.op(visit, note(visit), "6.9"))
    assert (reply["outcome"], reply["theirs"], reply["theirs_by"]) == ("conflict", "6.5", "Ana")
    assert Value.objects.get(path=note(visit)).value == "6.5"
    assert Operation.objects.get(outcome="conflict").value == "6.9"
    (chosen,) = tablet.send(tablet.op(visit, note(visit), "6.9", base_rev=reply["rev"]))
    assert chosen["outcome"] == "applied"
    assert Value.objects.get(path=note(visit)).value == "6.9"


def test_the_same_phone_never_meets_itself(ana: Phone, visit: Json) -> None:
    ana.send(ana.op(visit, note(visit), "first"))
    (reply,) = ana.send(ana.op(visit, note(visit), "second"))
    assert (reply["outcome"], reply["rev"]) == ("applied", 2)


BAD: dict[str, dict[str, Any]] = {
    "no id": {"id": "nothing"},
    "a seq of 0": {"seq": 0},
    "a seq that is text": {"seq": "7"},
    "a base below 0": {"base_rev": -1},
    "no visit": {"visit": None},
    "no such place": {"path": "roof/1/colour"},
    "a path that is a list": {"path": ["lines"]},
    "an outcome that is none": {"value": "perhaps"},
    "a sheet of another visit": {"sheet": str(uuid4())},
    "text with NUL": {"path": "a\x00b", "value": "x\x00y", "id": "\x00"},
}


@pytest.mark.parametrize("name", BAD)
def test_a_bad_operation_is_refused_with_words_kept_and_stops_no_other(
    ana: Phone, visit: Json, name: str
) -> None:
    line = visit["sheets"][0]["lines"][0]["id"]
    bad = ana.op(visit, f"lines/{line}/outcome", "done") | BAD[name]
    replies = ana.send(bad, ana.op(visit, note(visit), "goes on"))
    assert [r["status"] for r in replies] == ["rejected", "ok"]
    assert replies[0]["why"][0]["message"]
    assert RefusedOperation.objects.count() == 1
    ana.send(bad)
    assert RefusedOperation.objects.count() == 1, "the same content is kept once"


@pytest.mark.parametrize("at", ["2026-13-45T10:00:00Z", "yesterday", None, 7, "0001-01-01T00:00Z"])
def test_a_time_that_is_none_is_the_time_of_arrival(ana: Phone, visit: Json, at: Any) -> None:
    (reply,) = ana.send(ana.op(visit, note(visit), "kept", at=at))
    assert reply["outcome"] == "applied"
    assert Operation.objects.get().at == factories.NOW


def test_a_phone_that_is_years_ahead_gives_answers_in_its_own_order(
    ana: Phone, visit: Json
) -> None:
    ops = [
        ana.op(visit, note(visit), "one", at="2031-01-01T00:00:00Z"),
        ana.op(visit, note(visit), "two", at="2019-01-01T00:00:00Z"),
    ]
    ana.send(ops[0])
    ana.send(ops[1])
    rows = list(Operation.objects.order_by("seq"))
    assert [row.value for row in rows] == ["one", "two"]
    assert {row.at for row in rows} == {factories.NOW}
    assert Value.objects.get(path=note(visit)).value == "two"


def test_an_answer_after_the_end_is_kept_told_and_not_applied(
    world: World, ana: Phone, visit: Json
) -> None:
    early = ana.op(visit, note(visit), "before the end")
    ana.send(early, *ana.lines(visit))
    assert ana.send(ana.finish(visit))[0]["outcome"] == "applied"
    late = ana.op(visit, note(visit), "after the end")
    assert [r["outcome"] for r in ana.send(late, early)] == ["late", "again"]
    assert [r["outcome"] for r in ana.send(late)] == ["late"]
    assert Value.objects.get(path=note(visit)).value == "before the end"
    assert PhoneRemark.objects.get(kind="late").operation.value == "after the end"


def test_a_visit_that_is_called_off_takes_nothing_and_loses_nothing(
    world: World, ana: Phone, visit: Json
) -> None:
    to = {"to": "called_off", "reason": "the client moved"}
    assert world.office("POST", f"/visits/{visit['id']}/transition", to).status_code == 200
    (reply,) = ana.send(ana.op(visit, note(visit), "was there"))
    assert reply["status"] == "rejected"
    assert RefusedOperation.objects.get().payload["value"] == "was there"


def test_a_body_that_is_none_is_refused_as_a_whole(world: World) -> None:
    for body in ({}, {"device": str(uuid4())}, {"device": "x", "ops": []},
                 {"device": str(uuid4()), "ops": [7]},
                 {"device": str(uuid4()), "ops": [{}] * 101}):  # fmt: skip
        answer = world.ana("POST", "/field/operations", body)
        assert answer.status_code == 422, body
        assert answer.json()["errors"][0]["pointer"] in ("/device", "/ops")


def test_refused_answers_of_a_day_have_an_end(
    world: World, visit: Json, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(phones, "REFUSED_A_DAY", 3)
    sender = Phone(world.ana)
    for n in range(5):
        reply = sender.send(sender.op(visit, "nonsense", n))[0]
        assert reply["status"] == "rejected"
    assert RefusedOperation.objects.count() == 3
