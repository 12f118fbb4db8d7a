"""Every state of every screen can be read and reached: narrow and wide, by day and by night."""

import os
from pathlib import Path

import pytest
from playwright.sync_api import Page

from tests.field.browser import AXE, RULES, SMALL, TINY
from tests.phone.conftest import Phones, World
from tests.phone.states import STATES, Tour, dress

pytestmark = pytest.mark.browser
RUN = "t => axe.run(document, {runOnly: {type: 'tag', values: t}})"
# what stands under the bar at the bottom, or behind the head, when it has the keyboard's focus
COVERED = """() => {
  document.activeElement?.blur();
  const bar = document.querySelector('.bar')?.getBoundingClientRect(), head = document.querySelector('.phone-head').getBoundingClientRect();
  const out = [];
  for (const one of document.querySelectorAll('main a, main button, main input, main select, main textarea')) {
    if (!one.offsetParent || one.disabled || one.closest('details:not([open])')) continue;
    one.focus();
    const box = one.getBoundingClientRect();
    if (box.height && (bar && box.bottom > bar.top + 1 && box.top < bar.bottom || box.top < head.bottom - 1 && box.bottom > head.top)) out.push(one.outerHTML.slice(0, 100));
  }
  return out;
}"""


def faults_of(page: Page, name: str) -> list[str]:
    """Return what is wrong with what is shown."""
    found = page.evaluate(RUN, RULES)["violations"]
    faults = [
        f"{name}: {rule['id']}: {node['html'][:120]}" for rule in found for node in rule["nodes"]
    ]
    faults += [f"{name}: low: {text}" for text in page.evaluate(SMALL)]
    faults += [f"{name}: small: {text}" for text in page.evaluate(TINY)]
    width = page.evaluate("() => document.documentElement.scrollWidth")
    view = page.viewport_size
    if view and width > view["width"]:
        faults.append(f"{name}: {width} px wide in {view['width']}")
    return faults


def test_every_state_can_be_read_and_reached(phones: Phones, world: World) -> None:
    dress(world)
    hand = phones().open()
    hand.arrived()
    page, tour = hand.page, Tour(hand, world)
    page.evaluate(AXE)
    out = os.environ.get("PICTURES")
    faults: list[str] = []
    for name, come in STATES.items():
        page.set_viewport_size({"width": 390, "height": 844})
        page.emulate_media(color_scheme="light")
        come(tour)
        page.wait_for_timeout(60)
        for scheme, width in (("light", 390), ("dark", 320)):
            page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
            page.set_viewport_size({"width": width, "height": 844})
            faults += faults_of(page, f"{name} {scheme} {width}")
            if out:
                page.screenshot(path=Path(out) / f"{name}-{scheme}.png", full_page=True)
    assert "\n".join(faults) == ""


def test_the_keyboard_never_goes_under_the_bars(phones: Phones, world: World) -> None:
    dress(world)
    hand = phones().open()
    hand.arrived()
    tour = Tour(hand, world)
    for name in (
        "round",
        "visit",
        "sheet",
        "reading-harmful",
        "findings",
        "supplies",
        "running",
        "finish",
    ):
        STATES[name](tour)
        assert hand.page.evaluate(COVERED) == [], name


def test_light_and_dark_as_the_person_chose(phones: Phones) -> None:
    hand = phones(color_scheme="dark").open("/field/phone/")
    ground = "() => getComputedStyle(document.body).backgroundColor"
    dark, light = "rgb(24, 34, 38)", "rgb(255, 255, 255)"
    assert hand.page.evaluate(ground) == dark
    hand.page.get_by_label("light", exact=True).check()
    hand.page.wait_for_selector("html[data-theme=light]", state="attached")
    hand.reload()
    assert hand.page.evaluate(ground) == light
    hand.page.get_by_label("as the phone").check()
    hand.page.wait_for_selector("html[data-theme=auto]", state="attached")
    assert hand.page.evaluate(ground) == dark
