"""Clocks that are wrong, waits that go on while the page is away, a server set back to yesterday."""

import datetime as dt

import pytest
from django.db import transaction
from playwright.sync_api import expect

from apps.core import clock
from apps.visits.models import Operation, Phone, Value
from tests.phone.conftest import Phones, World
from tests.phone.hand import Hand

pytestmark = pytest.mark.browser


ALL, OPS = "**/api/**", "**/operations"


@pytest.mark.parametrize("heard", [True, False])
def test_a_clock_years_off_changes_no_order_and_no_day(
    phones: Phones, world: World, heard: bool
) -> None:
    hand = phones(timezone_id="Pacific/Kiritimati")
    hand.open().arrived()
    for n, year in enumerate((2031, 2019)):
        hand.page.route(ALL, lambda route: route.abort())
        hand.now()
        hand.page.clock.set_system_time(dt.datetime(year, 3, 30, 1, 30, tzinfo=dt.UTC))
        if heard:
            # it learns from the server how far its clock is off; where it hears nothing it cannot
            hand.page.route(OPS, lambda route: route.abort())
            hand.page.unroute(ALL)
            hand.now()
        hand.line(n).write(f"By a clock of {year}", n)
        hand.go(hand.place(f"read/{world.built.loop.pk}/{('ph', 'temp')[n]}/before/1"))
        hand.page.locator("#value").fill(("7,1", "24")[n])
        hand.kept("#value")
    hand.page.unroute(ALL)
    hand.page.unroute(OPS)
    hand.now()
    hand.all_there()
    rows = Operation.objects.order_by("seq")
    assert [row.value for row in rows if row.path.endswith("/note")] == [
        "By a clock of 2031",
        "By a clock of 2019",
    ]
    near = dt.timedelta(minutes=10)
    assert all(abs(row.at - clock.now()) < near for row in rows)
    taken = Value.objects.filter(path__endswith="/taken_at").values_list("value", flat=True)
    assert len(taken) == 2
    assert all(abs(dt.datetime.fromisoformat(str(at)) - clock.now()) < near for at in taken)
    assert abs(Phone.objects.get().clock_off_s) > 10**7


def test_a_wait_goes_on_while_the_page_is_away(hand: Hand, world: World) -> None:
    hand.go(hand.place(f"read/{world.built.loop.pk}/no3/before/1"))
    hand.page.evaluate(
        "async () => (await import('/field/m/store.js')).timers.start('Nitrate', 600, location.pathname)"
    )
    shown = hand.page.locator(".timers li")
    expect(shown).to_contain_text("Nitrate")
    hand.reload()
    expect(shown).to_contain_text("Nitrate")
    hand.page.clock.set_system_time(dt.datetime.now(dt.UTC) + dt.timedelta(minutes=11))
    expect(shown).to_contain_text("read now")
    hand.page.get_by_role("button", name="Stop Nitrate").click()
    expect(shown).to_have_count(0)


def test_a_server_set_back_to_an_older_copy_is_told_again(hand: Hand) -> None:
    hand.line(0).write("Before the copy", 0)
    hand.all_there()
    copy = transaction.savepoint()
    hand.line(1).write("After the copy", 1)
    hand.line(0).write("Before the copy, changed", 0)
    hand.all_there()
    given = set(Operation.objects.values_list("pk", "at"))
    transaction.savepoint_rollback(copy)
    assert Operation.objects.count() == 1
    hand.now()
    hand.all_there()
    # the same marks and times, once each
    assert set(Operation.objects.values_list("pk", "at")) == given


def test_the_last_days_can_be_sent_once_more_by_hand(hand: Hand) -> None:
    hand.line().write("Sent once")
    hand.all_there()
    hand.go("/field/phone/")
    hand.page.get_by_text("If the office's server was set back").click()
    with hand.page.expect_request("**/operations") as again:
        hand.page.get_by_role("button", name="Send the last seven days once more").click()
    assert [op["value"] for op in again.value.post_data_json["ops"]] == ["Sent once"]
    hand.all_there()
