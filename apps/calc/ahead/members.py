"""Members of the ensemble: how far each lies from the middle of the belief, and its water.

The same wandering drives the filter on past readings and the forecast, so that the range which a
forecast states follows from how well the past was foreseen.
"""

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from statistics import fmean

from apps.calc.ahead.drive import Drive, usual_level
from apps.calc.ahead.facts import LoopFacts
from apps.calc.ahead.ops import Ops, Value
from apps.calc.ahead.priors import (
    AIRED,
    BELIEFS,
    BUFFERED,
    FITTED,
    GROWTH,
    HALF,
    LEAST_FIRST,
    PLAIN,
    STIRRED,
    TDS_PER_EC,
    medians,
)
from apps.calc.ahead.step import COMING, Day, Gear, Params, Water, advance, gases, renew
from apps.calc.feed import tan_g_day

STEPS = 4  # a day: within 1 % of an exact integration, also while alkalinity runs out
Deviations = tuple[Value, ...]  # in the order of FITTED


@dataclass(frozen=True)
class Member:
    """One member on day 0, in plain figures."""

    deviations: tuple[float, ...]
    water: Water


@dataclass(frozen=True)
class Kept:
    """What was learnt of a loop: the middle of the belief and some members, for a what-if."""

    middle: Params
    media_area_m2: float
    members: tuple[Member, ...]


def middle_of(facts: LoopFacts, gear: Gear, drive: Drive) -> Params:
    """Return the middle of the belief of a loop fed as on day 0 and dosed as in the record.

    A filter is believed to be as strong as keeps the usual level: bacteria grow on what they are
    fed, whatever the media.
    """
    day = drive.at(0)
    fed = day.given
    if fed < 0:
        fed = sum(
            count * ration * group.weight_g**power
            for count, ration, power, group in zip(
                gear.counts, day.rations, gear.powers, facts.fish, strict=True
            )
        )
    made = tan_g_day(fed, facts.protein_fraction)
    past = drive.days[: -drive.first] or drive.days[:1]
    come = fmean(one.coming[COMING.index("alk")] for one in past)
    leaving = fmean(one.leaving + one.renewed for one in past)
    found = medians(gear, facts.aeration_per_day, made, come, leaving)
    tan = max(0.05, usual_level(facts, "tan", found.usual_tan))
    no2 = max(0.02, usual_level(facts, "no2", found.usual_no2))
    wanted = made / (AIRED * fmean(one.warmth for one in past))
    first = max(LEAST_FIRST, wanted / BUFFERED * (HALF + tan) / tan)
    second = max(LEAST_FIRST, wanted * (HALF + no2) / no2)
    return found._replace(first=first, second=second, usual_tan=tan, usual_no2=no2)


def params_of(ops: Ops, middle: Params, deviations: Deviations) -> Params:
    """Return the parameters of a member that lies ``deviations`` from the middle."""
    found: dict[str, Value] = {}
    for name, away in zip(FITTED, deviations, strict=True):
        at = getattr(middle, name)
        if name in PLAIN:
            found[name] = at + away * middle.base_scale
        else:
            found[name] = at * ops.exp(away)
    return middle._replace(**found)


def day_after(
    ops: Ops,
    gear: Gear,
    middle: Params,
    day: Day,
    water: Water,
    deviations: Deviations,
    drawn: Callable[[], Value],
) -> tuple[Water, Deviations]:
    """Return water and deviations a day later, with what no equation knows drawn by ``drawn``."""
    params = params_of(ops, middle, deviations)
    water = renew(day, water)
    for _ in range(STEPS):
        water = advance(ops, gear, params, day, water, 1.0 / STEPS)
    deviations = _wandered(_grown(ops, middle, day, water, deviations), drawn)
    return _stirred(ops, water, drawn), deviations


def _grown(ops: Ops, middle: Params, day: Day, water: Water, deviations: Deviations) -> Deviations:
    """Bacteria grow on what they are fed: a filter follows its load within weeks."""
    moved = list(deviations)
    for name, fed, usual, half in (
        ("first", water.tan, middle.usual_tan, middle.half_first),
        ("second", water.no2, middle.usual_no2, middle.half_second),
    ):
        share = fed / (half + fed) - usual / (half + usual)
        place = FITTED.index(name)
        grown = moved[place] + GROWTH * ops.minimum(day.warmth, 1.0) * share
        moved[place] = ops.minimum(ops.maximum(grown, -4.0), 4.0)
    return tuple(moved)


def _wandered(deviations: Deviations, drawn: Callable[[], Value]) -> Deviations:
    """Each is drawn back to the middle over its memory."""
    moved = []
    for name, away in zip(FITTED, deviations, strict=True):
        belief = BELIEFS[name]
        kept = math.exp(-1.0 / belief.memory)
        moved.append(away * kept + belief.spread * math.sqrt(1 - kept * kept) * drawn())
    return tuple(moved)


def walk(
    ops: Ops,
    gear: Gear,
    middle: Params,
    days: Sequence[Day],
    water: Water,
    deviations: Deviations,
    drawn: Callable[[], Value],
) -> Iterator[tuple[Day, Params, Water]]:
    """Yield each day's beginning and then the last day's end."""
    for day in days:
        yield day, params_of(ops, middle, deviations), water
        water, deviations = day_after(ops, gear, middle, day, water, deviations, drawn)
    yield days[-1], params_of(ops, middle, deviations), water


def _stirred(ops: Ops, water: Water, drawn: Callable[[], Value]) -> Water:
    """The water itself is moved, too."""
    return water._replace(
        **{
            name: getattr(water, name) * ops.exp(strength * drawn())
            for name, strength in STIRRED.items()
        }
    )


def shown(ops: Ops, gear: Gear, params: Params, day: Day, water: Water) -> dict[str, Value]:
    """Return what a visit would read, by measurand in the catalogue's unit."""
    air = gases(ops, gear, params, day, water)
    return {
        "tan": water.tan, "no2": water.no2, "no3": water.no3, "alk": water.alk,
        "ph": air.ph, "do": air.oxygen, "ec": water.tds / TDS_PER_EC, "k": water.k,
        "ca": water.ca, "nh3": air.nh3,
    }  # fmt: skip


_BEGIN = {"tan": 0.3, "no2": 0.15, "no3": 30.0, "alk": 70.0, "tds": 400.0, "k": 20.0, "ca": 50.0}


def beginning(facts: LoopFacts, weights: Sequence[float], made_mg_l_day: float) -> Water:
    """Return the likely water on the first day: the first readings, else what is usual."""
    found = dict(_BEGIN)
    first: dict[str, tuple[float, float]] = {}
    for seen in facts.observed:
        if seen.measurand not in first or seen.day < first[seen.measurand][0]:
            first[seen.measurand] = (seen.day, seen.value)
    if "ec" in first:
        found["tds"] = TDS_PER_EC * first["ec"][1]
    for name in COMING:
        if name in first:
            found[name] = first[name][1]
    found = {name: max(0.02, value) for name, value in found.items()}
    return Water(
        **found, ss=10.0, weights=tuple(weights), first=made_mg_l_day, second=made_mg_l_day,
        eaten=0.0,
    )  # fmt: skip


def earlier_weights(
    facts: LoopFacts, gear: Gear, days: Sequence[Day], growth: float
) -> list[float]:
    """Return each group's weight ``days`` before day 0, by their rations backwards."""
    weights = [max(0.1, group.weight_g) for group in facts.fish]
    for day in reversed(days):
        wanted = [
            count * ration * weight**power
            for count, ration, power, weight in zip(
                gear.counts, day.rations, gear.powers, weights, strict=True
            )
        ]
        total = sum(wanted)
        scale = day.given / total if day.given >= 0 and total > 0 else 1.0
        weights = [
            max(0.5 * weight, weight - scale * fed * made / growth / max(count, 1.0), 0.1)
            for weight, fed, count, made in zip(
                weights, wanted, gear.counts, gear.growths, strict=True
            )
        ]
    return weights
