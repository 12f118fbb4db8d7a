"""The telephone's modules in a real browser, without a server: files straight from the disk."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, Playwright, Route

from apps.field.phone.bundle import TARGET
from tests.chromium import ENGINE
from tests.phone.hand import FLAGS

PLACE = "http://phone.example"


@pytest.fixture(scope="module")
def script(play: Playwright) -> Iterator[Page]:
    """Return a blank page beside whose address the modules lie."""

    def answer(route: Route) -> None:
        name = Path(route.request.url.split("?")[0]).name
        if name == "phone.example":
            route.fulfill(body="<!doctype html><title>modules</title>", content_type="text/html")
        else:
            route.fulfill(body=(TARGET.parent / name).read_text(), content_type="text/javascript")

    browser = play.chromium.launch(executable_path=ENGINE, args=FLAGS)
    page = browser.new_page()
    page.route("**/*", answer)
    page.goto(PLACE)
    yield page
    browser.close()


def call(page: Page, module: str, body: str, *args: Any) -> Any:
    """Run a function body with a module as `m` and the arguments as `a`."""
    words = f"async (a) => {{ const m = await import('/{module}'); {body} }}"
    return page.evaluate(words, list(args))
