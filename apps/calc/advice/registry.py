"""The rules by name. A rule looks at the facts of one loop and says what to do, or nothing."""

from collections.abc import Callable
from dataclasses import dataclass, field

from apps.calc.advice.facts import Facts
from apps.calc.advice.results import BY_HOURS, Advice, Explanation, Params, Step

# priority: what goes first when rules disagree
ELECTRICITY, FISH_NOW, NITRITE_AND_BUFFER, FISH_SOON, PLANTS, REST = 10, 20, 30, 40, 50, 60


@dataclass(frozen=True)
class Act:
    """What a rule says when it fires; what is left out is taken from the rule."""

    params: Params = field(default_factory=dict)
    dose: float | None = None
    unit: str = ""
    substance: str = ""
    steps: tuple[Step, ...] = ()
    explanation: Explanation | None = None
    feed_percent: float | None = None
    feed_hours: float | None = None
    change_fraction: float | None = None
    cautions: tuple[str, ...] = ()
    urgency: str | None = None
    who: str | None = None
    recheck_hours: float | None = None


Look = Callable[[Facts], Act | None]


@dataclass(frozen=True)
class Rule:
    """A rule and what is the same each time it fires."""

    code: str
    ref: str
    urgency: str
    who: str
    recheck_hours: float | None
    source: str
    priority: int
    answers: tuple[str, ...]
    cautions: tuple[str, ...]
    once: bool
    wet: bool
    cleans: bool
    fallback: bool
    look: Look

    def advice(self, facts: Facts) -> Advice | None:
        """Return the advice of this rule for a loop, None when it does not apply."""
        act = self.look(facts)
        if act is None:
            return None
        urgency = act.urgency or self.urgency
        return Advice(
            rule=self.code,
            loop=facts.loop.id,
            urgency=urgency,
            who=act.who or self.who,
            by_hours=BY_HOURS[urgency],
            recheck_hours=act.recheck_hours or self.recheck_hours,
            source=self.source,
            priority=self.priority,
            dose=act.dose,
            unit=act.unit,
            substance=act.substance,
            params=act.params,
            steps=act.steps,
            cautions=(*self.cautions, *act.cautions),
            explanation=act.explanation or Explanation(sources=(self.source,)),
            feed_percent=act.feed_percent,
            feed_hours=act.feed_hours,
            change_fraction=act.change_fraction,
            answers=self.answers,
        )


RULES: dict[str, Rule] = {}


def rule(
    code: str,
    *,
    ref: str = "",
    urgency: str,
    who: str,
    source: str,
    priority: int = REST,
    recheck_hours: float | None = None,
    answers: tuple[str, ...] = (),
    cautions: tuple[str, ...] = (),
    once: bool = False,
    wet: bool = True,
    cleans: bool = False,
    fallback: bool = False,
) -> Callable[[Look], Look]:
    """Register a rule. ``once``: for the system, not for each loop; ``wet``: hands in the water;
    ``cleans``: stirs the filter, so never on the day of a dose; ``fallback``: speaks only where
    no other rule has answered."""

    def register(look: Look) -> Look:
        if code in RULES:
            message = f"two rules are called {code}"
            raise ValueError(message)
        RULES[code] = Rule(
            code, ref, urgency, who, recheck_hours, source, priority, answers, cautions,
            once, wet, cleans, fallback, look,
        )  # fmt: skip
        return look

    return register
