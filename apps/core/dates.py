"""The one way in which a day becomes text: a pattern that translators may change, in Babel's words."""

import datetime as dt

from babel.dates import format_date
from django.utils.translation import pgettext

from apps.core.numbers import babel_locale


def day_text(day: dt.date, style: str = "short", locale: str | None = None) -> str:
    """Return a day as "Thu 11 June" (short), "Thursday 11 June" (long), with the year, or bare.

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
    }
    return str(format_date(day, patterns[style], locale=babel_locale(locale)))
