"""A technician's phone in a real browser: visits of hers, a server beside, a journal of all typed."""

import datetime as dt
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, ClassVar

import pytest
from django.conf import settings
from django.contrib.staticfiles.handlers import StaticFilesHandler
from django.test import Client
from django.test.testcases import LiveServerThread
from playwright.sync_api import Browser, BrowserContext, Playwright, expect, sync_playwright

from apps.accounts.models import User
from apps.core import clock
from apps.visits.models import Assignment, Sheet, Visit
from apps.visits.services.lines import lines_make
from tests import factories
from tests.chromium import WHOLE
from tests.lending import lent
from tests.phone.hand import FLAGS, PATIENCE_MS, SIZE, Hand
from tests.phone.journal import Journal


@dataclass
class World:
    """Two technicians, an office, and a visit that both technicians are booked for."""

    staff: dict[str, User]
    visit: Visit
    sheet: Sheet
    built: factories.Built

    def lines(self) -> list[str]:
        """Return the lines that ask for no reading."""
        rows = self.sheet.lines.exclude(code="left_running").order_by("position")
        return [str(row.pk) for row in rows if row.code not in ("water_round",)]


def make_visit(
    owner: str, people: list[User], start: dt.datetime
) -> tuple[Visit, Sheet, factories.Built]:
    """Book a visit for people, with one sheet."""
    built = factories.system(factories.place(factories.client(owner)), "Back garden")
    visit = Visit.objects.create(
        place=built.system.place, state="booked", start=start, end=start + dt.timedelta(hours=2),
        made_at=factories.NOW,
    )  # fmt: skip
    for one in people:
        Assignment.objects.create(visit=visit, user=one, start=start, end=visit.end)
    sheet = Sheet.objects.create(visit=visit, system=built.system)
    lines_make(visit=visit, sheets=[sheet])
    return visit, sheet, built


def people() -> dict[str, User]:
    """Make the firm's people."""
    factories.firm()
    return {
        "office": factories.user("office", "office"),
        "ana": factories.user("ana"),
        "marek": factories.user("marek"),
    }


@pytest.fixture
def world(db: None, monkeypatch: pytest.MonkeyPatch) -> World:
    """The firm; its clock goes on from a June morning."""
    begun = time.monotonic()
    monkeypatch.setattr(
        clock, "now", lambda: factories.NOW + dt.timedelta(seconds=time.monotonic() - begun)
    )
    staff = people()
    start = factories.NOW - dt.timedelta(hours=1)
    return World(staff, *make_visit("Okafor", [staff["ana"], staff["marek"]], start))


class OneByOne(StaticFilesHandler):
    """Answers one request after the other: all threads share the test's connection.

    Files of the page are the same in every test and are made once.
    """

    turn = threading.Lock()
    closed = False
    made: ClassVar[dict[str, tuple[Any, ...]]] = {}

    def close(self) -> None:
        """Answer nothing more: what comes after the test's rollback would be kept for good."""
        with self.turn:
            self.closed = True

    def __call__(self, environ: Any, start_response: Any) -> Any:
        """Answer in turn."""
        path = environ["PATH_INFO"]
        file = environ["REQUEST_METHOD"] == "GET" and path.startswith(("/static/", "/field/m/"))
        if file and path in self.made:
            status, headers, body = self.made[path]
            start_response(status, headers)
            return [body]
        said: list[Any] = []

        def note(status: str, headers: Any, exc_info: Any = None) -> Any:
            said.extend((status, headers))
            return start_response(status, headers, exc_info)

        with self.turn:
            if self.closed:
                start_response("503 Service Unavailable", [])
                return []
            answer = super().__call__(environ, note)
            if file and said[0].startswith("200"):
                body = b"".join(answer)
                answer.close()
                self.made[path] = (*said, body)
                return [body]
            return answer


@pytest.fixture
def address(world: World) -> Iterator[str]:
    """Serve from a thread that shares the test's connection, so that it rolls back."""
    thread = LiveServerThread("127.0.0.1", OneByOne, connections_override=lent())
    thread.daemon = True
    thread.start()
    thread.is_ready.wait()
    if thread.error:
        raise thread.error
    yield f"http://127.0.0.1:{thread.port}"
    served: Any = thread.httpd.get_app()
    served.close()
    thread.terminate()


@pytest.fixture(scope="package")
def play() -> Iterator[Playwright]:
    """The driver of browsers."""
    with pytest.MonkeyPatch.context() as patch, sync_playwright() as play:
        # the browser's own loop runs in this thread
        patch.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "true")
        expect.set_options(timeout=PATIENCE_MS)
        yield play


@pytest.fixture(scope="package")
def chromium(play: Playwright) -> Iterator[Browser]:
    """One browser for all of them."""
    browser = play.chromium.launch(executable_path=WHOLE, args=FLAGS)
    yield browser
    browser.close()


@pytest.fixture
def journal() -> Journal:
    """What is typed in this test."""
    return Journal()


Phones = Callable[..., Hand]


def session_cookie(member: User, address: str) -> Any:
    """Return the cookie of somebody who has signed in."""
    browser = Client()
    browser.force_login(member)
    name = settings.SESSION_COOKIE_NAME
    return {"name": name, "value": browser.cookies[name].value, "url": address}


@pytest.fixture
def phones(world: World, chromium: Browser, address: str, journal: Journal) -> Iterator[Phones]:
    """Make phones; an error in a script or of the policy fails the test."""
    made: list[tuple[BrowserContext, list[str]]] = []

    def phone(name: str = "ana", *, worker: bool = False, **more: Any) -> Hand:
        context = chromium.new_context(
            base_url=address, service_workers="allow" if worker else "block", **(SIZE | more)
        )
        context.set_default_timeout(PATIENCE_MS)
        if name:
            context.add_cookies([session_cookie(world.staff[name], address)])
        hand = Hand(context.new_page(), world.visit, world.sheet, world.lines(), journal)
        made.append((context, hand.faults))
        return hand

    yield phone
    # before they are closed: what a page says while it is torn down is no fault of its own
    said = [fault for _context, faults in made for fault in faults]
    for context, _faults in made:
        context.close()
    assert said == []


@pytest.fixture
def hand(phones: Phones) -> Hand:
    """Ana's phone with her day on it."""
    hand = phones().open()
    hand.arrived()
    return hand


@pytest.fixture
def worker_hand(phones: Phones) -> Hand:
    """Ana's phone with her day and the worker on it."""
    hand = phones(worker=True).open()
    hand.page.evaluate("() => navigator.serviceWorker.ready.then(() => true)")
    hand.page.wait_for_function("() => navigator.serviceWorker.controller")
    hand.arrived()
    return hand


@pytest.fixture
def own_phone(
    play: Playwright, world: World, address: str, journal: Journal, tmp_path: Path
) -> Iterator[Hand]:
    """Ana's phone as a browser of its own, with its store on a disk."""
    context = play.chromium.launch_persistent_context(
        str(tmp_path / "profile"), executable_path=WHOLE, args=FLAGS, base_url=address, **SIZE
    )
    context.set_default_timeout(PATIENCE_MS)
    context.add_cookies([session_cookie(world.staff["ana"], address)])
    hand = Hand(context.pages[0], world.visit, world.sheet, world.lines(), journal).open()
    hand.arrived()
    yield hand
    context.close()
    assert hand.faults == []
