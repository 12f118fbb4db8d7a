"""A stop of a plan dragged to another place in a real browser: the next page says what it costs."""

from collections.abc import Iterator
from types import SimpleNamespace

import pytest
from django.test import Client
from django.urls import reverse
from playwright.sync_api import Browser, Page, expect

from apps.core import clock, outbox
from apps.rounds.models import RoundPlan
from tests import factories
from tests.field.browser import address, chromium  # noqa: F401
from tests.office.test_call_browser import opened
from tests.rounds.world import MONDAY, Town, town, wants

pytestmark = pytest.mark.browser


@pytest.fixture
def firm(db: None, monkeypatch: pytest.MonkeyPatch) -> Town:
    """Three gardens in a row, one technician."""
    monkeypatch.setattr(clock, "now", lambda: factories.NOW)
    monkeypatch.setattr(outbox, "poke", lambda *_args: None)
    made = town()
    for north, name in ((2, "Near"), (6, "Middle"), (10, "Far")):
        wants(made.garden(name, north_km=north), MONDAY)
    made.marek.is_active = False
    made.marek.save()
    return made


@pytest.fixture
def page(firm: Town, chromium: Browser, address: str) -> Iterator[Page]:  # noqa: F811
    """The plan on the office's screen."""
    browser = Client()
    browser.force_login(firm.office)
    shown = opened(chromium, address, SimpleNamespace(browser=browser))
    shown.goto(reverse("office:round_plan", args=[firm.plan().pk]))
    yield shown
    shown.context.close()


def order(page: Page) -> list[str]:
    """The places of the round, top to bottom."""
    return [text.split("'")[0] for text in page.locator(".stops li b").all_text_contents()]


def test_a_stop_is_dragged_and_what_that_costs_is_shown_before_it_counts(page: Page) -> None:
    first = order(page)
    assert len(first) == 3
    rows = page.locator(".stops li")
    rows.nth(2).drag_to(rows.nth(0), target_position={"x": 60, "y": 2})
    expect(page.get_by_role("heading", name="What this change does")).to_be_visible()
    assert order(page) == [first[2], first[0], first[1]]
    made = RoundPlan.objects.exclude(revises=None).get()
    assert made.state == "ready"
    page.get_by_role("button", name="Go back").click()
    expect(page.get_by_role("heading", name="What this change does")).to_have_count(0)
    assert order(page) == first


def test_dropped_where_it_was_nothing_is_asked_and_at_the_end_it_comes_last(page: Page) -> None:
    first, rows = order(page), page.locator(".stops li")
    rows.nth(1).drag_to(rows.nth(2), target_position={"x": 60, "y": 2})
    assert not RoundPlan.objects.exclude(revises=None).exists()
    assert order(page) == first
    height = (rows.nth(2).bounding_box() or {})["height"]
    rows.nth(0).drag_to(rows.nth(2), target_position={"x": 60, "y": height - 2})
    expect(page.get_by_role("heading", name="What this change does")).to_be_visible()
    assert order(page) == [first[1], first[2], first[0]]
