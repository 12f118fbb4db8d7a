"""Windows as they stand: the fewest and the cheapest visits, limits, skills, pairs, promises."""

import datetime as dt
from dataclasses import replace
from itertools import combinations

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
    PlanError,
    ahead,
    cheapest,
    fewest,
)
from tests.calc.bundling.small_plans import assert_sound, brute_force, days, on, task, windows
from tests.effort import cases

BOTH = pytest.mark.parametrize("bundle", [fewest, cheapest])
EACH = pytest.mark.parametrize("bundle", [fewest, cheapest, ahead])
QUIET = [HealthCheck.function_scoped_fixture, HealthCheck.filter_too_much]
BRUTE = "every choice of days, tried"


def visited(plan) -> list[int]:
    return [(visit.day - on(0)).days for visit in plan.visits]


def reasons(plan) -> dict[str, str]:
    return {item.task.key: item.reason for item in plan.not_placed}


class TestByHand:
    def test_one_visit_stabs_what_overlaps(self):
        jobs = [task("a", 0, 2, 5), task("b", 3, 5, 9), task("c", 5, 6, 8), task("d", 9, 9, 12)]
        assert visited(fewest(jobs, days(*range(14)))) == [5, 12]

    def test_the_cheapest_day_wins(self):
        jobs = [task("a", 0, 2, 8), task("b", 0, 5, 8)]
        allowed = days(*range(10))
        allowed[7] = replace(allowed[7], cost=0.2)
        assert visited(cheapest(jobs, allowed)) == [7]

    def test_days_early_and_late_have_their_price(self):
        jobs = [task("a", 0, 4, 9, earliness=0.1, lateness=0.3), task("b", 0, 6, 9, lateness=0.1)]
        found = cheapest(jobs, days(*range(10)))
        assert visited(found) == [4]
        assert found.cost == pytest.approx(1.0 + 2 * 0.001)

    def test_two_visits_where_waiting_costs_more(self):
        jobs = [task("a", 0, 0, 9, lateness=2.0), task("b", 0, 9, 9, earliness=2.0)]
        assert visited(cheapest(jobs, days(*range(10)))) == [0, 9]

    def test_past_the_window_at_a_price(self):
        jobs = [task("a", 0, 1, 2, overrun=0.05), task("b", 6, 7, 8)]
        found = cheapest(jobs, days(*range(10)))
        assert visited(found) == [6]
        assert [placed.late_by for placed in found.placed] == [4, 0]
        dear = [replace(jobs[0], overrun=5.0), jobs[1]]
        assert visited(cheapest(dear, days(*range(10)))) == [1, 7]

    def test_the_work_of_several_systems_adds_up(self):
        jobs = [task("a", 0, 2, 5, minutes=20, system="S1"),
                task("b", 0, 3, 5, minutes=15, system="S2")]  # fmt: skip
        visit = cheapest(jobs, days(*range(6))).visits[0]
        assert (visit.minutes, visit.systems) == (35, ("S1", "S2"))

    @BOTH
    def test_nothing_to_do(self, bundle):
        assert bundle([], days(1, 2)).visits == ()
        assert bundle([], []).visits == ()


class TestNothingIsDropped:
    @BOTH
    def test_no_day_in_the_window(self, bundle):
        found = bundle([task("a", 3, 4, 5)], days(0, 7, 9))
        assert reasons(found) == {"a": NO_ALLOWED_DAY}
        assert found.not_placed[0].nearest == on(7)
        assert found.visits == ()

    @BOTH
    def test_no_day_at_all(self, bundle):
        found = bundle([task("a", 3, 4, 5)], [])
        assert reasons(found) == {"a": NO_ALLOWED_DAY}
        assert found.not_placed[0].nearest is None

    @BOTH
    def test_overdue_goes_to_the_first_day(self, bundle):
        found = bundle([task("a", -9, -8, -7), task("b", 0, 4, 8)], days(1, 2, 5))
        assert visited(found) == [1]
        late = next(placed for placed in found.placed if placed.task.key == "a")
        assert (late.why, late.late_by, late.early_by) == (OVERDUE, 8, 0)

    @BOTH
    def test_overdue_does_not_wait_for_a_cheaper_visit(self, bundle):
        found = bundle([task("a", -9, -8, -7), task("b", 6, 7, 8)], days(*range(1, 10)))
        assert visited(found)[0] == 1
        assert len(found.visits) == 2

    @BOTH
    def test_the_skill_is_missing(self, bundle):
        allowed = days(0, 1, skills=frozenset({"ponds"})) + days(9, skills=frozenset({"power"}))
        found = bundle([task("a", 0, 1, 5, skill="power")], allowed)
        assert reasons(found) == {"a": SKILL_MISSING}
        assert found.not_placed[0].nearest == on(9)
        nobody = bundle([task("a", 0, 1, 5, skill="glass")], allowed)
        assert (reasons(nobody)["a"], nobody.not_placed[0].nearest) == (SKILL_MISSING, None)

    @BOTH
    def test_the_skill_picks_the_day(self, bundle):
        allowed = [*days(0, 1, 2, skills=frozenset()), *days(3, skills=frozenset({"power"}))]
        found = bundle([task("a", 0, 0, 3, skill="power"), task("b", 0, 0, 5)], allowed)
        assert visited(found) == [3]

    @BOTH
    def test_what_clients_do_makes_no_visit(self, bundle):
        found = bundle([task("a", 0, 1, 5, who="client")], days(0, 1, 2))
        assert (found.visits, reasons(found)) == ((), {"a": CLIENT_DOES_IT})

    @BOTH
    def test_over_the_limit(self, bundle):
        jobs = [task("a", 0, 1, 2), task("b", 0, 1, 3), task("c", 8, 9, 9)]
        found = bundle(jobs, days(*range(10)), at_most=1)
        assert reasons(found) == {"c": OVER_THE_LIMIT}
        assert found.not_placed[0].nearest == on(9)
        assert bundle(jobs, days(*range(10)), at_most=0).visits == ()
        assert len(bundle(jobs, days(*range(10)), at_most=2).visits) == 2

    @BOTH
    def test_a_window_past_the_end_can_wait(self, bundle):
        jobs = [task("a", 2, 6, 20), task("b", 0, 3, 4)]
        assert reasons(bundle(jobs[:1], days(*range(10)), until=on(9))) == {"a": CAN_WAIT}
        along = bundle(jobs, days(*range(10)), until=on(9))
        assert len(along.visits) == 1
        assert {placed.task.key for placed in along.placed} == {"a", "b"}


class TestApart:
    jobs = (task("dose", 0, 3, 6, code="dose"), task("weigh", 0, 3, 6, code="weigh"))
    pair = (("dose", "weigh"),)

    @BOTH
    def test_two_that_must_not_fall_together_make_two_visits(self, bundle):
        found = bundle(self.jobs, days(*range(8)), apart=self.pair)
        assert len(found.visits) == 2
        assert not found.not_placed

    @BOTH
    def test_on_another_system_they_may(self, bundle):
        jobs = [replace(self.jobs[0], system="S1"), replace(self.jobs[1], system="S2")]
        assert len(bundle(jobs, days(*range(8)), apart=self.pair).visits) == 1

    @BOTH
    def test_one_makes_room_for_the_other(self, bundle):
        """The one that may go elsewhere does, although it was there first."""
        jobs = [
            task("dose", 0, 3, 9, code="dose"), task("weigh", 3, 3, 3, code="weigh"),
            task("b", 3, 3, 3), task("c", 8, 8, 8),
        ]  # fmt: skip
        found = bundle(jobs, days(*range(10)), apart=self.pair)
        assert visited(found) == [3, 8]
        assert not found.not_placed

    @BOTH
    def test_kept_apart_with_one_day_only(self, bundle):
        found = bundle(self.jobs, days(3), apart=self.pair)
        assert len(found.placed) == 1
        assert list(reasons(found).values()) == [KEPT_APART]

    @BOTH
    def test_the_limit_holds_for_them(self, bundle):
        found = bundle(self.jobs, days(*range(8)), apart=self.pair, at_most=1)
        assert list(reasons(found).values()) == [KEPT_APART]

    def test_a_task_from_itself_is_refused(self):
        with pytest.raises(PlanError, match="apart"):
            fewest(self.jobs, days(1), apart=[("dose", "dose")])

    def test_by_no_day_is_refused(self):
        with pytest.raises(PlanError, match="1 day or more"):
            fewest(self.jobs, days(1), apart=[("dose", "weigh", 0)])

    @BOTH
    @pytest.mark.parametrize("gap", [2, 4, 6])
    def test_so_many_days_lie_between(self, bundle, gap):
        found = bundle(self.jobs, days(*range(8)), apart=[("dose", "weigh", gap)])
        one, other = sorted(placed.day for placed in found.placed)
        assert (other - one).days >= gap

    @BOTH
    def test_windows_too_short_for_it_are_told(self, bundle):
        found = bundle(self.jobs, days(*range(8)), apart=[("dose", "weigh", 7)])
        assert len(found.placed) == 1
        assert list(reasons(found).values()) == [KEPT_APART]

    @EACH
    @settings(cases(150), suppress_health_check=QUIET)
    @given(
        one=windows(), two=windows(), gap=st.integers(1, 9),
        numbers=st.sets(st.integers(1, 24), max_size=10).map(lambda some: [0, *sorted(some)]),
    )  # fmt: skip
    def test_both_are_placed_where_any_two_days_would_do(self, bundle, one, two, gap, numbers):
        """By trying every two days; on day 0 nothing is overdue yet."""
        jobs = [task("a", *one), task("b", *two)]
        there = [[n for n in numbers if opens <= n <= late] for opens, _due, late in (one, two)]
        both = any(abs(a - b) >= gap for a in there[0] for b in there[1])
        either = bool(there[0]) + bool(there[1])
        found = bundle(jobs, days(*numbers), apart=[("a", "b", gap)], until=on(40))
        assert_sound(found, jobs, days(*numbers), {"apart": [("a", "b", gap)], "at_most": None})
        assert len(found.placed) == (2 if both else min(either, 1))


class TestPromised:
    allowed = [*days(0, 1, 2), *days(4, promised=True, cost=9.0), *days(6, 7, 8, 9)]

    @BOTH
    def test_tasks_fall_into_a_promised_day(self, bundle):
        found = bundle([task("a", 1, 2, 5), task("b", 3, 7, 9)], self.allowed)
        assert visited(found) == [4]
        assert found.visits[0].promised
        assert found.cost == pytest.approx(0.005)

    @BOTH
    def test_it_stands_where_nothing_falls_into_it(self, bundle):
        found = bundle([task("a", 6, 7, 9)], self.allowed)
        assert len(found.visits) == 2
        assert found.visits[0].tasks == ()

    @BOTH
    def test_it_counts_among_the_most_and_stays_beyond_them(self, bundle):
        jobs = [task("a", 6, 7, 9)]
        assert visited(bundle(jobs, self.allowed, at_most=1)) == [4]
        assert visited(bundle(jobs, self.allowed, at_most=0)) == [4]


GOOD = task("a", 0, 1, 2)


class TestRefused:
    @pytest.mark.parametrize(
        ("jobs", "allowed", "more", "field"),
        [
            ([GOOD, GOOD], days(1), {}, "key"),
            ([replace(GOOD, open=on(5))], days(1), {}, "due"),
            ([replace(GOOD, late=on(0))], days(1), {}, "due"),
            ([replace(GOOD, earliness=-1.0)], days(1), {}, "earliness"),
            ([replace(GOOD, lateness=float("nan"))], days(1), {}, "lateness"),
            ([replace(GOOD, overrun=float("inf"))], days(1), {}, "overrun"),
            ([replace(GOOD, minutes=-5)], days(1), {}, "minutes"),
            ([GOOD], days(1, 1), {}, "day"),
            ([GOOD], days(1, cost=-1.0), {}, "cost"),
            ([GOOD], days(1, cost=float("inf")), {}, "cost"),
            ([GOOD], days(1), {"at_most": -1}, "at_most"),
        ],
    )
    def test_names_the_field(self, jobs, allowed, more, field):
        with pytest.raises(PlanError) as caught:
            fewest(jobs, allowed, **more)
        assert caught.value.field == field
        assert isinstance(caught.value, ValueError)
        assert caught.value.message


@st.composite
def plain(draw: st.DrawFn) -> tuple[list, list[Day]]:
    """Tasks and priced days with nothing in the way, each task with a day."""
    numbers = draw(st.lists(st.integers(0, 20), min_size=1, max_size=8, unique=True))
    costs = st.sampled_from([0.3, 1.0, 1.5, 4.0])
    allowed = [Day(on(number), draw(costs)) for number in sorted(numbers)]
    jobs = [
        task(f"t{n}", *window, earliness=draw(st.sampled_from([0.0, 0.1, 0.7])),
             lateness=draw(st.sampled_from([0.0, 0.2, 1.1])))
        for n, window in enumerate(draw(st.lists(windows(), min_size=1, max_size=7)))
    ]  # fmt: skip
    assume(all(any(job.open <= day.day <= job.late for day in allowed) for job in jobs))
    return jobs, allowed


@pytest.mark.outside(source=BRUTE, kind="computed", tolerance=1e-9, absolute=True)
@settings(cases(200), suppress_health_check=QUIET)
@given(given_=plain())
def test_as_few_and_as_cheap_as_any_choice_of_days(given_, outside):
    jobs, allowed = given_
    least_visits, least_cost = brute_force(jobs, allowed)
    outside(len(fewest(jobs, allowed).visits), least_visits)
    outside(cheapest(jobs, allowed).cost, least_cost)


@settings(cases(150), suppress_health_check=QUIET)
@given(given_=plain(), most=st.integers(0, 5))
def test_within_a_limit_the_cheapest_leaves_out_the_fewest(given_, most):
    jobs, allowed = given_
    found = cheapest(jobs, allowed, at_most=most)
    assert len(found.visits) <= most
    reached = max(
        sum(any(job.open <= day.day <= job.late for day in chosen) for job in jobs)
        for size in range(min(most, len(allowed)) + 1)
        for chosen in combinations(allowed, size)
    )
    assert len(found.placed) == reached
    if most >= len(allowed):
        assert found.cost == pytest.approx(cheapest(jobs, allowed).cost)


@settings(cases(200), suppress_health_check=QUIET)
@given(given_=plain(), which=st.integers(0, 6), wider=st.integers(1, 6), extra=st.integers(0, 20),
       cost=st.sampled_from([0.3, 2.0]))  # fmt: skip
def test_a_wider_window_or_a_further_day_never_costs_more(given_, which, wider, extra, cost):
    jobs, allowed = given_
    at = which % len(jobs)
    wide = replace(jobs[at], open=jobs[at].open - dt.timedelta(days=wider),
                   late=jobs[at].late + dt.timedelta(days=wider))  # fmt: skip
    more_jobs = [*jobs[:at], wide, *jobs[at + 1 :]]
    more_days = allowed if on(extra) in {day.day for day in allowed} else [
        *allowed, Day(on(extra), cost)]  # fmt: skip
    visits, least = len(fewest(jobs, allowed).visits), cheapest(jobs, allowed).cost
    for new_jobs, new_days in ((more_jobs, allowed), (jobs, more_days)):
        assert len(fewest(new_jobs, new_days).visits) <= visits
        assert cheapest(new_jobs, new_days).cost <= least + 1e-9


@st.composite
def tangled(draw: st.DrawFn) -> tuple[list, list[Day], dict]:
    """Anything at once: skills, pairs, promised days, a limit, other people's tasks."""
    skills = st.sampled_from([None, frozenset(), frozenset({"x"}), frozenset({"x", "y"})])
    numbers = draw(st.lists(st.integers(0, 20), max_size=9, unique=True))
    allowed = [
        Day(on(number), draw(st.sampled_from([0.0, 0.5, 2.0])), draw(skills),
            draw(st.integers(0, 4)) == 0)
        for number in numbers
    ]  # fmt: skip
    jobs = [
        task(f"t{n}", opens - 4, due - 4, late - 4, code=draw(st.sampled_from("abcd")),
             skill=draw(st.sampled_from(["", "", "x", "y", "z"])),
             who=draw(st.sampled_from(["technician", "technician", "client"])),
             system=draw(st.sampled_from(["S1", "S2"])),
             overrun=draw(st.sampled_from([None, None, 0.5])))
        for n, (opens, due, late) in enumerate(draw(st.lists(windows(), max_size=9)))
    ]  # fmt: skip
    more = {
        "apart": draw(
            st.sampled_from(
                [
                    (),
                    (("a", "b"),),
                    (("a", "b"), ("b", "c")),
                    (("a", "b", 4),),
                    (("a", "b", 7), ("b", "c", 2)),
                ]
            )
        ),
        "at_most": draw(st.none() | st.integers(0, 4)),
        "until": draw(st.none() | st.integers(0, 15).map(on)),
    }
    return jobs, allowed, more


@BOTH
@settings(cases(250), suppress_health_check=QUIET)
@given(given_=tangled())
def test_nothing_is_dropped_and_every_rule_holds(bundle, given_):
    jobs, allowed, more = given_
    found = bundle(jobs, allowed, **more)
    assert_sound(found, jobs, allowed, more)
    seen = [placed.task.key for placed in found.placed] + [i.task.key for i in found.not_placed]
    assert len(seen) == len(set(seen))
    assert all(not p.late_by or p.why == OVERDUE or p.task.overrun for p in found.placed)
    assert bundle(jobs[::-1], allowed[::-1], **more).cost >= 0
