"""The cheapest visits for windows: an exact walk over the allowed days.

Of the chosen days the best for a task is the last before its due day or the first after it, as
each day away costs more than the one before. So the cost of two neighbouring visits is the sum
over the tasks due between them, and the cheapest chain of visits is a shortest path. Exact where
every day has every skill and nothing is kept apart; else those are seen to afterwards.
"""

import datetime as dt
from bisect import bisect_left
from collections.abc import Collection, Iterable

from apps.calc.bundling.filling import filled
from apps.calc.bundling.ground import Ground, ground_of
from apps.calc.bundling.model import Apart, Day, Plan, Task


def cheapest(
    tasks: Collection[Task],
    days: Collection[Day],
    *,
    apart: Iterable[Apart] = (),
    at_most: int | None = None,
    until: dt.date | None = None,
) -> Plan:
    """Return the plan that costs least: visits, and each task's days early and late.

    Arguments and errors as fewest(). No task is left out to save; where the limit leaves some
    without a visit they are as few as can be.
    """
    ground = ground_of(tasks, days, apart=apart, at_most=at_most, until=until)
    chain = _chain(ground, _between(ground))
    return filled(ground, chain)


def _left_out(ground: Ground) -> float:
    """Return the price of a task without a visit: more than everything else together."""
    visits = sum(ground.cost(place) for place in range(len(ground.days)))
    tasks = sum(max(prices.values(), default=0.0) for prices in ground.prices.values())
    return 1.0 + 2 * (visits + tasks)


def _between(ground: Ground) -> list[list[float]]:
    """Return for each two neighbours the cost of the tasks due between them.

    Row and column 0 stand before the first day, the last ones after the last day; a day's number
    is its place and 1.
    """
    count, left_out = len(ground.days), _left_out(ground)
    costs = [[0.0] * (count + 2) for _row in range(count + 2)]
    ordered = [day.day for day in ground.days]
    for task in ground.wanted:
        prices = [left_out] * (count + 2)
        for place, cost in ground.prices[task.key].items():
            prices[place + 1] = cost
        due = bisect_left(ordered, task.due) + 1
        after = prices[due:]
        for row, cost in zip(costs[:due], prices[:due], strict=True):
            row[due:] = [
                held + (cost if cost < other else other)
                for held, other in zip(row[due:], after, strict=True)
            ]
    return costs


def _chain(ground: Ground, costs: list[list[float]]) -> list[int]:
    """Return the places of the cheapest chain through all promised days, within the limit."""
    count = len(ground.days)
    fixed = [place + 1 for place in ground.promised]
    # a chain may not jump over a promised day
    lowest = [max((at for at in fixed if at < j), default=0) for j in range(count + 2)]
    visit = [0.0, *(ground.cost(place) for place in range(count)), 0.0]
    if ground.at_most is None:
        return _shortest(costs, visit, lowest)
    return _shortest_of(costs, visit, lowest, max(ground.at_most, len(fixed)))


def _shortest(costs: list[list[float]], visit: list[float], lowest: list[int]) -> list[int]:
    best, before = [0.0], [0]
    for j in range(1, len(costs)):
        total, i = min((best[i] + costs[i][j], i) for i in range(lowest[j], j))
        best.append(total + visit[j])
        before.append(i)
    chain, at = [], before[-1]
    while at:
        chain.append(at - 1)
        at = before[at]
    return chain


def _shortest_of(
    costs: list[list[float]], visit: list[float], lowest: list[int], most: int
) -> list[int]:
    """Return the cheapest chain of at most so many visits."""
    end = len(costs) - 1
    best: dict[int, tuple[float, tuple[int, ...]]] = {0: (0.0, ())}
    found: tuple[float, tuple[int, ...]] | None = None
    for visits in range(most + 1):
        ends = [
            (total + costs[i][end], chain) for i, (total, chain) in best.items() if i >= lowest[end]
        ]
        found = min([*ends, found] if found else ends, default=found)
        if visits == most:
            break
        longer: dict[int, tuple[float, tuple[int, ...]]] = {}
        for j in range(1, end):
            steps = [
                (best[i][0] + costs[i][j], best[i][1]) for i in range(lowest[j], j) if i in best
            ]
            if steps:
                total, chain = min(steps)
                longer[j] = (total + visit[j], (*chain, j - 1))
        best = longer
    return list(found[1]) if found else []
