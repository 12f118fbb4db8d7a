"""What would be if: the kept members of a loop carried on under changed facts, on plain floats."""

import random
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from apps.calc import oxygen
from apps.calc.ahead import summary
from apps.calc.ahead.drive import drive_of, gear_of
from apps.calc.ahead.facts import Fed, LoopFacts, MakeUp
from apps.calc.ahead.members import Kept, Member, shown, walk
from apps.calc.ahead.ops import FLOATS
from apps.calc.ahead.outlook import Fan, Outlook
from apps.calc.ahead.priors import ERRORS
from apps.calc.ahead.span import HORIZON
from apps.calc.ahead.step import Day, Gear, Params, gases
from apps.calc.species import interpolate, species_named

Course = dict[str, list[float]]
# what water carries along: those of ``step.COMING`` as they are read
FLOWING = ("tan", "no2", "no3", "alk", "ec", "k", "ca")
# a change moves these in proportion: their logarithm wanders; all others by as much
IN_PROPORTION = frozenset({"tan", "no2", "nh3"})
# by measurand and day: factor and shift that lead from the balance's course to the one that is shown
Leaning = Mapping[str, Sequence[tuple[float, float]]]


@dataclass(frozen=True)
class Future:
    """A loop's outlook, and what flows from it to the next one by day, where anything does."""

    outlook: Outlook
    sends: tuple[MakeUp, ...]


def what_if(
    facts: LoopFacts, kept: Kept, *, inflow: Sequence[MakeUp] | None = None, horizon: int = HORIZON
) -> Outlook:
    """Return the outlook of a loop whose facts were changed after it was learnt: see ``future``."""
    return future(facts, kept, inflow=inflow, horizon=horizon).outlook


def leaning(balance: Outlook, forecast: Outlook) -> Leaning:
    """Return how a forecast departs from the balance's course of the same water, day by day."""
    shown = {fan.measurand: fan for fan in forecast.fans}
    return {
        fan.measurand: [
            _leaned(fan.measurand, at, other)
            for at, other in zip(fan.middle, daily(shown[fan.measurand]).middle, strict=True)
        ]
        for fan in balance.fans
        if fan.measurand in shown
    }


def _leaned(name: str, balance: float, shown: float) -> tuple[float, float]:
    if name in IN_PROPORTION and balance > 0:
        return shown / balance, 0.0
    return 1.0, shown - balance


def daily(fan: Fan, horizon: int = HORIZON) -> Fan:
    """Return a fan with a figure for each day, straight between those that it has."""
    days = tuple(float(day) for day in range(horizon + 1))
    if fan.days == days:
        return fan
    low, middle, high = (
        tuple(interpolate(tuple(zip(fan.days, part, strict=True)), day) for day in days)
        for part in (fan.low, fan.middle, fan.high)
    )
    return replace(fan, days=days, low=low, middle=middle, high=high)


def future(
    facts: LoopFacts,
    kept: Kept,
    *,
    inflow: Sequence[MakeUp] | None = None,
    horizon: int = HORIZON,
    usual: LoopFacts | None = None,
    leans: Leaning | None = None,
) -> Future:
    """Return the future of a loop whose facts were changed after it was learnt.

    ``facts``: the changed ones. Fish are taken as they stand there; more media carry the learnt
    capacity in proportion. ``inflow``: by day what the loop before sends, in its own future. The
    ranges are those of the water, without a kit's error, and show how a change moves the course;
    compare with the same call on the facts as they are. ``usual``: those, so that what is put in
    against the acid of nitrification goes with the feed. ``leans``: how the forecast that stands
    departs from the balance there; the change then moves that forecast.
    """
    drive = drive_of(facts, horizon, inflow, first=0, usual=usual or facts)
    gear = gear_of(facts)
    middle = _scaled(kept, facts)
    courses = [
        _course(gear, middle, drive.days, member, facts, number)
        for number, member in enumerate(kept.members)
    ]
    days = tuple(float(day) for day in range(horizon + 1))
    wanted = {seen.measurand for seen in facts.observed}
    if {"tan", "ph"} <= wanted:
        wanted.add("nh3")
    names = [name for name in ERRORS if name in wanted]
    seen = {name: [_leant(c[name], (leans or {}).get(name)) for c in courses] for name in names}
    fans = tuple(summary.fan(name, days, _band(seen[name])) for name in names)
    crossings = tuple(
        summary.crossing(
            name, side, level, [summary.first_crossing(c, side, level) for c in seen[name]]
        )
        for name, side, level in facts.limits
        if name in names
    )
    mass, feed, lowest, alk = (
        _band([c[name] for c in courses])[1] for name in ("biomass", "feed", "lowest", "alk")
    )
    outlook = Outlook(
        fans,
        crossings,
        summary.stock(facts, mass, feed, lowest),
        summary.needs(facts, feed, alk, drive.base_g, drive.steering, drive.topped_up_l),
    )
    return Future(outlook, _sends(courses) if facts.flow_out_l_day else ())


def _leant(course: Sequence[float], lean: Sequence[tuple[float, float]] | None) -> list[float]:
    if lean is None:
        return list(course)
    return [max(0.0, value * by + up) for value, (by, up) in zip(course, lean, strict=True)]


def _sends(courses: Sequence[Course]) -> tuple[MakeUp, ...]:
    """Return all that is in the water by day, by the middle of the members."""
    middles = {name: _band([c[name] for c in courses])[1] for name in FLOWING}
    days = zip(*middles.values(), strict=True)
    return tuple(MakeUp(tuple(zip(middles, values, strict=True))) for values in days)


def _scaled(kept: Kept, facts: LoopFacts) -> Params:
    """Return the learnt middle with the filter and the air that the changed facts have."""
    share = 1.0
    if kept.media_area_m2 > 0:
        share = max(0.01, facts.media_area_m2 / kept.media_area_m2)
    middle: Params = kept.middle
    return middle._replace(first=middle.first * share, second=middle.second * share)


def _course(
    gear: Gear, middle: Params, days: Sequence[Day], member: Member, facts: LoopFacts, number: int
) -> Course:
    rng = random.Random(number)  # noqa: S311 - the same wandering with and without the change
    water = member.water._replace(weights=tuple(max(0.1, g.weight_g) for g in facts.fish))
    course: Course = {name: [] for name in (*ERRORS, "biomass", "feed", "lowest")}
    steps = walk(FLOATS, gear, middle, days, water, member.deviations, lambda: rng.gauss(0.0, 1.0))
    for day, params, now in steps:
        for name, value in shown(FLOATS, gear, params, day, now).items():
            course[name].append(value)
        mass = sum(count * weight for count, weight in zip(gear.counts, now.weights, strict=True))
        course["biomass"].append(mass)
        course["feed"].append(now.eaten)
        course["lowest"].append(gases(FLOATS, gear, params, day, now, summary.PEAK).oxygen)
    course["feed"] = [*course["feed"][1:], course["feed"][-1]]
    return course


def _band(courses: Sequence[Sequence[float]]) -> tuple[list[float], list[float], list[float]]:
    ordered = [sorted(day) for day in zip(*courses, strict=True)]
    low, middle, high = (
        [summary.quantile(day, share) for day in ordered]
        for share in (summary.LOW, summary.MIDDLE, summary.HIGH)
    )
    return low, middle, high


def with_holiday(facts: LoopFacts, begin: int, days: int) -> LoopFacts:
    """Return the facts with no feed from day ``begin`` for that many days."""
    away = tuple(Fed(float(day), 0.0) for day in range(begin, begin + days))
    kept = tuple(fed for fed in facts.fed if not begin <= fed.day < begin + days)
    return replace(facts, fed=(*kept, *away))


def minutes_without_pump(
    facts: LoopFacts, do_mg_l: float, temp_c: float, hours: float, *, fed: bool = True
) -> tuple[float, float]:
    """Return (minutes of oxygen without pump and air, oxygen short of ``hours`` in minutes).

    The second is 0 where the water lasts as long. A cautious lower bound, by the fish tank alone.
    References: practice.
    """
    mass = sum(group.count * group.weight_g for group in facts.fish) / 1000
    limit = max((species_named(g.species).oxygen_limit_mg_l for g in facts.fish), default=3.0)
    litres = facts.fish_volume_l or facts.volume_l
    minutes = oxygen.minutes_without_air(do_mg_l, temp_c, mass, litres, limit, fed)
    return minutes, max(0.0, 60.0 * hours - minutes)
