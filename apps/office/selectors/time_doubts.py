"""What speaks against a time for some technicians, which the office may know better."""

import datetime as dt
from collections.abc import Iterable
from typing import NamedTuple

from django.utils.translation import gettext as _

from apps.accounts.models import User
from apps.accounts.selectors import firm_current
from apps.core.dates import day_text
from apps.rounds.selectors.axis import seconds_of
from apps.rounds.selectors.people import Staff, hours_on, staff_between

DAY_OFF, AWAY, NO_WORK, OTHER_HOURS = "day_off", "away", "no_work", "other_hours"


class TimeDoubt(NamedTuple):
    """What speaks against a time: a code for programs, with whom it is about, and a sentence."""

    code: str
    text: str


def time_doubts(people: Iterable[User], day: dt.date, start: dt.time, end: dt.time) -> list[str]:
    """Return a sentence for each doubt: a day off, somebody away, outside of somebody's hours."""
    return [doubt.text for doubt in time_doubts_coded(people, day, start, end)]


def time_doubts_coded(
    people: Iterable[User], day: dt.date, start: dt.time, end: dt.time
) -> list[TimeDoubt]:
    """Return each doubt with its code: ``day_off``, or ``away:``, ``no_work:``, ``other_hours:``
    with the technician's id behind it."""
    staff = staff_between(day, day)
    doubts = []
    if day in staff.closed:
        text = _("%(day)s is a holiday, or the firm is closed: nobody is sent out then.")
        doubts.append(TimeDoubt(DAY_OFF, text % {"day": day_text(day)}))
    for user in people:
        code, text = _of_one(staff, user, day, start, end)
        if code:
            doubts.append(TimeDoubt(f"{code}:{user.pk}", text))
    return doubts


def _of_one(
    staff: Staff, user: User, day: dt.date, start: dt.time, end: dt.time
) -> tuple[str, str]:
    name, first, last = str(user.pk), seconds_of(start), seconds_of(end)
    said = {"user": str(user), "day": day_text(day)}
    if not (staff.at_work(name, day, first) and staff.at_work(name, day, last - 1)):
        return AWAY, _("%(user)s is noted as away then, on %(day)s.") % said
    hours = hours_on(staff, name, day, firm_current())
    if hours is None:
        return NO_WORK, _("%(user)s does not work on %(day)s.") % said
    crew = staff.crews.get(name)
    over = crew.overtime_minutes * 60 if crew else 0
    if first >= hours.starts and last <= hours.ends + over:
        return "", ""
    said |= {"starts": _clock(hours.starts), "ends": _clock(hours.ends)}
    return OTHER_HOURS, _("%(user)s works from %(starts)s to %(ends)s on %(day)s.") % said


def _clock(seconds: int) -> str:
    return f"{seconds // 3600:02d}:{seconds // 60 % 60:02d}"
