"""A client answers an appointment in a real browser: headers and forms together, as they meet there."""

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, Route, expect

from apps.accounts.services import link_issue
from apps.core import clock, outbox
from apps.flows import visit_booking
from apps.visits.models import Visit
from tests import factories
from tests.field.browser import address, chromium  # noqa: F401

pytestmark = pytest.mark.browser


@pytest.fixture
def asked(db: None, monkeypatch: pytest.MonkeyPatch) -> tuple[Visit, str]:
    """A visit that the client has been asked about, and the secret of their page."""
    monkeypatch.setattr(clock, "now", lambda: factories.NOW)
    monkeypatch.setattr(outbox, "poke", lambda *_args: None)
    factories.firm()
    office = factories.actor(factories.user("office", "office"))
    built = factories.system(factories.place(factories.client("Okafor")))
    start = factories.NOW.replace(day=15)
    visit = visit_booking.pencil(
        place=built.system.place, systems=[built.system], technicians=[factories.user("ana")],
        start=start, end=start.replace(hour=11), by=office, at=factories.NOW,
    )  # fmt: skip
    visit = visit_booking.step(visit=visit, to="booked", by=office, at=factories.NOW)
    client_id = built.system.place.client_id
    return visit, link_issue(client_id=client_id, purpose="page", at=factories.NOW)


@pytest.fixture
def page(chromium: Browser, address: str, asked: tuple[Visit, str]) -> Iterator[Page]:  # noqa: F811
    context = chromium.new_context(base_url=address, viewport={"width": 390, "height": 844})
    shown = context.new_page()
    shown.goto(f"/c/{asked[1]}/")
    yield shown
    context.close()


def test_that_suits_me(page: Page, asked: tuple[Visit, str]) -> None:
    page.get_by_role("button", name="That suits me").click()
    expect(page.get_by_text("We have noted your answer.")).to_be_visible()
    asked[0].refresh_from_db()
    assert asked[0].client_answer == "confirmed"


def test_another_time_in_words(page: Page, asked: tuple[Visit, str]) -> None:
    page.get_by_text("Another time, or not at all").click()
    page.get_by_role("button", name="Ask for another time").click()
    expect(page.get_by_text("Tell us in a few words")).to_be_visible()
    page.get_by_text("Another time, or not at all").click()
    page.get_by_label("When would suit you, or why not").fill("Friday, please")
    page.get_by_role("button", name="Ask for another time").click()
    expect(page.get_by_text("We have noted your answer.")).to_be_visible()
    asked[0].refresh_from_db()
    assert (asked[0].client_answer, asked[0].client_words) == ("other_time", "Friday, please")


def test_the_address_stays_on_this_site(page: Page) -> None:
    told: list[str] = []

    def elsewhere(route: Route) -> None:
        told.append(route.request.all_headers().get("referer", ""))
        route.fulfill(body="elsewhere")

    page.route("http://elsewhere.example/**", elsewhere)
    page.evaluate("location.href = 'http://elsewhere.example/'")
    page.wait_for_url("http://elsewhere.example/")
    assert told == [""]
