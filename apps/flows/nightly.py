"""What the tool does by itself: the night's refresh, the day's list, reminders, tidying up."""

import datetime as dt
from collections import defaultdict
from uuid import UUID

from django.db.models import F, Q
from django.utils import timezone

from apps.accounts.selectors import firm_current
from apps.core import outbox
from apps.flows import ahead
from apps.flows.forgetting import forget
from apps.flows.office_letters import due_list_letter
from apps.flows.reminder_letters import reminder_letters
from apps.flows.visit_days import night_ask
from apps.incidents.models import PutOff
from apps.reports.services.sending import leases_reap
from apps.rounds.selectors.standing_in import visits_lacking
from apps.systems.models import System
from apps.visits.choices import State
from apps.visits.models import Visit

BATCH = 200


def nightly(on: dt.date, at: dt.datetime) -> int:
    """Queue the refresh of every active system in batches, once a night; return how many batches.

    Forecasts are made and visit days planned anew after it.
    """
    ids = [
        str(pk)
        for pk in System.objects.filter(active=True).order_by("pk").values_list("pk", flat=True)
    ]
    batches = [ids[start : start + BATCH] for start in range(0, len(ids), BATCH)]
    for number, batch in enumerate(batches):
        outbox.enqueue(
            "standing.refresh", f"nightly:{on.isoformat()}:{number}", {"system_ids": batch}, at=at
        )
    ahead.night_ask(on, at)
    night_ask(on, at)
    forget(on, at)
    return len(batches)


def due_list(on: dt.date, at: dt.datetime) -> None:
    """Write the day's due list to the office, once a day."""
    due_list_letter(on, at)


def reminders(at: dt.datetime) -> int:
    """Remind clients of visits within the firm's notice; return how many letters were written.

    Who has more visits on such a day hears of all of them in one letter.

    Who called for help knows that somebody comes; who waits because of it is told by the office.
    Nobody is reminded of a visit that nobody can make as it stands: that waits on Due.
    """
    until = at + dt.timedelta(hours=firm_current().reminder_hours)
    midnight = timezone.localtime(until).replace(hour=0, minute=0, second=0, microsecond=0)
    visits = Visit.objects.filter(
        Q(client_answer__in=["asked", "confirmed"])
        | Q(client_answer="not_asked", told_at__isnull=False),
        state=State.BOOKED, start__gt=at, incidents__isnull=True,
        start__lt=midnight + dt.timedelta(days=1),
    ).exclude(pk__in=PutOff.objects.filter(now=F("visit__start")).values("visit"))  # fmt: skip
    rows = list(
        visits.select_related("place").prefetch_related("assignments").order_by("start", "pk")
    )
    lacking = visits_lacking(rows)
    by_client: dict[UUID, list[Visit]] = defaultdict(list)
    for visit in rows:
        if visit.pk not in lacking:
            by_client[visit.place.client_id].append(visit)
    return sum(
        len(
            reminder_letters(
                [visit for visit in own if visit.start <= until], at,
                also=[visit for visit in own if visit.start > until],
            )
        )
        for own in by_client.values()
    )  # fmt: skip


def reap(at: dt.datetime) -> int:
    """Mark letters whose sender died in the middle as unsure."""
    return leases_reap(at)
