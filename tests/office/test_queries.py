"""The number of queries of a page of the office does not grow with what stands on it."""

from typing import Any

import pytest

from tests.office.conftest import Desk
from tests.office.test_due import more


def grow(desk: Desk) -> None:
    """More places, systems, visits, reports and letters."""
    desk.more_systems(6)
    more(desk)


@pytest.mark.parametrize(
    ("page", "query", "most"),
    [
        ("systems", {}, 20),
        ("places", {}, 20),
        ("letters", {}, 20),
        ("search", {"q": "a"}, 20),
        ("reference", {}, 20),
    ],
)
def test_lists(desk: Desk, same_queries: Any, page: str, query: dict[str, str], most: int) -> None:
    desk.drawn(desk.written_up())
    assert same_queries(lambda: desk.get(page, **query), lambda: grow(desk)) <= most


def test_a_system_and_its_place(desk: Desk, same_queries: Any) -> None:
    desk.drawn(desk.written_up())
    desk.booked()
    system = desk.built.system
    show = lambda: (desk.get("system", system.pk), desk.get("place", system.place_id))  # noqa: E731
    assert same_queries(show, lambda: grow(desk)) <= 90


def test_a_visit(desk: Desk, same_queries: Any) -> None:
    visit = desk.written_up()
    desk.drawn(visit)
    assert same_queries(lambda: desk.get("visit", visit.pk), lambda: grow(desk)) <= 60
