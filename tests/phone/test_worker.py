"""The worker: opens the page with no signal, is changed only when a person wants it, can be taken away."""

import re
from collections.abc import Iterator
from threading import Event
from typing import Any

import pytest
from django.conf import settings
from playwright.sync_api import expect

from apps.field.api import session
from apps.field.phone import shell
from apps.field.views import app
from tests.phone.conftest import Phones
from tests.phone.hand import Hand

pytestmark = pytest.mark.browser
SOURCES = """() => performance.getEntriesByType("resource").map((entry) => [entry.name, entry.workerFinalSourceType])"""
CACHES = "() => caches.keys()"


@pytest.fixture
def next_version(monkeypatch: pytest.MonkeyPatch) -> Any:
    """Serve the page as a newer version."""

    def serve(name: str) -> None:
        monkeypatch.setattr(shell, "version", lambda: name)

    return serve


def update(hand: Hand) -> None:
    """Let the browser look for a newer worker, as it does when the page comes to the front."""
    hand.page.evaluate(
        "() => navigator.serviceWorker.getRegistration('/field/').then((r) => r.update()).then(() => true, () => false)"
    )


def test_every_script_that_is_imported_is_kept_by_the_worker() -> None:
    own = set(shell.modules())
    for name in own:
        text = (shell.FOLDER / name).read_text()
        for used in re.findall(r"""(?:from|import\() ?["'`]\./([\w-]+\.js)["'`]""", text):
            assert used in own, (name, used)
    kept = shell.files()
    assert len(kept) == len(set(kept))
    assert "/field/" in kept


def test_a_newer_version_waits_for_a_tap_and_takes_nothing_away(
    worker_hand: Hand, next_version: Any
) -> None:
    hand = worker_hand
    before = hand.page.evaluate(CACHES)
    hand.page.route("**/operations", lambda route: route.abort())
    hand.line().write("Across the update")
    for name in ("second", "third"):
        next_version(name)
        update(hand)
        hand.page.wait_for_selector("body[data-update=waiting]", state="attached")
    hand.page.wait_for_function("async () => (await caches.keys()).includes('shell-third')")
    # loading again keeps the old one
    hand.reload()
    hand.page.wait_for_selector("body[data-update=waiting]", state="attached")
    assert set(before) <= set(hand.page.evaluate(CACHES))
    hand.pending(1)
    with hand.page.expect_navigation():
        hand.page.get_by_role("button", name="A new version is here").click()
    hand.ready()
    hand.page.wait_for_function("async () => (await caches.keys()).join() === 'shell-third'")
    expect(hand.page.locator("html")).to_have_attribute("data-version", "third")
    expect(hand.page.locator("#note")).to_have_value("Across the update")
    hand.pending(1)
    hand.page.unroute("**/operations")
    hand.now()
    hand.all_there()


# a worker that lets go of the page only when it is asked a third time
DEAF = (
    'event.data === "take over"',
    'event.data === "take over" && (self.asked = (self.asked ?? 0) + 1) > 2',
)


def test_a_newer_version_that_does_not_take_over_is_asked_again(
    worker_hand: Hand, next_version: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    hand = worker_hand
    assert DEAF[0] in shell.WORKER
    monkeypatch.setattr(shell, "WORKER", shell.WORKER.replace(*DEAF))
    next_version("second")
    update(hand)
    hand.page.wait_for_selector("body[data-update=waiting]", state="attached")
    with hand.page.expect_navigation():
        hand.page.get_by_role("button", name="A new version is here").click()
    hand.ready()
    expect(hand.page.locator("html")).to_have_attribute("data-version", "second")


def test_calls_go_past_the_worker(worker_hand: Hand) -> None:
    hand = worker_hand
    hand.reload()
    hand.line().write("Past the worker")
    hand.all_there()
    found = {source for name, source in hand.page.evaluate(SOURCES) if "/api/v1/field/" in name}
    assert found == {"network"}


@pytest.fixture
def third_is_slow(monkeypatch: pytest.MonkeyPatch) -> Iterator[Event]:
    """A third version whose last file does not come before the event is set."""
    there, answer = Event(), app.JsonResponse

    def late(*args: Any, **more: Any) -> Any:
        if shell.version() == "third":
            there.wait(30)
        return answer(*args, **more)

    monkeypatch.setattr(app, "JsonResponse", late)
    yield there
    there.set()


def test_a_version_that_takes_over_leaves_a_newer_ones_files(
    worker_hand: Hand, next_version: Any, third_is_slow: Event
) -> None:
    hand = worker_hand
    hand.page.route("**/operations", lambda route: route.abort())
    hand.line().write("Across the update")
    hand.pending(1)
    next_version("second")
    update(hand)
    hand.page.wait_for_selector("body[data-update=waiting]", state="attached")
    next_version("third")
    update(hand)
    hand.page.wait_for_function("async () => (await caches.keys()).includes('shell-third')")
    with hand.page.expect_navigation():
        hand.page.get_by_role("button", name="A new version is here").click()
    hand.ready()
    expect(hand.page.locator("html")).to_have_attribute("data-version", "second")
    third_is_slow.set()
    with hand.page.expect_navigation():
        hand.page.get_by_role("button", name="A new version is here").click()
    hand.ready()
    hand.page.wait_for_function("async () => (await caches.keys()).join() === 'shell-third'")
    hand.context.set_offline(True)
    hand.reload()
    expect(hand.page.locator("html")).to_have_attribute("data-version", "third")
    hand.context.set_offline(False)


def test_a_tap_that_a_replaced_version_never_heard_reaches_the_newest(
    worker_hand: Hand, next_version: Any
) -> None:
    hand = worker_hand
    hand.page.route("**/operations", lambda route: route.abort())
    hand.line().write("Across the update")
    hand.pending(1)
    next_version("second")
    update(hand)
    hand.page.wait_for_selector("body[data-update=waiting]", state="attached")
    # the first telling is lost; who is told afterwards is written down
    hand.page.evaluate(
        """() => { const tell = ServiceWorker.prototype.postMessage; let lost = false;
        ServiceWorker.prototype.postMessage = function (said) {
          if (lost) { sessionStorage.told = this.state + " " + said; return tell.call(this, said); }
          lost = true; }; }"""
    )
    hand.page.get_by_role("button", name="A new version is here").click()
    next_version("third")
    update(hand)
    # that it is told is ours; when it takes over is the browser's, once the old one is at rest
    hand.page.wait_for_function("() => sessionStorage.told === 'installed take over'")


def test_a_newer_version_that_cannot_be_fetched_changes_nothing(
    worker_hand: Hand, next_version: Any
) -> None:
    hand = worker_hand
    next_version("unreachable")
    hand.context.set_offline(True)
    update(hand)
    hand.line().write("Offline all along")
    hand.reload()
    expect(hand.page.locator("#note")).to_have_value("Offline all along")
    hand.context.set_offline(False)
    hand.all_there()


def test_a_tap_never_reloads_under_a_typing_finger(worker_hand: Hand, next_version: Any) -> None:
    hand = worker_hand
    other = Hand(
        hand.context.new_page(), hand.visit, hand.sheet, hand.lines, hand.journal, hand.faults
    )
    other.open()
    hand.page.bring_to_front()
    hand.line().page.locator("#note").focus()
    hand.page.keyboard.type("One ")
    next_version("while typing")
    update(hand)
    other.page.wait_for_selector("body[data-update=waiting]", state="attached")
    with other.page.expect_navigation():
        other.page.get_by_role("button", name="A new version is here").click()
    hand.page.keyboard.type("two")
    expect(hand.page.locator("#note")).to_have_value("One two")
    with hand.page.expect_navigation():
        hand.page.locator("#note").blur()
    hand.ready()
    expect(hand.page.locator("#note")).to_have_value("One two")


def test_the_worker_can_be_taken_away_and_what_is_kept_stays(
    worker_hand: Hand, monkeypatch: pytest.MonkeyPatch
) -> None:
    hand = worker_hand
    hand.page.route("**/operations", lambda route: route.abort())
    hand.line().write("Without a worker")
    monkeypatch.setattr(settings, "PHONE_WORKER_OFF", True)
    update(hand)
    hand.page.wait_for_function(
        "async () => (await caches.keys()).length === 0 && !(await navigator.serviceWorker.getRegistration('/field/'))"
    )
    monkeypatch.setattr(settings, "PHONE_WORKER_OFF", False)
    hand.page.unroute("**/operations")
    hand.now()
    hand.all_there()


def test_a_page_too_old_says_so_once_all_was_sent(
    hand: Hand, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(session, "MIN_VERSION", 99)
    hand.line().write("By an old page")
    hand.phase("needs", "old_page")
    hand.says("Needs you: a newer page is needed")
    hand.pending(0)
    assert hand.journal.missing() == []
    hand.go("/field/phone/")
    monkeypatch.setattr(session, "MIN_VERSION", shell.PAGE_VERSION)
    with hand.page.expect_navigation():
        hand.page.get_by_role("button", name="Take the newer page").click()
    hand.ready()
    hand.arrived()


def test_the_page_makes_no_markup_out_of_text(hand: Hand) -> None:
    policy = hand.page.request.get("/field/").headers["content-security-policy"]
    assert "require-trusted-types-for 'script'" in policy
    assert "trusted-types backyard-svg backyard-worker" in policy
    assert "trusted" not in hand.page.request.get("/sign-in/").headers["content-security-policy"]
    refused = hand.page.evaluate(
        "() => { try { document.body.innerHTML = '<b>x</b>'; } catch (error) { return error.name; } return ''; }"
    )
    assert refused == "TypeError"
    hand.faults[:] = [fault for fault in hand.faults if "TrustedHTML" not in fault]


def test_the_page_holds_nobodys_data_and_needs_no_session(phones: Phones) -> None:
    hand = phones("")
    answer = hand.page.request.get("/field/")
    assert answer.status == 200
    assert "Ana" not in answer.text()
    assert "csrf" not in answer.text().lower()
    assert "set-cookie" not in answer.headers
