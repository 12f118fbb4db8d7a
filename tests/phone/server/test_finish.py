"""The end of a visit from a phone: it waits for what is missing, and says what differs."""

import datetime as dt
from typing import Any
from uuid import uuid4

import pytest

from apps.accounts.models import AuditEntry
from apps.care.models import Completion
from apps.systems.models import Component, Flow
from apps.visits.models import (
    Finding,
    Line,
    Operation,
    PhoneRemark,
    RefusedOperation,
    Value,
    Visit,
)
from apps.visits.services.answers import MOST_PHOTOS
from tests import factories
from tests.api.conftest import GOOD, World
from tests.phone.server.sending import Json, Phone, jpeg


@pytest.fixture
def ana(world: World, visit: Json) -> Phone:
    """A phone on which everything is answered."""
    phone = Phone(world.ana)
    phone.send(
        *phone.lines(visit), *phone.readings(visit, world.mine, **{**GOOD, "alk": 27, "no2": 0.6})
    )
    return phone


def test_it_waits_for_photos_and_says_which(ana: Phone, visit: Json) -> None:
    photo, whole = str(uuid4()), jpeg()
    end = ana.finish(visit, [photo])
    (reply,) = ana.send(end)
    assert (reply["outcome"], reply["why"][0]["code"]) == ("waiting", "photos")
    assert reply["why"][0]["photos"] == [photo]
    assert ana.piece(photo, visit["sheets"][0]["id"], whole, whole, 0).json()["done"]
    assert ana.send(end)[0]["outcome"] == "applied"
    assert Visit.objects.get().state == "written_up"


def test_it_waits_for_answers_that_the_phone_counted_and_nobody_received(
    ana: Phone, visit: Json
) -> None:
    lost = ana.op(visit, f"findings/{uuid4()}/text", "the answer that the server lost")
    end = ana.finish(visit)
    (reply,) = ana.send(end)
    assert (reply["outcome"], reply["why"][0]["code"]) == ("waiting", "answers")
    assert reply["why"][0]["seqs"] == [lost["seq"]]
    ana.send(lost)
    assert ana.send(end)[0]["outcome"] == "applied"


def test_lines_that_were_taken_off_while_the_phone_was_out_of_reach_count(
    world: World, visit: Json
) -> None:
    """The office brings the checklist up to date before it hears of what was done."""
    phone = Phone(world.ana)
    answers = [*phone.lines(visit), *phone.readings(visit, world.mine, **GOOD)]
    taken = Line.objects.filter(sheet__visit=visit["id"], task__isnull=False).first()
    assert taken is not None
    before = Line.objects.count()
    Line.objects.filter(pk=taken.pk).delete()
    phone.send(*answers)
    assert phone.send(phone.finish(visit))[0]["outcome"] == "applied"
    assert Line.objects.count() == before
    assert Line.objects.get(pk=taken.pk).outcome == "done"
    assert Completion.objects.filter(task=taken.task, visit_id=visit["id"]).exists()


def test_an_answer_that_was_refused_holds_nothing_up(ana: Phone, visit: Json) -> None:
    ana.send(ana.op(visit, "roof/1/colour", "red"))
    assert RefusedOperation.objects.count() == 1
    assert ana.send(ana.finish(visit))[0]["outcome"] == "applied"


def test_a_photo_of_a_finding_that_never_comes_holds_nothing_up(ana: Phone, visit: Json) -> None:
    """Taken off, refused, or lost with another phone: what was seen stands with what is here."""
    key, here, gone, whole = uuid4(), str(uuid4()), str(uuid4()), jpeg()
    assert ana.piece(here, visit["sheets"][0]["id"], whole, whole, 0).json()["done"]
    ana.send(
        ana.op(visit, f"findings/{key}/text", "Roots are brown"),
        ana.op(visit, f"findings/{key}/photo_ids", [gone, here]),
    )
    assert ana.send(ana.finish(visit))[0]["outcome"] == "applied"
    row = Finding.objects.get()
    assert (row.text, row.photo_ids) == ("Roots are brown", [here])


def test_a_finding_with_nothing_in_it_says_nothing(ana: Phone, visit: Json) -> None:
    """A letter that was typed by mistake and taken out again."""
    key = uuid4()
    ana.send(
        ana.op(visit, f"findings/{key}/text", ""), ana.op(visit, f"findings/{key}/photo_ids", [])
    )
    assert ana.send(ana.finish(visit))[0]["outcome"] == "applied"
    assert not Finding.objects.exists()


def test_a_finding_of_a_photo_alone_asks_for_words(ana: Phone, visit: Json) -> None:
    key, photo, whole = uuid4(), str(uuid4()), jpeg()
    ana.piece(photo, visit["sheets"][0]["id"], whole, whole, 0)
    ana.send(ana.op(visit, f"findings/{key}/photo_ids", [photo]))
    (reply,) = ana.send(ana.finish(visit))
    assert reply["why"][0]["message"] == "text: say what was seen, or choose a sign"


def test_one_photo_too_many_in_a_finding_is_said_and_the_others_stand(
    ana: Phone, visit: Json
) -> None:
    path, most = f"findings/{uuid4()}/photo_ids", [str(uuid4()) for _ in range(MOST_PHOTOS)]
    assert ana.send(ana.op(visit, path, most))[0]["outcome"] == "applied"
    (reply,) = ana.send(ana.op(visit, path, [*most, str(uuid4())], base_rev=1))
    assert reply["status"] == "rejected"
    assert reply["why"][0]["message"] == (
        "a finding holds at most 40 photos; note another finding for more"
    )
    assert Value.objects.get(path=path).value == most


def test_left_running_cannot_be_skipped(world: World, visit: Json) -> None:
    phone = Phone(world.ana)
    lines = visit["sheets"][0]["lines"]
    done = [phone.op(visit, f"lines/{line['id']}/outcome", "done") for line in lines[:-1]]
    (reply,) = phone.send(*done, phone.finish(visit))[-1:]
    assert reply["status"] == "rejected"
    assert "left running" in reply["why"][0]["message"]
    assert Visit.objects.get().state == "under_way"
    assert PhoneRemark.objects.get().seen_at is None
    # the answer is given, the phone ends again under a new mark
    phone.send(phone.op(visit, f"lines/{lines[-1]['id']}/outcome", "done"))
    assert phone.send(phone.finish(visit))[0]["outcome"] == "applied"
    assert PhoneRemark.objects.get().seen_at is not None, "settled: nobody need look at it"


def test_the_end_twice_is_one_end_and_leaves_no_gap(ana: Phone, visit: Json) -> None:
    end = ana.finish(visit)
    assert [ana.send(end)[0]["outcome"] for _ in range(2)] == ["applied", "again"]
    assert Operation.objects.get(path="finish").seq == end["seq"]


@pytest.mark.parametrize("value", [7, None, {"photos": "x"}, {"needs_seq": "7"}])
def test_an_end_that_is_none_is_refused_with_words(ana: Phone, visit: Json, value: Any) -> None:
    (reply,) = ana.send(ana.op(visit, "finish", value, sheet=None))
    assert (reply["status"], reply["why"][0]["code"]) == ("rejected", "answer")
    assert Visit.objects.get().state == "under_way"


# --- what the phone had worked out
@pytest.mark.parametrize("rows", [7, [[1]], [["x", "r", "l", 1]], [7], [[None] * 4], [[{}] * 4]])
def test_what_cannot_be_read_holds_no_end_up(ana: Phone, visit: Json, rows: Any) -> None:
    (reply,) = ana.send(ana.finish(visit, worked_out=rows))
    assert (reply["outcome"], reply["why"]) == ("applied", [])


def worked_out(world: World, visit: Json) -> list[list[Any]]:
    """Return what the server works out, as a phone would send it."""
    found = world.ana("GET", f"/visits/{visit['id']}/assessment").json()["sheets"][0]
    return [
        [visit["sheets"][0]["id"], row["rule"], row["loop"] or "", row["dose"]]
        for row in found["advice"]
    ]


def test_the_same_figures_leave_no_remark(world: World, ana: Phone, visit: Json) -> None:
    rows = worked_out(world, visit)
    assert any(row[3] for row in rows), "a dose is worked out"
    (reply,) = ana.send(ana.finish(visit, worked_out=rows))
    assert (reply["outcome"], reply["why"]) == ("applied", [])
    assert not PhoneRemark.objects.exists()


def test_another_dose_and_a_missing_advice_are_told_kept_and_audited(
    world: World, ana: Phone, visit: Json
) -> None:
    rows = worked_out(world, visit)
    dosed = next(row for row in rows if row[3])
    dropped = next(row for row in rows if row is not dosed)
    sent = [[*row[:3], row[3] * 2] if row is dosed else row for row in rows if row is not dropped]
    (reply,) = ana.send(ana.finish(visit, worked_out=sent))
    assert reply["outcome"] == "applied"
    (why,) = reply["why"]
    assert why["code"] == "differs"
    assert {row["rule"] for row in why["differs"]} == {dosed[1], dropped[1]}
    found = {row["rule"]: row for row in why["differs"]}
    assert found[dosed[1]]["phone"]["dose"] == pytest.approx(2 * found[dosed[1]]["server"]["dose"])
    assert found[dropped[1]]["phone"] is None
    remark = PhoneRemark.objects.get(kind="differs")
    assert remark.says == why["differs"]
    assert AuditEntry.objects.get(verb="phone differs").object_id == visit["id"]


def test_a_dose_that_shows_the_same_is_the_same(world: World, ana: Phone, visit: Json) -> None:
    rows = [[*row[:3], row[3] and row[3] * 1.001] for row in worked_out(world, visit)]
    assert ana.send(ana.finish(visit, worked_out=rows))[0]["why"] == []


# --- swaps
def swap(phone: Phone, visit: Json, key: str, **leaves: Any) -> None:
    """Note a swap."""
    phone.send(*[phone.op(visit, f"swaps/{key}/{leaf}", v) for leaf, v in leaves.items()])


def pump() -> Component:
    """Return the pump of the first system."""
    return Component.objects.get(name="Pump", loop__system__place__client__name="Okafor")


def test_a_swap_becomes_one_swap(ana: Phone, visit: Json) -> None:
    old, key = pump(), str(uuid4())
    tank = Component.objects.filter(loop=old.loop).exclude(pk=old.pk)[0]
    flow = Flow.objects.create(source=old, target=tank, kind="pumped")
    swap(ana, visit, key, component=str(old.pk), make="Reedworks", serial="RW-77", reason="hums")
    assert ana.send(ana.finish(visit))[0]["outcome"] == "applied"
    old.refresh_from_db()
    new = Component.objects.get(pk=key)
    assert old.removed_on == new.fitted_on == factories.TODAY
    assert (new.make, new.serial, new.replaces_id) == ("Reedworks", "RW-77", old.pk)
    assert (new.kind, new.name, new.flow_l_h) == (old.kind, old.name, old.flow_l_h)
    assert Flow.objects.get(pk=flow.pk).source_id == new.pk


def test_ending_twice_swaps_once(world: World, ana: Phone, visit: Json) -> None:
    old, key = pump(), str(uuid4())
    swap(ana, visit, key, component=str(old.pk), serial="RW-77")
    ana.send(ana.finish(visit))
    back = {"to": "under_way", "reason": "a reading was forgotten"}
    assert world.office("POST", f"/visits/{visit['id']}/transition", back).status_code == 200
    assert ana.send(ana.finish(visit))[0]["outcome"] == "applied"
    assert Component.objects.filter(replaces=old).count() == 1


@pytest.mark.parametrize(("leaf", "words"), [("component", "which part"), ("serial", "serial")])
def test_a_swap_without_part_or_serial_is_refused_with_its_pointer(
    ana: Phone, visit: Json, leaf: str, words: str
) -> None:
    key, leaves = str(uuid4()), {"component": str(pump().pk), "serial": "RW-77", "make": "R"}
    swap(ana, visit, key, **{name: said for name, said in leaves.items() if name != leaf})
    (reply,) = ana.send(ana.finish(visit))
    assert reply["status"] == "rejected"
    assert reply["why"][0]["pointer"].endswith(f"/swaps/{key}/{leaf}")
    assert words in reply["why"][0]["message"]
    assert not Component.objects.filter(pk=key).exists()
    assert Visit.objects.get().state == "under_way"


def test_a_part_of_another_system_is_not_swapped(world: World, ana: Phone, visit: Json) -> None:
    key = str(uuid4())
    swap(ana, visit, key, component=str(world.other.tank.pk), serial="X")
    (reply,) = ana.send(ana.finish(visit))
    assert "not fitted in this system" in reply["why"][0]["message"]
    world.other.tank.refresh_from_db()
    assert world.other.tank.removed_on is None


def test_a_swap_row_with_nothing_in_it_and_one_taken_off_say_nothing(
    ana: Phone, visit: Json
) -> None:
    swap(ana, visit, str(uuid4()), gone=False)
    swap(ana, visit, str(uuid4()), component=str(pump().pk), gone=True)
    assert ana.send(ana.finish(visit))[0]["outcome"] == "applied"
    assert pump().removed_on is None


def test_check_ins_are_closed_by_the_end(ana: Phone, visit: Json) -> None:
    by = (factories.NOW + dt.timedelta(minutes=30)).isoformat()
    ana.send(ana.op(visit, f"checkin/{uuid4()}/fine_by", by, sheet=None))
    ana.send(ana.finish(visit))
    assert Visit.objects.get().check_ins.get().fine_at == factories.NOW
