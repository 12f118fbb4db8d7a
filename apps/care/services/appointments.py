"""Standing appointments: agreed with a client once, preferred whenever visit days are planned."""

import datetime as dt
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from apps.accounts.models import User
from apps.accounts.services import audit
from apps.care.choices import Mode
from apps.care.models import CareTask, StandingAppointment
from apps.care.selectors import appointment_days, barred_weekdays
from apps.care.services.asking import visit_days_ask
from apps.care.services.rules import rule_check
from apps.clients.choices import Weekday
from apps.clients.models import Place
from apps.core.dates import day_text
from apps.core.exceptions import Invalid
from apps.core.scoping import Actor

SHORTEST_MINUTES = 30
"""Of a standing appointment; own choice."""
# so far ahead two rules are looked through for a day that they share
LOOKED_ON = dt.timedelta(days=731)


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

    Raises Invalid for a rule that cannot be worked out or never comes up, ends in the wrong order
    or less than half an hour apart, a time at which nobody may come to the place, and what is
    agreed already; each names its field.
    """
    rule_check(CareTask(mode=Mode.CALENDAR, rrule=rrule, anchor=first))
    if ends <= starts:
        raise _invalid("ends", f"{ends:%H:%M}", _("must come after the time from which"))
    if last is not None and last < first:
        raise _invalid("last", str(last), _("the last day must not come before the first"))
    if _minutes(ends) - _minutes(starts) < SHORTEST_MINUTES:
        message = _(
            "must come at least %(count)d min after the time from which; choose a later one"
        )
        raise _invalid("ends", f"{ends:%H:%M}", message % {"count": SHORTEST_MINUTES})
    # one at a time, so that what is agreed already is seen
    Place.objects.select_for_update().get(pk=place.pk)
    row = StandingAppointment(
        place=place, rrule=rrule, first=first, last=last, starts=starts, ends=ends,
        technician=technician, made_at=at,
    )  # fmt: skip
    _hours_check(row)
    _twice_check(row)
    row.full_clean()
    row.save()
    change = {"rrule": rrule, "first": str(first)}
    audit(at=at, by=by, verb="agreed", kind="standing", object_id=row.pk, change=change)
    visit_days_ask([place.pk], at)
    return row


def _hours_check(row: StandingAppointment) -> None:
    """Refuse a day of the week and a time at which nobody may come: it could never be booked."""
    for weekday in barred_weekdays(row):
        held = [span for span in row.place.hours.all() if span.weekday == weekday]
        shown = ", ".join(f"{span.opens:%H:%M}–{span.closes:%H:%M}" for span in held)
        gaps: dict[str, Any] = {"day": Weekday(weekday).label, "hours": shown or _("never")}
        message = _(
            "nobody may come then; on %(day)s somebody may come: %(hours)s. Choose a time or a day "
            "within the place's visiting hours, or change those first"
        )
        raise _invalid("starts", f"{row.starts:%H:%M}", message % gaps)


def _twice_check(row: StandingAppointment) -> None:
    """Refuse what is agreed already: the same rule with the same hours that shares a day."""
    held = StandingAppointment.objects.filter(
        place=row.place, starts=row.starts, ends=row.ends
    )  # fmt: skip
    until = row.first + LOOKED_ON
    for other in held:
        if _parts(other.rrule) != _parts(row.rrule):
            continue
        days = set(appointment_days(row, row.first, until))
        if days & set(appointment_days(other, row.first, until)):
            message = _(
                "the same rule with the same hours is agreed already, from %(day)s; let that one "
                "go first, or choose another rule or other hours"
            ) % {"day": day_text(other.first)}
            raise _invalid("rrule", row.rrule, message)


def _parts(rrule: str) -> frozenset[str]:
    """Return the parts of a rule, whose order and case say nothing."""
    return frozenset(part.strip() for part in rrule.upper().split(";"))


@transaction.atomic
def standing_remove(*, row: StandingAppointment, by: Actor, at: dt.datetime) -> None:
    """Let go of what was agreed; visits that stand already stay."""
    change = {"rrule": row.rrule, "first": str(row.first)}
    audit(at=at, by=by, verb="let go", kind="standing", object_id=row.pk, change=change)
    place = row.place_id
    row.delete()
    visit_days_ask([place], at)


def _minutes(time: dt.time) -> int:
    return time.hour * 60 + time.minute


def _invalid(field: str, value: str, message: str) -> Invalid:
    return Invalid([{"pointer": f"/{field}", "value": value, "message": f"{field}: {message}"}])
