"""Servers and browsers killed where they stand: what the phone said was kept is there afterwards."""

import os
import random
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from django.db import connection
from playwright.sync_api import Playwright, expect

from apps.visits.services import uploads
from tests.phone.conftest import World, session_cookie
from tests.phone.hand import Hand
from tests.phone.pixels import jpeg
from tests.phone.rig import Nursery, Rig, Server
from tests.phone.test_storage import BARRED

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def nursery() -> Iterator[Nursery]:
    """What servers are forked from."""
    nursery = Nursery()
    yield nursery
    nursery.end()


@pytest.fixture
def rig(play: Playwright, nursery: Nursery, world: World, tmp_path: Path) -> Iterator[Rig]:
    """Ana's phone and a server of its own, begun from a copy of the test's database."""
    if connection.vendor != "sqlite":
        pytest.skip("the server of these tests works on a file")
    server = Server(nursery, tmp_path)
    cookie: Any = session_cookie(world.staff["ana"], server.address)
    # what the test made is in no file and not committed: taken as it stands
    server.database.write_bytes(connection.connection.serialize())
    with closing(sqlite3.connect(server.database)) as copy:
        copy.execute("PRAGMA journal_mode=WAL")
    server.start()
    rig = Rig(play, server, tmp_path / "profile", cookie, (world.visit, world.sheet, world.lines()))
    yield rig
    rig.close()
    server.kill()


def test_opened_cold_with_the_server_gone(rig: Rig) -> None:
    rig.first().line().write("Before")
    rig.close()
    rig.server.kill()
    hand = rig.phone("/field/")
    expect(hand.page.locator(".stops .name")).to_have_text("Okafor, garden")
    hand.page.locator(".stops .name").click()
    hand.page.get_by_role("link", name="Back garden").click()
    hand.line(1).write("Written with the server gone", 1)
    hand.says("to send")
    rig.server.start()
    rig.all_there(hand)


@pytest.mark.parametrize("seed", [1, *(pytest.param(n, marks=pytest.mark.long) for n in (2, 3))])
def test_the_browser_killed_after_it_said_kept(rig: Rig, seed: int) -> None:
    hand = rig.first()
    hand.context.set_offline(True)
    for n in range(2):
        hand.line(n).write(f"Kept before the kill {seed} {n}", n)
    # the last one is killed at once
    rig.kill_browser()
    rig.server.kill()
    hand = rig.phone(hand.line_path(1))
    expect(hand.page.locator("#note")).to_have_value(f"Kept before the kill {seed} 1")
    hand.line(2).write("After it", 2)
    rig.server.start()
    rig.all_there(hand)


@pytest.mark.parametrize("when", ["before", "after"])
def test_the_server_dies_before_or_after_it_has_kept_an_answer(rig: Rig, when: str) -> None:
    hand = rig.first()
    rig.server.dies("operations", when)
    hand.line().write(f"It dies {when} the commit")
    rig.server.died()
    assert len(rig.server.rows().operations) == (when == "after")
    hand.says("1 to send")
    rig.server.start()
    rig.all_there(hand)


def test_the_server_dies_when_all_is_sent_and_not_yet_said(rig: Rig) -> None:
    hand = rig.first()
    rig.server.dies("contact", "before")
    hand.line().write("The last of them")
    rig.server.died()
    hand.pending(0)
    rig.server.start()
    rig.all_there(hand)


def test_the_server_dies_between_two_pieces_of_a_photo(rig: Rig) -> None:
    hand = rig.first()
    hand.context.set_offline(True)
    hand.go(hand.place("seen")).photo(jpeg(1200, 900, noise=True))
    hand.line().write("Beside a photo")
    rig.server.dies("photos/", "after", 2)
    offsets: list[int] = []
    hand.page.on(
        "request",
        lambda ask: (
            offsets.append(int(ask.headers["upload-offset"])) if ask.method == "PATCH" else None
        ),
    )
    hand.context.set_offline(False)
    rig.server.died()
    rig.server.start()
    rig.all_there(hand)
    # it went on where it had stopped: no piece was sent twice
    assert len(offsets) > 2
    assert offsets == [n * uploads.CHUNK for n in range(len(offsets))]


@pytest.mark.long
def test_the_server_dies_after_the_last_piece(rig: Rig) -> None:
    hand = rig.first()
    hand.context.set_offline(True)
    hand.go(hand.place("seen")).photo(jpeg(320, 240))
    rig.server.dies("photos/", "after")
    hand.context.set_offline(False)
    rig.server.died()
    rig.server.start()
    rig.all_there(hand)


def test_a_server_from_an_older_copy_of_its_file(rig: Rig) -> None:
    hand = rig.first()
    hand.line(0).write("Before the copy", 0)
    hand.arrived()
    rig.server.kill()
    older = rig.server.folder / "older.sqlite3"
    with (
        closing(sqlite3.connect(rig.server.database)) as db,
        closing(sqlite3.connect(older)) as copy,
    ):
        db.backup(copy)
    rig.server.start()
    hand.line(1).write("After the copy", 1)
    hand.arrived()
    rig.server.kill()
    for name in rig.server.folder.glob("server.sqlite3*"):
        name.unlink()
    shutil.copy(older, rig.server.database)
    rig.server.start()
    hand.line(2).write("After it was set back", 2)
    rig.all_there(hand)


def test_a_database_that_the_browser_could_not_read_again(rig: Rig) -> None:
    hand = rig.first()
    hand.context.set_offline(True)
    hand.go(hand.place("seen")).photo(jpeg(320, 240))
    for n in range(2):
        hand.line(n).write(f"Kept twice {n}", n)
    rig.kill_browser()
    rig.server.kill()
    # what Chromium does with a log that it was killed over
    shutil.rmtree(rig.profile / "Default" / "IndexedDB")
    hand = rig.phone(hand.line_path(1))
    expect(hand.page.locator("#note")).to_have_value("Kept twice 1")
    hand.line(2).write("After it", 2)
    hand.says("4 to send")
    rig.server.start()
    rig.all_there(hand)


def test_a_small_list_that_comes_back_with_a_database_that_does_not(rig: Rig) -> None:
    hand = rig.first()
    hand.context.set_offline(True)
    hand.line()
    hand.page.evaluate(BARRED)
    hand.write("The older words")
    listed = hand.page.evaluate("() => localStorage.getItem('backyard-journal')")
    hand.page.evaluate("() => free()")
    hand.now()
    hand.pending(1)
    hand.write("The newer words")
    hand.pending(1)
    rig.kill_browser()
    rig.server.kill()
    shutil.rmtree(rig.profile / "Default" / "IndexedDB")
    hand = rig.phone(hand.line_path())
    expect(hand.page.locator("#note")).to_have_value("The newer words")
    hand.page.evaluate("(list) => localStorage.setItem('backyard-journal', list)", listed)
    hand.reload()
    expect(hand.page.locator("#note")).to_have_value("The newer words")
    rig.server.start()
    rig.all_there(hand)


def step(hand: Hand, rig: Rig, rng: random.Random, n: int) -> Hand:
    """Do one thing that goes wrong on a round."""
    what = rng.choice(
        ["offline", "online", "reload", "write", "write", "write", "tabs", "kill"]
        if n % 7
        else ["server"]
    )
    if what == "offline":
        hand.context.set_offline(True)
    elif what == "online":
        hand.context.set_offline(False)
    elif what == "reload":
        hand.reload()
    elif what == "server":
        rig.server.kill()
        rig.server.start()
    elif what == "kill" and n % 3 == 0:
        rig.kill_browser()
        hand = rig.phone()
    row = rng.randrange(6)
    hand.line(row).write(f"Step {n} {rng.random()}", row)
    return hand


STEPS = int(os.environ.get("PHONE_STEPS", "200"))


@pytest.mark.long
def test_hundreds_of_steps_of_everything_going_wrong(rig: Rig) -> None:
    rng = random.Random(os.environ.get("PHONE_SEED", "7"))
    hand = rig.first()
    for n in range(1, STEPS + 1):
        hand = step(hand, rig, rng, n)
    hand.context.set_offline(False)
    hand.reload()
    rig.all_there(hand)


@pytest.mark.parametrize("kills", [16, pytest.param(34, marks=pytest.mark.long)])
def test_killed_again_and_again(rig: Rig, kills: int) -> None:
    rng = random.Random(kills)
    hand = rig.first()
    for n in range(kills):
        row = rng.randrange(6)
        hand.line(row).write(f"Before kill {n}", row)
        # at once, or somewhere in the middle of sending
        hand.page.wait_for_timeout(rng.choice([0, 5, 25, 60]))
        if n % 2:
            rig.server.kill()
            rig.server.start()
        else:
            rig.kill_browser()
            hand = rig.phone(hand.line_path(row))
            expect(hand.page.locator("#note")).to_have_value(f"Before kill {n}")
    rig.all_there(hand)
