"""Standing appointments: agreed with a client once, preferred whenever visit days are planned."""

import datetime as dt
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from apps.accounts.models import User
from apps.accounts.services import audit
from apps.calc.rhythm import Rhythm, occurrence_after
from apps.care.choices import Mode
from apps.care.models import CareTask, StandingAppointment
from apps.care.services.asking import visit_days_ask
from apps.care.services.rules import rule_check
from apps.clients.choices import Weekday
from apps.clients.models import Place
from apps.core.exceptions import Invalid
from apps.core.scoping import Actor

# so many days of a rule are held against the place's hours
LOOKED_AT = 60


@transaction.atomic
def standing_add(
    *,
    place: Place,
    rrule: str,
    first: dt.date,
    last: dt.date | None,
    starts: dt.time,
    ends: dt.time,
    technician: User | None,
    by: Actor,
    at: dt.datetime,
) -> StandingAppointment:
    """Keep what was agreed with a client: days by a calendar rule (RFC 5545), from when to when.

    Raises Invalid for a rule that cannot be worked out or never comes up, ends in the wrong order,
    and a time at which nobody may come to the place; each names its field.
    """
    rule_check(CareTask(mode=Mode.CALENDAR, rrule=rrule, anchor=first))
    if ends <= starts:
        raise _invalid("ends", f"{ends:%H:%M}", _("must come after the time from which"))
    if last is not None and last < first:
        raise _invalid("last", str(last), _("the last day must not come before the first"))
    _hours_check(place, rrule, first, (starts, ends))
    row = StandingAppointment(
        place=place, rrule=rrule, first=first, last=last, starts=starts, ends=ends,
        technician=technician, made_at=at,
    )  # fmt: skip
    row.full_clean()
    row.save()
    change = {"rrule": rrule, "first": str(first)}
    audit(at=at, by=by, verb="agreed", kind="standing", object_id=row.pk, change=change)
    visit_days_ask([place.pk], at)
    return row


def _hours_check(place: Place, rrule: str, first: dt.date, span: tuple[dt.time, dt.time]) -> None:
    """Refuse a day of the week and a time at which nobody may come: it could never be booked."""
    hours = list(place.hours.all())
    rhythm = Rhythm("calendar", rrule=rrule, anchor=first)
    weekdays: set[int] = set()
    day = occurrence_after(rhythm, first - dt.timedelta(days=1))
    for _n in range(LOOKED_AT):
        if day is None:
            break
        weekdays.add(day.isoweekday())
        day = occurrence_after(rhythm, day)
    for weekday in sorted(weekdays) if hours else ():
        held = [row for row in hours if row.weekday == weekday]
        if not any(row.opens <= span[0] and span[1] <= row.closes for row in held):
            shown = ", ".join(f"{row.opens:%H:%M}–{row.closes:%H:%M}" for row in held)
            gaps: dict[str, Any] = {"day": Weekday(weekday).label, "hours": shown or _("never")}
            message = _("nobody may come then; on %(day)s somebody may come: %(hours)s") % gaps
            raise _invalid("starts", f"{span[0]:%H:%M}", message)


@transaction.atomic
def standing_remove(*, row: StandingAppointment, by: Actor, at: dt.datetime) -> None:
    """Let go of what was agreed; visits that stand already stay."""
    change = {"rrule": row.rrule, "first": str(row.first)}
    audit(at=at, by=by, verb="let go", kind="standing", object_id=row.pk, change=change)
    place = row.place_id
    row.delete()
    visit_days_ask([place], at)


def _invalid(field: str, value: str, message: str) -> Invalid:
    return Invalid([{"pointer": f"/{field}", "value": value, "message": f"{field}: {message}"}])
