"""The engine of iPhones, as far as it is to be had elsewhere: three walks in WebKitGTK.

Its driver knows no way to take the network away: the server is killed instead.
"""

import os
import shutil
import sqlite3
import subprocess
from collections.abc import Iterator
from contextlib import closing, suppress
from pathlib import Path
from typing import Any

import pytest
from django.db import connection
from selenium.common.exceptions import WebDriverException
from selenium.webdriver import WebKitGTK
from selenium.webdriver.common.by import By
from selenium.webdriver.remote.webdriver import WebDriver
from selenium.webdriver.support.ui import WebDriverWait
from selenium.webdriver.webkitgtk.options import Options
from selenium.webdriver.webkitgtk.service import Service

from tests.phone.conftest import World, session_cookie
from tests.phone.journal import Journal
from tests.phone.pixels import jpeg
from tests.phone.rig import Nursery, Server

DRIVER = shutil.which("WebKitWebDriver")
BROWSER = next(iter(Path("/usr/lib").glob("*/webkit2gtk-4.*/MiniBrowser")), None)
pytestmark = [
    pytest.mark.browser,
    pytest.mark.skipif(
        not (DRIVER and BROWSER and shutil.which("Xvfb")),
        reason="install webkit2gtk-driver and xvfb",
    ),
]


@pytest.fixture(scope="module")
def nursery() -> Iterator[Nursery]:
    """What servers are forked from."""
    nursery = Nursery()
    yield nursery
    nursery.end()


@pytest.fixture(scope="module")
def screen() -> Iterator[str]:
    """A screen that nobody looks at."""
    read, write = os.pipe()
    process = subprocess.Popen(
        ["Xvfb", "-displayfd", str(write), "-screen", "0", "800x1000x24", "-nolisten", "tcp"],
        pass_fds=[write], stderr=subprocess.DEVNULL,
    )  # fmt: skip
    os.close(write)
    with os.fdopen(read) as told:
        number = told.readline().strip()
    yield f":{number}"
    process.terminate()
    process.wait()


@pytest.fixture
def driver(screen: str, tmp_path: Path) -> Iterator[WebDriver]:
    """A browser with nothing kept from before."""
    env = os.environ | {
        "DISPLAY": screen, "HOME": str(tmp_path), "GDK_BACKEND": "x11", "NO_AT_BRIDGE": "1",
        "WEBKIT_DISABLE_SANDBOX_THIS_IS_DANGEROUS": "1", "LIBGL_ALWAYS_SOFTWARE": "1",
    }  # fmt: skip
    options = Options()
    options.binary_location = str(BROWSER)
    options.add_argument("--automation")
    made = WebKitGTK(options, Service(str(DRIVER), env=env))
    yield made
    made.quit()


@pytest.fixture
def cookie(world: World) -> Any:
    """Ana has signed in."""
    return session_cookie(world.staff["ana"], "")


@pytest.fixture
def server(nursery: Nursery, cookie: Any, tmp_path: Path) -> Iterator[Server]:
    """A server of its own on a copy of the test's rows."""
    if connection.vendor != "sqlite":
        pytest.skip("the server of these tests works on a file")
    server = Server(nursery, tmp_path)
    server.database.write_bytes(connection.connection.serialize())
    with closing(sqlite3.connect(server.database)) as copy:
        copy.execute("PRAGMA journal_mode=WAL")
    server.start()
    yield server
    server.kill()


class Finger:
    """What a person does on the page, each step until the page says it is done."""

    def __init__(self, driver: WebDriver, server: Server, world: World, cookie: Any) -> None:
        """Open the phone with its day and its worker."""
        self.driver, self.server, self.journal = driver, server, Journal()
        self.sheet = f"{server.address}/field/visits/{world.visit.pk}/{world.sheet.pk}/"
        self.world = world
        driver.get(f"{server.address}/field/sw.js")
        driver.add_cookie({"name": cookie["name"], "value": cookie["value"], "path": "/"})
        driver.get(f"{server.address}/field/")
        self.until("return navigator.serviceWorker.controller !== null")
        self.arrived()

    def until(self, script: str) -> None:
        """Wait until a script says yes."""

        def asked(driver: WebDriver) -> bool:
            with suppress(WebDriverException):
                return bool(driver.execute_script(script))  # type: ignore[no-untyped-call]
            return False

        WebDriverWait(self.driver, 60, 0.05).until(asked, script)

    def arrived(self) -> None:
        """Wait until nothing is on its way."""
        self.until(
            "const d = document.body.dataset; return d.phase === 'arrived' && d.pending === '0'"
        )

    def open(self, path: str) -> None:
        """Load a page of the sheet."""
        self.driver.get(self.sheet + path)
        self.until("return document.body.dataset.ready === 'yes'")

    def write(self, text: str, n: int = 0) -> None:
        """Write a note on a line."""
        line = self.world.lines()[n]
        self.open(f"line/{line}/")
        self.driver.find_element(By.ID, "note").send_keys(text)
        self.until("return document.getElementById('note').dataset.kept === 'yes'")
        self.journal.note(self.world.visit.pk, self.world.sheet.pk, f"lines/{line}/note", text)

    def all_there(self) -> None:
        """Wait until all has arrived, and look for it in the server's file."""
        self.arrived()
        assert self.journal.missing(self.server.rows()) == []


@pytest.fixture
def finger(driver: WebDriver, server: Server, world: World, cookie: Any) -> Finger:
    """A person at the phone."""
    return Finger(driver, server, world, cookie)


def test_opened_with_the_server_gone(finger: Finger) -> None:
    finger.server.kill()
    finger.driver.get(f"{finger.server.address}/field/")
    finger.until("return document.querySelector('.stops .name')?.textContent === 'Okafor, garden'")
    finger.write("Written with the server gone")
    finger.server.start()
    finger.all_there()


def test_written_with_the_server_gone_and_loaded_again(finger: Finger) -> None:
    finger.server.kill()
    finger.write("Wet under the pump")
    finger.driver.refresh()
    finger.until("return document.getElementById('note')?.value === 'Wet under the pump'")
    finger.until("return document.body.dataset.pending === '1'")
    assert finger.server.rows().operations == []
    finger.server.start()
    finger.all_there()


def test_a_photo_whose_sending_the_server_does_not_survive(finger: Finger, tmp_path: Path) -> None:
    picture = tmp_path / "photo.jpg"
    picture.write_bytes(jpeg(1500, 1100, noise=True))
    finger.open("seen/")
    finger.server.dies("photos", "before", 2)
    finger.driver.find_element(By.CSS_SELECTOR, "input[type=file]").send_keys(str(picture))
    finger.until("return document.querySelector('figcaption[data-photo]') !== null")
    finger.server.died()
    finger.until("return document.body.dataset.pending !== '0'")
    finger.server.start()
    finger.arrived()
    assert len(finger.server.rows().photos) == 1
