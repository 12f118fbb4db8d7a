"""Whose visits a calendar shows, and what it says of each.

A technician's: what they are assigned to; beyond the days that they may look into, the time alone.
A client's: what was booked with them. Neither holds a code, a note or a reading: whoever has the
address reads it, and calendars are shared.
"""

import datetime as dt
from collections.abc import Iterable
from dataclasses import replace
from uuid import UUID

from django.conf import settings
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from apps.accounts.models import CalendarFeed, User
from apps.accounts.selectors import firm_current
from apps.accounts.services import feed_find
from apps.clients.models import Client, Contact
from apps.core.scoping import Actor
from apps.reports.rendering.feed import Entry, Feed
from apps.rounds.selectors.standing_in import visits_lacking
from apps.visits.choices import Answer, State
from apps.visits.models import Assignment, Visit, VisitStep

BACK = dt.timedelta(days=30)
AHEAD = dt.timedelta(days=90)
CALLED_OFF_SHOWN = dt.timedelta(days=30)
ENDED = (State.WRITTEN_UP, State.REPORTED)
TOLD = (State.BOOKED, State.UNDER_WAY, *ENDED)


def calendar_find(secret: str) -> tuple[CalendarFeed, str] | None:
    """Return a calendar and its reader's language; None where it is not known or has ended.

    It ends with its address, with the client, and with the person whose it is.
    """
    feed = feed_find(secret)
    if feed is None:
        return None
    if feed.user or feed.client_id is None:
        return feed, settings.LANGUAGE_CODE
    if not Client.objects.filter(pk=feed.client_id, active=True).exists():
        return None
    if feed.contact_id is None:
        return feed, firm_current().language
    contact = Contact.objects.filter(pk=feed.contact_id, client_id=feed.client_id).first()
    return (feed, contact.language) if contact else None


def calendar_of(feed: CalendarFeed, at: dt.datetime) -> Feed:
    """Return what a calendar shows, in the language that is switched on: a fixed number of queries."""
    firm = firm_current()
    if feed.user:
        name = _("Visits of %(name)s") % {"name": feed.user}
        entries = _technician_entries(feed.user, at)
    else:
        name = _("Visits of %(name)s") % {"name": firm.name}
        entries = _client_entries(feed.client_id, firm.name, at)
    entries.sort(key=lambda entry: (entry.start, entry.uid))
    return Feed(
        uid=f"{feed.pk}@backyard", name=name, organizer_name=firm.name, organizer=firm.email,
        entries=tuple(entries),
    )  # fmt: skip


def _technician_entries(user: User, at: dt.datetime) -> list[Entry]:
    actor = Actor(role=user.role, at=at, user_id=user.pk)
    rows = list(
        Assignment.objects.visible_to(actor)
        .filter(user=user, visit__start__gte=at - BACK, visit__start__lte=at + AHEAD)
        .select_related("visit__place__client")
        .prefetch_related("visit__sheets__system", "visit__assignments")
    )
    visits = [row.visit for row in rows]
    shown, lacking = _shown(visits, at), _lacking(visits, at)
    seen = set(
        Visit.objects.visible_to(actor)
        .filter(pk__in=[visit.pk for visit in visits])
        .values_list("pk", flat=True)
    )
    entries = [_technician_entry(row, row.pk in seen) for row in visits if row.pk in shown]
    return [_unsure(entry, lacking) for entry in entries]


def _technician_entry(visit: Visit, seen: bool) -> Entry:
    if not seen:
        return _entry(
            visit, summary=_("Visit"), description=_("Where to stands here 14 days before.")
        )
    minutes = round((visit.end - visit.start).total_seconds() / 60)
    planned = ngettext("%(count)d minute", "%(count)d minutes", minutes) % {"count": minutes}
    return _entry(
        visit,
        summary=visit.place.client.name,
        location=visit.place.address,
        description=f"{_systems(visit)}\n{planned}",
        url=f"{settings.BACKYARD_BASE_URL}/field/visits/{visit.pk}/",
        degrees=_degrees(visit),
    )


def _client_entries(client_id: UUID | None, firm: str, at: dt.datetime) -> list[Entry]:
    actor = Actor(role="client", at=at, client_id=client_id)
    visits = list(
        Visit.objects.visible_to(actor)
        .filter(start__gte=at - BACK, start__lte=at + AHEAD)
        .select_related("place")
        .prefetch_related("sheets__system", "assignments__user")
    )
    shown, lacking = _shown(visits, at), _lacking(visits, at)
    entries = [
        _client_entry(visit, firm, visit.pk in lacking)
        for visit in visits
        if visit.pk in shown and _was_told(visit)
    ]
    return [_unsure(entry, lacking) for entry in entries]


def _lacking(visits: Iterable[Visit], at: dt.datetime) -> set[UUID]:
    """Return the visits to come of which somebody who is to make them is away then."""
    ahead = [row for row in visits if row.state == State.BOOKED and row.start > at]
    return visits_lacking(ahead)


def _unsure(entry: Entry, lacking: set[UUID]) -> Entry:
    """Return an entry as tentative where nobody can make the visit as it stands."""
    unsure = UUID(entry.uid.partition("@")[0]) in lacking
    return replace(entry, status="TENTATIVE") if unsure else entry


def _was_told(visit: Visit) -> bool:
    """Whether a visit is one that was agreed on; one that is only pencilled in is nobody's yet."""
    called_off = visit.state == State.CALLED_OFF and visit.appointment_sequence > 0
    return visit.state in TOLD or called_off


def _client_entry(visit: Visit, firm: str, lacking: bool) -> Entry:
    people = ", ".join(sorted(str(row.user) for row in visit.assignments.all()))
    who = _("Who comes: %(people)s") % {"people": people} if people else ""
    if lacking:
        who = _("Not sure yet: who was to come is away. You will hear from us.")
    return _entry(
        visit,
        summary=f"{firm}: {_systems(visit)}",
        location=visit.place.address,
        description=who,
        degrees=_degrees(visit),
    )


def _shown(visits: Iterable[Visit], at: dt.datetime) -> set[UUID]:
    """Return the visits that a calendar shows: a visit that was called off, for thirty days."""
    off = [visit.pk for visit in visits if visit.state == State.CALLED_OFF]
    lately = VisitStep.objects.filter(
        visit__in=off, to_state=State.CALLED_OFF, at__gte=at - CALLED_OFF_SHOWN
    )
    return {visit.pk for visit in visits} - set(off) | set(
        lately.values_list("visit_id", flat=True)
    )


def _entry(visit: Visit, **words: object) -> Entry:
    return Entry(
        uid=f"{visit.pk}@backyard", sequence=visit.appointment_sequence, status=_status(visit),
        start=visit.start, end=visit.end, **words,  # type: ignore[arg-type]
    )  # fmt: skip


def _status(visit: Visit) -> str:
    if visit.state == State.CALLED_OFF:
        return "CANCELLED"
    if visit.state == State.UNDER_WAY or visit.state in ENDED:
        return "CONFIRMED"
    agreed = visit.client_answer == Answer.CONFIRMED or visit.is_told
    return "CONFIRMED" if visit.state == State.BOOKED and agreed else "TENTATIVE"


def _systems(visit: Visit) -> str:
    return ", ".join(sorted(sheet.system.name for sheet in visit.sheets.all()))


def _degrees(visit: Visit) -> tuple[float, float] | None:
    place = visit.place
    if place.latitude is None or place.longitude is None:
        return None
    return place.latitude, place.longitude
