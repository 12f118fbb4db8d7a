"""The number of queries of a page does not grow with what stands on it."""

import datetime as dt
from collections.abc import Callable
from functools import partial
from typing import Any
from uuid import uuid4

from apps.visits.models import Reading
from tests import factories
from tests.field.conftest import Phone
from tests.field.test_round import later


def fill(phone: Phone) -> Callable[[], None]:
    """Answer a good deal, and put history behind it."""

    def grow() -> None:
        for measurand, value in (("temp", "28"), ("ph", "6.6"), ("do", "6.4"), ("no2", "0.1")):
            phone.read(measurand, value)
        for line in phone.sheet.lines.exclude(code="left_running")[:6]:
            phone.post("line", {"outcome": "done"}, line=line.pk)
        for _ in range(3):
            phone.post("finding", {"text": "Something"}, key=uuid4())
        for days in (14, 28, 42):
            at = factories.NOW - dt.timedelta(days=days)
            Reading.objects.create(
                loop=phone.built.loop, measurand="alk", value=60, unit="mg/L CaCO3", typed="60",
                taken_at=at, received_at=at, word="in_band",
            )  # fmt: skip

    return grow


def test_pages_of_a_sheet(phone: Phone, same_queries_each: Any) -> None:
    phone.read("alk", "31")
    names = ("visit", "sheet", "measure", "findings", "photo", "left_running", "finish")
    counts = same_queries_each({name: partial(phone.get, name) for name in names}, fill(phone))
    assert not {name: count for name, count in counts.items() if count >= 40}


def test_a_reading_out_of_its_band(phone: Phone, same_queries: Any) -> None:
    phone.read("alk", "31")
    show = lambda: phone.browser.get(phone.reading_url("alk"))  # noqa: E731
    assert same_queries(show, fill(phone)) < 50


def test_advice(phone: Phone, same_queries: Any) -> None:
    phone.read("alk", "31")
    assert same_queries(lambda: phone.get("advice"), fill(phone)) < 50


def test_round(phone: Phone, same_queries: Any) -> None:
    grow = lambda: [later(phone, days) for days in (1, 2, 3)]  # noqa: E731
    assert same_queries(lambda: phone.browser.get("/field/online/"), grow) < 20
