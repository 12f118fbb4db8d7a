"""The office's day without a pointer: sign in, book, release, look for somebody, sign out."""

import datetime as dt
from collections.abc import Iterator

import pytest
from django.utils import timezone
from playwright.sync_api import Browser, Page, expect

from apps.reports.models import Letter
from apps.visits.models import Visit
from tests.field.browser import address, chromium  # noqa: F401
from tests.office.conftest import Desk, refresh
from tests.office.keyboard import Keys

pytestmark = pytest.mark.browser
NO_POINTER = (
    "addEventListener('pointerdown', () => { throw new Error('a pointer was used') }, true)"
)
DAY = dt.date(2026, 6, 15)


@pytest.fixture
def report(desk: Desk) -> Visit:
    """A written-up visit whose report waits for its release, and two systems that are due."""
    visit = desk.written_up()
    desk.drawn(visit)
    refresh(desk.built.system.pk)
    desk.more_systems(2)
    return visit


@pytest.fixture
def page(chromium: Browser, address: str, report: Visit) -> Iterator[Page]:  # noqa: F811
    """The office's screen; a script's error or a pointer fails the test."""
    context = chromium.new_context(
        base_url=address, viewport={"width": 1280, "height": 900}, reduced_motion="reduce"
    )
    faults: list[str] = []
    shown = context.new_page()
    shown.add_init_script(NO_POINTER)
    shown.on("pageerror", lambda error: faults.append(str(error)))
    yield shown
    context.close()
    assert faults == []


def sign_in(page: Page) -> Keys:
    """Sign in by keys."""
    page.goto("/account/login/")
    keys = Keys(page)
    assert keys.focus()["name"] == "Name"
    keys.write("office")
    keys.press("Tab", "^Password$")
    keys.write("office-password-1")
    keys.go()
    assert keys.heading() == "Due"
    return keys


def book_the_first(keys: Keys) -> str:
    """Walk the list, book its first system for Marek on a Monday; return the system's name."""
    keys.press("Tab", "^To the content$")
    keys.page.keyboard.press("Enter")
    keys.press("j", "")
    first = keys.focus()["name"]
    keys.press("j", "")
    assert keys.focus()["name"] != first
    keys.press("k", first)
    keys.press("End", "")
    keys.press("Home", first)
    keys.press("Tab", f"^Book a visit to {first}$")
    keys.go()
    keys.to("^Day$")
    keys.write(f"{DAY:%m%d%Y}")
    keys.to("^From$")
    keys.write("0915AM")
    keys.to("^To$")
    keys.write("1030AM")
    for name, wanted in (("Ana", False), ("Marek", True)):
        keys.to(f"^{name}$")
        if keys.page.evaluate("document.activeElement.checked") != wanted:
            keys.press("Space", f"^{name}$")
        assert keys.page.evaluate("document.activeElement.checked") is wanted
    keys.to("^Book it$")
    keys.go()
    expect(keys.page.get_by_role("status")).to_contain_text("Pencilled in")
    return str(first)


def test_the_offices_day(page: Page, report: Visit, desk: Desk) -> None:
    keys = sign_in(page)
    first = book_the_first(keys)
    visit = Visit.objects.get(state="pencilled")
    assert visit.sheets.get().system.name == first
    assert [str(person) for person in visit.technicians.all()] == ["Marek"]
    start = timezone.localtime(visit.start)
    assert (start.date(), start.time()) == (DAY, dt.time(9, 15))
    # among the visits of its place
    keys.to(first)
    keys.go()
    keys.to("Mon 15 June|pencilled|Pencilled")
    keys.go()
    assert "Mon 15 June" in keys.heading()
    # the report that waits
    keys.to("^Due$")
    keys.go()
    keys.to("^Report ")
    keys.go()
    keys.to("^Release the report$")
    keys.go()
    keys.to("^Release it$")
    keys.go()
    expect(page.get_by_role("status")).to_contain_text("Released")
    report.refresh_from_db()
    assert report.state == "reported"
    # its letter
    keys.to("^Letters$")
    keys.go()
    keys.to("^Report$")
    keys.go()
    keys.press("j", "Robin Okafor")
    keys.go()
    letter = Letter.objects.get(kind="report")
    assert str(letter.pk) in page.url


def test_looking_for_somebody_and_signing_out(page: Page, desk: Desk) -> None:
    keys = sign_in(page)
    keys.to("^Search$")
    keys.write("okaf")
    keys.go()
    assert keys.heading() == "Search"
    keys.press("j", "Okafor")
    keys.go()
    assert "Okafor" in page.locator("main").inner_text()
    keys.to("^Sign out$", key="Shift+Tab")
    keys.go()
    assert keys.heading() == "Sign in"
    page.goto("/letters/")
    assert keys.heading() == "Sign in"


def test_a_refused_form_takes_the_focus_to_its_first_fault(page: Page, desk: Desk) -> None:
    keys = sign_in(page)
    page.goto(f"/places/{desk.place.pk}/call/")
    keys.to("^Note it$")
    keys.page.keyboard.press("Enter")
    assert keys.focus()["name"] == "What was said"
    page.goto(f"/systems/{desk.built.system.pk}/parts/new/")
    keys.to("^Name$")
    keys.write("Second sump")
    keys.to("^Water")
    keys.write("lots")
    keys.to("^Add it$")
    keys.go()
    expect(page.get_by_role("alert")).to_contain_text("Write a number")
    keys.to("^Water$")
    keys.page.keyboard.press("Enter")
    assert keys.focus()["tag"] == "input"
    keys.press("ControlOrMeta+a", "^Water")
    keys.write("250")
    keys.go()
    assert desk.built.loop.components.filter(name="Second sump", litres=250).exists()
