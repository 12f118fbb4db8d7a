"""The number of queries of a page of the office does not grow with what stands on it."""

from functools import partial
from typing import Any

from tests.office.conftest import Desk
from tests.office.test_due import more


def grow(desk: Desk) -> None:
    """More places, systems, visits, reports and letters."""
    desk.more_systems(6)
    more(desk)


def test_lists(desk: Desk, same_queries_each: Any) -> None:
    desk.drawn(desk.written_up())
    lists = {
        name: partial(desk.get, name) for name in ("systems", "places", "letters", "reference")
    } | {"search": partial(desk.get, "search", q="a")}
    counts = same_queries_each(lists, lambda: grow(desk))
    assert not {name: count for name, count in counts.items() if count > 20}


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
