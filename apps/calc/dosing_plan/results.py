"""What a dosing plan is asked for and what it gives: plain values; upper floors make them words."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from apps.calc.wording import Text

ALKALINITY, PH, SOURCE, CHLORIDE = "alkalinity", "ph", "source", "chloride"
CALCIUM, POTASSIUM, MAGNESIUM, IRON, PHOSPHORUS = "ca", "k", "mg", "fe", "p"
GOALS: tuple[str, ...] = (
    ALKALINITY, PH, SOURCE, CALCIUM, POTASSIUM, MAGNESIUM, IRON, PHOSPHORUS, CHLORIDE,
)  # fmt: skip
# the reading that a goal moves
MEASURANDS: Mapping[str, str] = {
    ALKALINITY: "alk", PH: "ph", SOURCE: "source_alk", CALCIUM: "ca", POTASSIUM: "k",
    MAGNESIUM: "mg", IRON: "fe", PHOSPHORUS: "po4", CHLORIDE: "cl",
}  # fmt: skip


@dataclass(frozen=True)
class Request:
    """What is wanted: a goal, how far, with what, how often.

    ``target``: in the unit of the goal's reading (mg/L, pH; alkalinity as mg/L CaCO3); None only
    for chloride, whose target follows from nitrite. ``at_hand``: products by code; ``scale_g``:
    what the scale shows; ``every_days``: days between steps; ``by_client``: the client may give
    what is mild. Source water alone: ``barrel_l`` [L], ``acid`` (HCl or H3PO4), ``acid_pct`` [% by
    mass], ``source_age_days``.
    """

    goal: str
    target: float | None
    at_hand: frozenset[str]
    scale_g: float = 0.1
    every_days: int = 1
    by_client: bool = True
    base_hours_ago: float | None = None
    barrel_l: float | None = None
    acid: str = "HCl"
    acid_pct: float | None = None
    source_age_days: float = 0.0


@dataclass(frozen=True)
class Refusal:
    """Why there is no plan: the field it hangs on, and a sentence with its value and the way out."""

    field: str
    text: Text


@dataclass(frozen=True)
class NotUsed:
    """A product that could serve the goal and was left out, and why."""

    product: str
    text: Text


@dataclass(frozen=True)
class Step:
    """One dose on one day.

    ``hours`` after the plan's beginning; ``grams`` as weighed, never more than ``exact_g``;
    ``ml``: of a liquid; ``bucket_l``: water to dissolve it in first; ``who``: client or technician;
    ``before`` and ``after``: readings that this step moves, as predicted; ``ph_minutes`` and
    ``ph_hours``: pH at once and after aeration, None where pH and alkalinity are not known;
    ``brings``: mg/L by element; ``week``: what seven days have brought, this step included.
    """

    day: int
    hours: float
    product: str
    exact_g: float
    grams: float
    bucket_l: float
    who: str
    before: Mapping[str, float]
    after: Mapping[str, float]
    ph_minutes: float | None
    ph_hours: float | None
    brings: Mapping[str, float]
    week: Mapping[str, float]
    ml: float | None = None


@dataclass(frozen=True)
class Plan:
    """Steps towards a goal. ``litres``: of the loop, or of the barrel where the source is treated.

    ``start`` and ``reached`` in the unit of the target; ``left``: what the plan leaves undone;
    ``notes``: what whoever reads it must know; ``week_most``: the limits of seven days [mg/L] by
    element that held.
    """

    goal: str
    target: float
    start: float
    reached: float
    litres: float
    steps: tuple[Step, ...]
    not_used: tuple[NotUsed, ...] = ()
    notes: tuple[Text, ...] = ()
    sources: tuple[str, ...] = ("chemistry",)
    week_most: Mapping[str, float] = field(default_factory=dict)

    @property
    def left(self) -> float:
        """Return how far the target is off when the last step is in, 0 where it is reached."""
        return abs(self.target - self.reached)
