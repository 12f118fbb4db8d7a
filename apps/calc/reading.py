"""From what was typed to what was read: base unit, doubts, band, word.

The server and the telephone look at a sheet with this one function, so that they say the same.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from apps.calc import plausibility
from apps.calc.judgement import (
    IN_BAND,
    MEASURE_AGAIN,
    Band,
    LoopContext,
    judge,
    judge_ammonia,
    pick_context,
)
from apps.calc.plausibility import Doubt
from apps.calc.quantities import MEASURANDS, Quantity

UNIT_NAMES = {
    "c": "°C", "degc": "°C", "deg_c": "°C", "celsius": "°C", "f": "°F", "degf": "°F",
    "mg/l": "mg/L", "mg_l": "mg/L", "ppm": "mg/L", "mg/l n": "mg/L", "mg/l caco3": "mg/L CaCO3",
    "mg_l_caco3": "mg/L CaCO3", "mg/l as caco3": "mg/L CaCO3", "ms/cm": "mS/cm", "us/cm": "uS/cm",
    "µs/cm": "uS/cm", "ph": "", "-": "", "1": "", "none": "", "l/min": "L/min", "l/h": "L/h",
    "percent": "%", "dkh": "dKH", "dgh": "dGH", "meq/l": "meq/L", "g/d": "g/day",
}  # fmt: skip
# what a reading may be refused for
UNKNOWN_UNIT, NEEDS_TEMPERATURE = "unknown_unit", "needs_temperature"
OUTSIDE_RANGE, NOT_A_NUMBER = "outside_range", "not_a_number"


@dataclass(frozen=True)
class Typed:
    """One reading as it was typed: ``value`` in ``unit`` and ``basis`` (n, ion or empty)."""

    key: str
    loop: str
    measurand: str
    value: float
    unit: str = ""
    basis: str = ""
    method: str = ""
    checked_twice: bool = False


@dataclass(frozen=True)
class Ground:
    """What the readings of one system are held against.

    ``contexts`` by loop; ``bands`` by (measurand, context); ``limits``: the firm's ranges by
    measurand; ``last``: the last trusted value by (loop, measurand), base units.
    """

    contexts: Mapping[str, LoopContext]
    bands: Mapping[tuple[str, str], Band]
    limits: Mapping[str, Quantity]
    last: Mapping[tuple[str, str], float]
    altitude_m: float = 0.0


@dataclass(frozen=True)
class Seen:
    """What a typed reading says. ``value`` in the base unit; ``refused``: why it cannot be."""

    key: str
    loop: str
    measurand: str
    value: float
    doubts: tuple[Doubt, ...] = ()
    trusted: bool = True
    word: str = IN_BAND
    band: Band | None = None
    refused: str = ""


def unit_name(unit: str) -> str:
    """Return the usual spelling of a unit.

    >>> unit_name("degC")
    '°C'
    """
    return UNIT_NAMES.get(unit.strip().lower(), unit.strip())


def look(typed: Sequence[Typed], ground: Ground) -> list[Seen]:
    """Return what each typed reading of a sheet says, in their order.

    A reading that is refused for itself is not used to doubt or to judge its neighbours.
    """
    found = [_in_base(one) for one in typed]
    others = _others(typed, found, ground)
    looked = [
        _doubted(one, seen, others.get(one.loop, {}), ground)
        for one, seen in zip(typed, found, strict=True)
    ]
    return words_of(looked, ground)


def words_of(seen: Sequence[Seen], ground: Ground) -> list[Seen]:
    """Return readings with their band and word; ammonia by the stricter of its two parts."""
    values = {
        (one.loop, one.measurand): one.value for one in seen if one.trusted and not one.refused
    }
    return [_judged(one, values, ground) for one in seen]


def _seen(typed: Typed, value: float, refused: str = "") -> Seen:
    return Seen(
        typed.key, typed.loop, typed.measurand, value, trusted=not refused, refused=refused
    )  # fmt: skip


def _is_percent(typed: Typed) -> bool:
    return typed.measurand == "do" and typed.unit == "%"


def _in_base(typed: Typed) -> Seen:
    if _is_percent(typed):
        return _seen(typed, typed.value)
    try:
        base = plausibility.to_base(typed.measurand, typed.value, typed.unit, typed.basis or None)
    except ValueError:
        return _seen(typed, typed.value, UNKNOWN_UNIT)
    return _seen(typed, base)


def _others(
    typed: Sequence[Typed], found: Sequence[Seen], ground: Ground
) -> dict[str, dict[str, float]]:
    others: dict[str, dict[str, float]] = {}
    for one, seen in zip(typed, found, strict=True):
        known = MEASURANDS.get(one.measurand)
        if one.unit == "%" or seen.refused or (known is not None and not known.holds(seen.value)):
            continue
        if one.loop not in others:
            others[one.loop] = {"altitude_m": ground.altitude_m}
        others[one.loop][one.measurand] = seen.value
    return others


def _doubted(typed: Typed, seen: Seen, others: Mapping[str, float], ground: Ground) -> Seen:
    if seen.refused:
        return seen
    value = seen.value
    if _is_percent(typed):
        if "temp" not in others:
            return _seen(typed, value, NEEDS_TEMPERATURE)
        value = plausibility.oxygen_from_percent(value, others["temp"], ground.altitude_m)
    doubts = plausibility.check(
        typed.measurand,
        value,
        "",
        last=ground.last.get((typed.loop, typed.measurand)),
        others={name: other for name, other in others.items() if name != typed.measurand},
        limits=ground.limits.get(typed.measurand),
        method=typed.method,
    )
    if typed.basis == "ion":
        # the sender has said that the kit prints the ion; the value is converted already
        doubts = [doubt for doubt in doubts if doubt.code != "ion_for_nitrogen"]
    codes = [doubt.code for doubt in doubts]
    refused = next((code for code in (OUTSIDE_RANGE, NOT_A_NUMBER) if code in codes), "")
    trusted = not refused and plausibility.is_trusted(doubts, typed.checked_twice)
    return Seen(
        typed.key, typed.loop, typed.measurand, value, tuple(doubts), trusted, refused=refused
    )  # fmt: skip


def band_of(ground: Ground, loop: str, measurand: str) -> Band | None:
    """Return the band of a measurand in a loop; None where nothing is judged."""
    context = ground.contexts.get(loop)
    name = pick_context(measurand, context) if context is not None else ""
    return ground.bands.get((measurand, name)) if name else None


def _judged(seen: Seen, values: Mapping[tuple[str, str], float], ground: Ground) -> Seen:
    band = band_of(ground, seen.loop, seen.measurand)
    if not seen.trusted:
        word = MEASURE_AGAIN
    elif band is None:
        word = IN_BAND
    elif seen.measurand == "tan":
        word = judge_ammonia(
            seen.value,
            band,
            band_of(ground, seen.loop, "nh3"),
            values.get((seen.loop, "ph")),
            values.get((seen.loop, "temp")),
        )
    else:
        word = judge(seen.value, band)
    return Seen(
        seen.key, seen.loop, seen.measurand, seen.value, seen.doubts, seen.trusted, word, band,
        seen.refused,
    )  # fmt: skip
