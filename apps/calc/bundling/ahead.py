"""Visits for tasks that come round again: a beam search over the weeks to come.

To wait as long as may be is not the best where tasks come round: a visit a little earlier can
catch a task that would otherwise need one of its own. A state is the day of the last visit and
when each task was done; at a visit every open task is done; visits are tried on the days on which
some window opens, is due or ends, and on days that cost less than others, up to the first
that must not pass. After each number of visits
the states that reach furthest for their cost are kept.
"""

import datetime as dt
from bisect import bisect_left, bisect_right
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass

from apps.calc.bundling.ground import Ground, ground_of, nearest, price
from apps.calc.bundling.model import (
    CAN_WAIT,
    CLIENT,
    OVER_THE_LIMIT,
    OVERDUE,
    Apart,
    Day,
    NotPlaced,
    Placed,
    Plan,
    Task,
    Visit,
)
from apps.calc.bundling.turns import FAR, FIRST, LOST, Track, Turn

WIDTH = 40
# visits more than the least, in case they are cheaper together
MORE_VISITS = 2
LOST_PRICE = 1e6
# what a day costs at most of what days usually cost, to be tried for itself
CHEAP = 0.97


@dataclass(frozen=True, slots=True)
class _State:
    """After a visit: its place, each task's turn as a code, the cost so far, the way here."""

    place: int
    codes: tuple[int, ...]
    cost: float
    reach: int
    before: "_State | None" = None
    done: tuple[int, ...] = ()


class _Search:
    """One search over the days of a ground up to `until`."""

    def __init__(self, ground: Ground, until: dt.date, width: int, stretch: int = 0) -> None:
        tasks = [task for task in ground.given if task.who != CLIENT]
        self.ground, self.width = ground, width
        self.days = ground.days
        self.tracks = [Track(task, ground.days, until, stretch) for task in tasks]
        self.ordinals = [day.day.toordinal() for day in ground.days]
        self.costs = [ground.cost(place) for place in range(len(ground.days))]
        self.end = until.toordinal()
        self.next_promised = self._next_promised()
        # by task those that are kept apart from it, and the days that lie between at least
        self.foes = [
            {at: gap for at, other in enumerate(tasks) if (gap := ground.gap(task, other))}
            for task in tasks
        ]
        self.guarded = any(self.foes)
        paid = [cost for cost in self.costs if cost]
        self.usual = sum(paid) / len(paid) if paid else 1.0
        # no window needs to begin or end on a day for it to be worth a visit
        self.cheap = [
            place
            for place, cost in enumerate(self.costs)
            if cost < self.usual * CHEAP and not self.days[place].promised
        ]

    def _next_promised(self) -> list[int]:
        """Return for each place, counted from before the first, the next promised one."""
        following = [FAR] * (len(self.days) + 1)
        for place in range(len(self.days) - 1, -1, -1):
            following[place] = place if self.days[place].promised else following[place + 1]
        return following

    def start(self) -> _State:
        """Return the state before the first visit."""
        turns = [track.turn(FIRST) for track in self.tracks]
        return _State(-1, (FIRST,) * len(turns), 0.0, self._reach(-1, turns))

    def _reach(self, place: int, turns: Iterable[Turn]) -> int:
        """Return the last place by which the next visit has to be; FAR: none has to be."""
        ends = [turn.last for turn in turns if turn.must]
        return min([*ends, self.next_promised[place + 1]])

    def best(self, most: int | None = None) -> _State | None:
        """Return the cheapest way to the end; None where it takes more than `most` visits."""
        layer, found, visits, until = [self.start()], None, 0, FAR
        least = min(self.costs, default=0.0)
        while layer and visits <= min(until, FAR if most is None else most):
            ended = [state for state in layer if state.reach == FAR]
            if ended:
                cheap = min(ended, key=lambda state: state.cost)
                found = cheap if found is None or cheap.cost < found.cost else found
            going = [
                state
                for state in layer
                if state.reach != FAR and (found is None or state.cost + least < found.cost)
            ]
            # as long as some way loses fewer tasks it goes on
            if found is not None and all(
                state.cost + LOST_PRICE / 2 > found.cost for state in going
            ):
                until = min(until, visits + MORE_VISITS)
            visits += 1
            layer = self._kept(going, visits)
        return found

    def _kept(self, layer: list[_State], visits: int) -> list[_State]:
        """Return the best states one visit on."""
        made: dict[tuple[int, tuple[int, ...]], _State] = {}
        for state in layer:
            for follower in self._followers(state):
                key = (follower.place, follower.codes)
                held = made.get(key)
                if held is None or follower.cost < held.cost:
                    made[key] = follower
        ended = [state for state in made.values() if state.reach == FAR]
        states = [state for state in made.values() if state.reach != FAR]
        if len(states) > self.width:
            states = self._ranked(states, visits)[: self.width]
        return [*states, *sorted(ended, key=lambda state: state.cost)[:1]]

    def _ranked(self, states: list[_State], visits: int) -> list[_State]:
        """Order states by their cost and what the rest costs at the pace of the furthest."""
        begun = self.ordinals[0]
        left = [self.end - self.ordinals[state.reach] for state in states]
        pace = self.usual * visits / max(1, self.end - min(left) - begun)
        ranks = [state.cost + pace * rest for state, rest in zip(states, left, strict=True)]
        order = sorted(range(len(states)), key=lambda at: (ranks[at], states[at].codes))
        return [states[at] for at in order]

    def _followers(self, state: _State) -> Iterator[_State]:
        turns = [track.turn(code) for track, code in zip(self.tracks, state.codes, strict=True)]
        marks = {mark for turn in turns for mark in turn.marks}
        marks.add(state.reach)
        marks.update(self._freed(state))
        marks.update(self.cheap[bisect_right(self.cheap, state.place) :])
        for place in sorted(marks):
            if state.place < place <= state.reach:
                follower = self._visit(state, turns, place)
                if follower is not None:
                    yield follower

    def _freed(self, state: _State) -> Iterator[int]:
        """Yield the first days on which what is kept apart from something done may be done."""
        for foes in self.foes if self.guarded else ():
            for foe, gap in foes.items():
                if 0 <= state.codes[foe] < LOST:
                    free = self.ordinals[state.codes[foe]] + gap
                    yield bisect_left(self.ordinals, free)

    def _visit(self, state: _State, turns: list[Turn], place: int) -> _State | None:
        """Return the state after a visit on which every open task is done; None for none."""
        done = [
            at
            for at, turn in enumerate(turns)
            if turn.first <= place <= turn.last and self.tracks[at].serves_on(place)
        ]
        if not done and not self.days[place].promised:
            return None
        codes, after, cost = list(state.codes), list(turns), state.cost
        if self.guarded:
            done, lost = self._kept_apart(done, turns, state.codes, place)
            if not (done or lost or self.days[place].promised):
                return None
            for at in lost:
                codes[at] = LOST + codes[at] - FIRST
                after[at] = self.tracks[at].turn(codes[at])
                cost += LOST_PRICE
        # what is found to be lost on a day makes no visit
        cost += self.costs[place] if done else 0.0
        day = self.ordinals[place]
        for at in done:
            task, away = self.tracks[at].task, day - turns[at].due
            cost += away * task.lateness if away > 0 else -away * task.earliness
            codes[at] = place
            follower = after[at] = self.tracks[at].turn(place)
            if follower.lost:
                cost += LOST_PRICE
        reach = self._reach(place, after)
        return _State(place, tuple(codes), cost, reach, state, tuple(done))

    def _kept_apart(
        self, done: list[int], turns: list[Turn], codes: tuple[int, ...], place: int
    ) -> tuple[list[int], list[int]]:
        """Return what is done of what is open, the most pressing first, and what finds no day."""
        taken: list[int] = []
        for at in sorted(done, key=lambda at: (turns[at].last, at)):
            if not any(
                foe in taken or self._too_near(codes[foe], gap, place)
                or self._has_to_wait(turns[at], turns[foe], gap, place)
                for foe, gap in self.foes[at].items()
            ):  # fmt: skip
                taken.append(at)
        lost = [at for at in done if at not in taken and turns[at].must and turns[at].last <= place]
        return sorted(taken), lost

    def _too_near(self, code: int, gap: int, place: int) -> bool:
        """Tell whether what was done at a code forbids a day."""
        return 0 <= code < LOST and self.ordinals[place] - self.ordinals[code] < gap

    def _has_to_wait(self, turn: Turn, foe: Turn, gap: int, place: int) -> bool:
        """Tell whether a turn done now would leave no day for a foe that ends sooner."""
        if gap == 1 or not foe.must or not place <= foe.last < turn.last:
            return False
        return self.ordinals[foe.last] - self.ordinals[place] < gap

    def plan(self, last: _State, *, reason: str = CAN_WAIT) -> Plan:
        """Return the plan that a way leads to. `reason`: why what was never done was not."""
        way: list[_State] = []
        state: _State | None = last
        while state is not None and state.place >= 0:
            way.append(state)
            state = state.before
        way = [state for state in way if state.done or self.days[state.place].promised]
        visits = tuple(self._visit_of(state) for state in reversed(way))
        missing = self.ground.left_to_clients()
        ever = {at for state in way for at in state.done}
        for at, track in enumerate(self.tracks):
            turn = track.turn(last.codes[at])
            if turn.lost and turn.task is not None:
                missing.append(NotPlaced(turn.task, turn.lost, nearest(turn.task, self.days)))
            elif at not in ever:
                missing.append(NotPlaced(track.task, reason, nearest(track.task, self.days)))
        cost = sum(self.costs[state.place] for state in way)
        cost += sum(price(put.task, put.day) for visit in visits for put in visit.tasks)
        ground = self.ground
        return Plan(
            visits, tuple(missing), cost, ground.given, ground.days, ground.apart, ground.at_most
        )

    def _visit_of(self, state: _State) -> Visit:
        day = self.days[state.place]
        placed = []
        for at in state.done:
            code = state.before.codes[at] if state.before is not None else FIRST
            task = self.tracks[at].turn(code).task
            if task is not None:
                placed.append(Placed(task, day.day, self._why(task, day.day)))
        return Visit(day.day, tuple(placed), day.promised)

    def _why(self, task: Task, day: dt.date) -> str:
        if task.late < self.days[0].day:
            return OVERDUE
        return OVER_THE_LIMIT if day > task.late else ""


def ahead(
    tasks: Collection[Task],
    days: Collection[Day],
    *,
    apart: Iterable[Apart] = (),
    at_most: int | None = None,
    until: dt.date | None = None,
    width: int = WIDTH,
) -> Plan:
    """Return a plan of visits for tasks that come round again (`Task.again`), up to `until`.

    `until`: the last day that is planned, by default the last allowed one; a window that ends
    later makes no visit. Where the tasks need more visits than `at_most`, all windows may run
    over by as few days as it takes; what is late then says over_the_limit. A task that finds no
    day when it comes round again is among `not_placed` too, with that window. `width`: states
    that are kept after each visit. `Task.overrun` is not looked at. Other arguments and errors as
    fewest(). Not exact; the same each time.
    """
    end = until or max((day.day for day in days), default=dt.date.max)
    soon = [day for day in days if day.day <= end]
    ground = ground_of(tasks, soon, apart=apart, at_most=at_most)
    most = None if at_most is None else max(at_most, len(ground.promised))
    search = _Search(ground, end, width)
    found = search.best(most)
    if found is not None:
        return search.plan(found)
    return _stretched(ground, end, width, most or 0) or _promised_alone(ground, end, width)


def _stretched(ground: Ground, end: dt.date, width: int, most: int) -> Plan | None:
    """Return the plan with windows that run over by the fewest days for so many visits."""
    low, high, plan = 0, 1, None
    span = (end - ground.days[0].day).days if ground.days else 0
    while high - low > 1 or plan is None:
        stretch = high if plan is None else (low + high) // 2
        search = _Search(ground, end, width, stretch)
        found = search.best(most)
        if found is not None:
            high, plan = stretch, search.plan(found)
        elif plan is None and high > span:
            return None
        else:
            low, high = stretch, 2 * high if plan is None else high
    return plan


def _promised_alone(ground: Ground, end: dt.date, width: int) -> Plan:
    """Return the plan where the limit leaves room for nothing but what is promised."""
    span = (end - ground.days[0].day).days if ground.days else 0
    search = _Search(ground, dt.date.min, width, span)
    found = search.best(len(ground.promised))
    return search.plan(found or search.start(), reason=OVER_THE_LIMIT)
