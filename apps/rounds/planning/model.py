"""The rounds as a vehicle routing problem for PyVRP: this module and the solver alone load numpy.

A vehicle type is one technician on one day. A stop is a client for each of its windows, all in a
group that is visited at most once and need not be; neighbouring days that are alike share one
client. Who may go where is said by driving times: each distinct set of able shifts is a profile in
which the way to the clients of others takes longer than the horizon. Likewise nothing leads to what
comes first of the day but the way from home, and nothing from what comes last but the way home.
Lunch is unknown to the model: a vehicle's hours are shorter by it, and the exact schedule puts it in
afterwards.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt
import pyvrp

from apps.rounds.planning.choices import Choice, bound_to, fixed
from apps.rounds.planning.problem import Problem, Shift, Stop, Window
from apps.rounds.planning.segments import Visit

FORBIDDEN = 10_000_000
"""Seconds and metres of a way that may not be taken: more than the horizon holds."""


class Pin(NamedTuple):
    """One half of a stop for two people: in this shift, begun at that moment; ``worth`` on one half."""

    stop: str
    shift: int
    start: int
    worth: int


class _Client(NamedTuple):
    """What stands behind a client: its choices by day, and the real worth."""

    stop: str
    choices: tuple[Choice, ...]
    able: frozenset[int]
    certain: bool
    pinned: bool = False

    @property
    def window(self) -> Window:
        return Window(self.choices[0].window.start, self.choices[-1].window.end)

    def visit(self, day: int) -> Visit:
        window = next(c.window for c in self.choices if c.window.day == day)
        return Visit(self.stop, window)


@dataclass(frozen=True)
class Model:
    """PyVRP's data with the way back to stops."""

    problem: Problem
    data: pyvrp.ProblemData
    clients: tuple[_Client, ...]

    def rounds(self, solution: pyvrp.Solution) -> dict[int, list[Visit]]:
        """Return the visits of each shift of a solution."""
        found = {}
        for route in solution.routes():
            shift = route.vehicle_type()
            day = self.problem.shifts[shift].day
            found[shift] = [self.clients[n].visit(day) for n in _visited(route)]
        return found

    def value(self, solution: pyvrp.Solution) -> int:
        """Return what a solution is worth less what it costs, without the weight of what is certain."""
        worth = sum(
            self._worth(self.clients[n], self.problem.shifts[route.vehicle_type()])
            for route in solution.routes()
            for n in _visited(route)
        )
        cost = solution.distance_cost() + solution.duration_cost() + solution.fixed_vehicle_cost()
        return worth - cost

    def _worth(self, client: _Client, shift: Shift) -> int:
        """Return what a call is worth; that somebody is in their area is unknown to PyVRP itself."""
        worth = client.choices[0].worth
        if not worth:
            return 0
        stop = self.problem.by_stop[client.stop]
        return worth + self.problem.drawn(stop, shift.day, (shift.technician,))

    def solution(self, rounds: Mapping[int, Sequence[Visit]]) -> pyvrp.Solution:
        """Return the solution that holds ``rounds``, less what the model does not know."""
        number = {
            (client.stop, choice.window, shift): n
            for n, client in enumerate(self.clients)
            for choice in client.choices
            for shift in choice.shifts
        }
        routes = []
        for shift, visits in sorted(rounds.items()):
            keys = [(visit.stop, visit.window, shift) for visit in visits]
            clients = [number[key] for key in keys if key in number]
            if clients:
                routes.append(pyvrp.Route(self.data, clients, shift))
        return pyvrp.Solution(self.data, routes)

    def trimmed(self, trims: Mapping[int, int]) -> "Model":
        """Return the model with some shifts shorter by so many seconds."""
        kinds = [
            _vehicle(shift, kind, trims.get(n, 0))
            for n, (shift, kind) in enumerate(
                zip(self.problem.shifts, self.data.vehicle_types(), strict=True)
            )
        ]
        return Model(self.problem, self.data.replace(vehicle_types=kinds), self.clients)


def _visited(route: pyvrp.Route) -> list[int]:
    return [activity.idx for activity in route.schedule() if activity.is_client()]


def _vehicle(shift: Shift, kind: pyvrp.VehicleType, trim: int) -> pyvrp.VehicleType:
    """Take a trim off the overtime first, so that regular hours cost what they do."""
    overtime = max(shift.overtime - trim, 0)
    hours = shift.regular - max(trim - shift.overtime, 0)
    return kind.replace(max_overtime=overtime, shift_duration=max(hours, 0))


def build(
    problem: Problem, choices: Mapping[str, tuple[Choice, ...]], pins: Iterable[Pin] = ()
) -> Model:
    """Return the model of the stops that ``choices`` names, and of the halves that are pinned."""
    clients = [client for name in choices for client in _clients(problem, choices, name)]
    clients += [_pinned(problem, pin) for pin in pins]
    depots = sorted({s.start_place for s in problem.shifts} | {s.end_place for s in problem.shifts})
    sites, site_of = _sites(problem, clients)
    ables = sorted({site.able for site in sites}, key=sorted)
    signatures = [tuple(n in able for able in ables) for n in range(len(problem.shifts))]
    profiles = sorted(set(signatures))
    metres, seconds = _matrices(problem, depots, sites)
    forbidden = [_forbidden(sites, len(depots), dict(zip(ables, p, strict=True))) for p in profiles]
    # Any: the library's stubs name an array type that numpy's own do not match
    distances: list[Any] = [np.where(mask, FORBIDDEN, metres) for mask in forbidden]
    durations: list[Any] = [np.where(mask, FORBIDDEN, seconds) for mask in forbidden]
    weight = certain_weight(problem)
    groups, group_of = _groups(clients)
    data = pyvrp.ProblemData(
        locations=[pyvrp.Location(0, 0) for _ in range(len(depots) + len(sites))],
        clients=[
            pyvrp.Client(
                location=len(depots) + site_of[n],
                service_duration=problem.by_stop[client.stop].on_site,
                tw_early=client.window.start,
                tw_late=client.window.end,
                prize=client.choices[0].worth + (weight if client.certain else 0),
                required=False,
                group=group_of.get(n),
            )
            for n, client in enumerate(clients)
        ],
        depots=[pyvrp.Depot(n) for n in range(len(depots))],
        vehicle_types=[
            _type(problem, shift, depots, profiles.index(signatures[n]))
            for n, shift in enumerate(problem.shifts)
        ],
        distance_matrices=distances,
        duration_matrices=durations,
        groups=groups,
    )
    return Model(problem, data, tuple(clients))


def certain_weight(problem: Problem) -> int:
    """Return a prize above all that could be had by leaving a certain stop out: a day's rounds.

    Not without bound: a weight far above the solver's penalties would draw it to plans that are
    never on time.
    """
    prizes = [prize for stop in problem.stops for prize in stop.prizes.values()]
    dearest = max(
        (
            shift.fixed_cost
            + (problem.costs.per_second + shift.overtime_per_second)
            * (shift.end - shift.start + shift.overtime)
            for shift in problem.shifts
        ),
        default=0,
    )
    return 20 * max(prizes, default=0) + 4 * dearest


def _type(problem: Problem, shift: Shift, depots: Sequence[str], profile: int) -> pyvrp.VehicleType:
    kind = pyvrp.VehicleType(
        start_depot=depots.index(shift.start_place),
        end_depot=depots.index(shift.end_place),
        fixed_cost=shift.fixed_cost,
        tw_early=shift.start,
        tw_late=shift.end + shift.overtime,
        unit_distance_cost=problem.costs.per_metre,
        unit_duration_cost=problem.costs.per_second,
        unit_overtime_cost=shift.overtime_per_second,
        profile=profile,
    )
    return _vehicle(shift, kind, 0)


def _able(problem: Problem, stop: Stop) -> frozenset[int]:
    """Return the shifts that may do a stop whenever it is."""
    bound = bound_to(problem, stop)
    return frozenset(
        n
        for n, shift in enumerate(problem.shifts)
        if stop.skills <= shift.skills and (not bound or shift.technician in bound)
    )


def _clients(
    problem: Problem, choices: Mapping[str, tuple[Choice, ...]], name: str
) -> Iterator[_Client]:
    """Yield one client for each window, or for several days that are alike."""
    stop = problem.by_stop[name]
    able, certain = _able(problem, stop), fixed(problem, stop)
    run: list[Choice] = []
    for choice in choices[name]:
        if run and not _alike(problem, able, run[-1], choice):
            yield _Client(name, tuple(run), able, certain)
            run = []
        run.append(choice)
    if run:
        yield _Client(name, tuple(run), able, certain)


def _alike(problem: Problem, able: frozenset[int], one: Choice, other: Choice) -> bool:
    """Whether one client may stand for both: same worth, whole days, no able shift between."""
    between = range(one.window.day + 1, other.window.day)
    return (
        one.worth == other.worth
        and one.window.day != other.window.day
        and _whole(problem, able, one)
        and _whole(problem, able, other)
        and not any(problem.shifts[n].day in between for n in able)
    )


def _whole(problem: Problem, able: frozenset[int], choice: Choice) -> bool:
    """Whether the window bounds no able shift of its day."""
    shifts = [problem.shifts[n] for n in able if problem.shifts[n].day == choice.window.day]
    return all(
        choice.window.start <= s.start and choice.window.end >= s.end + s.overtime for s in shifts
    )


def _pinned(problem: Problem, pin: Pin) -> _Client:
    who = problem.shifts[pin.shift].technician
    able = frozenset(n for n, s in enumerate(problem.shifts) if s.technician == who)
    choice = Choice(Window(pin.start, pin.start), pin.worth, (pin.shift,))
    return _Client(pin.stop, (choice,), able, certain=True, pinned=True)


class _Site(NamedTuple):
    """A place as a location of the model: apart for each set of able shifts and each rule of order."""

    place: int
    able: frozenset[int]
    alone: str
    first: bool
    last: bool


def _sites(problem: Problem, clients: Sequence[_Client]) -> tuple[list[_Site], list[int]]:
    """Return the sites, and which of them each client is at."""
    known: dict[_Site, int] = {}
    at = []
    for client in clients:
        stop = problem.by_stop[client.stop]
        ordered = stop.first_of_day or stop.last_of_day
        site = _Site(
            problem.travel.index[stop.place],
            client.able,
            stop.id if ordered else "",
            stop.first_of_day,
            stop.last_of_day,
        )
        at.append(known.setdefault(site, len(known)))
    return list(known), at


def _matrices(
    problem: Problem, depots: Sequence[str], sites: Sequence[_Site]
) -> tuple[npt.NDArray[np.int64], npt.NDArray[np.int64]]:
    """Return metres and seconds between depots and sites, shape (locations, locations)."""
    travel = problem.travel
    at = [travel.index[name] for name in depots] + [site.place for site in sites]
    grid = np.ix_(at, at)
    return (
        np.asarray(travel.metres, dtype=np.int64)[grid],
        np.asarray(travel.seconds, dtype=np.int64)[grid],
    )


def _forbidden(
    sites: Sequence[_Site], depots: int, allowed: Mapping[frozenset[int], bool]
) -> npt.NDArray[np.bool_]:
    """Return which ways a profile may not take, shape (locations, locations)."""
    count = depots + len(sites)
    mask = np.zeros((count, count), dtype=bool)
    for n, site in enumerate(sites, depots):
        if not allowed[site.able]:
            mask[n, :] = mask[:, n] = True
        if site.first:
            mask[depots:, n] = True
        if site.last:
            mask[n, depots:] = True
    np.fill_diagonal(mask, False)
    return mask


def _groups(clients: Sequence[_Client]) -> tuple[list[pyvrp.ClientGroup], dict[int, int]]:
    """Return a group for each stop with several clients, and each client's group."""
    members: dict[str, list[int]] = {}
    for n, client in enumerate(clients):
        if not client.pinned:
            members.setdefault(client.stop, []).append(n)
    several = [numbers for numbers in members.values() if len(numbers) > 1]
    groups = [pyvrp.ClientGroup(numbers, required=False) for numbers in several]
    return groups, {n: g for g, numbers in enumerate(several) for n in numbers}
