"""What comes out: rounds with their calls, and what was left out and why."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from apps.rounds.planning.problem import Window


@dataclass(frozen=True, slots=True)
class Call:
    """One stop of a round: times [s on the axis]; the work begins within ``window``."""

    stop: str
    window: Window
    arrive: int
    start: int
    leave: int


@dataclass(frozen=True, slots=True)
class Break:
    """Lunch on the way: after ``after`` calls before driving on, or at work during the last of them."""

    start: int
    end: int
    after: int
    at_work: bool = False


@dataclass(frozen=True, slots=True)
class Bill:
    """What a round costs, in ten-thousandths of the currency's unit."""

    fixed: int
    driving: int
    time: int
    overtime: int

    @property
    def total(self) -> int:
        """All of it."""
        return self.fixed + self.driving + self.time + self.overtime


@dataclass(frozen=True, slots=True)
class Round:
    """A technician's day: leaves at ``leave``, is back at ``back``, and drives ``metres``."""

    technician: str
    day: int
    leave: int
    back: int
    calls: tuple[Call, ...]
    lunch: Break | None
    metres: int
    bill: Bill

    @property
    def paid(self) -> int:
        """Paid time [s]: all but the lunch on the way."""
        return self.back - self.leave - (self.lunch.end - self.lunch.start if self.lunch else 0)


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A stop without a place in the plan: a code with what fills its sentence."""

    stop: str
    reason: str
    params: Mapping[str, object] = field(default_factory=dict)


REASONS = (
    "no_coordinates",
    "no_window",
    "skill_missing",
    "technician_away",
    "second_person_missing",
    "no_window_in_shift",
    "too_far",
    "cost_more_than_it_is_worth",
    "no_time_left",
    "not_reached",
)
"""Why a stop may be left out; the first that applies is given."""


@dataclass(frozen=True, slots=True)
class Plan:
    """Rounds in the order of days and technicians, and what they leave out.

    ``prize`` counts a stop once, ``cost`` is the sum of the bills. ``estimated``: some of the
    driving was not measured on roads. ``method`` names what made it; ``stopped`` is true where it
    was cancelled on the way.
    """

    rounds: tuple[Round, ...]
    left_out: tuple[LeftOut, ...]
    prize: int
    cost: int
    estimated: bool
    method: str
    stopped: bool = False

    @property
    def value(self) -> int:
        """Prizes less cost: what a better plan has more of."""
        return self.prize - self.cost
