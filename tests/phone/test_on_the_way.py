"""On my way, said with no signal: kept, told once there is one, and never told too late."""

import datetime as dt
import re
from typing import Any

import pytest
from django.core import mail
from playwright.sync_api import Locator, Route, expect

from apps.core import clock, outbox
from apps.visits.models import Operation, Visit
from tests import factories
from tests.phone.conftest import Phones, World
from tests.phone.hand import Hand, wait_for

pytestmark = pytest.mark.browser


@pytest.fixture
def coming(world: World, phones: Phones, monkeypatch: pytest.MonkeyPatch) -> Hand:
    """The page of a visit that begins in an hour, on Ana's phone."""
    monkeypatch.setattr(outbox, "poke", lambda *_args: None)
    start = factories.NOW + dt.timedelta(hours=1)
    Visit.objects.update(start=start, end=start + dt.timedelta(hours=1))
    hand = phones().open()
    hand.arrived()
    return hand.go(f"/field/visits/{world.visit.pk}/")


def said(hand: Hand, path: str = "on_my_way") -> Locator:
    return hand.page.locator(f"[data-said={path}]")


def say(hand: Hand, minutes: str, label: str = "Minutes of driving") -> None:
    """Write minutes and press the button beside them."""
    hand.page.get_by_label(label).fill(minutes)
    button = "On my way" if "driving" in label else "Running late"
    hand.page.get_by_role("button", name=button).click()


def test_on_my_way_with_no_signal_is_told_once_there_is_one(coming: Hand) -> None:
    coming.page.route("**/operations", lambda route: route.abort())
    say(coming, "25")
    expect(said(coming)).to_contain_text("Kept, not told yet: call them, or the office.")
    coming.reload()
    expect(said(coming)).to_contain_text("Kept, not told yet")
    coming.pending(1)
    assert not Operation.objects.exists()
    coming.page.unroute("**/operations")
    coming.now()
    coming.arrived()
    expect(said(coming)).to_have_text(
        re.compile(r"^On my way, there about 09:2[5-9]. Told 09:0[0-4].$")
    )
    # the reply alone told so; the day says the same after a new start
    coming.reload()
    coming.arrived()
    expect(said(coming)).to_contain_text("Told 09:0")
    outbox.drain(clock.now())
    assert [letter.subject[:17] for letter in mail.outbox] == ["Ana is on the way"]
    assert Visit.objects.get().state == "booked"


def test_a_lost_reply_tells_nobody_twice(coming: Hand) -> None:
    sent: list[Any] = []

    def lose(route: Route) -> None:
        sent.append(route.request.post_data_json)
        if len(sent) == 1:
            route.fetch()
            route.abort("connectionreset")
        else:
            route.continue_()

    coming.page.route("**/operations", lose)
    say(coming, "30", "Minutes later than 10:00")
    wait_for(coming.page, sent, 2)
    coming.arrived()
    assert len(sent) == 2
    assert sent[0]["ops"] == sent[1]["ops"]
    expect(said(coming, "running_late")).to_contain_text("Told 09:0")
    outbox.drain(clock.now())
    assert [letter.subject for letter in mail.outbox] == ["We come later: about 10:30."]


def test_what_comes_too_late_tells_nobody_and_says_so(coming: Hand, world: World) -> None:
    coming.page.route("**/operations", lambda route: route.abort())
    say(coming, "25")
    expect(said(coming)).to_contain_text("Kept, not told yet")
    Visit.objects.update(state="called_off")
    coming.page.unroute("**/operations")
    coming.now()
    coming.pending(0)
    outbox.drain(clock.now())
    assert mail.outbox == []
    assert Operation.objects.get().outcome == "too_late"
    expect(said(coming)).to_contain_text("Came too late to tell: nobody was written to.")


def test_no_minutes_are_refused_beside_their_box(coming: Hand) -> None:
    for text in ("", "soon", "0", "481"):
        say(coming, text)
        expect(coming.page.locator("#on_my_way-fault")).to_have_text(
            "Write whole minutes from 1 to 480."
        )
    assert said(coming).count() == 0
    # and what was typed outlives the page
    coming.page.get_by_label("Minutes of driving").fill("35")
    coming.kept("#on_my_way")
    coming.reload()
    expect(coming.page.get_by_label("Minutes of driving")).to_have_value("35")


def test_it_is_no_beginning_of_the_visit(coming: Hand, world: World) -> None:
    say(coming, "25")
    coming.arrived()
    first = coming.page.evaluate(
        "async (id) => (await import('/field/m/store.js')).firstAt(id)", str(world.visit.pk)
    )
    assert first is None
    coming.page.get_by_role("button", name="Start").click()
    coming.arrived()
    coming.go(f"/field/visits/{world.visit.pk}/")
    expect(coming.page.get_by_role("button", name="On my way")).to_have_count(0)
    expect(said(coming)).to_contain_text("Told 09:0")
