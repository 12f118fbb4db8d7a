"""An outlook whose fans and crossings are those of the forecasts that have earned their place."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from apps.calc.ahead import baselines, earned, summary
from apps.calc.ahead.facts import LoopFacts, Observed
from apps.calc.ahead.outlook import Crossing, Fan, Outlook
from apps.calc.ahead.span import HORIZON

Bands = dict[str, Sequence[baselines.Band]]  # by method, a band a day


def earned_places(
    facts: LoopFacts,
    made: Outlook,
    own: earned.Records,
    elsewhere: earned.Ratios | None,
    water: Mapping[str, Sequence[baselines.Band]],
) -> Outlook:
    """Return the balance's outlook with what has earned its place at each horizon instead.

    ``water``: measurand -> the balance's range of the water by day, without a kit's error.
    """
    fans, chosen = [], {}
    for fan in made.fans:
        readings = baselines.recent(facts.observed, fan.measurand)
        bands = _bands(fan, readings)
        record = own.get(fan.measurand, {})
        choice = earned.best(fan.measurand, record, elsewhere, tuple(bands))
        chosen[fan.measurand] = choice
        rate, judged = earned.stated(record, choice)
        fans.append(replace(_placed(fan, choice, bands), hit_rate=rate, judged=judged))
    crossings = tuple(
        _crossing(one, chosen[one.measurand], facts, water[one.measurand]) for one in made.crossings
    )
    return replace(made, fans=tuple(fans), crossings=crossings)


def _bands(fan: Fan, readings: Sequence[Observed], *, of_water: bool = False) -> Bands:
    """Return the band of each method that says anything here, the balance's first."""
    found: Bands = {"balance": list(zip(fan.low, fan.middle, fan.high, strict=True))}
    if readings:
        trend = baselines.trend(fan.measurand, readings, fan.days, of_water=of_water)
        if trend:
            found["trend"] = trend
        found["steady"] = baselines.steady(fan.measurand, readings, fan.days, of_water=of_water)
    return found


def _placed(fan: Fan, choice: earned.Choice, bands: Bands) -> Fan:
    low, middle, high = zip(*earned.blended(choice, fan.days, bands), strict=True)
    turns = earned.turns_of(choice)
    return replace(
        fan, method=earned.main_of(choice), low=low, middle=middle, high=high,
        turns=turns if len(turns) > 1 else (),
    )  # fmt: skip


def _crossing(
    one: Crossing,
    choice: earned.Choice,
    facts: LoopFacts,
    water: Sequence[baselines.Band],
) -> Crossing:
    """Return the crossing by what is chosen: where that turns, by the range of the blended water."""
    if set(choice) == {"balance"}:
        return one
    readings = baselines.recent(facts.observed, one.measurand)
    if len(set(choice)) == 1:
        return baselines.crossing(choice[0], one.side, one.level, readings, HORIZON)
    days = tuple(float(day) for day in range(HORIZON + 1))
    fan = summary.fan(one.measurand, days, tuple(zip(*water, strict=True)))  # type: ignore[arg-type]
    band = earned.blended(choice, days, _bands(fan, readings, of_water=True))
    return baselines.passing(one.measurand, one.side, one.level, band)
