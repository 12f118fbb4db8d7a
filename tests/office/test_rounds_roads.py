"""A road engine that is slow, down or lying: the plan is made, marked as estimated, and says why."""

import json
import threading
import time
from collections.abc import Callable, Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from apps.core import clock
from apps.rounds.planning import table
from tests import factories
from tests.rounds.world import MONDAY, Town, town, wants

pytestmark = pytest.mark.django_db
MARK = "Driving is estimated from distances, not measured on roads."
Say = Callable[[int], Any]


def square(count: int, value: Any) -> list[list[Any]]:
    return [[0 if n == m else value for m in range(count)] for n in range(count)]


def ok(count: int, seconds: Any, metres: Any) -> dict[str, Any]:
    return {
        "code": "Ok", "durations": square(count, seconds), "distances": square(count, metres),
    }  # fmt: skip


class Engine(ThreadingHTTPServer):
    """A table service on this machine; `say` returns what it answers for so many places."""

    daemon_threads = True
    say: Say = staticmethod(lambda count: ok(count, 900, 9000))
    wait = 0.0

    def handle_error(self, *_: object) -> None:
        """Whoever asked has hung up, as it should."""


class Handler(BaseHTTPRequestHandler):
    def do_GET(self) -> None:
        time.sleep(self.server.wait)
        count = len(self.path.split("/")[-1].split("?")[0].split(";")) // 2
        body = json.dumps(self.server.say(count)).encode()
        self.send_response(200)
        self.send_header("Content-Length", str(len(body)))
        self.end_headers()
        self.wfile.write(body)

    def log_message(self, *_: object) -> None:
        pass


@pytest.fixture
def engine(settings: Any, monkeypatch: pytest.MonkeyPatch) -> Iterator[Engine]:
    server = Engine(("127.0.0.1", 0), Handler)
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.02})
    thread.start()
    settings.BACKYARD_ROADS = f"osrm http://127.0.0.1:{server.server_port}"
    monkeypatch.setattr(clock, "now", lambda: factories.NOW)
    yield server
    server.shutdown()
    thread.join()
    server.server_close()


def planned(days: int = 1) -> tuple[Town, str]:
    """Plan two gardens and return what the page of the plan says."""
    firm = town()
    for name, north in (("Osei", 4), ("Adeyemi", 7)):
        wants(firm.garden(name, north), MONDAY)
    plan = firm.plan(days=days)
    assert plan.state == "ready"
    desk = Client()
    desk.force_login(firm.office)
    answer = desk.get(reverse("office:round_plan", args=[plan.pk]))
    return firm, " ".join(answer.content.decode().split())


def test_an_engine_that_answers_leaves_no_mark(engine: Engine) -> None:
    _firm, page = planned()
    assert MARK not in page
    assert "The road engine" not in page


LIES: dict[str, Say] = {
    "no time at all": lambda count: ok(count, 0, 9000),
    "before it set out": lambda count: ok(count, -600, 9000),
    "no number": lambda count: ok(count, float("nan"), 9000),
    "without end": lambda count: ok(count, float("inf"), 9000),
    "words": lambda count: ok(count, "soon", 9000),
    "shorter than straight": lambda count: ok(count, 900, 1),
    "a row too few": lambda count: {
        **ok(count, 900, 9000), "durations": square(count - 1, 900),
    },
    "a column too many": lambda count: {
        **ok(count, 900, 9000), "distances": [[9000] * (count + 1)] * count,
    },
    "a list": lambda _count: [1, 2, 3],
    "a refusal": lambda _count: {"code": "TooBig"},
}  # fmt: skip


@pytest.mark.parametrize("lie", LIES)
def test_a_lie_is_not_planned_with(engine: Engine, lie: str) -> None:
    engine.say = LIES[lie]
    _firm, page = planned()
    assert MARK in page
    # the base and two gardens: six ways
    assert "The road engine did not answer, or not as roads can be, for 6 of 6 ways" in page
    assert "plan anew when it is back" in page


def test_one_way_alone_is_named_too(engine: Engine) -> None:
    def say(count: int) -> dict[str, Any]:
        said = ok(count, 900, 9000)
        said["durations"][0][1] = 0
        return said

    engine.say = say
    assert "for 1 of 6 ways" in planned()[1]


def test_an_answer_after_the_time_out_is_late(
    engine: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    of = table.TableService.of
    monkeypatch.setattr(
        table.TableService, "of", lambda *args: of(*args, timeout=0.2), raising=True
    )
    engine.wait = 1.0
    began = time.monotonic()
    _firm, page = planned()
    assert MARK in page
    assert "for 6 of 6 ways" in page
    assert time.monotonic() - began < 30


def test_an_engine_that_is_down(engine: Engine, settings: Any) -> None:
    settings.BACKYARD_ROADS = "osrm http://127.0.0.1:9"  # discard: nothing listens there
    _firm, page = planned()
    assert MARK in page
    assert "for 6 of 6 ways" in page


def test_without_an_engine_nobody_is_told_of_one(engine: Engine, settings: Any) -> None:
    settings.BACKYARD_ROADS = ""
    _firm, page = planned()
    assert MARK in page
    assert "The road engine" not in page
