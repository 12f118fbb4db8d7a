"""What a visit is worth on each day: the due date against the day on which somebody goes."""

from collections.abc import Iterable
from dataclasses import dataclass

from apps.calc.wording import text as _
from apps.rounds.planning.problem import MONEY, Costs, Shift, Travel

FLOOR = MONEY
"""The least prize: one of the currency's unit, so that a visit is never worth nothing."""


@dataclass(frozen=True, slots=True)
class Urgency:
    """How waiting and hurrying weigh, in money per day.

    ``overdue``: more for each day that it is late already today. ``late``: less for each day after
    the due day. ``early``: less for each day before the due day. ``floor``: never below.
    """

    overdue: int
    late: int
    early: int
    floor: int = FLOOR

    def __post_init__(self) -> None:
        for name in ("overdue", "late", "early"):
            if getattr(self, name) < 0:
                raise ValueError(
                    _(
                        "{field} {value} must not be negative; 0 leaves it out",
                        field=name,
                        value=getattr(self, name),
                    )
                )
        if self.floor <= 0:
            raise ValueError(_("floor {value} must be above 0", value=self.floor))


def prize(base: int, urgency: Urgency, due: int, day: int) -> int:
    """Return what a visit on ``day`` is worth when it is due on day ``due`` (both of the horizon).

    Base, and more for the days overdue on the horizon's first day, less for each day of lateness or
    earliness of ``day`` itself; at least the floor. A due day below 0 lies in the past.

    >>> rule = Urgency(overdue=50_000, late=20_000, early=10_000)
    >>> prize(1_000_000, rule, due=-3, day=1), prize(1_000_000, rule, due=5, day=2)
    (1070000, 970000)
    """
    overdue = max(-due, 0)
    late, early = max(day - due, 0), max(due - day, 0)
    worth = base + urgency.overdue * overdue - urgency.late * late - urgency.early * early
    return max(worth, urgency.floor)


def prizes(base: int, urgency: Urgency, due: int, days: Iterable[int]) -> dict[int, int]:
    """Return :func:`prize` for each of ``days``."""
    return {day: prize(base, urgency, due, day) for day in days}


def lone_trip(
    place: str,
    service: int,
    shifts: Iterable[Shift],
    travel: Travel,
    costs: Costs,
    people: int = 1,
) -> int:
    """Return what the dearest trip there and back costs that any of ``shifts`` could make alone.

    With the fixed cost, the driving and the paid time of ``service`` [s], for each of ``people``.
    A base prize above this keeps a client who lives far away from being left out for ever. 0 where
    there is no shift.
    """
    here = travel.index[place]
    dearest = 0
    for shift in shifts:
        start, end = travel.index[shift.start_place], travel.index[shift.end_place]
        metres = travel.metres[start][here] + travel.metres[here][end]
        seconds = travel.seconds[start][here] + service + travel.seconds[here][end]
        cost = shift.fixed_cost + costs.per_metre * metres + costs.per_second * seconds
        dearest = max(dearest, cost)
    return dearest * people


def base_above(trip: int, margin_percent: int = 10) -> int:
    """Return a base prize that exceeds a lone ``trip`` by ``margin_percent`` (own choice).

    >>> base_above(1_000_000)
    1100001
    """
    return trip + trip * margin_percent // 100 + 1
