"""A call in a real browser: by keys alone, with and without scripts, and a note that is not lost."""

from collections.abc import Iterator
from typing import Any

import pytest
from django.conf import settings
from playwright.sync_api import Browser, Page, expect

from apps.accounts.models import User
from apps.incidents.models import Incident, IncidentNote
from apps.incidents.services import incident_open
from tests import factories
from tests.field.browser import AXE, RULES, address, chromium  # noqa: F401
from tests.office.conftest import Desk
from tests.office.keyboard import Keys

pytestmark = pytest.mark.browser


def opened(chromium: Browser, address: str, desk: Any, **more: object) -> Page:  # noqa: F811
    """The office's screen, signed in."""
    context = chromium.new_context(
        base_url=address, viewport={"width": 1280, "height": 900}, reduced_motion="reduce",
        **more,  # type: ignore[arg-type]
    )  # fmt: skip
    name = settings.SESSION_COOKIE_NAME
    cookie = desk.browser.cookies[name].value
    context.add_cookies([{"name": name, "value": cookie, "url": address}])
    return context.new_page()


@pytest.fixture
def page(chromium: Browser, address: str, desk: Desk) -> Iterator[Page]:  # noqa: F811
    faults: list[str] = []
    shown = opened(chromium, address, desk)
    shown.on("pageerror", lambda error: faults.append(str(error)))
    shown.on(
        "console",
        lambda said: faults.append(said.text) if "Content Security Policy" in said.text else None,
    )
    yield shown
    shown.context.close()
    assert faults == []


@pytest.fixture
def incident(desk: Desk) -> Incident:
    return incident_open(system=desk.built.system, kind="gasping", by=desk.actor, at=factories.NOW)


def test_from_any_page_to_the_first_question_by_keys(page: Page, desk: Desk) -> None:
    page.goto("/letters/")
    keys = Keys(page)
    keys.to("^Call$")
    keys.go()
    assert keys.heading() == "Somebody calls"
    # the field has the focus already
    assert keys.focus()["name"] == "Who is it, or where"
    keys.write("okafor")
    keys.go()
    keys.to("^Patio$")
    keys.go()
    keys.to("^Fish gasping$")
    keys.go()
    expect(page.locator("h2.ask")).to_contain_text("Is anyone hurt")
    keys.to("^No, everybody is safe$")
    keys.go("Space")
    expect(page.locator("h2.ask")).to_contain_text("Does air reach the fish now")
    assert Incident.objects.get().answers == {"gasping": "yes", "people": "no"}


def test_the_clock_counts_from_the_call(page: Page, incident: Incident) -> None:
    page.goto(f"/incidents/{incident.pk}/")
    clock = page.locator("time[role=timer]")
    expect(clock).to_have_text("00:01", timeout=4000)


def test_a_note_outlives_a_page_that_is_lost(page: Page, incident: Incident) -> None:
    page.goto(f"/incidents/{incident.pk}/")
    page.fill("#id_text", "Pump hums, no bubbles")
    page.goto("/letters/")
    page.goto(f"/incidents/{incident.pk}/")
    expect(page.locator("#id_text")).to_have_value("Pump hums, no bubbles")
    page.click("text=Keep the note")
    expect(page.locator("#notes >> xpath=../..")).to_contain_text("Pump hums, no bubbles")
    expect(page.locator("#id_text")).to_have_value("")
    page.reload()
    expect(page.locator("#id_text")).to_have_value("")
    assert IncidentNote.objects.filter(kind="note").count() == 1


def test_sent_twice_it_is_one_note(page: Page, incident: Incident) -> None:
    """Its answer was lost on the way: the tab holds it under the same key, and sends it again."""
    page.goto(f"/incidents/{incident.pk}/")
    page.fill("#id_text", "Pump hums")
    page.route("**/incidents/**", lambda route: (route.fetch(max_redirects=0), route.abort()))
    page.click("text=Keep the note", no_wait_after=True)
    page.wait_for_timeout(600)
    page.unroute("**/incidents/**")
    page.goto(f"/incidents/{incident.pk}/")
    assert IncidentNote.objects.filter(kind="note").count() == 1
    expect(page.locator("#id_text")).to_have_value("")


@pytest.fixture
def plain(chromium: Browser, address: str, desk: Desk) -> Iterator[Page]:  # noqa: F811
    """The office's screen in a browser that runs no scripts."""
    shown = opened(chromium, address, desk, java_script_enabled=False)
    yield shown
    shown.context.close()


def test_without_scripts_it_does_the_same(plain: Page, incident: Incident) -> None:
    page = plain
    page.goto(f"/incidents/{incident.pk}/")
    page.fill("#id_text", "He sounds calm")
    page.click("text=No, everybody is safe")
    assert "Does air reach the fish now" in page.locator("h2.ask").inner_text()
    assert page.locator("time[role=timer]").inner_text() == "0 min"
    assert IncidentNote.objects.get(kind="note").text == "He sounds calm"
    page.click("text=Send Ana")
    assert "Somebody goes" in page.content()


@pytest.mark.parametrize("width", [320, 1280])
def test_screens_are_sound(page: Page, desk: Desk, incident: Incident, width: int) -> None:
    User.objects.update(phone="0555 0112")
    page.set_viewport_size({"width": width, "height": 800})
    for path in ("/call/?q=okafor", f"/call/{desk.built.system.pk}/", f"/incidents/{incident.pk}/",
                 "/incidents/", "/weather/", "/weather/heat/new/"):  # fmt: skip
        page.goto(path)
        wide = page.evaluate(
            "document.documentElement.scrollWidth - document.documentElement.clientWidth"
        )
        assert wide <= 0, f"{path} scrolls sideways at {width}"
        page.evaluate(AXE)
        found = page.evaluate("(rules) => axe.run({runOnly: rules})", RULES)
        told = [f"{one['id']}: {one['nodes'][0]['html'][:120]}" for one in found["violations"]]
        assert not told, f"{path} at {width}: {told}"
