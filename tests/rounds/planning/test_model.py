"""The vehicle routing problem that the solver's library is given: what its own judge of routes says."""

from dataclasses import replace

import pytest
import pyvrp

from apps.rounds.planning.choices import Choices
from apps.rounds.planning.model import Model, Pin, build, certain_weight
from apps.rounds.planning.problem import MONEY, Former, Promise, Settings, Window
from apps.rounds.planning.segments import Visit
from tests.rounds.planning.firms import HOUR
from tests.rounds.planning.lines import LUNCH, line, shift_of, stop_at


def model_of(problem, pins=()) -> Model:
    return build(problem, Choices(problem), pins)


def on_time(model: Model, shift: int, names: list[str], window: int = 0) -> bool:
    """Whether the library takes a round of these stops in this order."""
    problem = model.problem
    visits = [Visit(name, problem.by_stop[name].windows[window]) for name in names]
    return model.solution({shift: visits}).is_feasible()


def test_nothing_follows_what_is_last_and_nothing_comes_before_what_is_first() -> None:
    stops = [
        stop_at("ill", 1, HOUR, last_of_day=True),
        stop_at("fish", 2, HOUR, first_of_day=True),
        stop_at("a", 2, HOUR),
        stop_at("ill too", 1, HOUR, last_of_day=True),
    ]
    model = model_of(line(stops, [shift_of()]))
    assert on_time(model, 0, ["fish", "a", "ill"])
    assert not on_time(model, 0, ["a", "fish"])
    assert not on_time(model, 0, ["ill", "a"])
    assert not on_time(model, 0, ["ill too", "ill"])


def test_only_who_is_able_goes() -> None:
    stops = [
        stop_at("wires", 1, HOUR, skills=frozenset({"electric"})),
        stop_at("told", 1, HOUR, promise=Promise(Window(8 * HOUR, 9 * HOUR), ("ann",))),
    ]
    problem = line(stops, [shift_of("ann"), shift_of("bob", skills=frozenset({"electric"}))])
    model = model_of(problem)
    route = {
        (name, shift): pyvrp.Route(model.data, [n], shift).is_feasible()
        for n, name in enumerate(("wires", "told"))
        for shift in (0, 1)
    }
    assert route == {
        ("wires", 0): False,
        ("wires", 1): True,
        ("told", 0): True,
        ("told", 1): False,
    }


@pytest.mark.parametrize(
    ("days", "prizes", "hours", "clients"),
    [
        ((0, 1, 2), (5, 5, 5), None, 1),
        ((0, 1, 2), (5, 5, 6), None, 2),
        ((0, 2), (5, 5, 5), None, 2),
        ((0, 1, 2), (5, 5, 5), (9 * HOUR, 12 * HOUR), 3),
    ],
)
def test_days_that_are_alike_share_a_client(days, prizes, hours, clients) -> None:
    """Whole days of the same worth with no other working day between."""
    stop = stop_at("a", 1, HOUR, hours, days=days)
    stop = replace(stop, prizes={day: prizes[day] * MONEY for day in days})
    model = model_of(line([stop], [shift_of(day=day) for day in range(3)]))
    assert model.data.num_clients == clients
    assert model.data.num_groups == (1 if clients > 1 else 0)
    for day in days:
        window = stop.windows[days.index(day)]
        (found,) = model.rounds(model.solution({day: [Visit("a", window)]})).values()
        assert found == [Visit("a", window)]


def test_hours_overtime_and_lunch() -> None:
    """8 to 17 with half an hour of lunch: 8.5 hours, an hour more at a price, no minute beyond."""
    stops = [stop_at("a", 0, 8 * HOUR + 1800), stop_at("b", 0, HOUR), stop_at("c", 0, 60)]
    shift = shift_of(lunch=LUNCH, overtime=HOUR, overtime_per_second=50)
    model = model_of(line(stops, [shift]))
    assert on_time(model, 0, ["a", "b"])
    assert not on_time(model, 0, ["a", "b", "c"])
    day = stops[0].windows[0]
    values = [
        model.value(model.solution({0: [Visit(name, day) for name in names]}))
        for names in ("a", "ab")
    ]
    assert values[1] - values[0] == stops[1].prizes[0] - 150 * HOUR
    shorter = model.trimmed({0: 900})
    assert on_time(shorter, 0, ["a"])
    assert not on_time(shorter, 0, ["a", "b"])
    assert not on_time(model.trimmed({0: HOUR + 900}), 0, ["a"])
    assert shorter.value(shorter.solution({0: [Visit("a", day)]})) == values[0]


def test_the_halves_of_a_pair_begin_when_they_are_told() -> None:
    heavy = stop_at("heavy", 1, HOUR, people=2, prize=900 * MONEY)
    problem = line([heavy, stop_at("a", 1, HOUR)], [shift_of("ann"), shift_of("bob")])
    pins = [Pin("heavy", 0, 10 * HOUR, 900 * MONEY), Pin("heavy", 1, 10 * HOUR, 0)]
    model = build(problem, {"a": Choices(problem)["a"]}, pins)
    assert model.data.num_clients == 3
    assert model.data.num_groups == 0
    then = Visit("heavy", Window(10 * HOUR, 10 * HOUR))
    solution = model.solution({0: [then], 1: [then]})
    assert solution.is_feasible()
    starts = [
        step.start_time for r in solution.routes() for step in r.schedule() if step.is_client()
    ]
    assert starts == [10 * HOUR] * 2
    cost = 2 * (100 * (HOUR + 120) + 4 * 2000)
    assert model.value(solution) == 900 * MONEY - cost
    assert not pyvrp.Route(model.data, [1], 1).is_feasible(), "ann's half is ann's"


def test_what_is_certain_outweighs_a_day() -> None:
    stops = [stop_at(f"s{n}", n, HOUR) for n in range(9)]
    told = stop_at("told", 9, HOUR, prize=1, promise=Promise(Window(0, 9)))
    stays = stop_at("stays", 9, HOUR, former=Former(0, ("ann",)))
    problem = line([*stops, told, stays], [shift_of()], Settings(frozen_days=frozenset({0})))
    weight = certain_weight(problem)
    assert weight > sum(stop.prizes[0] for stop in stops)
    open_day = line([*stops, told], [shift_of(hours=(0, 17))])
    prizes = [client.prize for client in model_of(open_day).data.clients()]
    assert prizes == [stop.prizes[0] for stop in stops] + [1 + certain_weight(open_day)]
    frozen = [client.prize for client in model_of(problem).data.clients()]
    assert frozen == [stays.prizes[0] + weight]
