"""What is shown is what is kept and sent: the day's head, turns of readings, how it was measured, minutes."""

import datetime as dt
from typing import Any

import pytest
from playwright.sync_api import expect

from apps.clients.models import Place
from apps.visits.models import RefusedOperation, Value
from tests import factories
from tests.phone.conftest import Phones, World, make_visit
from tests.phone.hand import Hand

pytestmark = pytest.mark.browser
SOON_MS = 5000


def test_a_page_left_open_overnight_with_no_signal_shows_the_day_that_it_is(
    phones: Phones, world: World
) -> None:
    day = dt.timedelta(days=1)
    visit, _sheet, _built = make_visit("Lindqvist", [world.staff["ana"]], factories.NOW + day)
    visit.place.gate_code = "4711#"
    visit.place.save()
    hand = phones().open()
    hand.arrived()
    head = hand.page.locator("#where time")
    expect(head).to_have_attribute("datetime", "2026-06-11")
    # a day ahead its page holds the code back as well
    hand.page.get_by_role("link", name="Lindqvist, garden").click()
    into = hand.page.locator(".getting-in")
    expect(into).to_contain_text("the code is shown on the day alone")
    expect(into).not_to_contain_text("4711#")
    hand.page.go_back()
    expect(head).to_be_visible()
    hand.page.route("**/api/**", lambda route: route.abort())
    hand.page.clock.set_system_time(dt.datetime.now(dt.UTC) + day)
    hand.page.evaluate("() => document.dispatchEvent(new Event('visibilitychange'))")
    expect(head).to_have_attribute("datetime", "2026-06-12", timeout=SOON_MS)
    today = hand.page.locator("section").filter(
        has=hand.page.get_by_role("heading", name="Today", exact=True)
    )
    expect(today.locator(".name")).to_have_text(["Lindqvist, garden"])
    # a code is sent on its day alone, and there was no signal since
    expect(today).to_contain_text("the code comes with the next signal")
    today.get_by_role("link", name="Lindqvist, garden").click()
    expect(into).to_contain_text("the code comes with the next signal")
    expect(into).not_to_contain_text("4711#")
    hand.page.go_back()
    expect(hand.page.locator("#as-of")).to_contain_text("As of Thu, Jun 11, ")
    # the one of yesterday was not begun, and is there all the same
    before = hand.page.locator("section").filter(has_text="Okafor, garden")
    expect(before.get_by_role("heading")).to_have_text("Thu, Jun 11")
    expect(hand.page.get_by_text("Begun and not finished")).to_have_count(0)


def test_a_reading_taken_back_keeps_its_turn(hand: Hand, world: World) -> None:
    value = hand.page.locator("#value")

    def turn(n: int) -> None:
        hand.go(hand.place(f"read/{world.built.loop.pk}/ph/before/{n}"))

    def write(text: str) -> None:
        value.fill(text)
        hand.kept("#value")

    turn(1)
    write("6.8")
    turn(2)
    write("7.0")
    turn(1)
    expect(value).to_have_value("6.8")
    write("")
    turn(1)
    expect(value).to_have_value("", timeout=SOON_MS)
    write("6.o")
    hand.go(f"/field/visits/{hand.visit.pk}/{hand.sheet.pk}/")
    # words that are no number yet are an open step, the other stands beside
    expect(hand.page.locator("a[href*='/read/'][href*='/ph/before/']")).to_have_count(2)
    turn(1)
    expect(value).to_have_value("6.o")
    write("6.9")
    turn(2)
    expect(value).to_have_value("7.0")
    hand.arrived()
    stand = Value.objects.filter(path__startswith="readings/")
    assert {row.value for row in stand.filter(path__endswith="/value")} == {6.9, 7.0}
    assert {row.value for row in stand.filter(path__endswith="/gone")} == {False}


def test_the_way_of_measuring_that_is_shown_is_recorded(phones: Phones, world: World) -> None:
    hand = phones()
    loop = str(world.built.loop.pk)

    def with_last(route: Any) -> None:
        answer = route.fetch()
        body = answer.json()
        body["visits"][0]["sheets"][0]["last"][f"{loop}/ph"] = {
            "value": 6.9, "unit": "", "typed_unit": "", "basis": "", "method": "drops",
            "instrument": "Kit 3", "word": "in_band", "on_words": "4 June",
        }  # fmt: skip
        route.fulfill(response=answer, json=body)

    hand.page.route("**/api/v1/field/day", with_last)
    hand.open().arrived()
    hand.go(hand.place(f"read/{loop}/ph/before/1"))
    expect(hand.page.locator("#method")).to_have_value("drops")
    hand.page.locator("#value").fill("6.8")
    hand.kept("#value")
    hand.arrived()
    stand = {row.path.split("/")[-1]: row.value for row in Value.objects.all()}
    assert (stand["value"], stand["method"], stand["instrument"]) == (6.8, "drops", "Kit 3")


def test_minutes_that_are_no_number_say_so_and_stay(hand: Hand) -> None:
    hand.line()
    box, fault = hand.page.locator("#minutes"), hand.page.locator("#minutes-fault")
    for words in ("1h 20", "1500"):
        box.fill(words)
        hand.kept("#minutes")
        expect(fault).to_contain_text(f"Minutes: {words} cannot be kept", timeout=SOON_MS)
        expect(fault).to_contain_text("Write a whole number from 0 to 1440")
        hand.reload()
        expect(box).to_have_value(words)
        expect(fault).to_be_visible()
    box.fill("80")
    hand.kept("#minutes")
    expect(fault).to_be_hidden()
    hand.reload()
    expect(box).to_have_value("80")
    hand.arrived()
    assert Value.objects.get(path__endswith="/minutes").value == 80


def test_a_choice_taken_back_is_taken(hand: Hand) -> None:
    hand.go(hand.place("supplies"))
    hand.page.get_by_role("button", name="Add a thing").click()
    unit = hand.page.get_by_label("Unit")
    # the row is the phone's first answer
    for count, choice in ((2, "kg"), (3, "")):
        unit.select_option(choice)
        hand.page.wait_for_function(
            "async (n) => (await import('/field/m/store.js')).meta('seq').then((seq) => seq >= n)",
            arg=count,
        )
        hand.pending(0)
        assert not RefusedOperation.objects.exists()
        assert Value.objects.get(path__endswith="/unit").value == choice


def test_opened_again_it_shows_what_the_office_changed(hand: Hand) -> None:
    hand.arrived()
    Place.objects.filter(pk=hand.visit.place_id).update(access_notes="The bell is broken: knock")
    # a minute has not passed since the day was last fetched
    hand.go(f"/field/visits/{hand.visit.pk}/")
    hand.reload()
    hand.arrived()
    hand.go("/field/").go(f"/field/visits/{hand.visit.pk}/")
    expect(hand.page.get_by_text("The bell is broken: knock")).to_be_visible()


def test_what_was_gone_to_is_shown_though_all_arrives_at_that_moment(hand: Hand) -> None:
    hand.line(0)
    shown = hand.page.evaluate(
        """async (to) => {
          const [{ go }, { announce }] = await Promise.all([import('/field/m/main.js'), import('/field/m/changes.js')]);
          const before = document.title;
          const gone = go(to);
          announce({ sync: true });
          await gone;
          return [before, document.title];
        }""",
        hand.line_path(1),
    )
    assert shown[0] != shown[1]
    hand.line(1).write("On the second line", 1)
    hand.all_there()
