"""The fewest visits for windows: sweep by their ends, visit as late as may be.

A window that no chosen day meets gets the last allowed day in it. On a line this is the least
number of points that stab all intervals (exact where every day has every skill and nothing is
kept apart).
"""

import datetime as dt
from collections.abc import Collection, Iterable

from apps.calc.bundling.filling import filled
from apps.calc.bundling.ground import Ground, ground_of
from apps.calc.bundling.model import Apart, Day, Plan, Task


def fewest(
    tasks: Collection[Task],
    days: Collection[Day],
    *,
    apart: Iterable[Apart] = (),
    at_most: int | None = None,
    until: dt.date | None = None,
) -> Plan:
    """Return a plan with the fewest visits.

    `apart`: pairs of codes that must not fall together on one system, with the days that lie from
    one to the other at least where it is more than one; `at_most`: visits, the
    promised ones among them; `until`: a window that ends later makes no visit of its own.
    Raises PlanError for what cannot be planned.
    """
    ground = ground_of(tasks, days, apart=apart, at_most=at_most, until=until)
    return filled(ground, _limited(ground, _stabbed(ground)))


def _inside(ground: Ground, task: Task) -> list[int]:
    """Return the suitable places up to the end of the window, else the first after it."""
    suits = sorted(ground.prices[task.key])
    return [place for place in suits if ground.days[place].day <= task.late] or suits[:1]


def _stabbed(ground: Ground) -> set[int]:
    chosen = set(ground.promised)
    suits = [places for task in ground.wanted if (places := _inside(ground, task))]
    for places in sorted(suits, key=lambda places: (places[-1], -places[0])):
        if chosen.isdisjoint(places):
            chosen.add(places[-1])
    return chosen


def _limited(ground: Ground, chosen: set[int]) -> set[int]:
    """Leave out the visits that the fewest tasks need, until the limit holds."""
    kept = set(chosen)
    while ground.at_most is not None and len(kept) > ground.at_most:
        loose = kept - set(ground.promised)
        if not loose:
            break
        needed = {
            place: sum(
                not (kept - {place}) & ground.prices[task.key].keys() for task in ground.wanted
            )
            for place in sorted(loose)
        }
        kept.remove(min(needed, key=lambda place: (needed[place], -ground.cost(place), place)))
    return kept
