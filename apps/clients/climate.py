"""What climate normals may be: checked alike for the form, the API and the service."""

from collections.abc import Sequence
from typing import NamedTuple

from django.utils.translation import gettext as _

from apps.calc.climate_months import LIMITS, WIDEST_SPAN, Month, days_in
from apps.core.numbers import format_figure, format_plain

MONTHS = 12
# what looks like °F where °C is meant
FAHRENHEIT = (50.0, 122.0)


class Fault(NamedTuple):
    """What cannot be: of which month (0 to 11), which of its figures, and why."""

    month: int
    field: str
    message: str


def faults_of(months: Sequence[Month]) -> list[Fault]:
    """Return what cannot be in the months of January to December, in their order."""
    return [
        fault for number, month in enumerate(months) for fault in faults_of_month(number, month)
    ]


def faults_of_month(number: int, month: Month) -> list[Fault]:
    """Return what cannot be in one month, counted from 0."""
    outside = [
        Fault(number, name, _outside(name, value))
        for name in LIMITS
        if (value := getattr(month, name)) is not None
        and not LIMITS[name][0] <= value <= LIMITS[name][1]
    ]
    return outside or _crossed(number, month)


def _outside(name: str, value: float) -> str:
    low, high = LIMITS[name]
    words = {"low": format_plain(low), "high": format_plain(high), "value": format_plain(value)}
    if name.endswith("_c") and FAHRENHEIT[0] <= value <= FAHRENHEIT[1]:
        words["celsius"] = format_figure((value - 32) / 1.8, 1)
        return _("%(value)s cannot be °C; if it is °F, write %(celsius)s.") % words
    return _("%(value)s: a number from %(low)s to %(high)s is needed.") % words


def _crossed(number: int, month: Month) -> list[Fault]:
    """Return what does not go together in a month whose figures each may be."""
    found = []
    if month.high_c < month.low_c:
        words = _("%(high)s lies below the lowest, %(low)s: are the two the wrong way round?")
        shown = {"high": format_plain(month.high_c), "low": format_plain(month.low_c)}
        found.append(Fault(number, "high_c", words % shown))
    elif month.high_c - month.low_c > WIDEST_SPAN:
        words = _("%(span)s °C over the lowest: monthly means lie at most %(most)s °C apart; these "
                  "look like the records of the month.")  # fmt: skip
        shown = {
            "span": format_plain(round(month.high_c - month.low_c, 1)),
            "most": format_plain(WIDEST_SPAN),
        }
        found.append(Fault(number, "high_c", words % shown))
    most = days_in(number + 1)
    if month.wet_days is not None and month.wet_days > most + 1:
        words = _("The month has no %(days)s days.") % {"days": format_plain(month.wet_days)}
        found.append(Fault(number, "wet_days", words))
    elif month.wet_days and month.rain_mm < month.wet_days:
        words = _("%(days)s days of at least 1 mm make more than %(rain)s mm of rain.")
        shown = {"days": format_plain(month.wet_days), "rain": format_plain(month.rain_mm)}
        found.append(Fault(number, "wet_days", words % shown))
    return found
