"""What was read today put over what was known before: the same on the server and the telephone."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from apps.calc.advice.situation import Germination, Loop, Reading, Situation


@dataclass(frozen=True)
class Taken:
    """A reading of the sheet that is worked on, in base units.

    ``age_h``: hours since it was taken; ``after``: taken after the work; ``hour``: local hour.
    """

    loop: str
    measurand: str
    value: float
    age_h: float = 0.0
    trusted: bool = True
    after: bool = False
    hour: float | None = None
    method: str = ""
    doubt: str = ""
    id: str = ""


def with_readings(known: Situation, taken: Sequence[Taken], elapsed_h: float = 0.0) -> Situation:
    """Return the situation with today's readings; what was read last after the work counts.

    ``known`` holds earlier readings alone; ``elapsed_h``: hours since it was put together.
    """
    loops = tuple(
        _loop(loop, [one for one in taken if one.loop == loop.id], elapsed_h)
        for loop in known.loops
    )
    out = [one.value for one in taken if one.measurand == "outage" and one.value > 0]
    return replace(
        known,
        loops=loops,
        outage_minutes=max(out) if out else known.outage_minutes,
        germination=(*known.germination, *_came_up(known, taken)),
    )


def _came_up(known: Situation, taken: Sequence[Taken]) -> list[Germination]:
    """Return today's seedling counts, each taken as of the crop sown last in its loop."""
    return [
        Germination(loop.sown_crop, one.value)
        for loop in known.loops
        for one in taken
        if one.loop == loop.id and one.measurand == "germination" and one.trusted and loop.sown_crop
    ]


def _loop(loop: Loop, taken: Sequence[Taken], elapsed_h: float) -> Loop:
    readings = {
        code: replace(reading, age_h=reading.age_h + elapsed_h)
        for code, reading in loop.readings.items()
    }
    for one in sorted(taken, key=lambda one: (one.after, -one.age_h)):
        readings[one.measurand] = Reading(
            one.value, one.age_h, one.trusted, one.hour, one.method, one.doubt, one.id
        )
    feed, flow, fed = readings.get("feed"), readings.get("flow"), readings.get("fed_ago")
    if flow is not None and loop.pump_l_h:
        readings["flow_pct"] = replace(flow, value=100 * flow.value * 60 / loop.pump_l_h)
    return replace(
        loop,
        readings={code: reading for code, reading in readings.items() if code != "feed"},
        second={**loop.second, **_second(taken)},
        feed_g_day=feed.value if feed is not None else loop.feed_g_day,
        fed_hours_ago=fed.value + fed.age_h if fed is not None else loop.fed_hours_ago,
        ph_swing=_swing(loop, taken),
    )


def _swing(loop: Loop, taken: Sequence[Taken]) -> float | None:
    """Return the widest pH span by one method within a day, of today and of earlier days."""
    spans = [loop.ph_swing] if loop.ph_swing is not None else []
    by_method: dict[str, list[float]] = {}
    for one in taken:
        if one.measurand == "ph" and one.trusted and not one.after:
            by_method[one.method] = [*by_method.get(one.method, []), one.value]
    spans += [max(values) - min(values) for values in by_method.values() if len(values) > 1]
    return max(spans) if spans else None


def _second(taken: Sequence[Taken]) -> Mapping[str, float]:
    """Return the reading by a second method, of what was read by two before the work."""
    found: dict[str, dict[str, float]] = {}
    for one in taken:
        if one.trusted and not one.after:
            if one.measurand not in found:
                found[one.measurand] = {}
            found[one.measurand][one.method] = one.value
    return {code: list(values.values())[1] for code, values in found.items() if len(values) > 1}
