"""What the server cannot take stops nothing else, stays on the phone, and is kept for the office."""

from typing import Any
from uuid import uuid4

import pytest
from playwright.sync_api import expect

from apps.visits.models import Assignment, Operation, Phone, RefusedOperation
from tests.phone.conftest import World
from tests.phone.hand import Hand

pytestmark = pytest.mark.browser
PUT = "async (a) => (await import('/field/m/store.js')).put(...a)"


def put(hand: Hand, visit: Any, sheet: Any, path: str, value: Any) -> None:
    """Keep an answer as a screen would."""
    hand.page.evaluate(PUT, [str(visit), str(sheet) if sheet else None, path, value])


def bad(hand: Hand, name: str) -> list[Any]:
    """Return an answer that cannot be taken."""
    v, s, row = hand.visit.pk, hand.sheet.pk, hand.lines[1]
    return {
        "poison": [v, s, f"lines/{row}/outcome", "exploded"],
        "no such place": [v, s, "anything/else", 1],
        "unknown visit": [uuid4(), s, f"lines/{row}/note", "where?"],
        "unknown sheet": [v, uuid4(), f"lines/{row}/note", "where?"],
        "too long": [v, s, f"lines/{row}/note", "x" * 4001],
    }[name]


@pytest.mark.parametrize(
    "name", ["poison", "no such place", "unknown visit", "unknown sheet", "too long"]
)
def test_a_bad_answer_stops_no_other(hand: Hand, name: str) -> None:
    hand.page.route("**/operations", lambda route: route.abort())
    put(hand, *bad(hand, name))
    hand.line().write("The good one")
    hand.page.unroute("**/operations")
    hand.now()
    hand.phase("needs", "settle")
    hand.pending(0)
    assert hand.journal.missing() == []
    assert RefusedOperation.objects.get().payload["value"] == bad(hand, name)[3]
    hand.go("/field/settle/")
    expect(hand.page.locator("[data-rejected]")).to_have_count(1)
    hand.now()
    assert RefusedOperation.objects.count() == 1
    # dropped only by a word that is written out
    hand.page.on("dialog", lambda dialog: dialog.accept("DROP"))
    hand.page.get_by_role("button", name="Drop this answer").click()
    hand.arrived()


def test_a_mark_that_was_used_is_told_and_nothing_is_covered(hand: Hand) -> None:
    hand.line().write("The first")
    hand.all_there()
    held = Operation.objects.get()
    hand.page.evaluate(
        """async ([id, seq, visit, sheet, path]) => (await import('/field/m/db.js')).strictly(['ops'], (tx) =>
          tx.objectStore('ops').put({ id, seq, visit, sheet, path, place: `${visit}|${sheet}|${path}`, value: 'Another', base_rev: 9,
            at: new Date().toISOString(), user: null, state: 'sent', why: null }))""",
        [str(held.pk), 400, str(hand.visit.pk), str(hand.sheet.pk), held.path],
    )
    hand.now()
    hand.phase("needs", "settle")
    assert hand.journal.missing() == []
    assert RefusedOperation.objects.get().payload["value"] == "Another"


def test_a_count_set_back_goes_on_from_the_servers(hand: Hand) -> None:
    hand.line().write("Counted one")
    hand.all_there()
    hand.page.evaluate("async () => (await import('/field/m/store.js')).meta('seq', 0)")
    hand.line(1).write("Counted anew", 1)
    # the mark of the count was taken: refused and shown, never lost
    hand.page.wait_for_selector(
        "body[data-phase=needs], body[data-phase=arrived]", state="attached"
    )
    hand.now()
    hand.line(2).write("Counted on", 2)
    hand.page.wait_for_selector("body[data-pending='0']", state="attached")
    hand.go("/field/settle/")
    listed = hand.page.locator("[data-rejected]").count()
    assert Operation.objects.filter(value="Counted on").count() == 1
    assert Operation.objects.filter(value="Counted anew").count() + listed == 1


def test_a_visit_given_to_somebody_else_keeps_what_was_written(hand: Hand, world: World) -> None:
    hand.page.route("**/operations", lambda route: route.abort())
    hand.line().write("Before it was given away")
    Assignment.objects.filter(user=world.staff["ana"]).delete()
    hand.page.unroute("**/operations")
    hand.now()
    hand.phase("needs", "settle")
    assert RefusedOperation.objects.get().payload["value"] == "Before it was given away"
    hand.go("/field/settle/")
    expect(hand.page.locator("[data-rejected]")).to_contain_text("Before it was given away")
    expect(hand.page.locator("[data-rejected]")).to_contain_text("not one of yours")
    # given back: answered again, it goes
    Assignment.objects.create(
        visit=world.visit, user=world.staff["ana"], start=world.visit.start, end=world.visit.end
    )
    hand.line().write("Before it was given away, again")
    hand.all_there()


def test_a_phone_that_was_cut_off_keeps_all_and_says_so(hand: Hand) -> None:
    hand.page.route("**/operations", lambda route: route.abort())
    hand.line().write("Cut off")
    Phone.objects.update(cut_off_at="2026-06-11T09:00Z")
    hand.page.unroute("**/operations")
    hand.now()
    hand.phase("needs", "cut_off")
    hand.pending(1)
    assert not Operation.objects.exists()
    Phone.objects.update(cut_off_at=None)
    hand.now()
    hand.all_there()


def test_an_answer_refused_once_is_mended_by_answering_again(hand: Hand) -> None:
    put(hand, *bad(hand, "poison"))
    hand.phase("needs", "settle")
    hand.line(1)
    hand.page.get_by_role("button", name="Done", exact=True).click()
    hand.arrived()
    assert Operation.objects.get(path__endswith="/outcome").value == "done"
