"""A client answers an appointment in a real browser: headers and forms together, as they meet there."""

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, Route, expect

from apps.accounts.services import link_issue
from apps.clients.models import TimeAway
from apps.core import clock, outbox
from apps.flows import visit_booking
from apps.incidents.models import IncidentPhoto
from apps.visits.models import Visit
from tests import factories
from tests.field.browser import address, chromium  # noqa: F401
from tests.portal.pictures import jpeg

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


@pytest.fixture
def plain(chromium: Browser, address: str, asked: tuple[Visit, str]) -> Iterator[Page]:  # noqa: F811
    """The page on an old telephone: small, and without scripts."""
    context = chromium.new_context(
        base_url=address, viewport={"width": 320, "height": 568}, java_script_enabled=False
    )
    shown = context.new_page()
    shown.goto(f"/c/{asked[1]}/")
    yield shown
    context.close()


def test_help_with_photos_without_a_script(plain: Page) -> None:
    plain.get_by_role("link", name="What to do now, and send photos").click()
    expect(plain.get_by_role("heading", name="Air on now.")).to_be_visible()
    plain.get_by_label("Fish gasp at the surface").check()
    plain.get_by_label("In your words").fill("Since dawn")
    plain.get_by_label("Photos").set_input_files(
        [{"name": f"{n}.jpg", "mimeType": "image/jpeg", "buffer": jpeg()} for n in range(2)]
    )
    plain.get_by_role("button", name="Send it").click()
    expect(plain.get_by_text("It is on our screen now.")).to_be_visible()
    expect(plain.get_by_text("2 photos")).to_be_visible()
    assert IncidentPhoto.objects.count() == 2


def test_a_holiday_without_a_script(plain: Page) -> None:
    plain.get_by_role("link", name="Tell us about a holiday").click()
    plain.get_by_label("First day away").fill("2026-06-15")
    plain.get_by_label("Last day away").fill("2026-06-21")
    plain.get_by_label("Who looks after it").fill("Robin")
    plain.get_by_role("button", name="Send it").click()
    # what was typed stays, and each refusal says what is missing
    expect(plain.get_by_label("Who looks after it")).to_have_value("Robin")
    expect(plain.get_by_text("Choose one of them.").first).to_be_visible()
    plain.get_by_label("Their number").fill("0555 0171")
    plain.get_by_label("Yes", exact=True).check()
    plain.get_by_role("button", name="Send it").click()
    expect(plain.get_by_role("heading", name="While we are away")).to_be_visible()
    assert TimeAway.objects.get().carer_name == "Robin"


def test_on_paper_are_no_buttons_but_whom_to_call(page: Page) -> None:
    page.emulate_media(media="print")
    expect(page.locator("p.print-only")).to_contain_text("day and night")
    expect(page.locator("p.print-only")).to_be_visible()
    shown = [item for item in page.locator("button, a.button, summary").all() if item.is_visible()]
    assert shown == []


def test_the_address_stays_on_this_site(page: Page) -> None:
    told: list[str] = []

    def elsewhere(route: Route) -> None:
        told.append(route.request.all_headers().get("referer", ""))
        route.fulfill(body="elsewhere")

    page.route("http://elsewhere.example/**", elsewhere)
    page.evaluate("location.href = 'http://elsewhere.example/'")
    page.wait_for_url("http://elsewhere.example/")
    assert told == [""]
