"""Tasks that come round again: visits over the weeks to come."""

import datetime as dt
import itertools
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from apps.calc.bundling import (
    CAN_WAIT,
    CLIENT_DOES_IT,
    KEPT_APART,
    NO_ALLOWED_DAY,
    OVER_THE_LIMIT,
    OVERDUE,
    SKILL_MISSING,
    Day,
    Plan,
    Task,
    again_of,
    ahead,
)
from apps.calc.rhythm import Rhythm, State, window
from tests.calc.bundling.small_plans import assert_sound, days, on, task
from tests.effort import cases

QUIET = [HealthCheck.function_scoped_fixture, HealthCheck.filter_too_much, HealthCheck.too_slow]


def comes_round(key: str, every: int, slack: int, done: int = 0, **more: object) -> Task:
    """A task so many days after it was done, so many early or late."""
    rhythm = Rhythm("after_done", every, early_min_days=slack, early_max_days=slack,
                    late_min_days=slack, late_max_days=slack)  # fmt: skip
    return of_rhythm(key, rhythm, State(last_done=on(done)), **more)


def of_rhythm(key: str, rhythm: Rhythm, state: State, **more: object) -> Task:
    now = window(rhythm, state)
    return Task(**{"key": key, "code": key, "open": now.open, "due": now.due, "late": now.late,
                   "again": again_of(rhythm, state), **more})  # fmt: skip


def visited(plan: Plan) -> list[int]:
    return [(visit.day - on(0)).days for visit in plan.visits]


def assert_kept(plan: Plan, tasks: list[Task], until: dt.date) -> None:
    """Walk along each task: done in each of its windows, and in time to the end."""
    for job in tasks:
        now: Task | None = job
        for placed in plan.placed:
            if placed.task.key != job.key:
                continue
            assert now is not None
            assert (placed.task.open, placed.task.late) == (now.open, now.late)
            assert now.open <= placed.day <= now.late
            now = now.at(now.again(placed.day)) if now.again else None
        assert now is None or now.late > until


def fewest_by_trying(tasks: list[Task], last: int) -> int:
    """The fewest visits, every day tried for each, if a visit does all that is open."""
    layer, visits = {(-1, *[(job.open, job.late) for job in tasks])}, 0
    while True:
        if any(all(late > on(last) for _open, late in state[1:]) for state in layer):
            return visits
        following = set()
        for day, *now in layer:
            end = min(late for _open, late in now)
            for to in range(day + 1, (end - on(0)).days + 1):
                after = []
                for job, (opens, late) in zip(tasks, now, strict=True):
                    dates = job.again(on(to)) if opens <= on(to) else None
                    after.append((dates.open, dates.late) if dates else (opens, late))
                if after != now:
                    following.add((to, *after))
        layer, visits = following, visits + 1


class TestByHand:
    def test_a_little_earlier_saves_a_visit(self):
        """Every 10 and 30 days: waiting as long as may be gives 12, 24, 31, 36."""
        tasks = [comes_round("a", 10, 2), comes_round("b", 30, 1)]
        found = ahead(tasks, days(*range(1, 32)), until=on(31))
        assert len(found.visits) == 3
        assert_kept(found, tasks, on(31))
        at_once = {placed.task.key for placed in found.visits[-1].tasks}
        assert at_once == {"a", "b"}

    def test_fixed_days_and_calendar_rules_come_round_by_themselves(self):
        weekly = Rhythm("fixed", 1, "week", anchor=on(0), early_min_days=1, early_max_days=1,
                        late_min_days=1, late_max_days=1)  # fmt: skip
        first = Rhythm("calendar", anchor=on(0), rrule="FREQ=MONTHLY;BYDAY=1TU", late_min_days=3,
                       late_max_days=3)  # fmt: skip
        tasks = [of_rhythm("w", weekly, State()), of_rhythm("c", first, State())]
        found = ahead(tasks, days(*range(60)))
        assert_kept(found, tasks, on(59))
        assert len(found.visits) == 9

    def test_what_is_done_once_is_done_once(self):
        found = ahead([task("a", 0, 1, 3)], days(*range(60)))
        assert len(found.placed) == 1

    def test_a_dear_day_is_gone_round(self):
        tasks = [comes_round("a", 7, 1)]
        allowed = [Day(on(n), 0.5 if n % 7 == 1 else 3.0) for n in range(1, 40)]
        assert [n % 7 for n in visited(ahead(tasks, allowed))] == [1] * 5

    def test_days_off_are_left_out(self):
        tasks = [comes_round("a", 7, 2)]
        working = [n for n in range(1, 60) if on(n).weekday() < 5]
        found = ahead(tasks, days(*working))
        assert all(on(n).weekday() < 5 for n in visited(found))
        assert_kept(found, tasks, on(working[-1]))

    @pytest.mark.parametrize("allowed", [[], days(3)])
    def test_nothing_to_do(self, allowed):
        assert ahead([], allowed).visits == ()


class TestNothingIsDropped:
    def test_a_gap_without_a_day_is_told(self):
        found = ahead([comes_round("a", 10, 1)], days(*range(1, 5), *range(15, 30)))
        assert [(item.reason, item.nearest) for item in found.not_placed] == [
            (NO_ALLOWED_DAY, on(15))
        ]

    def test_a_gap_further_on_is_gone_round_where_that_can_be(self):
        tasks = [comes_round("a", 10, 3)]
        allowed = days(*range(1, 17), *range(25, 40))
        found = ahead(tasks, allowed)
        assert not found.not_placed
        assert_kept(found, tasks, on(39))

    def test_no_days(self):
        found = ahead([comes_round("a", 10, 1)], [])
        assert [item.reason for item in found.not_placed] == [NO_ALLOWED_DAY]

    def test_overdue_is_done_first(self):
        found = ahead([comes_round("a", 10, 1, done=-30)], days(*range(2, 20)))
        assert visited(found)[0] == 2
        assert found.placed[0].why == OVERDUE

    def test_clients_do_theirs(self):
        found = ahead([comes_round("a", 7, 1, who="client")], days(*range(30)))
        assert (found.visits, found.not_placed[0].reason) == ((), CLIENT_DOES_IT)

    def test_what_ends_after_the_time_that_is_planned_can_wait(self):
        found = ahead([comes_round("a", 90, 9)], days(*range(60)))
        assert (found.visits, found.not_placed[0].reason) == ((), CAN_WAIT)

    def test_the_skill_decides_the_day(self):
        tasks = [comes_round("a", 7, 2, skill="x"), comes_round("b", 7, 2)]
        allowed = [Day(on(n), skills=frozenset({"x"} if n % 3 == 0 else ())) for n in range(1, 40)]
        found = ahead(tasks, allowed)
        assert all(n % 3 == 0 for n in visited(found))
        nobody = ahead([comes_round("a", 7, 2, skill="y")], allowed)
        assert nobody.not_placed[0].reason == SKILL_MISSING

    def test_two_kept_apart_take_turns(self):
        tasks = [comes_round("dose", 14, 3), comes_round("weigh", 14, 3)]
        found = ahead(tasks, days(*range(1, 60)), apart=[("dose", "weigh")])
        assert all(len(visit.tasks) == 1 for visit in found.visits)
        assert_kept(found, tasks, on(59))

    @pytest.mark.parametrize("gap", [3, 6])
    def test_kept_apart_by_some_days_take_turns(self, gap):
        tasks = [comes_round("dose", 14, 3), comes_round("weigh", 14, 3)]
        found = ahead(tasks, days(*range(1, 60)), apart=[("dose", "weigh", gap)])
        assert_kept(found, tasks, on(59))
        assert_sound(
            found, tasks, days(*range(1, 60)), {"apart": [("dose", "weigh", gap)], "at_most": None}
        )

    def test_who_can_wait_leaves_room_for_who_cannot(self):
        """Somebody comes on day 3 anyway; what is open then would stand in the other's way."""
        tasks = [task("bed", 1, 10, 20), task("flush", 5, 6, 6), task("other", 3, 3, 3)]
        found = ahead(tasks, days(*range(1, 25)), apart=[("bed", "flush", 7)])
        assert not found.not_placed
        assert_sound(
            found, tasks, days(*range(1, 25)), {"apart": [("bed", "flush", 7)], "at_most": None}
        )

    def test_kept_apart_with_no_other_day_is_told(self):
        tasks = [comes_round("dose", 10, 0), comes_round("weigh", 10, 0)]
        found = ahead(tasks, days(*range(1, 15)), apart=[("dose", "weigh")])
        assert [item.reason for item in found.not_placed] == [KEPT_APART]


class TestPromised:
    def test_it_is_never_moved_and_tasks_fall_into_it(self):
        tasks = [comes_round("a", 10, 3)]
        allowed = [Day(on(n), promised=n in (8, 20)) for n in range(1, 40)]
        found = ahead(tasks, allowed)
        assert {8, 20} <= set(visited(found))
        assert [visit.promised for visit in found.visits].count(True) == 2
        assert found.cost < len(found.visits) - 1.9
        assert_kept(found, tasks, on(39))

    def test_it_stands_alone_too(self):
        found = ahead([], [Day(on(3), promised=True), Day(on(5))])
        assert visited(found) == [3]


class TestLimit:
    tasks = (comes_round("a", 10, 1), comes_round("b", 14, 2))

    def test_a_limit_that_holds_by_itself_changes_nothing(self):
        free = ahead(self.tasks, days(*range(1, 61)))
        held = ahead(self.tasks, days(*range(1, 61)), at_most=len(free.visits))
        assert held.visits == free.visits

    @pytest.mark.parametrize("most", [1, 2, 3, 4])
    def test_windows_run_over_as_little_as_it_takes(self, most):
        found = ahead(self.tasks, days(*range(1, 61)), at_most=most)
        assert len(found.visits) == most
        late = [placed for placed in found.placed if placed.late_by]
        assert late
        assert all(placed.why == OVER_THE_LIMIT for placed in late)
        assert {placed.task.key for placed in found.placed} == {"a", "b"}

    def test_one_visit_less_makes_the_longest_overrun_longer(self):
        longest = [
            max(p.late_by for p in ahead(self.tasks, days(*range(1, 61)), at_most=most).placed)
            for most in (1, 2, 3, 4)
        ]
        assert longest == sorted(longest, reverse=True)
        assert longest[0] > longest[3]

    def test_no_visit_at_all(self):
        found = ahead(self.tasks, days(*range(1, 61)), at_most=0)
        assert found.visits == ()
        assert {item.reason for item in found.not_placed} == {OVER_THE_LIMIT}

    def test_promised_days_stay_beyond_it(self):
        allowed = [Day(on(n), promised=n in (8, 20)) for n in range(1, 61)]
        found = ahead([*self.tasks, comes_round("c", 25, 0)], allowed, at_most=1)
        assert visited(found) == [8, 20]
        assert {item.task.key: item.reason for item in found.not_placed} == {"c": OVER_THE_LIMIT}


@st.composite
def rounds(draw: st.DrawFn) -> list[Task]:
    found = []
    for n in range(draw(st.integers(1, 4))):
        every = draw(st.integers(4, 20))
        slack = draw(st.integers(0, every // 3))
        found.append(comes_round(f"t{n}", every, slack, done=-draw(st.integers(0, every - 1))))
    return found


@pytest.mark.outside(
    source="every day tried for every visit", kind="computed", tolerance=0, absolute=True
)
@settings(cases(40), suppress_health_check=QUIET)
@given(tasks=rounds())
def test_as_few_as_by_trying_every_day(tasks, outside):
    last = 30
    found = ahead(tasks, days(*range(last + 1)), until=on(last))
    assert_kept(found, tasks, on(last))
    outside(len(found.visits), fewest_by_trying(tasks, last))


@settings(cases(120), suppress_health_check=QUIET)
@given(
    tasks=rounds(), data=st.data(), most=st.none() | st.integers(0, 5),
    apart=st.sampled_from([(), (("t0", "t1"),), (("t0", "t1", 5),)]), until=st.none() | st.integers(0, 45),
)  # fmt: skip
def test_nothing_is_dropped_and_every_rule_holds(tasks, data, most, apart, until):
    numbers = data.draw(st.lists(st.integers(0, 45), max_size=25, unique=True))
    allowed = [
        Day(on(n), data.draw(st.sampled_from([0.0, 1.0, 3.0])),
            data.draw(st.sampled_from([None, frozenset(), frozenset({"x"})])),
            data.draw(st.integers(0, 9)) == 0)
        for n in numbers
    ]  # fmt: skip
    tasks = [
        replace(job, skill=data.draw(st.sampled_from(["", "", "x"])),
                who=data.draw(st.sampled_from(["technician", "technician", "client"])))
        for job in tasks
    ]  # fmt: skip
    end = None if until is None else on(until)
    found = ahead(tasks, allowed, apart=apart, at_most=most, until=end)
    soon = [day for day in allowed if end is None or day.day <= end]
    assert_sound(found, tasks, soon, {"apart": apart, "at_most": most})
    assert all(not p.late_by or p.why in (OVERDUE, OVER_THE_LIMIT) for p in found.placed)
    assert ahead(tasks, allowed, apart=apart, at_most=most, until=end) == found


@settings(cases(40), suppress_health_check=QUIET)
@given(tasks=rounds(), off=st.sets(st.integers(1, 30), max_size=10))
def test_of_all_the_days_that_may_be_had_none_is_missed_without_need(tasks, off):
    allowed = days(*[n for n in range(31) if n not in off])
    found = ahead(tasks, allowed, until=on(30))
    assume(not found.not_placed)
    assert_kept(found, tasks, on(30))


def test_a_longer_look_is_no_worse_than_going_as_late_as_may_be():
    tasks = [comes_round(f"t{n}", every, every // 5) for n, every in enumerate((7, 14, 30, 42))]
    found = ahead(tasks, days(*range(1, 91)), until=on(90))
    visits, now = 0, [(job.open, job.late) for job in tasks]
    for _again in itertools.count():
        day = min(late for _open, late in now)
        if day > on(90):
            break
        visits += 1
        now = [
            ((dates := job.again(day)).open, dates.late) if opens <= day else (opens, late)
            for job, (opens, late) in zip(tasks, now, strict=True)
        ]
    assert len(found.visits) <= visits


def test_a_day_that_costs_nothing_is_taken_though_no_window_begins_or_ends_on_it():
    jobs = [comes_round("a", every=14, slack=5)]
    free = {10, 24, 38}
    allowed = [Day(on(n), cost=0.0 if n in free else 1.0) for n in range(1, 45)]
    found = ahead(jobs, allowed, until=on(44))
    assert visited(found) == sorted(free)
    assert found.cost < 0.1
