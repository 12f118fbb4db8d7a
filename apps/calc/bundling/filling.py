"""From chosen days to a plan: each task into its cheapest visit, nothing dropped in silence."""

from collections.abc import Collection, Iterable, Mapping

from apps.calc.bundling.ground import Ground, nearest, unplaceable
from apps.calc.bundling.model import (
    CAN_WAIT,
    KEPT_APART,
    OVER_THE_LIMIT,
    OVERDUE,
    NotPlaced,
    Placed,
    Plan,
    Task,
    Visit,
)

# task key -> place of its day
Seats = dict[str, int]


def filled(ground: Ground, chosen: Iterable[int]) -> Plan:
    """Return the plan with visits on the chosen places and on the promised ones.

    A visit is added where tasks that are kept apart, or a skill, need one more and the limit
    allows it; one that nobody needs any more goes.
    """
    places = {*chosen, *ground.promised}
    seats = _seated(ground, ground.wanted, places)
    while (extra := _one_more(ground, places, seats)) is not None:
        places.add(extra)
        seats = _seated(ground, ground.wanted, places)
    places, seats = _thinned(ground, places, seats)
    used = {*seats.values(), *ground.promised}
    both = _seated(ground, (*ground.wanted, *ground.waiting), used, seats)
    return _plan(ground, used, both)


def _seated(
    ground: Ground, tasks: Iterable[Task], places: Collection[int], held: Mapping[str, int] = {}
) -> Seats:
    """Return the cheapest place for each task, those that can give way least first."""
    choices = {
        task.key: sorted(
            (cost, place) for place, cost in ground.prices[task.key].items() if place in places
        )
        for task in tasks
    }
    seats = dict(held)
    on: dict[int, list[Task]] = {place: [] for place in places}
    for task in sorted(
        tasks, key=lambda task: (task.key not in held, len(ground.prices[task.key]))
    ):
        if task.key in held:
            on[held[task.key]].append(task)
            continue
        for _cost, place in choices[task.key]:
            if not ground.near(task, place, on) or _moved(ground, task, place, on, seats, choices):
                seats[task.key] = place
                on[place].append(task)
                break
    return seats


def _moved(
    ground: Ground,
    task: Task,
    place: int,
    on: dict[int, list[Task]],
    seats: Seats,
    choices: Mapping[str, list[tuple[float, int]]],
) -> bool:
    """Make room for a task that has no free place: its one opponent goes where it may."""
    if any(not ground.near(task, other, on) for _cost, other in choices[task.key]):
        return False
    opponents = ground.near(task, place, on)
    if len(opponents) != 1:
        return False
    [(held, opponent)] = opponents
    for _cost, other in choices[opponent.key]:
        if ground.away(place, other) >= ground.gap(task, opponent) and not ground.near(
            opponent, other, on
        ):
            on[held].remove(opponent)
            on[other].append(opponent)
            seats[opponent.key] = other
            return True
    return False


def _tasks_on(ground: Ground, seats: Seats) -> dict[int, list[Task]]:
    on: dict[int, list[Task]] = {}
    for task in (*ground.wanted, *ground.waiting):
        if task.key in seats:
            on.setdefault(seats[task.key], []).append(task)
    return on


def _one_more(ground: Ground, places: Collection[int], seats: Seats) -> int | None:
    """Return the cheapest further day for a task without a place, if one may be added."""
    if ground.at_most is not None and len(places) >= ground.at_most:
        return None
    on = _tasks_on(ground, seats)
    unseated = [task for task in ground.wanted if task.key not in seats]
    # what helps last: a day too near to what it is kept apart from, or one for that to give way
    options = [
        (int(bool(ground.near(task, place, on))), ground.cost(place) + cost, place)
        for task in unseated
        for place, cost in ground.prices[task.key].items()
        if place not in places
    ]
    options += [
        (2, ground.cost(place) + cost, place)
        for task in unseated
        for foe in ground.wanted
        if ground.gap(task, foe) > 1
        for place, cost in ground.prices[foe.key].items()
        if place not in places
    ]
    return min(options)[2] if options else None


def _worth(ground: Ground, places: Iterable[int], seats: Seats) -> tuple[int, float]:
    """Return how many wanted tasks have no place, and what the visits and their days cost."""
    visits = sum(ground.cost(place) for place in places)
    tasks = sum(ground.prices[key][place] for key, place in seats.items())
    return -len(seats), visits + tasks


def _thinned(ground: Ground, places: set[int], seats: Seats) -> tuple[set[int], Seats]:
    """Leave out visits without which the plan is no worse."""
    for place in sorted(places - set(ground.promised), key=lambda at: (-ground.cost(at), at)):
        fewer = places - {place}
        again = _seated(ground, ground.wanted, fewer)
        if _worth(ground, fewer, again) <= _worth(ground, places, seats):
            places, seats = fewer, again
    return places, seats


def _plan(ground: Ground, places: Collection[int], seats: Seats) -> Plan:
    first = ground.days[0].day if ground.days else None
    on: dict[int, list[Placed]] = {place: [] for place in sorted(places)}
    missing = ground.left_to_clients()
    for task in (*ground.wanted, *ground.waiting):
        place = seats.get(task.key)
        if place is None:
            missing.append(_missing(ground, task, places, seats))
            continue
        day = ground.days[place].day
        why = OVERDUE if first is not None and task.late < first else ""
        on[place].append(Placed(task, day, why))
    visits = tuple(
        Visit(ground.days[place].day, tuple(tasks), ground.days[place].promised)
        for place, tasks in on.items()
    )
    cost = sum(ground.cost(place) for place in places)
    cost += sum(ground.prices[key][place] for key, place in seats.items())
    return Plan(
        visits, tuple(missing), cost, ground.given, ground.days, ground.apart, ground.at_most
    )


def _missing(ground: Ground, task: Task, places: Collection[int], seats: Seats) -> NotPlaced:
    suits = ground.prices[task.key]
    if task in ground.waiting:
        return NotPlaced(task, CAN_WAIT, nearest(task, ground.days))
    if not suits:
        return unplaceable(task, ground.days)
    on = _tasks_on(ground, seats)
    apart = set(suits) & set(places) or all(ground.near(task, place, on) for place in suits)
    reason = KEPT_APART if apart else OVER_THE_LIMIT
    return NotPlaced(task, reason, nearest(task, ground.days))
