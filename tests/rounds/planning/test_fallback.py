"""Plans without the solver, step by step: what is taken in, in which order, and what is moved."""

from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apps.rounds.planning import fallback
from apps.rounds.planning.choices import fixed
from apps.rounds.planning.draft import Draft
from apps.rounds.planning.problem import DAY, MONEY, Problem, Promise, Window
from apps.rounds.planning.segments import Visit
from tests.effort import cases
from tests.rounds.planning import oracle
from tests.rounds.planning.firms import firm
from tests.rounds.planning.lines import HOUR, line, shift_of, stop_at

NINE = Window(9 * HOUR, 9 * HOUR)
TOLD = Promise(NINE)
EARLY, LATE = Window(8 * HOUR, 9 * HOUR), Window(15 * HOUR, 15 * HOUR)


def drafted(problem: Problem, **rounds: Sequence[str]) -> Draft:
    """Return a draft in which each technician makes the named stops in this order."""
    draft = Draft(problem)
    number = {shift.technician: n for n, shift in enumerate(problem.shifts)}
    for who, names in rounds.items():
        visits = [Visit(name, draft.choices[name][0].window) for name in names]
        assert draft.set_round(number[who], visits)
    return draft


def order(draft: Draft, shift: int = 0) -> list[str]:
    return [visit.stop for visit in draft.visits(shift)]


class TestTakingIn:
    def test_a_promise_for_two_is_kept_though_it_costs_more_than_it_is_worth(self) -> None:
        heavy = stop_at("heavy", 50, HOUR, people=2, prize=1, promise=TOLD)
        draft = fallback.inserted(Draft(line([heavy], [shift_of("ann"), shift_of("bob")])))
        assert draft.seats["heavy"] == (0, 1)

    def test_a_promise_for_one_is_kept_though_it_costs_more_than_it_is_worth(self) -> None:
        far = stop_at("far", 50, HOUR, prize=1, promise=TOLD)
        draft = Draft(line([far], [shift_of()]))
        assert fallback.complete(draft) == 1
        assert order(draft) == ["far"]

    def test_a_promise_goes_before_what_gains_more(self) -> None:
        stops = [
            stop_at("rich", 0, HOUR, (9 * HOUR, 9 * HOUR)),
            stop_at("told", 20, HOUR, prize=1, promise=TOLD),
        ]
        draft = Draft(line(stops, [shift_of()]))
        assert fallback.complete(draft) == 1
        assert order(draft) == ["told"]

    def test_whom_fewest_can_go_to_goes_first(self) -> None:
        """Only ann has the skill; bob can take the other promise of the same hour."""
        stops = [
            stop_at("either", 1, HOUR, promise=TOLD),
            stop_at("wires", 2, HOUR, promise=TOLD, skills=frozenset({"electric"})),
        ]
        shifts = [shift_of("ann", skills=frozenset({"electric"})), shift_of("bob", home=9)]
        draft = fallback.inserted(Draft(line(stops, shifts)))
        assert draft.seats == {"wires": (0,), "either": (1,)}

    def test_what_does_not_pay_stays_out(self) -> None:
        stops = [
            stop_at("poor", 50, HOUR, prize=MONEY),
            stop_at("both", 50, HOUR, people=2, prize=MONEY),
        ]
        draft = fallback.inserted(Draft(line(stops, [shift_of("ann"), shift_of("bob")])))
        assert draft.seats == {}

    def test_two_go_before_one_and_the_dearer_pair_first(self) -> None:
        hours = (9 * HOUR, 9 * HOUR)
        stops = [
            stop_at("one", 0, HOUR, hours, prize=9000 * MONEY),
            stop_at("less", 0, HOUR, hours, people=2, prize=500 * MONEY),
            stop_at("more", 0, HOUR, hours, people=2, prize=600 * MONEY),
        ]
        draft = Draft(line(stops, [shift_of("ann"), shift_of("bob")]))
        fallback.fill(draft)
        assert set(draft.seats) == {"more"}

    def test_only_those_that_were_named(self) -> None:
        draft = Draft(line([stop_at("a", 1, HOUR), stop_at("b", 2, HOUR)], [shift_of()]))
        assert fallback.complete(draft, only=["b"]) == 1
        assert order(draft) == ["b"]

    def test_of_two_windows_of_a_day_the_cheaper(self) -> None:
        """At 8 ann would wait for the other visit of the day, at 15 she goes on from it."""
        stops = [
            stop_at("told", 20, HOUR, promise=Promise(Window(14 * HOUR, 14 * HOUR))),
            replace(stop_at("a", 20, HOUR), windows=(EARLY, LATE)),
        ]
        draft = drafted(line(stops, [shift_of()]), ann=["told"])
        assert fallback.complete(draft) == 1
        assert order(draft) == ["told", "a"]

    def test_nothing_is_taken_once_it_is_halted(self) -> None:
        stops = [stop_at("a", 1, HOUR), stop_at("heavy", 1, HOUR, people=2)]
        draft = Draft(line(stops, [shift_of("ann"), shift_of("bob")]))
        fallback.fill(draft, halted=lambda: True)
        assert draft.seats == {}

    @cases(30)
    @given(st.integers(0, 10**6), st.integers(1, 12), st.integers(1, 3))
    def test_each_step_takes_the_best_of_all(self, seed: int, visits: int, who: int) -> None:
        """As asking every stop for every shift anew at each step would."""
        problem = firm(seed, visits, who)
        quick, plain = Draft(problem), Draft(problem)
        taken = 0
        while True:
            found = [(plain.best(stop), stop.id) for stop in plain.absent()]
            paying = [(offer, name) for offer, name in found if offer and offer.gain > 0]
            if not paying:
                break
            offer, name = max(paying, key=lambda pair: pair[0].gain)
            plain.take(name, offer)
            taken += 1
        assert fallback.complete(quick) == taken
        assert quick.seats == plain.seats
        assert quick.value == plain.value


class TestMoving:
    def test_a_stop_goes_to_whom_it_costs_least(self) -> None:
        problem = line([stop_at("a", 60, HOUR)], [shift_of("ann"), shift_of("bob", home=60)])
        draft = drafted(problem, ann=["a"])
        assert fallback.relocate(draft, problem.stops[0])
        assert draft.seats == {"a": (1,)}
        assert not fallback.relocate(draft, problem.stops[0])
        assert draft.seats == {"a": (1,)}

    def test_what_does_not_pay_is_left_out_again(self) -> None:
        problem = line([stop_at("a", 60, HOUR, prize=MONEY)], [shift_of()])
        draft = drafted(problem, ann=["a"])
        assert fallback.relocate(draft, problem.stops[0])
        assert draft.seats == {}

    def test_a_promise_that_does_not_pay_stays(self) -> None:
        told = Promise(Window(0, DAY - 1))
        problem = line([stop_at("a", 60, HOUR, prize=MONEY, promise=told)], [shift_of()])
        draft = drafted(problem, ann=["a"])
        assert not fallback.relocate(draft, problem.stops[0])
        assert order(draft) == ["a"]

    def test_a_promise_moves_to_whom_it_costs_less_though_it_pays_with_nobody(self) -> None:
        told = Promise(Window(0, DAY - 1))
        stop = stop_at("a", 60, HOUR, prize=MONEY, promise=told)
        problem = line([stop], [shift_of("ann"), shift_of("bob", home=50)])
        draft = drafted(problem, ann=["a"])
        assert fallback.relocate(draft, problem.stops[0])
        assert draft.seats == {"a": (1,)}

    def test_a_promise_without_another_place_goes_back(
        self, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        told = Promise(Window(0, DAY - 1))
        problem = line([stop_at("a", 60, HOUR, prize=MONEY, promise=told)], [shift_of()])
        draft = drafted(problem, ann=["a"])
        monkeypatch.setattr(fallback, "best_offer", lambda *_: None)
        assert not fallback.relocate(draft, problem.stops[0])
        assert order(draft) == ["a"]

    def test_a_piece_is_turned_round(self) -> None:
        """Km 20, 10, 30 are 80 km; km 10, 20, 30 are 60."""
        problem = line([stop_at(f"km {km}", km, HOUR) for km in (10, 20, 30)], [shift_of()])
        draft = drafted(problem, ann=["km 20", "km 10", "km 30"])
        assert fallback.turn(draft, 0)
        assert order(draft) == ["km 10", "km 20", "km 30"]
        assert not fallback.turn(draft, 0)
        assert order(draft) == ["km 10", "km 20", "km 30"]

    def test_several_pieces_are_turned_one_after_the_other(self) -> None:
        kms = (20, 10, 40, 30, 60, 50)
        problem = line([stop_at(f"km {km}", km, HOUR) for km in kms], [shift_of()])
        draft = drafted(problem, ann=[f"km {km}" for km in kms])
        fallback.turn(draft, 0)
        assert draft.rounds[0].metres == 120_000

    def test_a_turn_that_breaks_a_window_is_none(self) -> None:
        stops = [
            stop_at("km 20", 20, HOUR, (8 * HOUR, 9 * HOUR)),
            stop_at("km 10", 10, HOUR, (11 * HOUR, 12 * HOUR)),
            stop_at("km 30", 30, HOUR, (13 * HOUR, 14 * HOUR)),
        ]
        draft = drafted(line(stops, [shift_of()]), ann=["km 20", "km 10", "km 30"])
        assert not fallback.turn(draft, 0)
        assert order(draft) == ["km 20", "km 10", "km 30"]


class TestImproving:
    def room(self) -> Draft:
        """Return a day in which the last one has no room before its piece is turned round."""
        stops = [*(stop_at(f"km {km}", km, 2 * HOUR) for km in (20, 10, 30))]
        problem = line([*stops, stop_at("last", 0, HOUR)], [shift_of(hours=(8, 16))])
        draft = drafted(problem, ann=["km 20", "km 10", "km 30"])
        assert draft.best(problem.by_stop["last"]) is None
        return draft

    def test_what_fits_once_room_is_made_comes_in(self) -> None:
        draft = self.room()
        fallback.improve(draft)
        assert set(draft.seats) == {"km 10", "km 20", "km 30", "last"}

    def test_no_more_often_than_asked(self) -> None:
        draft = self.room()
        fallback.improve(draft, passes=1)
        assert draft.rounds[0].metres == 60_000
        assert "last" not in draft.seats

    def test_turning_alone_makes_the_room(self, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr(fallback, "relocate", lambda *_: False)
        draft = self.room()
        fallback.improve(draft)
        assert "last" in draft.seats

    def test_moving_alone_makes_the_room(self, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr(fallback, "turn", lambda *_: False)
        draft = self.room()
        fallback.improve(draft)
        assert "last" in draft.seats

    def test_a_halt_ends_it(self) -> None:
        problem = line([stop_at("a", 60, HOUR)], [shift_of("ann"), shift_of("bob", home=60)])
        draft = drafted(problem, ann=["a"])
        fallback.improve(draft, halted=lambda: True)
        assert draft.seats == {"a": (0,)}

    @cases(30)
    @given(st.integers(0, 10**6), st.integers(2, 8), st.integers(1, 2), st.booleans())
    def test_nothing_single_gains_any_more(
        self, seed: int, visits: int, days: int, odd: bool
    ) -> None:
        """No stop moved and no piece turned makes it cheaper, by an account of its own."""
        problem = firm(seed, visits, 2, days, odd=odd)
        draft = fallback.inserted(Draft(problem))
        before = draft.value
        kept = {s.id for s in problem.stops if fixed(problem, s)} & draft.seats.keys()
        fallback.improve(draft)
        assert draft.value >= before
        assert kept <= draft.seats.keys()
        for shift in range(len(problem.shifts)):
            _none_turned_is_cheaper(problem, draft, shift)
        for stop in problem.stops:
            if stop.id in draft.seats:
                assert not fallback.relocate(draft.copy(), stop)


def _none_turned_is_cheaper(problem: Problem, draft: Draft, shift: int) -> None:
    visits = [(problem.by_stop[v.stop], v.window) for v in draft.visits(shift)]
    cost = oracle.cost_of(problem, problem.shifts[shift], visits)
    assert cost is not None
    for first, last in combinations(range(len(visits)), 2):
        turned = [*visits[:first], *visits[first : last + 1][::-1], *visits[last + 1 :]]
        other = oracle.cost_of(problem, problem.shifts[shift], turned)
        assert other is None or other >= cost


class TestADiary:
    def names(self, problem: Problem, *ordered: str) -> list[tuple[str, int, list[str]]]:
        plan = fallback.in_due_order(problem, ordered)
        return [(m.technician, m.day, [c.stop for c in m.calls]) for m in plan.rounds]

    def test_it_keeps_the_order_that_was_asked_for(self) -> None:
        problem = line([stop_at(f"km {km}", km, HOUR) for km in (10, 20, 30)], [shift_of()])
        asked = ("km 20", "km 10", "km 30")
        assert self.names(problem, *asked) == [("ann", 0, list(asked))]

    def test_the_first_day_with_room_and_there_who_costs_least(self) -> None:
        stops = [stop_at(name, 50, 5 * HOUR, days=(0, 1)) for name in ("a", "b")]
        shifts = [shift_of("ann", 0), shift_of("bob", 0, home=50), shift_of("bob", 1, home=50)]
        assert self.names(line(stops[:1], shifts), "a") == [("bob", 0, ["a"])]
        assert self.names(line(stops, shifts), "a", "b") == [("ann", 0, ["b"]), ("bob", 0, ["a"])]
        alone = line(stops, shifts[1:])
        assert self.names(alone, "a", "b") == [("bob", 0, ["a"]), ("bob", 1, ["b"])]

    def test_promises_first_and_those_for_two_whatever_they_cost(self) -> None:
        stops = [
            stop_at("a", 0, HOUR, (9 * HOUR, 9 * HOUR)),
            stop_at("heavy", 20, HOUR, people=2, prize=1, promise=TOLD),
        ]
        problem = line(stops, [shift_of("ann"), shift_of("bob")])
        assert self.names(problem, "a", "heavy") == [("ann", 0, ["heavy"]), ("bob", 0, ["heavy"])]
