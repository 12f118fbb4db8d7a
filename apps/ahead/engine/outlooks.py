"""The outlook of loops, side by side."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from apps.ahead.engine.arrays import Array
from apps.ahead.engine.forecasting import Course, carried_on, read_off
from apps.ahead.engine.hindcasts import origins, records
from apps.ahead.engine.learning import MEMBERS, Learnt, learn
from apps.ahead.engine.placing import earned_places
from apps.calc.ahead import baselines, earned, summary
from apps.calc.ahead.facts import LoopFacts, MakeUp
from apps.calc.ahead.members import Kept, Member
from apps.calc.ahead.outlook import Crossing, Fan, Outlook
from apps.calc.ahead.priors import ERRORS
from apps.calc.ahead.span import HORIZON
from apps.calc.ahead.step import Water

KEPT_MEMBERS = 24
SIDE_BY_SIDE = 40  # loops whose arrays stay in the processor's cache


@dataclass(frozen=True)
class Forecast:
    """A loop's outlook, what a what-if starts from, the balance alone, and its own record.

    ``own``: measurand -> horizon -> method -> score on the loop's own later readings.
    """

    outlook: Outlook
    kept: Kept
    balance: tuple[Fan, ...]
    own: earned.Records


def outlook(facts: LoopFacts) -> Outlook:
    """Return the forecast of one loop."""
    return forecasts([facts])[0].outlook


def forecasts(
    facts: Sequence[LoopFacts],
    *,
    members: int = MEMBERS,
    seed: int = 1,
    elsewhere: Sequence[earned.Ratios] | None = None,
    inflows: Sequence[Sequence[MakeUp] | None] | None = None,
) -> list[Forecast]:
    """Return the forecast of each loop.

    ``inflows``: for a loop that another one feeds, what comes by day (``drive.inflow_from``).
    ``elsewhere``: for each loop the ratios of errors to 'steady' over others, where they are known
    better than by ``earned.ELSEWHERE`` (``pooling.pooled``).
    """
    found: list[Forecast] = []
    for begin in range(0, len(facts), SIDE_BY_SIDE):
        end = begin + SIDE_BY_SIDE
        others = elsewhere[begin:end] if elsewhere else [earned.ELSEWHERE] * len(facts[begin:end])
        comes = inflows[begin:end] if inflows else None
        found += _together(facts[begin:end], comes, members, seed + begin, others)
    return found


def _together(
    facts: Sequence[LoopFacts],
    inflows: Sequence[Sequence[MakeUp] | None] | None,
    members: int,
    seed: int,
    elsewhere: Sequence[earned.Ratios],
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
        water = _water_bands(course, made, row)
        placed = earned_places(one, made, own[row], elsewhere[row], water)
        found.append(Forecast(placed, _kept(one, learnt, row), made.fans, own[row]))
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


def _water_bands(course: Course, made: Outlook, row: int) -> dict[str, list[baselines.Band]]:
    """Return by measurand the balance's range of the water itself, without a kit's error."""
    shares = (summary.LOW, summary.MIDDLE, summary.HIGH)
    return {
        fan.measurand: [
            (low, middle, high)
            for low, middle, high in np.quantile(
                course.sights[fan.measurand][:, row], shares, axis=1
            ).T.tolist()
        ]
        for fan in made.fans
    }


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
