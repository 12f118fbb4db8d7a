"""Is what was typed what was measured? Slips of unit, decimal point and basis, and odd jumps.

A doubt never changes a value: it names what is odd and, where it can, what was perhaps meant.
Blocking doubts leave the reading untrusted until it is measured or typed again; the others are
settled by looking a second time.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

from apps.calc import carbonate, oxygen, units
from apps.calc.quantities import MEASURANDS, Quantity


@dataclass(frozen=True)
class Doubt:
    """One doubt: its code, what its sentence needs, a suggested value in base units, its weight."""

    code: str
    params: Mapping[str, float | str] = field(default_factory=dict)
    suggestion: float | None = None
    blocking: bool = False


# unit typed -> base unit; the first of each measurand is the base
CONVERSIONS: dict[str, dict[str, Callable[[float], float]]] = {
    "temp": {"°C": float, "C": float, "°F": units.celsius, "F": units.celsius},
    "air_t": {"°C": float, "C": float, "°F": units.celsius, "F": units.celsius},
    "alk": {"mg/L CaCO3": float, "mg/L": float, "dKH": units.alkalinity_from_dkh,
            "meq/L": units.alkalinity_from_meq},
    "gh": {"mg/L CaCO3": float, "mg/L": float, "dGH": units.alkalinity_from_dkh,
           "meq/L": units.alkalinity_from_meq},
    "ec": {"mS/cm": float, "uS/cm": lambda v: v / 1000, "µS/cm": lambda v: v / 1000,
           "ppm500": lambda v: v / 500, "ppm640": lambda v: v / 640, "ppm700": lambda v: v / 700},
    "mort": {"fish": float, "": float},
    "level": {"mm": float, "cm": lambda v: v * 10, "in": lambda v: v * 25.4},
    "flow": {"L/min": float, "L/h": lambda v: v / 60},
    "topup": {"L/day": float, "L": float,
              "US gal/day": lambda v: v * units.LITRES_PER_US_GALLON},
    "feed": {"g/day": float, "g": float, "oz/day": lambda v: v * units.GRAMS_PER_OUNCE},
    "bw": {"g": float, "kg": lambda v: v * 1000, "oz": lambda v: v * units.GRAMS_PER_OUNCE},
}  # fmt: skip
# what "ion" means for each kit: the ion it prints, as a share of its nitrogen or phosphorus
ION_SHARE: dict[str, float] = {
    "tan": units.NITROGEN_SHARE["nh4"],
    "no2": units.NITROGEN_SHARE["no2"],
    "no3": units.NITROGEN_SHARE["no3"],
    "po4": units.ELEMENT_SHARE["po4"],
}
# The spread of honest readings; a step beyond four of it is asked about.
_SPREAD: dict[str, float] = {
    "temp": 2.5, "ph": 0.25, "alk": 20, "gh": 30, "tan": 0.3, "no2": 0.15, "no3": 15, "k": 25,
    "ca": 20, "mg": 8, "fe": 0.6, "ec": 0.25, "do": 1.2, "na": 20, "cl": 25,
}  # fmt: skip
CO2_LOW, CO2_HIGH = 0.3, 60.0
OVERSATURATION_HARD, OVERSATURATION_ASK = 1.6, 1.3
DROPS_BLIND_BELOW = 6.0


def to_base(
    measurand: str,
    value: float,
    unit: str = "",
    basis: str | None = None,
    *,
    temp_c: float | None = None,
    altitude_m: float = 0.0,
) -> float:
    """Return ``value`` in the measurand's base unit and basis (nitrogen, phosphorus).

    ``unit``: one that the measurand knows, empty for its base; ``basis``: n or ion, for tan, no2,
    no3 and po4. Oxygen in percent of saturation needs ``temp_c`` and ``altitude_m``.
    Errors: ValueError for an unknown unit or basis, and for percent without a temperature. Source: molar masses.

    >>> round(to_base("no3", 100, "mg/L", "ion"), 2)
    22.59
    >>> to_base("ec", 850, "uS/cm")
    0.85
    """
    if measurand == "do" and unit == "%":
        if temp_c is None:
            message = "oxygen in percent needs the water's temperature"
            raise ValueError(message)
        return oxygen_from_percent(value, temp_c, altitude_m)
    base = _convert(measurand, value, unit)
    if basis in (None, "", "n"):
        return base
    if basis != "ion" or measurand not in ION_SHARE:
        message = f"basis must be n or ion for a nitrogen kit, not {basis} for {measurand}"
        raise ValueError(message)
    return base * ION_SHARE[measurand]


def _convert(measurand: str, value: float, unit: str) -> float:
    table = CONVERSIONS.get(measurand, {})
    if unit in table:
        return table[unit](value)
    known = MEASURANDS.get(measurand)
    if not unit or (not table and (known is None or unit in (known.unit, known.unit[:4], "mg/L"))):
        return float(value)
    allowed = ", ".join(table) or (known.unit if known else "")
    message = f"unit of {measurand} must be one of {allowed}, not {unit}"
    raise ValueError(message)


def oxygen_from_percent(percent: float, temp_c: float, altitude_m: float = 0.0) -> float:
    """Return oxygen [mg/L] from percent of saturation. Range and references: oxygen."""
    return percent / 100 * oxygen.saturation_mg_l(temp_c, altitude_m)


def check(
    measurand: str,
    value: float,
    unit: str = "",
    *,
    last: float | None = None,
    others: Mapping[str, float] | None = None,
    basis: str | None = None,
    limits: Quantity | None = None,
    method: str = "",
    kit_expired: bool = False,
    meter_failed: bool = False,
) -> list[Doubt]:
    """Return the doubts about a typed value, the weightiest first; none when it is plausible.

    ``last`` (the last trusted reading) and ``others`` (readings of the same hour, and altitude_m)
    are in base units. ``limits`` are the firm's own ranges, else the defaults stand.
    """
    around = others or {}
    if not math.isfinite(value):
        return [Doubt("not_a_number", {}, None, True)]
    try:
        base = to_base(
            measurand, value, unit, basis, temp_c=around.get("temp"),
            altitude_m=around.get("altitude_m", 0.0),
        )  # fmt: skip
    except ValueError:
        code = "needs_temperature" if (measurand, unit) == ("do", "%") else "unknown_unit"
        return [Doubt(code, {"unit": unit}, None, True)]
    about = _Entry(
        measurand,
        value,
        unit,
        base,
        last,
        around,
        basis or "n",
        limits or MEASURANDS.get(measurand),
        method,
    )
    doubts = [found for ask in _CHECKS for found in ask(about)]
    if kit_expired:
        doubts.append(Doubt("kit_expired", {}, None, True))
    if meter_failed:
        doubts.append(Doubt("meter_failed", {}, None, True))
    return sorted(doubts, key=lambda doubt: not doubt.blocking)


def is_trusted(doubts: Sequence[Doubt], checked_twice: bool = False) -> bool:
    """Tell whether a reading with these doubts may lead to a dose.

    With a blocking doubt never; with a likely slip (something else was suggested) only when it was
    looked at twice. A value that is merely unusual counts: an emergency looks unusual.
    """
    slip = any(doubt.suggestion is not None for doubt in doubts)
    return not any(doubt.blocking for doubt in doubts) and (checked_twice or not slip)


@dataclass(frozen=True)
class _Entry:
    measurand: str
    value: float
    unit: str
    base: float
    last: float | None
    others: Mapping[str, float]
    basis: str
    limits: Quantity | None
    method: str

    @property
    def refused(self) -> bool:
        return self.limits is not None and not self.limits.holds(self.base)

    @property
    def odd(self) -> bool:
        return self.limits is not None and self.limits.asks_again(self.base)

    def usual(self, candidate: float) -> bool:
        """The candidate lies in the usual range, and nearer to the last reading if there is one."""
        known = self.limits
        if known is None or not known.holds(candidate) or known.asks_again(candidate):
            return False
        if self.last is None:
            return True
        return abs(candidate - self.last) < abs(self.base - self.last)


def _hard_range(entry: _Entry) -> list[Doubt]:
    if not entry.refused or entry.limits is None:
        return []
    low, high = entry.limits.low, entry.limits.high
    params: dict[str, float | str] = {"value": entry.value, "low": low, "high": high}
    return [Doubt("outside_range", params, _meant(entry), True)]


def _meant(entry: _Entry) -> float | None:
    """Return what was perhaps meant by a refused value."""
    for guess in (_other_unit(entry), entry.base / 10, entry.base / 100):
        if guess is not None and entry.limits and entry.limits.holds(guess) and guess > 0:
            return guess
    return None


def _other_unit(entry: _Entry) -> float | None:
    if entry.measurand in ("temp", "air_t") and entry.unit in ("", "°C", "C"):
        return units.celsius(entry.value)
    if entry.measurand == "ec":
        return entry.base / 1000 if entry.base > 10 else entry.base * 1000
    if entry.measurand == "do" and "temp" in entry.others and entry.value <= 250:
        return _percent_typed(entry)
    return None


def _percent_typed(entry: _Entry) -> float:
    altitude = entry.others.get("altitude_m", 0.0)
    return oxygen_from_percent(entry.value, entry.others["temp"], altitude)


def _ask_again(entry: _Entry) -> list[Doubt]:
    if entry.refused or not entry.odd or entry.limits is None:
        return []
    return [Doubt("unusual", {"value": entry.value}, None, False)]


def _fahrenheit(entry: _Entry) -> list[Doubt]:
    if entry.refused or entry.measurand != "temp" or entry.unit not in ("", "°C", "C"):
        return []
    guess = units.celsius(entry.value)
    slipped = entry.odd and entry.last is not None and abs(guess - entry.last) < 4
    return [Doubt("fahrenheit", {"value": entry.value}, guess)] if slipped else []


def _degrees_of_hardness(entry: _Entry) -> list[Doubt]:
    if entry.measurand not in ("alk", "gh") or entry.unit not in ("", "mg/L", "mg/L CaCO3"):
        return []
    guess = units.alkalinity_from_dkh(entry.value)
    slipped = 0 < entry.value <= 20 and entry.usual(guess)
    params: dict[str, float | str] = {"value": entry.value, "mg_l": round(guess)}
    return [Doubt("degrees_of_hardness", params, guess)] if slipped else []


def _ion(entry: _Entry) -> list[Doubt]:
    share = ION_SHARE.get(entry.measurand)
    if share is None or entry.basis == "ion" or entry.refused:
        return []
    guess = entry.base * share
    near = entry.last is not None and entry.last > 0 and 0.8 < guess / entry.last < 1.25
    far = entry.last is not None and entry.base > 2 * entry.last
    slipped = near and far
    return [Doubt("ion_for_nitrogen", {"value": entry.value}, guess)] if slipped else []


def _dissolved_solids_scale(entry: _Entry) -> list[Doubt]:
    if entry.measurand != "ec" or entry.last is None or not entry.unit.startswith("ppm"):
        return []
    scales = {"ppm500": 500, "ppm640": 640, "ppm700": 700}
    others = [s for s in scales.values() if s != scales.get(entry.unit)]
    best = min((entry.value / s for s in others), key=lambda ec: abs(ec - (entry.last or 0)))
    slipped = abs(entry.base - entry.last) > 0.2 * entry.last > 4 * abs(best - entry.last)
    return [Doubt("solids_scale", {"unit": entry.unit}, best)] if slipped else []


def _oversaturated(entry: _Entry) -> list[Doubt]:
    if entry.measurand != "do" or "temp" not in entry.others or entry.refused:
        return []
    altitude = entry.others.get("altitude_m", 0.0)
    share = entry.base / oxygen.saturation_mg_l(entry.others["temp"], altitude)
    params: dict[str, float | str] = {"percent": round(100 * share)}
    if share > OVERSATURATION_HARD:
        return [Doubt("oversaturated", params, _percent_typed(entry), True)]
    return [Doubt("oversaturated", params)] if share > OVERSATURATION_ASK else []


def _carbon_dioxide(entry: _Entry) -> list[Doubt]:
    both = {**entry.others, entry.measurand: entry.base}
    if entry.measurand not in ("ph", "alk") or entry.refused or not {"ph", "alk"} <= both.keys():
        return []
    co2 = carbonate.co2_mg_l(both["alk"], both["ph"], both.get("temp", 20.0))
    odd = not CO2_LOW <= co2 <= CO2_HIGH and both["alk"] > 0
    return [Doubt("ph_and_alkalinity", {"co2": round(co2, 1)})] if odd else []


def _jump(entry: _Entry) -> list[Doubt]:
    spread = _SPREAD.get(entry.measurand)
    if spread is None or entry.last is None or entry.refused:
        return []
    jumped = abs(entry.base - entry.last) > 4 * spread
    return [Doubt("jump", {"value": entry.base, "last": entry.last})] if jumped else []


def _drops(entry: _Entry) -> list[Doubt]:
    blind = entry.measurand == "ph" and entry.method == "drops" and entry.base <= DROPS_BLIND_BELOW
    return [Doubt("drops_blind", {"below": DROPS_BLIND_BELOW})] if blind else []


_CHECKS: tuple[Callable[[_Entry], list[Doubt]], ...] = (
    _hard_range,
    _fahrenheit,
    _degrees_of_hardness,
    _ion,
    _dissolved_solids_scale,
    _oversaturated,
    _carbon_dioxide,
    _jump,
    _drops,
    _ask_again,
)
