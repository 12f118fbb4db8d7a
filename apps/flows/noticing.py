"""What clients are told by itself, once a day: what is past its day, how it goes, what runs out or ends."""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.db import transaction
from django.db.models import Max, Q
from django.utils import timezone

from apps.accounts.selectors import firm_current
from apps.advice.choices import Decision
from apps.advice.models import Advice
from apps.care.models import CarePlan, Standing
from apps.clients.models import Client, Contact
from apps.flows.notice_letters import FEED
from apps.incidents.models import Incident, WeatherAsk
from apps.reports.choices import LetterKind
from apps.reports.models import Letter, Notice
from apps.reports.services.letters import letter_make
from apps.systems.models import System
from apps.visits.choices import Answer, State
from apps.visits.models import CallNote, Visit

BY_THE_CLIENT = "client"
# what is past its day for longer was told, or is no longer worth a letter
OLDEST = dt.timedelta(days=8)
# who sees us soon is not asked how it goes
SOON = dt.timedelta(days=21)


@dataclass(frozen=True)
class Due:
    """One thing to tell a client: its key (told once to each contact) and what the letter holds."""

    client_id: UUID
    key: str
    holds: dict[str, Any]


@transaction.atomic
def notices(on: dt.date, at: dt.datetime) -> int:
    """Write to each contact what has become due, several things in one letter; return how many.

    The same thing is told to the same contact once, however often this runs.
    """
    due = [*overdue(on), *quiet_clients(on, at), *running_out(on), *ending(on)]
    by_client: dict[UUID, list[Due]] = defaultdict(list)
    for item in due:
        by_client[item.client_id].append(item)
    contacts = Contact.objects.filter(
        client_id__in=list(by_client), gets_letters=True, gets_notices=True
    ).order_by("pk")
    told = set(
        Notice.objects.filter(contact__client_id__in=list(by_client)).values_list(
            "contact_id", "key"
        )
    )
    count = 0
    for contact in contacts:
        fresh = [
            item for item in by_client[contact.client_id] if (contact.pk, item.key) not in told
        ]
        if fresh:
            _tell(contact, fresh, on, at)
            count += 1
    return count


def _tell(contact: Contact, items: list[Due], on: dt.date, at: dt.datetime) -> Letter:
    held = _joined(items)
    letter = letter_make(
        kind=held[0]["kind"] if len(held) == 1 else LetterKind.SEVERAL,
        key=f"notices:{contact.pk}:{on.isoformat()}:{len(items)}:{items[0].key}"[:180],
        address=contact.email, contact=contact, visit=None, parameters={"notices": held}, at=at,
    )  # fmt: skip
    Notice.objects.bulk_create(
        Notice(contact=contact, key=item.key, letter=letter, at=at) for item in items
    )
    return letter


def _joined(items: list[Due]) -> list[dict[str, Any]]:
    """Return what a letter holds: all that is past its day as one notice, the rest one by one."""
    late = [pk for item in items for pk in item.holds.get("advice", [])]
    rest = [item.holds for item in items if "advice" not in item.holds]
    first = [{"kind": LetterKind.OVERDUE.value, "advice": late}] if late else []
    return first + rest


def overdue(on: dt.date) -> list[Due]:
    """Return, for each client, what they were to do by a day that is past: one query.

    Only what they were told in a report that is out, or by the office.
    """
    midnight = timezone.make_aware(dt.datetime.combine(on, dt.time.min))
    rows = (
        Advice.objects.filter(
            Q(sheet__isnull=True) | Q(sheet__visit__state=State.REPORTED),
            who=BY_THE_CLIENT, closed_at__isnull=True, system__active=True,
            decision__in=[Decision.KEEP, Decision.EDIT],
            by_at__lt=midnight, by_at__gte=midnight - OLDEST,
        )
        .order_by("by_at", "pk")
        .values_list("pk", "system__place__client_id")
    )  # fmt: skip
    return [
        Due(client_id, f"overdue:{pk}", {"kind": LetterKind.OVERDUE.value, "advice": [str(pk)]})
        for pk, client_id in rows
    ]


def quiet_clients(on: dt.date, at: dt.datetime) -> list[Due]:
    """Return the clients of whom nothing was heard for longer than the firm waits.

    A fixed number of queries. Not those whom somebody visits soon.
    """
    days = firm_current().quiet_client_days
    if not days:
        return []
    since = timezone.make_aware(dt.datetime.combine(on, dt.time.min)) - dt.timedelta(days=days)
    soon = Visit.objects.filter(
        state__in=[State.BOOKED, State.UNDER_WAY], end__gte=at, start__lte=at + SOON
    ).values("place__client_id")
    asked = Client.objects.filter(active=True, places__systems__active=True)
    ids = set(asked.exclude(pk__in=soon).values_list("pk", flat=True))
    heard = last_heard(ids)
    return [
        Due(pk, f"quiet:{day.isoformat()}",
            {"kind": LetterKind.QUIET.value, "since": day.isoformat()})
        for pk, moment in heard.items()
        if moment < since and (day := timezone.localdate(moment))
    ]  # fmt: skip


def renewal_key(until: dt.date) -> str:
    """Return under which key a contact is told, once, that an agreement ends on a day."""
    return f"renewal:{until.isoformat()}"


def ending(on: dt.date) -> list[Due]:
    """Return the clients whose agreement ends within as many days as the firm writes before: one query.

    None where the firm writes by hand. Agreements that end on one day are one thing.
    """
    days = firm_current().renewal_days
    if not days:
        return []
    rows = CarePlan.objects.filter(
        agreed_until__gte=on, agreed_until__lte=on + dt.timedelta(days=days), system__active=True,
    ).values_list("system__place__client_id", "agreed_until")  # fmt: skip
    found = {(client_id, until) for client_id, until in rows if until}
    return [
        Due(client_id, renewal_key(until),
            {"kind": LetterKind.RENEWAL.value, "until": until.isoformat()})
        for client_id, until in sorted(found, key=str)
    ]  # fmt: skip


def low_stock_key(count: UUID | str) -> str:
    """Return under which key a contact is told, once, that what was counted runs out."""
    return f"low_stock:{count}"


def running_out(on: dt.date) -> list[Due]:
    """Return the clients whose feed lasts fewer days than the firm wants to know before: one query.

    None where the firm writes by hand. What has long been used up is no longer worth a letter.
    """
    firm = firm_current()
    if not firm.low_stock_letters or not firm.low_stock_days:
        return []
    rows = Standing.objects.filter(
        feed_until__gte=on - OLDEST, feed_until__lt=on + dt.timedelta(days=firm.low_stock_days),
        system__active=True,
    ).order_by("feed_until", "pk")  # fmt: skip
    return [
        Due(client_id, low_stock_key(count), _feed_holds(count, until, on))
        for client_id, count, until in rows.values_list(
            "system__place__client_id", "feed_count", "feed_until"
        )
        if until is not None
    ]


def _feed_holds(count: str, until: dt.date, on: dt.date) -> dict[str, Any]:
    holds = {"kind": LetterKind.LOW_STOCK.value, "what": FEED, "count": count}
    return holds | ({"until": until.isoformat()} if until >= on else {})


def last_heard(client_ids: Iterable[UUID]) -> Mapping[UUID, dt.datetime]:
    """Return when each client was last seen, spoken to, or answered something: six queries.

    Who was never heard of counts from the day on which their first system was started.
    """
    ids = set(client_ids)
    seen: dict[UUID, dt.datetime] = {}
    sources: tuple[tuple[Any, str, str], ...] = (
        (Visit.objects.filter(finished_at__isnull=False), "place__client_id", "finished_at"),
        (Visit.objects.exclude(client_answer__in=[Answer.NOT_ASKED, Answer.ASKED]),
         "place__client_id", "answered_at"),
        (CallNote.objects.all(), "client_id", "at"),
        (WeatherAsk.objects.filter(answered_at__isnull=False), "contact__client_id", "answered_at"),
        (Incident.objects.all(), "system__place__client_id", "opened_at"),
    )  # fmt: skip
    for rows, whose, when in sources:
        found = rows.filter(**{f"{whose}__in": ids}).order_by().values_list(whose)
        for pk, moment in found.annotate(last=Max(when)):
            if moment is not None and (pk not in seen or seen[pk] < moment):
                seen[pk] = moment
    started = System.objects.filter(place__client_id__in=ids - set(seen), started_on__isnull=False)
    for pk, day in started.order_by().values_list("place__client_id").annotate(Max("started_on")):
        seen[pk] = timezone.make_aware(dt.datetime.combine(day, dt.time.min))
    return seen
