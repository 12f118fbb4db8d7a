"""What assessment gives back: codes and numbers; upper floors turn them into sentences."""

from collections.abc import Mapping
from dataclasses import dataclass, field

NOW, TODAY, SOON, NEXT_VISIT, GOOD_TO_KNOW = (
    "now",
    "today",
    "within_3_days",
    "next_visit",
    "good_to_know",
)
URGENCIES: tuple[str, ...] = (NOW, TODAY, SOON, NEXT_VISIT, GOOD_TO_KNOW)
# hours by which an action is to be done; None: no hour is set
BY_HOURS: dict[str, float | None] = {
    NOW: 1.0,
    TODAY: 12.0,
    SOON: 72.0,
    NEXT_VISIT: None,
    GOOD_TO_KNOW: None,
}

CLIENT, TECHNICIAN, OFFICE, ELECTRICIAN, FISH_HEALTH = (
    "client",
    "technician",
    "office",
    "electrician",
    "fish_health",
)

Params = Mapping[str, float | str]


@dataclass(frozen=True)
class Explanation:
    """How a figure came about: formula in words, inputs, sources (keys), range, assumptions."""

    formula: str = ""
    inputs: Mapping[str, float] = field(default_factory=dict)
    sources: tuple[str, ...] = ()
    valid_range: str = ""
    assumptions: tuple[str, ...] = ()


@dataclass(frozen=True)
class Step:
    """One part of a dose or change: hours from now, amount, unit, substance."""

    after_hours: float
    dose: float
    unit: str
    substance: str


@dataclass(frozen=True)
class Derived:
    """A worked-out value, with its interval where it has one."""

    code: str
    loop: str
    value: float
    unit: str
    explanation: Explanation
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True)
class Judgement:
    """The word for a reading, the side it left the target on, its context and trend."""

    loop: str
    measurand: str
    value: float
    word: str
    side: str
    context: str
    trend: str
    reading: str = ""


@dataclass(frozen=True)
class Advice:
    """An action: what, by whom, by when, how much, and why.

    ``params`` fill the sentence of the rule; ``feed_percent`` (0 to 100 of the usual feed, None:
    no word on feed) for ``feed_hours``; ``change_fraction``: share of the water to change;
    ``not_before_hours``: postponed so far; ``answers``: "measurand.side" that it deals with.
    """

    rule: str
    loop: str
    urgency: str
    who: str
    by_hours: float | None
    recheck_hours: float | None
    source: str
    priority: int
    dose: float | None = None
    unit: str = ""
    substance: str = ""
    params: Params = field(default_factory=dict)
    steps: tuple[Step, ...] = ()
    cautions: tuple[str, ...] = ()
    explanation: Explanation = field(default_factory=Explanation)
    feed_percent: float | None = None
    feed_hours: float | None = None
    change_fraction: float | None = None
    not_before_hours: float = 0.0
    answers: tuple[str, ...] = ()


@dataclass(frozen=True)
class NotTrusted:
    """A reading that leads to no dose, and why."""

    loop: str
    measurand: str
    value: float
    why: str
    reading: str = ""


@dataclass(frozen=True)
class Held:
    """What was held back when rules disagreed.

    ``what``: advice, dose, change, feed or postponed; ``because``: the rule or guard that won.
    """

    rule: str
    loop: str
    what: str
    because: str


@dataclass(frozen=True)
class Assessment:
    """All that a situation gives: advice is in the order of urgency and priority."""

    derived: tuple[Derived, ...]
    judgements: tuple[Judgement, ...]
    advice: tuple[Advice, ...]
    not_trusted: tuple[NotTrusted, ...]
    held: tuple[Held, ...]
