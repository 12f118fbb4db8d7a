"""A visit's checklist and what its day asks for: shown where they part, brought together on a press.

What a client was promised is not touched: day, hour and people stay, and where the work no longer
fits into the time somebody has to move the visit.
"""

import datetime as dt
from collections.abc import Iterable

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from apps.accounts.models import User
from apps.care.models import CareTask, VisitDayTask
from apps.care.services import visit_days_ask
from apps.catalogue.selectors import Catalogue
from apps.core.exceptions import DomainError
from apps.core.scoping import Actor
from apps.rounds.services.offers import held_check
from apps.visits.models import Visit
from apps.visits.services.booking import free_check
from apps.visits.services.mending import Apart, lines_apart, lines_mend


def planned_for(visit: Visit) -> list[CareTask]:
    """Return the tasks that the visit days put on a visit, with their systems: one query."""
    rows = VisitDayTask.objects.filter(visit_day__kept_for=visit.pk).select_related("task__system")
    return [row.task for row in rows.order_by("task__code", "task_id")]


def apart(visit: Visit, catalogue: Catalogue) -> Apart:
    """Return where a visit's checklist and its day disagree."""
    return lines_apart(visit, planned_for(visit), catalogue)


@transaction.atomic
def lines_bring(
    *, visit: Visit, catalogue: Catalogue, rev: int, by: Actor, at: dt.datetime
) -> Apart:
    """Bring a visit's checklist up to date. See lines_mend for what it raises."""
    done = lines_mend(
        visit=visit, planned=planned_for(visit), catalogue=catalogue, rev=rev, by=by, at=at
    )
    if done.add or done.take:
        visit_days_ask([visit.place_id], at)
    return done


def stretched_against(visit: Visit, people: Iterable[User], until: dt.datetime) -> list[str]:
    """Return what speaks against a visit that lasts until then: hours of the place, other visits."""
    found, going = [], list(people)
    closes = _closes(visit)
    if closes is not None and until > closes:
        text = _("nobody may be there after %(time)s")
        found.append(text % {"time": f"{timezone.localtime(closes):%H:%M}"})
    try:
        free_check(going, visit.end, until, visit.pk)
        held_check(going, visit.end, until)
    except DomainError as error:
        found.append(error.message)
    return found


def _closes(visit: Visit) -> dt.datetime | None:
    """Return when the hours of the place end within which a visit begins; None: it has none."""
    start = timezone.localtime(visit.start)
    for row in visit.place.hours.all():
        if row.weekday == start.isoweekday() and row.opens <= start.time() <= row.closes:
            return timezone.make_aware(dt.datetime.combine(start.date(), row.closes))
    return None
