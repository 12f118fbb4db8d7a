"""What is asked in a what-if, put upon the facts of a loop."""

from dataclasses import dataclass, replace
from math import floor

from apps.calc.ahead.drive import HABIT_DAYS
from apps.calc.ahead.facts import LoopFacts, Renewed, Weather
from apps.calc.ahead.span import HORIZON
from apps.calc.ahead.what_if import with_holiday

WARMEST_C = 44.0
HARGREAVES_C = 17.8  # fao56, equation 52: evapotranspiration goes with temperature + 17.8 °C


@dataclass(frozen=True)
class Wishes:
    """Changes from tomorrow on; what is not asked for stays as it is.

    ``fewer``: fish taken out. ``more_beds_m2``. ``protein``: share of the feed. ``holiday_days``
    without feeding. ``warmer_c`` for ``warm_days``. ``change_l``: litres of water replaced.
    """

    fewer: int = 0
    more_beds_m2: float = 0.0
    protein: float | None = None
    holiday_days: int = 0
    warmer_c: float = 0.0
    warm_days: int = 0
    change_l: float = 0.0


def wished(facts: LoopFacts, wishes: Wishes) -> LoopFacts:
    """Return the facts of a loop under the wishes that concern what lives in it.

    Raises ValueError where more fish are to be taken out than there are.
    """
    if facts.fish:
        facts = _fed_otherwise(_fewer(facts, wishes.fewer), wishes)
    if wishes.more_beds_m2 and facts.kind != "fish":
        facts = replace(facts, plant_area_m2=facts.plant_area_m2 + wishes.more_beds_m2)
    if wishes.warmer_c and wishes.warm_days:
        facts = replace(facts, weather=tuple(
            _hot(day, wishes.warmer_c) if number < wishes.warm_days else day
            for number, day in enumerate(facts.weather)
        ))  # fmt: skip
    if wishes.change_l and (facts.fish or facts.kind != "fish"):
        facts = replace(facts, renewed=(*facts.renewed, *_renewed(facts, wishes.change_l)))
    return facts


def _hot(day: Weather, warmer_c: float) -> Weather:
    """Return a day of a heat wave: it dries out faster, by Hargreaves' share, and brings no rain."""
    more = (day.temp_c + warmer_c + HARGREAVES_C) / (day.temp_c + HARGREAVES_C)
    return replace(
        day, temp_c=min(WARMEST_C, day.temp_c + warmer_c), et0_mm=more * day.et0_mm, rain_mm=0.0
    )


def _fewer(facts: LoopFacts, fewer: int) -> LoopFacts:
    count = sum(group.count for group in facts.fish)
    if not 0 <= fewer <= count:
        message = f"fewer must be between 0 and {count}, not {fewer}"
        raise ValueError(message)
    if not fewer:
        return facts
    share = (count - fewer) / count
    fish, left = [], count - fewer
    for group in facts.fish:
        # each batch gives its share; what is lost in rounding comes from the last
        kept = min(left, round(group.count * share))
        fish.append(replace(group, count=kept))
        left -= kept
    if left:
        fish[-1] = replace(fish[-1], count=fish[-1].count + left)
    # those that stay eat what they ate: the feed goes with the fish
    return replace(
        facts,
        fish=tuple(group for group in fish if group.count),
        feed_g_day=None if facts.feed_g_day is None else facts.feed_g_day * share,
        fed=tuple(replace(entry, grams=entry.grams * share) for entry in facts.fed),
    )


def _fed_otherwise(facts: LoopFacts, wishes: Wishes) -> LoopFacts:
    if wishes.protein is not None:
        facts = replace(facts, protein_fraction=wishes.protein)
    return with_holiday(facts, 0, wishes.holiday_days) if wishes.holiday_days else facts


def _renewed(facts: LoopFacts, litres: float) -> list[Renewed]:
    """Return the change, and the changes that go on as they have been usual."""
    past = [row for row in facts.renewed if -HABIT_DAYS <= row.day < 0]
    usual = sum(row.litres for row in past) / HABIT_DAYS
    if len({floor(row.day) for row in past}) < 2 or any(r.day >= 0 for r in facts.renewed):
        return [Renewed(0.0, litres)]
    return [Renewed(float(day), usual + (0.0 if day else litres)) for day in range(HORIZON)]
