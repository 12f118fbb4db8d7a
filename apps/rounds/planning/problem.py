"""What is to be planned: places, stops, shifts, what driving takes, and what things cost."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import ROUND_HALF_UP, Decimal

DAY = 86_400
NOON = 43_200
MONEY = 10_000
"""Money is counted in whole ten-thousandths of the currency's unit."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where something is: ``lat``, ``lon`` [°, WGS 84]; None where nobody has put it on a map."""

    id: str
    lat: float | None
    lon: float | None

    @property
    def located(self) -> bool:
        """Whether it can be driven to."""
        return self.lat is not None and self.lon is not None


@dataclass(frozen=True, slots=True, order=True)
class Window:
    """When work may begin: from ``start`` to ``end`` [s on the horizon's axis], both included."""

    start: int
    end: int

    @property
    def day(self) -> int:
        """The day on which it opens, the first of the horizon 0."""
        return self.start // DAY


@dataclass(frozen=True, slots=True)
class Promise:
    """What the client was told: a window, and by name who comes (none: anybody fit)."""

    window: Window
    technicians: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Former:
    """Where the plan before had it: day, who went, and the order within that day."""

    day: int
    technicians: tuple[str, ...]
    rank: int = 0


@dataclass(frozen=True, slots=True)
class Stop:
    """A visit that wants planning.

    ``service`` and ``disinfecting`` [s]; ``prizes`` says for each day what a visit then is worth;
    of ``people`` = 2 one must have all ``skills``, the other lends a hand. ``last_of_day`` is for
    suspected disease (nothing but the way home follows, and the disinfecting is part of the call),
    ``first_of_day`` for live fish on board (nothing comes before). ``in_area`` says who is in the
    stop's area on a day anyway.
    """

    id: str
    place: str
    service: int
    windows: tuple[Window, ...]
    prizes: Mapping[int, int]
    skills: frozenset[str] = frozenset()
    people: int = 1
    promise: Promise | None = None
    former: Former | None = None
    first_of_day: bool = False
    last_of_day: bool = False
    disinfecting: int = 0
    in_area: Mapping[int, frozenset[str]] = field(default_factory=dict)

    @property
    def on_site(self) -> int:
        """Service and disinfecting together [s]."""
        return self.service + self.disinfecting


@dataclass(frozen=True, slots=True)
class Lunch:
    """An unpaid break of ``seconds`` that lies wholly from ``earliest`` to ``latest`` [s of the day].

    It is taken before leaving home, between two stops before the drive, at a stop whose service
    takes ``inside_from`` [s] or more, or after coming home.
    """

    seconds: int
    earliest: int
    latest: int
    inside_from: int = 2 * 3600


@dataclass(frozen=True, slots=True)
class Shift:
    """One technician on one day, from ``start`` to ``end`` [s on the axis].

    Paid time beyond the shift's own length (less a lunch that must lie inside it) is overtime: at
    most ``overtime`` [s], no later than as much after ``end``, each second at
    ``overtime_per_second`` more. ``fixed_cost`` is what sending somebody out costs at all.
    """

    technician: str
    day: int
    start: int
    end: int
    start_place: str
    end_place: str
    lunch: Lunch | None = None
    overtime: int = 0
    overtime_per_second: int = 0
    skills: frozenset[str] = frozenset()
    fixed_cost: int = 0

    @property
    def lunch_inside(self) -> bool:
        """Whether the whole shift leaves no room for the break before or after it."""
        if self.lunch is None:
            return False
        dawn = self.day * DAY
        before = self.start >= dawn + self.lunch.earliest + self.lunch.seconds
        after = self.end <= dawn + self.lunch.latest - self.lunch.seconds
        return not (before or after)

    @property
    def regular(self) -> int:
        """Paid seconds without overtime."""
        inside = self.lunch.seconds if self.lunch is not None and self.lunch_inside else 0
        return self.end - self.start - inside


@dataclass(frozen=True, slots=True)
class Costs:
    """What driving and paid time cost, in money per metre and per second."""

    per_metre: int
    per_second: int

    @classmethod
    def of(cls, per_km: Decimal, per_hour: Decimal) -> "Costs":
        """Return the costs from money per km and per hour, to the nearest whole step."""
        return cls(whole(per_km * MONEY / 1000), whole(per_hour * MONEY / 3600))


def whole(amount: Decimal) -> int:
    """Return the nearest whole number, halves upwards."""
    return int(amount.to_integral_value(ROUND_HALF_UP))


@dataclass(frozen=True, slots=True)
class Settings:
    """How the firm plans.

    ``sticky``: what keeping a stop on its former day is worth. ``frozen_days``: the former plan
    stands, nothing joins but what is promised there. ``offer`` [s]: the length of a window offered
    to a client. ``own_area``: what a stop is worth more with somebody who is in its area that day.
    """

    sticky: int = 0
    frozen_days: frozenset[int] = frozenset()
    offer: int = 2 * 3600
    own_area: int = 0


@dataclass(frozen=True)
class Travel:
    """What driving takes: rows from, columns to, in the order of ``places``.

    ``metres`` and ``seconds`` are whole and not negative, nought on the diagonal, and need not be
    symmetric. ``estimated`` marks pairs that no road engine has answered for.
    """

    places: tuple[str, ...]
    metres: Sequence[Sequence[int]]
    seconds: Sequence[Sequence[int]]
    estimated: Sequence[Sequence[bool]]
    index: Mapping[str, int] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "index", {name: n for n, name in enumerate(self.places)})

    @property
    def any_estimated(self) -> bool:
        """Whether some pair of places was not measured on roads."""
        return any(
            mark for n, row in enumerate(self.estimated) for m, mark in enumerate(row) if n != m
        )


@dataclass(frozen=True)
class Problem:
    """All that a plan is made from. ``validation.validate`` says what is wrong with one."""

    places: tuple[Place, ...]
    stops: tuple[Stop, ...]
    shifts: tuple[Shift, ...]
    travel: Travel
    costs: Costs
    settings: Settings = Settings()
    by_stop: Mapping[str, Stop] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "by_stop", {stop.id: stop for stop in self.stops})

    def worth(self, stop: Stop, day: int) -> int:
        """Return what visiting on ``day`` is worth, with the bonus for staying on the former day."""
        stays = stop.former is not None and stop.former.day == day
        return stop.prizes.get(day, 0) + (self.settings.sticky if stays else 0)

    def drawn(self, stop: Stop, day: int, technicians: Iterable[str]) -> int:
        """Return what a visit is worth more as one of those who go is in its area that day."""
        there = stop.in_area.get(day, frozenset())
        return self.settings.own_area if not there.isdisjoint(technicians) else 0


def windows_on(days: Sequence[int], hours: Sequence[tuple[int, int]]) -> tuple[Window, ...]:
    """Return the windows ``hours`` [s of the local day] on each of ``days``.

    >>> windows_on([0, 2], [(28800, 43200)])
    (Window(start=28800, end=43200), Window(start=201600, end=216000))
    """
    return tuple(Window(day * DAY + a, day * DAY + b) for day in days for a, b in hours)
