"""Values in the units of whoever reads them: stored in SI or a catalogue's base unit, always.

Whose units they are is switched on around what is drawn for them (`reading_in`), as their language
is. Chemistry stays: mg/L, pH and mS/cm are what kits and meters print there, too. Factors: exact
by definition, NIST Special Publication 811 (2008), appendix B.8.
"""

import math
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal

from django.utils.translation import gettext

from apps.calc.units import (
    GRAMS_PER_OUNCE,
    GRAMS_PER_POUND,
    LITRES_PER_US_GALLON,
    METRES_PER_FOOT,
    celsius,
    fahrenheit,
)
from apps.calc.us_sentences import IN_US
from apps.core.numbers import format_figure, format_plain, round_half_up, to_decimal, with_unit

METRIC, US = "metric", "us"
ML_PER_US_FLUID_OUNCE = LITRES_PER_US_GALLON * 1000 / 128
MM_PER_INCH = METRES_PER_FOOT * 1000 / 12
# figures of a value that is said without its decimals (own choice)
LEAST_FIGURES = 3
MOST_DECIMALS = 6
# digits that are tried beyond the usual ones where rounding would contradict a band
MORE_DIGITS = 3
_POUND_KG = GRAMS_PER_POUND / 1000
_SQUARE_FOOT = METRES_PER_FOOT**2

_UNITS: ContextVar[str] = ContextVar("units", default=METRIC)


@dataclass(frozen=True)
class Shift:
    """From a stored unit to a shown one: its name, how many stored ones it holds."""

    name: str
    per: float

    @property
    def digits(self) -> int:
        """How many more decimals say as much as before."""
        return round(math.log10(self.per))

    def shown(self, value: float) -> float:
        """Return a stored value in the shown unit."""
        return fahrenheit(value) if self.name == "°F" else value / self.per

    def stored(self, value: float) -> float:
        """Return what was typed in the shown unit as it is stored."""
        return celsius(value) if self.name == "°F" else value * self.per


_SHIFTS: dict[str, Shift] = {
    "°C": Shift("°F", 1 / 1.8),
    "L": Shift("US gal", LITRES_PER_US_GALLON),
    "L/h": Shift("US gal/h", LITRES_PER_US_GALLON),
    "L/min": Shift("US gal/min", LITRES_PER_US_GALLON),
    "L/day": Shift("US gal/day", LITRES_PER_US_GALLON),
    "mL": Shift("US fl oz", ML_PER_US_FLUID_OUNCE),
    "g": Shift("oz", GRAMS_PER_OUNCE),
    "g/day": Shift("oz/day", GRAMS_PER_OUNCE),
    "kg": Shift("lb", _POUND_KG),
    "kg/m³": Shift("lb per 100 US gal", _POUND_KG / (LITRES_PER_US_GALLON / 10)),
    "kg/m²": Shift("lb/sq ft", _POUND_KG / _SQUARE_FOOT),
    "m²": Shift("sq ft", _SQUARE_FOOT),
    "m": Shift("ft", METRES_PER_FOOT),
    "cm": Shift("in", MM_PER_INCH / 10),
    "mm": Shift("in", MM_PER_INCH),
}
# what is weighed out is said in steps that a kitchen scale shows, and in grams alone where the
# step would take more than a tenth away (own choice)
STEP, LEAST_OUNCES = Decimal("0.05"), 0.5
# from a pound on, and below it
_HEAVY = Shift("lb", GRAMS_PER_POUND)
_LIGHT = Shift("oz", GRAMS_PER_OUNCE / 1000)
# what units are called that a reader may choose instead of the stored ones
NAMES = tuple(dict.fromkeys(shift.name for shift in _SHIFTS.values()))


@contextmanager
def reading_in(units: str) -> Iterator[None]:
    """Show values in a reader's units: `metric` or `us`."""
    token = _UNITS.set(units)
    try:
        yield
    finally:
        _UNITS.reset(token)


def read_in(units: str) -> None:
    """Show values in these units until the `reading_in` around it ends."""
    _UNITS.set(units)


def sentence(msgid: str) -> str:
    """Return a fixed sentence in the active language, with the reader's units where it has figures."""
    return gettext(IN_US.get(msgid, msgid) if _UNITS.get() == US else msgid)


def shift_of(unit: str, value: float | None = None) -> Shift | None:
    """Return how a stored unit is shown to the reader; None where it stays.

    `value`: of what size; grams become pounds from a pound on, kilograms ounces below one.
    """
    if _UNITS.get() != US:
        return None
    size = abs(value) if value is not None else None
    if unit == "g" and size is not None and size >= GRAMS_PER_POUND:
        return _HEAVY
    if unit == "kg" and size is not None and 0 < size < _POUND_KG:
        return _LIGHT
    return _SHIFTS.get(unit)


def measured(value: float, unit: str, decimals: int, locale: str | None = None) -> str:
    """Return a stored value with the reader's unit, about as exact as `decimals` of the stored one.

    >>> with reading_in("us"):
    ...     measured(1450, "L", 0), measured(250, "g", 0), measured(8, "m²", 1)
    ('383.0\\xa0US gal', '8.8\\xa0oz', '86\\xa0sq ft')
    """
    shift = shift_of(unit, value)
    if shift is None:
        return with_unit(format_figure(value, decimals, locale), unit)
    shown, digits = shift.shown(value), max(0, decimals + shift.digits)
    while value and digits < MOST_DECIMALS and not round_half_up(shown, digits):
        digits += 1
    return with_unit(format_figure(shown, digits, locale), shift.name)


def measured_plain(value: float, unit: str, locale: str | None = None) -> str:
    """Return a value with the reader's unit and no more decimals than it has; converted, to 3 figures.

    Less than a kilogram is said in grams; they stand beside less than half an ounce.

    >>> measured_plain(0.75, "m"), measured_plain(0.005, "kg")
    ('0.75\\xa0m', '5\\xa0g')
    >>> with reading_in("us"):
    ...     measured_plain(0.75, "m"), measured_plain(1450, "L"), measured_plain(22.5, "°C")
    ('2.46\\xa0ft', '383\\xa0US gal', '72.5\\xa0°F')
    """
    shift = shift_of(unit, value)
    if unit == "kg" and 0 < abs(value) < 1:
        value, unit = value * 1000, "g"
    exact = with_unit(format_plain(value, locale), unit)
    if shift is None:
        return exact
    shift = shift_of(unit, value) or shift
    said = with_unit(format_plain(_to_figures(shift.shown(value)), locale), shift.name)
    small = shift.name == _LIGHT.name and 0 < shift.shown(value) < LEAST_OUNCES
    return f"{said} ({exact})" if small else said


def _to_figures(value: float) -> Decimal:
    before = math.floor(math.log10(abs(value))) + 1 if value else 1
    return round_half_up(value, min(MOST_DECIMALS, max(0, LEAST_FIGURES - before)))


def weighed(value: float, unit: str, decimals: int, *, within: bool = False) -> str:
    """Return an amount that is weighed out: in another unit never more, the exact one beside it.

    The other unit comes in steps of STEP; what is too little for them stays in the stored unit.

    `within`: it stands in brackets already.

    >>> weighed(25, "g", 0)
    '25\\xa0g'
    >>> with reading_in("us"):
    ...     weighed(25, "g", 0), weighed(1000, "g", 0), weighed(1.5, "g", 2)
    ('0.85\\xa0oz (25\\xa0g)', '2.2\\xa0lb (1,000\\xa0g)', '1.50\\xa0g')
    """
    exact = with_unit(format_figure(value, decimals), unit)
    shift = shift_of(unit, value)
    if shift is None or not value:
        return exact
    # of what the exact one says, so that the two never differ by more than their own rounding
    shown = to_decimal(shift.shown(float(round_half_up(value, decimals))))
    if shown < to_decimal(LEAST_OUNCES):
        return exact
    said = with_unit(format_plain(shown // STEP * STEP), shift.name)
    return f"{said}, {exact}" if within else f"{said} ({exact})"


def digits_beside(
    value: float, decimals: int, low: float | None, high: float | None, shift: Shift | None
) -> int:
    """Return with how many decimals a value is printed so that it lies where it does.

    `value`, `low`, `high` are as stored. What lies in its band never prints outside of it, nor what
    lies outside in it, the bounds being printed as `bound` has them.
    """
    first = max(0, decimals + (shift.digits if shift else 0))
    shown = shift.shown(value) if shift else value
    for digits in range(first, min(first + MORE_DIGITS, MOST_DECIMALS) + 1):
        printed = round_half_up(shown, digits)
        least, most = bound(low, shift, digits, up=False), bound(high, shift, digits, up=True)
        below = least is not None and printed < to_decimal(least)
        above = most is not None and printed > to_decimal(most)
        if below == (low is not None and value < low) and above == (
            high is not None and value > high
        ):
            return digits
    return first


def bound(value: float | None, shift: Shift | None, digits: int, *, up: bool) -> float | None:
    """Return a bound as it is printed: converted, it is rounded away from the band's middle."""
    if value is None or shift is None:
        return value
    # a bound of few decimals is exact in the other unit but for the float's last digits
    exact = round_half_up(shift.shown(value), 9)
    rounding = ROUND_CEILING if up else ROUND_FLOOR
    return float(exact.quantize(Decimal(1).scaleb(-digits), rounding=rounding))
