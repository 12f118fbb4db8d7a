"""The one way in which a day becomes text: a pattern that translators may change, in Babel's words."""

import datetime as dt

from babel.dates import format_date, get_month_names
from django.utils.translation import gettext, pgettext

from apps.core.numbers import babel_locale


def day_text(day: dt.date, style: str = "short", locale: str | None = None) -> str:
    """Return a day as "Thu 11 June" (short), "Thursday 11 June" (long), with the year, bare, brief, or short for an axis.

    Raises KeyError for another style.
    """
    patterns = {
        # Translators: a date pattern of Unicode TR 35, for example "Thu 11 June"
        "short": pgettext("date pattern", "EEE d MMMM"),
        # Translators: a date pattern of Unicode TR 35, for example "Thursday 11 June"
        "long": pgettext("date pattern", "EEEE d MMMM"),
        # Translators: a date pattern of Unicode TR 35, for example "Thu 11 June 2026"
        "year": pgettext("date pattern", "EEE d MMMM y"),
        # Translators: a date pattern of Unicode TR 35, for example "11 June"
        "bare": pgettext("date pattern", "d MMMM"),
        # Translators: a date pattern of Unicode TR 35, for example "11 Jun 2026"
        "brief": pgettext("date pattern", "d MMM y"),
        # Translators: a date pattern of Unicode TR 35, short for the foot of a chart: "11 Jun"
        "axis": pgettext("date pattern", "d MMM"),
    }
    return str(format_date(day, patterns[style], locale=babel_locale(locale)))


def span_text(first: dt.date, last: dt.date, locale: str | None = None) -> str:
    """Return days from the first to the last: "7–16 December", "28 November – 3 December"."""
    if first >= last:
        return day_text(first, "bare", locale)
    words = {"first": day_text(first, "bare", locale), "last": day_text(last, "bare", locale)}
    if (first.year, first.month) != (last.year, last.month):
        return gettext("%(first)s – %(last)s") % words
    # Translators: a date pattern of Unicode TR 35 for the first of two days in one month
    pattern = pgettext("date pattern", "d")
    words["first"] = str(format_date(first, pattern, locale=babel_locale(locale)))
    # Translators: two days of one month, "7–16 December"
    return pgettext("days of one month", "%(first)s–%(last)s") % words


def month_text(month: int, locale: str | None = None) -> str:
    """Return a month's name, standing alone: "January". Raises KeyError outside 1 to 12."""
    return str(get_month_names("wide", "stand-alone", babel_locale(locale))[month])
