"""What the server would refuse is said on the phone, before anybody has left."""

import json
from uuid import uuid4

import pytest
from playwright.sync_api import expect

from apps.systems.models import Component
from apps.visits.models import Value
from apps.visits.services.answers import LEAVES, MOST_PHOTOS, BadAnswer, check
from tests.phone.hand import Hand
from tests.phone.pixels import jpeg
from tests.phone.test_finishing import leave_running

pytestmark = pytest.mark.browser


def taken(group: str, leaf: str, length: int) -> bool:
    """Tell whether the server takes words of a length."""
    try:
        check(f"{group}/{uuid4()}/{leaf}", "x" * length)
    except BadAnswer:
        return False
    return True


def test_a_box_takes_no_more_than_the_server(hand: Hand) -> None:
    for page, add in (("swap", "Note a swap"), ("supplies", "Add a thing")):
        group = "swaps" if page == "swap" else page
        hand.go(hand.place(page))
        hand.page.get_by_role("button", name=add).click()
        boxes = hand.page.locator("fieldset input[maxlength]:not([inputmode])")
        expect(boxes.first).to_be_visible()
        for box in boxes.all():
            leaf = (box.get_attribute("id") or "").rsplit("-", 1)[1]
            most = int(box.get_attribute("maxlength") or 0)
            assert leaf in LEAVES[group]
            assert taken(group, leaf, most), leaf
            assert not taken(group, leaf, most + 1), leaf


def test_a_full_finding_offers_another_one(hand: Hand) -> None:
    key = str(uuid4())
    page = hand.place("seen") + f"{key}/"
    for count, full in ((MOST_PHOTOS - 1, False), (MOST_PHOTOS, True)):
        ids = json.dumps([str(uuid4()) for _ in range(count)])
        hand.page.evaluate(
            "async ([visit, sheet, path, ids]) => (await import('/field/m/store.js')).put(visit, sheet, path, JSON.parse(ids))",
            [str(hand.visit.pk), str(hand.sheet.pk), f"findings/{key}/photo_ids", ids],
        )
        hand.go("/field/")
        hand.go(page)
        expect(hand.page.locator("main input[type=file]")).to_have_count(0 if full else 1)
    expect(hand.page.locator("#full")).to_contain_text(f"holds {MOST_PHOTOS} photos")
    hand.page.get_by_role("link", name="Note another one").click()
    expect(hand.page.locator("main input[type=file]")).to_have_count(1)
    hand.arrived()
    assert len(Value.objects.get(path=f"findings/{key}/photo_ids").value) == MOST_PHOTOS


def test_the_end_is_offered_once_each_finding_and_swap_says_enough(hand: Hand) -> None:
    hand.go(hand.place("seen"))
    hand.page.get_by_role("link", name="Add what you saw").click()
    hand.photo(jpeg(320, 240))
    hand.go(hand.place("swap"))
    hand.page.get_by_role("button", name="Note a swap").click()
    part = Component.objects.filter(loop__system=hand.sheet.system).first()
    assert part
    hand.page.get_by_label("Part", exact=True).select_option(str(part.pk))
    # what is chosen holds no focus, so that the screen may be drawn anew at once
    hand.page.evaluate("async () => (await import('/field/m/keeping.js')).idle()")
    leave_running(hand)
    end = hand.page.get_by_role("button", name="Finish the visit")
    expect(end).to_be_disabled()
    hand.page.get_by_role("link", name="the new part's serial is needed").click()
    hand.page.get_by_label("Serial of the new one").fill("RW-77")
    hand.kept("input[id$=-serial]")
    hand.go(f"/field/visits/{hand.visit.pk}/finish/")
    expect(end).to_be_disabled()
    hand.page.get_by_role("link", name="choose a sign or say it in words").click()
    hand.page.locator("#text").fill("Brown roots")
    hand.kept("#text")
    hand.go(f"/field/visits/{hand.visit.pk}/finish/")
    expect(end).to_be_enabled()
    end.click()
    expect(hand.page.locator("#says")).to_contain_text("Finished on this phone")
    hand.arrived()
    hand.visit.refresh_from_db()
    assert hand.visit.state == "written_up"
