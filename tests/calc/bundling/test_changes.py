"""What a new plan changes of an old one, and why."""

from dataclasses import replace

import pytest

from apps.calc.bundling import KEPT_APART, SKILL_MISSING, Day, ahead, changes, cheapest, fewest
from tests.calc.bundling.small_plans import days, on, task

A = task("a", 0, 3, 6)
B = task("b", 8, 9, 12)
OLD = cheapest([A, B], days(*range(15)))


def only(found):
    assert len(found) == 1
    return found[0]


def test_the_same_plan_changes_nothing():
    found = changes(OLD, cheapest([A, B], days(*range(15))))
    assert not found
    assert found.moved == found.added == found.dropped == ()


@pytest.mark.parametrize(
    ("jobs", "allowed", "more", "to", "why"),
    [
        ([A, B], [d for d in days(*range(15)) if d.day != on(3)], {}, 2, "day_closed"),
        ([replace(A, open=on(5), due=on(6)), B], days(*range(15)), {}, 6, "window_moved"),
        ([replace(A, skill="x"), B],
         [replace(d, skills=frozenset({"x"}) if d.day == on(5) else frozenset())
          for d in days(*range(15))], {}, 5, SKILL_MISSING),
        ([A, B], [replace(d, promised=d.day == on(6)) for d in days(*range(15))], {}, 6,
         "promised_day"),
        ([A, B, task("c", 5, 5, 5)], days(*range(15)), {}, 5, "fewer_visits"),
        ([A, B, task("c", 3, 3, 3)], days(*range(15)),
         {"apart": [("a", "c")]}, 2, KEPT_APART),
    ],
)  # fmt: skip
def test_moved_and_why(jobs, allowed, more, to, why):
    found = changes(OLD, cheapest(jobs, allowed, **more))
    moved = only(found.moved)
    assert (moved.task.key, moved.old, moved.new, moved.why) == ("a", on(3), on(to), why)


def test_moved_to_others_while_the_day_is_still_visited():
    old = cheapest([A, task("c", 3, 3, 3)], days(*range(15)))
    new = cheapest([A, task("c", 3, 3, 3), task("d", 4, 4, 4)],
                   [replace(d, cost=0.1) for d in days(*range(15))])  # fmt: skip
    assert not changes(old, new).moved
    dear = replace(A, due=on(4))
    new = cheapest([dear, task("c", 3, 3, 3), task("d", 4, 4, 4)], days(*range(15)))
    assert only(changes(old, new).moved).why == "done_together"


def test_over_the_limit():
    early, late = task("a", 0, 3, 4), task("b", 9, 9, 9)
    old = ahead([early, late], days(*range(15)))
    new = ahead([early, late], days(*range(15)), at_most=1)
    assert only(changes(old, new).moved).why == "over_the_limit"


def test_added_and_dropped():
    found = changes(OLD, cheapest([A, task("c", 3, 3, 3)], days(*range(15))))
    assert (only(found.added).task.key, only(found.added).why) == ("c", "new_task")
    assert (only(found.dropped).task.key, only(found.dropped).why) == ("b", "task_gone")
    assert (found.visits_added, found.visits_dropped) == ((), (on(9),))
    assert found


def test_dropped_for_the_reason_that_the_plan_gives():
    found = changes(OLD, cheapest([A, B], days(*range(8))))
    assert only(found.dropped).why == "no_allowed_day"
    back = changes(cheapest([A, B], days(*range(8))), OLD)
    assert only(back.added).why == "now_possible"


def test_turns_that_come_round_once_more_or_less():
    from tests.calc.bundling.test_ahead import comes_round

    short = ahead([comes_round("a", 10, 0)], days(*range(1, 25)))
    long = ahead([comes_round("a", 10, 0)], days(*range(1, 35)))
    assert (only(changes(short, long).added).new, only(changes(short, long).added).why) == (
        on(30), "comes_round"
    )  # fmt: skip
    assert only(changes(long, short).dropped).why == "comes_round_later"


def test_what_is_over_is_no_change():
    new = fewest([B], [Day(on(n)) for n in range(7, 15)])
    found = changes(replace(OLD, tasks=(A, B)), new)
    assert found.dropped == ()
    assert found.visits_dropped == (on(9),)
    assert only(found.moved).new == on(12)
    assert not changes(OLD, fewest([], [])).dropped
