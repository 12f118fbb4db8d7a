"""A standing appointment's rule in words."""

import re

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from apps.clients.choices import Weekday
from apps.core.phrases import list_words

DAYS = {
    "MO": Weekday.MON, "TU": Weekday.TUE, "WE": Weekday.WED, "TH": Weekday.THU,
    "FR": Weekday.FRI, "SA": Weekday.SAT, "SU": Weekday.SUN,
}  # fmt: skip
"""The days of the week as RFC 5545 (section 3.3.10) writes them."""
NTH = {
    "1": gettext_lazy("the first %(day)s of each month"),
    "2": gettext_lazy("the second %(day)s of each month"),
    "3": gettext_lazy("the third %(day)s of each month"),
    "4": gettext_lazy("the fourth %(day)s of each month"),
    "5": gettext_lazy("the fifth %(day)s of each month that has one"),
    "-1": gettext_lazy("the last %(day)s of each month"),
}
NTH_DAY = re.compile(r"\+?(-?\d)([A-Z]{2})")


def standing_words(rrule: str) -> str:
    """Return a rule in words where it is a plain one, else its own text.

    Plain: days of the week, every so many weeks; one day of the week, by its number in the month.
    """
    parts = dict(part.partition("=")[::2] for part in rrule.upper().replace(" ", "").split(";"))
    freq, by_day = parts.pop("FREQ", ""), parts.pop("BYDAY", "")
    every = parts.pop("INTERVAL", "1")
    if parts or not every.isdecimal():
        return rrule
    if freq == "WEEKLY":
        return _weekly(by_day, int(every)) or rrule
    if freq == "MONTHLY" and int(every) == 1:
        return _monthly(by_day) or rrule
    return rrule


def _weekly(by_day: str, every: int) -> str:
    days = [DAYS.get(code) for code in by_day.split(",")]
    known = sorted({day for day in days if day is not None})
    if None in days or every < 1:
        return ""
    gaps = {"day": list_words([str(day.label) for day in known]), "n": every}
    one = len(known) == 1
    if every == 1:
        return (_("every %(day)s") if one else _("every week on %(day)s")) % gaps
    if every == 2:
        return (_("every second %(day)s") if one else _("every second week on %(day)s")) % gaps
    return _("every %(n)d weeks on %(day)s") % gaps


def _monthly(by_day: str) -> str:
    found = NTH_DAY.fullmatch(by_day)
    said, day = (NTH.get(found[1]), DAYS.get(found[2])) if found else (None, None)
    return str(said) % {"day": day.label} if said and day else ""
