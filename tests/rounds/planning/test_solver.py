"""Plans by search: against trying everything, and each rule of who goes where."""

import warnings
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apps.rounds.planning.choices import fixed
from apps.rounds.planning.draft import Draft
from apps.rounds.planning.effort import Effort, never, nobody
from apps.rounds.planning.fallback import fallback, in_due_order
from apps.rounds.planning.plan import Plan
from apps.rounds.planning.planner import given_out, plan_rounds
from apps.rounds.planning.problem import DAY, MONEY, Former, Place, Promise, Settings, Window
from apps.rounds.planning.segments import Visit
from apps.rounds.planning.solver import _Search
from tests.effort import cases
from tests.rounds.planning import oracle
from tests.rounds.planning.firms import HOUR, firm
from tests.rounds.planning.lines import LUNCH, line, shift_of, stop_at

SHORT = Effort(iterations=300)


def where(plan: Plan) -> dict[str, list[tuple[str, int]]]:
    """Return who goes where on which day."""
    found: dict[str, list[tuple[str, int]]] = {}
    for made in plan.rounds:
        for call in made.calls:
            found.setdefault(call.stop, []).append((made.technician, made.day))
    return found


def reasons(plan: Plan) -> dict[str, str]:
    return {left.stop: left.reason for left in plan.left_out}


@pytest.mark.parametrize("lunch", [False, True])
@pytest.mark.parametrize("seed", range(6))
def test_as_good_as_trying_everything(seed: int, lunch: bool) -> None:
    problem = firm(seed, visits=6, technicians=2, lunch=lunch)
    plan = plan_rounds(problem, Effort(iterations=600))
    assert plan.value == oracle.optimum(problem)


@pytest.mark.long
@pytest.mark.parametrize("seed", range(10, 18))
def test_as_good_as_trying_everything_up_to_nine_visits(seed: int) -> None:
    problem = firm(seed, visits=7 + seed % 3, technicians=2, days=1 + seed % 2)
    plan = plan_rounds(problem, Effort(iterations=2000))
    assert plan.value == oracle.optimum(problem)


@cases(40)
@given(
    st.integers(0, 10**6), st.integers(1, 12), st.integers(1, 3), st.integers(1, 3), st.booleans()
)
def test_any_small_firm(seed: int, visits: int, technicians: int, days: int, lunch: bool) -> None:
    """Every plan passes its judge, and searching is never worse than inserting."""
    problem = firm(seed, visits, technicians, days, lunch=lunch, odd=True)
    searched = plan_rounds(problem, Effort(iterations=40))
    inserted = given_out(problem, fallback(problem))
    by_diary = given_out(problem, in_due_order(problem, [s.id for s in problem.stops]))
    certain = {stop.id for stop in problem.stops if fixed(problem, stop)}
    kept = [len(certain & where(plan).keys()) for plan in (searched, inserted)]
    assert (kept[0], searched.value) >= (kept[1], inserted.value)
    kept = {stop.id for stop in problem.stops if stop.promise} & where(inserted).keys()
    assert kept <= where(searched).keys()
    assert {*where(by_diary), *reasons(by_diary)} == {stop.id for stop in problem.stops}


def test_a_plan_without_lunch_costs_what_the_solver_says() -> None:
    from apps.rounds.planning.choices import Choices
    from apps.rounds.planning.model import build

    problem = firm(4, visits=14, technicians=3, lunch=False)
    plan = plan_rounds(problem, SHORT)
    number = {(s.technician, s.day): n for n, s in enumerate(problem.shifts)}
    rounds = {
        number[made.technician, made.day]: [Visit(c.stop, c.window) for c in made.calls]
        for made in plan.rounds
    }
    model = build(problem, Choices(problem))
    solution = model.solution(rounds)
    assert solution.is_feasible()
    assert model.value(solution) == plan.value
    assert model.rounds(solution) == rounds


def test_the_same_seed_gives_the_same_plan() -> None:
    problem = firm(5, visits=40, technicians=3, days=2, odd=True)
    plans = [plan_rounds(problem, Effort(iterations=60, seed=seed)) for seed in (1, 1, 2)]
    assert plans[0] == plans[1]
    assert plans[0] != plans[2]


def test_it_says_how_far_it_is_and_stops_when_asked() -> None:
    problem = firm(2, visits=40, technicians=4)
    heard = []
    plan = plan_rounds(problem, Effort(seconds=2), heard.append)
    assert not plan.stopped
    assert [p.share for p in heard] == sorted(p.share for p in heard)
    assert [p.value for p in heard] == sorted(p.value for p in heard)
    assert heard[-1] == (plan.value, 1.0)
    assert len(heard) > 3
    said = []
    plan = plan_rounds(problem, Effort(seconds=600), said.append, lambda: len(said) > 1)
    assert plan.stopped
    assert plan.rounds


def test_no_warning_of_the_library_comes_through() -> None:
    """Promises that clash drive its penalties to their bound."""
    told = [Promise(Window(9 * HOUR, 9 * HOUR + 60 * n)) for n in range(6)]
    stops = [stop_at(f"s{n}", n + 1, 3 * HOUR, promise=one) for n, one in enumerate(told)]
    problem = line(stops, [shift_of("ann"), shift_of("bob")])
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        assert plan_rounds(problem, Effort(iterations=4000)).rounds


def test_skills_are_kept() -> None:
    stops = [stop_at("wires", 10, HOUR, skills=frozenset({"electric"})), stop_at("b", 12, HOUR)]
    problem = line(stops, [shift_of("ann"), shift_of("bob", skills=frozenset({"electric"}))])
    assert where(plan_rounds(problem, SHORT))["wires"] == [("bob", 0)]


def test_absence_leaves_no_visit_with_him() -> None:
    problem = firm(7, visits=10, technicians=2, days=2)
    shifts = tuple(s for s in problem.shifts if (s.technician, s.day) != ("tech 0", 1))
    plan = plan_rounds(replace(problem, shifts=shifts), SHORT)
    assert all((made.technician, made.day) != ("tech 0", 1) for made in plan.rounds)


def test_a_promise_is_kept_whatever_it_costs() -> None:
    """Far away, worth little, with the dearer of two technicians."""
    promise = Promise(Window(DAY + 9 * HOUR, DAY + 10 * HOUR), ("bob",))
    far = stop_at("far", 100, HOUR, days=(0, 1), prize=1, promise=promise)
    near = [stop_at(f"n{n}", n, HOUR, days=(0, 1)) for n in range(8)]
    shifts = [shift_of(name, day, fixed_cost=200) for name in ("ann", "bob") for day in (0, 1)]
    plan = plan_rounds(line([far, *near], shifts), SHORT)
    assert where(plan)["far"] == [("bob", 1)]
    start = next(c.start for m in plan.rounds for c in m.calls if c.stop == "far")
    assert DAY + 9 * HOUR <= start <= DAY + 10 * HOUR


def test_confirmed_visits_never_move_when_others_come() -> None:
    before = plan_rounds(firm(8, visits=10, technicians=2, days=2), SHORT)
    promised = {
        call.stop: Promise(Window(call.start, call.start + 600), (made.technician,))
        for made in before.rounds
        for call in made.calls[::2]
    }
    problem = firm(8, visits=16, technicians=2, days=2)
    known = {stop.id: stop for stop in firm(8, visits=10, technicians=2, days=2).stops}
    stops = tuple(
        replace(known.get(stop.id, stop), promise=promised.get(stop.id)) for stop in problem.stops
    )
    places = {place.id: place for place in firm(8, visits=10, technicians=2, days=2).places}
    from apps.rounds.planning.travel import estimate

    moved = tuple(places.get(place.id, place) for place in problem.places)
    problem = replace(problem, stops=stops, places=moved, travel=estimate(moved))
    after = where(plan_rounds(problem, SHORT))
    old = where(before)
    assert len(promised) >= 4
    assert {name: after[name] for name in promised} == {name: old[name] for name in promised}


def test_a_frozen_day_stays_as_it_was() -> None:
    """Bob has both on day 0 though Ann lives next door; nothing new joins, a promise does."""
    stops = [
        stop_at("a", 1, HOUR, days=(0, 1), former=Former(0, ("bob",), 1)),
        stop_at("b", 2, HOUR, days=(0, 1), former=Former(0, ("bob",), 0)),
        stop_at("new", 1, HOUR, days=(0, 1)),
        stop_at(
            "urgent", 3, HOUR, days=(0,), promise=Promise(Window(8 * HOUR, 16 * HOUR), ("ann",))
        ),
    ]
    shifts = [
        shift_of(n, day, home=0 if n == "ann" else 60) for n in ("ann", "bob") for day in (0, 1)
    ]
    plan = plan_rounds(line(stops, shifts, Settings(frozen_days=frozenset({0}))), SHORT)
    assert where(plan) == {
        "a": [("bob", 0)],
        "b": [("bob", 0)],
        "new": [("ann", 1)],
        "urgent": [("ann", 0)],
    }


def test_stickiness_decides_between_equal_days() -> None:
    stop = stop_at("a", 10, HOUR, days=(0, 1, 2), former=Former(2, ("ann",)))
    shifts = [shift_of("ann", day) for day in range(3)]
    plan = plan_rounds(line([stop], shifts, Settings(sticky=MONEY)), SHORT)
    assert where(plan) == {"a": [("ann", 2)]}
    assert plan.prize == stop.prizes[2] + MONEY


def test_two_people_begin_together() -> None:
    """One has the skill, the other lends a hand; a third is not needed."""
    stops = [
        stop_at("heavy", 20, 2 * HOUR, people=2, skills=frozenset({"crane"}), prize=900 * MONEY),
        *(stop_at(f"n{n}", n, HOUR) for n in range(8)),
    ]
    shifts = [shift_of("ann", skills=frozenset({"crane"})), shift_of("bob"), shift_of("cleo")]
    plan = plan_rounds(line(stops, shifts), SHORT)
    going = [(m.technician, c.start) for m in plan.rounds for c in m.calls if c.stop == "heavy"]
    assert len(going) == 2
    assert "ann" in {name for name, _ in going}
    assert len({start for _, start in going}) == 1


def test_two_people_cost_least_where_trying_all_quarters_does() -> None:
    """Two lone visits fix ann's morning and bob's afternoon; the two can only meet at 12 to 13."""
    stops = [
        stop_at("heavy", 0, HOUR, (8 * HOUR, 16 * HOUR), people=2, prize=900 * MONEY),
        stop_at("a", 0, 4 * HOUR, promise=Promise(Window(8 * HOUR, 8 * HOUR), ("ann",))),
        stop_at("b", 0, 4 * HOUR, promise=Promise(Window(13 * HOUR, 13 * HOUR), ("bob",))),
    ]
    plan = plan_rounds(line(stops, [shift_of("ann"), shift_of("bob")]), SHORT)
    starts = {c.start for m in plan.rounds for c in m.calls if c.stop == "heavy"}
    assert starts == {12 * HOUR}
    assert sum(made.paid for made in plan.rounds) == 10 * HOUR


def test_half_of_a_pair_does_not_go_alone() -> None:
    """A search that lost one half of a pair and left no time for lunch gives neither away."""
    stops = [stop_at("heavy", 1, HOUR, people=2), stop_at("a", 1, 4 * HOUR), stop_at("b", 1, HOUR)]
    problem = line(stops, [shift_of("ann"), shift_of("bob")])
    search = _Search(problem, SHORT, nobody, never)
    day = stops[0].windows[0]
    rounds = {
        0: [Visit("heavy", Window(10 * HOUR, 10 * HOUR)), Visit("a", day)],
        1: [Visit("b", day)],
    }
    assert search.exact(rounds) is None
    assert search._taken(Draft(problem), rounds).seats == {"a": (0,), "b": (1,)}


def test_suspected_disease_comes_last_and_fish_first() -> None:
    stops = [
        stop_at("ill", 1, HOUR, last_of_day=True, disinfecting=1800),
        stop_at("fish", 30, HOUR, first_of_day=True),
        *(stop_at(f"n{n}", 10 * n, HOUR) for n in range(3)),
    ]
    plan = plan_rounds(line(stops, [shift_of()]), SHORT)
    names = [call.stop for call in plan.rounds[0].calls]
    assert (names[0], names[-1], len(names)) == ("fish", "ill", 5)


def test_two_ill_places_are_not_done_by_one_person_on_one_day() -> None:
    stops = [stop_at(f"ill {n}", n, HOUR, last_of_day=True, days=(0, 1)) for n in range(2)]
    plan = plan_rounds(line(stops, [shift_of(day=0), shift_of(day=1)]), SHORT)
    assert sorted(day for [(_, day)] in where(plan).values()) == [0, 1]


def test_several_windows_a_day() -> None:
    """Open 9 to 9:30 and 15 to 16: the morning is taken by a promise, so the afternoon it is."""
    stop = stop_at("a", 0, HOUR)
    stop = replace(stop, windows=(Window(9 * HOUR, 9 * HOUR + 1800), Window(15 * HOUR, 16 * HOUR)))
    busy = stop_at("b", 0, 3 * HOUR, promise=Promise(Window(8 * HOUR, 8 * HOUR)))
    plan = plan_rounds(line([stop, busy], [shift_of()]), SHORT)
    assert [c.start for c in plan.rounds[0].calls if c.stop == "a"] == [15 * HOUR]


def test_lunch_that_does_not_fit_makes_a_stop_give_way() -> None:
    """Four visits of two hours with no hour to spare, of which lunch leaves three."""
    lunch = replace(LUNCH, inside_from=DAY)
    stops = [stop_at(f"s{n}", 0, 2 * HOUR, prize=(500 + n) * MONEY) for n in range(4)]
    full = plan_rounds(line(stops, [shift_of(hours=(8, 16))]), SHORT)
    assert len(full.rounds[0].calls) == 4
    plan = plan_rounds(line(stops, [shift_of(hours=(8, 16), lunch=lunch)]), SHORT)
    assert {c.stop for c in plan.rounds[0].calls} == {"s1", "s2", "s3"}
    assert reasons(plan) == {"s0": "no_time_left"}
    assert plan.rounds[0].lunch is not None


@pytest.mark.parametrize(
    ("stop", "reason", "params"),
    [
        (stop_at("x", 999, HOUR), "no_coordinates", {"place": "km 999"}),
        (replace(stop_at("x", 1, HOUR), windows=()), "no_window", {}),
        (stop_at("x", 1, HOUR, skills=frozenset({"dive"})), "skill_missing", {"skills": ["dive"]}),
        (
            stop_at("x", 1, HOUR, promise=Promise(Window(9 * HOUR, 9 * HOUR), ("eve",))),
            "technician_away",
            {"technicians": ["eve"], "days": [0]},
        ),
        (stop_at("x", 1, HOUR, people=2), "second_person_missing", {"days": [0]}),
        (stop_at("x", 1, HOUR, (17 * HOUR, 18 * HOUR)), "no_window_in_shift", {"days": [0]}),
        (stop_at("x", 1, HOUR, days=(3,)), "no_window_in_shift", {"days": [3]}),
        (stop_at("x", 1, HOUR, (8 * HOUR, 8 * HOUR)), "no_window_in_shift", {"days": [0]}),
        (stop_at("x", 190, 3 * HOUR), "too_far", {"needed": 3 * HOUR + 2 * 190 * 60}),
        (stop_at("x", 100, HOUR, prize=MONEY), "cost_more_than_it_is_worth", {"prize": MONEY}),
        (stop_at("x", 1, 8 * HOUR, prize=50 * MONEY + 300 * MONEY), "no_time_left", {"days": [0]}),
    ],
)
def test_each_reason(stop, reason: str, params: dict) -> None:
    busy = stop_at("busy", 0, 5 * HOUR, promise=Promise(Window(8 * HOUR, 9 * HOUR)), prize=1)
    problem = line([stop, busy], [shift_of()])
    places = tuple(Place(p.id, None, None) if p.id == "km 999" else p for p in problem.places)
    plan = plan_rounds(replace(problem, places=places), SHORT)
    (left,) = plan.left_out
    assert (left.stop, left.reason) == ("x", reason)
    assert params.items() <= left.params.items()


def test_a_promise_that_clashes_with_another_is_left_out_for_want_of_time() -> None:
    """Two promises for one hour: one is kept, of the other it is said that there is no time."""
    told = Promise(Window(9 * HOUR, 9 * HOUR))
    stops = [stop_at(n, 1, HOUR, promise=told, prize=1) for n in ("a", "b")]
    plan = plan_rounds(line(stops, [shift_of()]), SHORT)
    assert list(reasons(plan).values()) == ["no_time_left"]
    assert len(where(plan)) == 1


def test_no_shift_and_no_stop() -> None:
    empty = plan_rounds(line([stop_at("a", 1, HOUR)], []), SHORT)
    assert reasons(empty) == {"a": "no_window_in_shift"}
    assert plan_rounds(line([], [shift_of()]), SHORT).rounds == ()


def test_what_was_not_reached_is_said() -> None:
    problem = firm(2, visits=12, technicians=2)
    plan = plan_rounds(problem, SHORT, halted=lambda: True)
    assert plan.stopped
    assert plan.rounds == ()
    assert "not_reached" in set(reasons(plan).values())
    again = fallback(problem, halted=lambda: True)
    assert "not_reached" in set(reasons(given_out(problem, again)).values())
