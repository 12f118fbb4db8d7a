"""The one way in which a number becomes text: half-up on its decimal text, then the reader's locale.

A float is first taken at its shortest decimal text, so that 2.675 rounds to 2.68 as a person would
round it, not to 2.67 as its binary neighbour would.
"""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal
from functools import lru_cache

from babel.core import Locale, UnknownLocaleError
from babel.numbers import format_decimal
from django.utils import translation

MINUS = "\u2212"
NO_BREAK = "\u00a0"
FIRST_STRONG, END = "\u2068", "\u2069"
_FALLBACK = "en"


def babel_locale(locale: str | None = None) -> Locale:
    """The Babel locale of a language code such as `de` or `pt-br`; English when unknown."""
    return _locale_of(locale or translation.get_language() or _FALLBACK)


@lru_cache(maxsize=64)
def _locale_of(code: str) -> Locale:
    """Return the locale; Babel looks through all that it knows for one that it does not."""
    for candidate in (code, code.partition("-")[0], _FALLBACK):
        try:
            return Locale.parse(candidate.replace("-", "_"))
        except (UnknownLocaleError, ValueError):
            continue
    return Locale(_FALLBACK)


def to_decimal(value: float | Decimal | str) -> Decimal:
    """The decimal text of a number. Raises ValueError when it is not a finite number."""
    number = value if isinstance(value, Decimal) else Decimal(str(value))
    if not number.is_finite():
        raise ValueError("only a finite number can be written")
    return number


def round_half_up(value: float | Decimal | str, decimals: int) -> Decimal:
    """Round half away from zero on the decimal text; decimals from 0 to 9."""
    if not 0 <= decimals <= 9:
        raise ValueError("decimals must lie between 0 and 9")
    rounded = to_decimal(value).quantize(Decimal(1).scaleb(-decimals), rounding=ROUND_HALF_UP)
    return rounded.copy_abs() if rounded.is_zero() else rounded


def format_figure(value: float | Decimal | str, decimals: int, locale: str | None = None) -> str:
    """A number with a fixed count of decimals, grouped and pointed as the locale does.

    The minus is U+2212. Raises ValueError for a number that is not finite.

    >>> format_figure(1449.95, 1, "en")
    '1,450.0'
    >>> format_figure(2.675, 2, "de")
    '2,68'
    """
    rounded = round_half_up(value, decimals)
    pattern = "#,##0" + ("." + "0" * decimals if decimals else "")
    text = format_decimal(rounded, format=pattern, locale=babel_locale(locale))
    return text.replace("-", MINUS)


def format_plain(value: float | Decimal | str, locale: str | None = None) -> str:
    """A number with as many decimals as its own decimal text has, at most six.

    >>> format_plain(0.50, "en"), format_plain(20.0, "en")
    ('0.5', '20')
    """
    exact = round_half_up(value, 6).normalize()
    exponent = exact.as_tuple().exponent
    decimals = max(0, -exponent) if isinstance(exponent, int) else 0
    return format_figure(exact, decimals, locale)


def unit_word(unit: str) -> str:
    """A unit in the active language: most are signs and stay, "per leaf" and "fish" are words."""
    return translation.pgettext("unit", unit) if unit else ""


def with_unit(figure: str, unit: str) -> str:
    """Figure and unit held together by a no-break space; no unit (pH) leaves the figure alone."""
    return run(f"{figure}{NO_BREAK}{unit_word(unit)}") if unit else figure


def run(text: str) -> str:
    """A value as a run of its own where the page's writing goes from right to left.

    "18 g", "5–60" or "31 Quarry Lane" would turn round there (Unicode Standard Annex 9, first
    strong isolates); from left to right nothing is added.
    """
    return f"{FIRST_STRONG}{text}{END}" if text and translation.get_language_bidi() else text
