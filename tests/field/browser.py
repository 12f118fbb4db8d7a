"""A real browser on the pages, inside the test's own transaction."""

from collections.abc import Iterator
from pathlib import Path

import axe_playwright_python
import pytest
from django.conf import settings
from django.contrib.staticfiles.handlers import StaticFilesHandler
from django.test.testcases import LiveServerThread
from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright

from tests.chromium import ENGINE
from tests.field.conftest import Phone
from tests.lending import lent

AXE = Path(axe_playwright_python.__file__).with_name("axe.min.js").read_text()
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
# what a thumb meets: the control, or the label that belongs to it
SMALL = """() => [...document.querySelectorAll('a,button,input:not([type=hidden]),select,textarea,summary')]
  .filter((e) => e.offsetParent && e.getBoundingClientRect().width > 2)
  .filter((e) => [e, e.closest('label'), ...(e.labels ?? [])]
    .every((box) => !box || box.getBoundingClientRect().height < 44))
  .map((e) => e.outerHTML.slice(0, 120))"""
TINY = """() => [...document.querySelectorAll('main *, .bar *, header *')]
  .filter((e) => e.offsetParent && !e.closest('sub, svg')
    && [...e.childNodes].some((c) => c.nodeType === 3 && c.textContent.trim())
    && parseFloat(getComputedStyle(e).fontSize) < 16)
  .map((e) => e.outerHTML.slice(0, 120))"""


@pytest.fixture
def address(db: None) -> Iterator[str]:
    """Serve the pages from a thread that shares the test's connection, so that it rolls back.

    The tables cannot be emptied after a test: what is append-only stays.
    """
    thread = LiveServerThread("127.0.0.1", StaticFilesHandler, connections_override=lent())
    thread.daemon = True
    thread.start()
    thread.is_ready.wait()
    if thread.error:
        raise thread.error
    yield f"http://127.0.0.1:{thread.port}"
    thread.terminate()


@pytest.fixture(scope="module")
def chromium() -> Iterator[Browser]:
    """One browser for a module's tests."""
    # the browser's own loop runs in this thread
    with pytest.MonkeyPatch.context() as patch, sync_playwright() as play:
        patch.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "true")
        browser = play.chromium.launch(
            executable_path=ENGINE, args=["--no-sandbox", "--disable-dev-shm-usage"]
        )
        yield browser
        browser.close()


@pytest.fixture
def screen(chromium: Browser, address: str, phone: Phone) -> Iterator[Page]:
    """Ana's phone with its pages open; an error in a script or of the policy fails the test."""
    context: BrowserContext = chromium.new_context(
        base_url=address, viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True,
        reduced_motion="reduce",
    )  # fmt: skip
    name = settings.SESSION_COOKIE_NAME
    cookie = phone.browser.cookies[name].value
    context.add_cookies([{"name": name, "value": cookie, "url": address}])
    faults: list[str] = []
    page = context.new_page()
    page.on("pageerror", lambda error: faults.append(str(error)))
    page.on(
        "console",
        lambda said: faults.append(said.text) if "Content Security Policy" in said.text else None,
    )
    yield page
    context.close()
    assert faults == []
