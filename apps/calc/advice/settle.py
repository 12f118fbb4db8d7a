"""Where rules disagree: what goes first, what is held back, and why.

Electricity before fish in danger, these before nitrite, buffer and acid water, these before the
rest of the fish and filter, plants after them. One base a day, one water change a day, one word on
feed; potassium and sodium within their week; no cleaning on the day of a dose.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field, replace

from apps.calc.advice import guards
from apps.calc.advice.doses import BICARBONATES, brings
from apps.calc.advice.facts import Facts
from apps.calc.advice.registry import RULES
from apps.calc.advice.results import URGENCIES, Advice, Held, Step

# who gives the base when several ask for one; every other dose of base waits
BASE_ORDER: tuple[str, ...] = (
    "acid_holds_ammonia", "alkalinity_gone", "water_acid", "ammonia_rising_low_buffer",
    "alkalinity_low", "rain_diluted", "cycling_base", "potassium_short",
)  # fmt: skip
NO_BASE_WITH = ("acute_ammonia", "toxic_share_high")
WEEK_H = 168.0
LEAST_SHARE = 0.1  # of a step that is still worth giving


@dataclass
class Table:
    """The advice of one loop while it is being settled."""

    facts: Facts
    advice: list[Advice]
    held: list[Held] = field(default_factory=list)

    def has(self, *rules: str) -> str:
        """Return the first of the rules that is present, else empty."""
        present = {one.rule for one in self.advice}
        return next((code for code in rules if code in present), "")

    def hold(self, one: Advice, what: str, because: str) -> None:
        """Note what was held back."""
        self.held.append(Held(one.rule, one.loop, what, because))

    def change(self, one: Advice, new: Advice | None) -> None:
        """Put ``new`` in the place of ``one``, or take it away."""
        at = self.advice.index(one)
        self.advice[at : at + 1] = [new] if new else []


def settle(facts: Facts, advice: Iterable[Advice]) -> tuple[list[Advice], list[Held]]:
    """Return the advice of one loop without contradictions, and what was held back."""
    table = Table(facts, sorted(advice, key=lambda one: (one.priority, _rank(one))))
    _one_base(table)
    _one_change(table)
    _base_or_change(table)
    _week_of_metals(table)
    _iron_and_treatment(table)
    _clean_after_doses(table)
    _one_word_on_feed(table)
    return table.advice, table.held


def hold_for_fault(advice: list[Advice]) -> tuple[list[Advice], list[Held]]:
    """Take away all that asks for hands in the water while a fault current is suspected."""
    if not any(one.rule == "fault_current" for one in advice):
        return advice, []
    wet = [one for one in advice if RULES[one.rule].wet]
    held = [Held(one.rule, one.loop, "advice", "fault_current") for one in wet]
    return [one for one in advice if not RULES[one.rule].wet], held


def in_order(advice: Iterable[Advice]) -> list[Advice]:
    """Return advice by urgency, then by priority."""
    return sorted(advice, key=lambda one: (URGENCIES.index(one.urgency), one.priority, one.rule))


def _rank(one: Advice) -> int:
    return BASE_ORDER.index(one.rule) if one.rule in BASE_ORDER else len(BASE_ORDER)


def _without_dose(one: Advice, because: str) -> Advice:
    params = {**one.params, "no_dose": because}
    return replace(one, dose=None, unit="", substance="", steps=(), params=params)


def _gives_base(one: Advice) -> bool:
    return one.dose is not None and one.substance in BICARBONATES


def _one_base(table: Table) -> None:
    stop = table.has(*NO_BASE_WITH)
    given = ""
    for code in BASE_ORDER:
        one = next((a for a in table.advice if a.rule == code and _gives_base(a)), None)
        if one is None:
            continue
        if stop or given:
            because = stop or given
            table.hold(one, "dose", because)
            table.change(one, _without_dose(one, "other_base" if given else "no_base_now"))
        else:
            given = code


def _one_change(table: Table) -> None:
    given = ""
    for one in list(table.advice):
        if one.change_fraction is None:
            continue
        if given:
            table.hold(one, "change", given)
            params = {**one.params, "no_change": "other_change"}
            table.change(one, replace(one, change_fraction=None, params=params))
        given = given or one.rule


def _base_or_change(table: Table) -> None:
    """Both move the pH: on one day only the first of them, unless one advice holds both."""
    base = next((one for one in table.advice if _gives_base(one)), None)
    change = next((one for one in table.advice if one.change_fraction is not None), None)
    if base is None or change is None or base is change or table.facts.plant_water:
        return
    if table.advice.index(base) < table.advice.index(change):
        table.hold(change, "change", base.rule)
        params = {**change.params, "no_change": "base_today"}
        table.change(change, replace(change, change_fraction=None, params=params))
    else:
        table.hold(base, "dose", change.rule)
        table.change(base, _without_dose(base, "change_today"))


def _week_of_metals(table: Table) -> None:
    """Keep what all doses of the week bring within the potassium and sodium left."""
    f = table.facts
    room = {"k": guards.potassium_room(f), "na": guards.sodium_room(f)}
    for one in list(table.advice):
        if not one.steps:
            continue
        kept: list[Step] = []
        for step in one.steps:
            share = _share_within(step, room, f.loop.volume_l)
            if share < LEAST_SHARE:
                continue
            kept.append(replace(step, dose=step.dose * share))
            for metal, mg_l in brings(step.substance, kept[-1].dose, f.loop.volume_l).items():
                if metal in room and step.after_hours < WEEK_H:
                    room[metal] -= mg_l
        if sum(s.dose for s in kept) < sum(s.dose for s in one.steps) - 1e-6:
            table.hold(one, "dose", "week_of_metals")
            table.change(one, _with_steps(one, tuple(kept)))


def _share_within(step: Step, room: dict[str, float], volume_l: float) -> float:
    if step.after_hours >= WEEK_H:
        return 1.0
    brought = brings(step.substance, step.dose, volume_l)
    shares = [room[m] / brought[m] for m in room if brought[m] > 1e-9]
    return max(0.0, min([1.0, *(share + 1e-9 for share in shares)]))


def _with_steps(one: Advice, steps: tuple[Step, ...]) -> Advice:
    if not steps:
        return _without_dose(one, "no_room_for_salt")
    first = steps[0]
    params = {**one.params, "total_g": sum(step.dose for step in steps)}
    return replace(one, dose=first.dose, substance=first.substance, steps=steps, params=params)


def _iron_and_treatment(table: Table) -> None:
    if not table.facts.within_days(2, "medicated"):
        return
    for one in list(table.advice):
        if one.substance.startswith("Fe-EDDHA"):
            table.hold(one, "dose", "treatment")
            table.change(one, _without_dose(one, "treatment"))


def _clean_after_doses(table: Table) -> None:
    dosing = next((one.rule for one in table.advice if one.steps), "")
    for one in list(table.advice):
        if RULES[one.rule].cleans and dosing and dosing != one.rule:
            table.hold(one, "postponed", dosing)
            table.change(one, replace(one, not_before_hours=24.0))


def _one_word_on_feed(table: Table) -> None:
    limit = guards.feed_percent(table.facts)
    said = [one.feed_percent for one in table.advice if one.feed_percent is not None]
    if not said and limit is None:
        return
    least = min([*said, *([limit] if limit is not None else [])])
    hours = max(
        (a.feed_hours or 0.0 for a in table.advice if a.feed_percent == least), default=24.0
    )
    for one in list(table.advice):
        if one.feed_percent is not None and one.feed_percent != least:
            table.hold(one, "feed", _strictest(table, least))
            table.change(one, replace(one, feed_percent=least, feed_hours=hours))
        elif "feed_g" in one.params and one.rule == "nitrogen_short":
            table.hold(one, "feed", _strictest(table, least))
            params = {k: v for k, v in one.params.items() if k != "feed_g"}
            table.change(one, replace(one, params=params))


def _strictest(table: Table, least: float) -> str:
    return next((one.rule for one in table.advice if one.feed_percent == least), "feed_guard")
