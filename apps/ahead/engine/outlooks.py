"""The outlook of loops, side by side."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from apps.ahead.engine.arrays import Array
from apps.ahead.engine.forecasting import Course, carried_on, read_off
from apps.ahead.engine.hindcasts import origins, records
from apps.ahead.engine.learning import MEMBERS, Learnt, learn
from apps.calc.ahead import baselines, earned, summary
from apps.calc.ahead.drive import HORIZON
from apps.calc.ahead.facts import LoopFacts, MakeUp
from apps.calc.ahead.members import Kept, Member
from apps.calc.ahead.outlook import Crossing, Fan, Outlook
from apps.calc.ahead.priors import ERRORS
from apps.calc.ahead.scores import Score
from apps.calc.ahead.step import Water

Elsewhere = Mapping[str, Mapping[str, float]] | None
KEPT_MEMBERS = 24
SIDE_BY_SIDE = 40  # loops whose arrays stay in the processor's cache


@dataclass(frozen=True)
class Forecast:
    """A loop's outlook, what a what-if starts from, the balance alone, and its own record.

    ``own``: measurand -> method -> score on the loop's own later readings.
    """

    outlook: Outlook
    kept: Kept
    balance: tuple[Fan, ...]
    own: dict[str, dict[str, Score]]


def outlook(facts: LoopFacts) -> Outlook:
    """Return the forecast of one loop."""
    return forecasts([facts])[0].outlook


def forecasts(
    facts: Sequence[LoopFacts],
    *,
    members: int = MEMBERS,
    seed: int = 1,
    elsewhere: Elsewhere = None,
    inflows: Sequence[Sequence[MakeUp] | None] | None = None,
) -> list[Forecast]:
    """Return the forecast of each loop.

    ``inflows``: for a loop that another one feeds, what comes by day (``drive.inflow_from``).
    ``elsewhere``: measurand -> method -> ratio of errors to 'steady' over other loops, where it is
    known better than by ``earned.ELSEWHERE``.
    """
    found: list[Forecast] = []
    for begin in range(0, len(facts), SIDE_BY_SIDE):
        part = facts[begin : begin + SIDE_BY_SIDE]
        comes = inflows[begin : begin + SIDE_BY_SIDE] if inflows else None
        found += _together(part, comes, members, seed + begin, elsewhere)
    return found


def _together(
    facts: Sequence[LoopFacts],
    inflows: Sequence[Sequence[MakeUp] | None] | None,
    members: int,
    seed: int,
    elsewhere: Elsewhere,
) -> list[Forecast]:
    keep = [origins(one) for one in facts]
    learnt = learn(facts, members=members, seed=seed, keep=keep, inflows=inflows)
    own = records(learnt, seed=seed + 3)
    ahead = [drive.days[-drive.first :] for drive in learnt.drives]
    course = carried_on(
        learnt.gears, learnt.middles, ahead, learnt.water, learnt.deviations, seed=seed + 1
    )
    bands = read_off(course, {name: _steps(facts, name) for name in ERRORS}, seed=seed + 2)
    found = []
    for row, one in enumerate(facts):
        made = _outlook(one, learnt, course, bands, row)
        earned = earned_places(one, made, own[row], elsewhere)
        found.append(Forecast(earned, _kept(one, learnt, row), made.fans, own[row]))
    return found


def _steps(facts: Sequence[LoopFacts], name: str) -> Array:
    """Return by loop how wide the intervals of its readings usually are."""
    found = []
    for one in facts:
        widths = [
            seen.high - seen.low
            for seen in one.observed
            if seen.measurand == name and np.isfinite(seen.high)
        ]
        found.append(float(np.median(widths)) if widths else ERRORS[name].step)
    return np.array(found)


def _outlook(
    facts: LoopFacts, learnt: Learnt, course: Course, bands: dict[str, Array], row: int
) -> Outlook:
    days = tuple(float(day) for day in range(HORIZON + 1))
    wanted = {seen.measurand for seen in facts.observed}
    if {"tan", "ph"} <= wanted:
        wanted.add("nh3")
    fans = tuple(
        summary.fan(name, days, _of(bands[name], row)) for name in ERRORS if name in wanted
    )
    crossings = tuple(
        _crossing(course.sights[name][:, row], name, side, level)
        for name, side, level in facts.limits
        if name in wanted and name in course.sights
    )
    drive = learnt.drives[row]
    mass, feed, lowest, alk = (
        np.median(part[:, row], axis=1).tolist()
        for part in (course.biomass_g, course.feed, course.lowest_oxygen, course.sights["alk"])
    )
    return Outlook(
        fans,
        crossings,
        summary.stock(facts, mass, feed, lowest),
        summary.needs(
            facts,
            feed,
            alk,
            drive.base_g[-drive.first :],
            drive.steering,
            drive.topped_up_l[-drive.first :],
        ),
    )


def earned_places(
    facts: LoopFacts,
    made: Outlook,
    own: Mapping[str, Mapping[str, Score]],
    elsewhere: Elsewhere = None,
) -> Outlook:
    """Return the outlook with each measurand's fan and crossings by what has earned its place."""
    fans, methods = [], {}
    for fan in made.fans:
        record = own.get(fan.measurand, {})
        readings = baselines.recent(facts.observed, fan.measurand)
        bands: dict[str, list[baselines.Band] | None] = {}
        if readings:
            bands["steady"] = baselines.steady(fan.measurand, readings, fan.days)
            bands["trend"] = baselines.trend(fan.measurand, readings, fan.days)
        among = ["balance", *(name for name in ("trend", "steady") if bands.get(name))]
        method = earned.best(fan.measurand, record, elsewhere, among)
        rate, judged = earned.stated(record, method)
        if chosen := bands.get(method):
            low, middle, high = zip(*chosen, strict=True)
            fan = replace(fan, method=method, low=low, middle=middle, high=high)
        methods[fan.measurand] = method
        fans.append(replace(fan, hit_rate=rate, judged=judged))
    crossings = tuple(
        one
        if methods[one.measurand] == "balance"
        else baselines.crossing(
            methods[one.measurand], one.side, one.level,
            baselines.recent(facts.observed, one.measurand), HORIZON,
        )
        for one in made.crossings
    )  # fmt: skip
    return replace(made, fans=tuple(fans), crossings=crossings)


def _of(bands: Array, row: int) -> summary.Band:
    low, middle, high = bands[:, :, row].tolist()
    return low, middle, high


def _crossing(values: Array, name: str, side: str, level: float) -> Crossing:
    """Return the crossing from the dates of all members: ``values`` by day and member."""
    dates = [summary.first_crossing(one, side, level) for one in values.T.tolist()]
    return summary.crossing(name, side, level, dates)


def _kept(facts: LoopFacts, learnt: Learnt, row: int) -> Kept:
    count = learnt.water.tan.shape[1]
    places = np.linspace(0, count - 1, min(KEPT_MEMBERS, count)).astype(int)
    members = []
    for place in places:
        parts = {
            name: float(value[row, place])
            for name, value in learnt.water._asdict().items()
            if name != "weights"
        }
        weights = tuple(float(group.weight_g) for group in facts.fish)
        away = tuple(float(part[row, place]) for part in learnt.deviations)
        members.append(Member(away, Water(**parts, weights=weights)))
    return Kept(learnt.middles[row], facts.media_area_m2, tuple(members))
