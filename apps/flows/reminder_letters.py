"""Reminders: one letter a reader holds every visit that they are to be reminded of, each told once.

Letters that make, move or call an appointment off are not folded: each carries the calendar object
of its visit, which a calendar program answers by itself.
"""

import datetime as dt
import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from uuid import UUID

from django.db import IntegrityError, transaction
from django.db.models import Max
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext, pgettext

from apps.accounts.selectors import firm_current
from apps.clients.models import Contact
from apps.clients.selectors import letter_contacts
from apps.core import clock
from apps.core.dates import day_text
from apps.flows.letter_parts import day_and_time, greeting, time_of_day
from apps.flows.text_letters import text_readers
from apps.flows.visit_letters import visit_facts
from apps.reports.choices import Channel, Delivery, LetterKind
from apps.reports.models import Letter, Notice
from apps.reports.rendering.mailing import Mail
from apps.reports.rendering.reader import listed
from apps.reports.services.letters import letter_make
from apps.reports.services.wanted import NOBODY_GOES, visits_of, visits_standing
from apps.visits.choices import Answer
from apps.visits.models import Visit


@dataclass(frozen=True)
class Reader:
    """Whom a reminder reaches, where, and how."""

    contact: Contact
    address: str
    channel: str


def reminder_letters(
    due: Sequence[Visit], at: dt.datetime, also: Sequence[Visit] = ()
) -> list[Letter]:
    """Remind a client of visits, each of whose times is told once to each reader.

    `also`: visits that are not due yet; those on a day of which somebody is told go with it. One
    that was held back since nobody could go is written anew: whoever asks knows that one can.
    """
    if not due:
        return []
    client_id = due[0].place.client_id
    readers = [Reader(row, row.email, Channel.MAIL) for row in letter_contacts(client_id)]
    readers += [Reader(row, number, Channel.TEXT) for row, number in text_readers(client_id)]
    made = []
    for reader in readers:
        try:
            with transaction.atomic():
                letter = _remind(reader, due, also, at)
        except IntegrityError:
            # another run has told them meanwhile
            continue
        made += [letter] if letter else []
    return made


def _remind(
    reader: Reader, due: Sequence[Visit], also: Sequence[Visit], at: dt.datetime
) -> Letter | None:
    keys = {visit.pk: _key(visit, reader) for visit in (*due, *also)}
    told = set(
        Notice.objects.filter(contact=reader.contact, key__in=keys.values()).values_list(
            "key", flat=True
        )
    )
    waiting = _appointments_waiting(reader, keys, at)
    Notice.objects.bulk_create(
        Notice(contact=reader.contact, key=keys[pk], letter=letter, at=at)
        for pk, letter in waiting.items()
        if keys[pk] not in told
    )
    told |= {keys[pk] for pk in waiting}
    fresh = [visit for visit in due if keys[visit.pk] not in told]
    if not fresh:
        return None
    days = {timezone.localdate(visit.start) for visit in fresh}
    fresh += [
        visit
        for visit in also
        if keys[visit.pk] not in told and timezone.localdate(visit.start) in days
    ]
    first, *rest = sorted(fresh, key=lambda visit: (visit.start, visit.pk))
    parameters: dict[str, object] = {"sequence": first.appointment_sequence}
    key = keys[first.pk]
    if rest:
        parameters["besides"] = [
            {"visit": str(row.pk), "sequence": row.appointment_sequence} for row in rest
        ]
        names = "+".join(keys[row.pk] for row in rest)
        key += f"+{hashlib.sha256(names.encode()).hexdigest()[:16]}"
    letter = letter_make(
        kind=LetterKind.REMINDER, key=key, address=reader.address, contact=reader.contact,
        visit=first, parameters=parameters, at=at, channel=reader.channel,
    )  # fmt: skip
    Notice.objects.bulk_create(
        Notice(contact=reader.contact, key=keys[row.pk], letter=letter, at=at)
        for row in (first, *rest)
    )
    return letter


def _appointments_waiting(
    reader: Reader, keys: Mapping[UUID, str], at: dt.datetime
) -> dict[UUID, Letter]:
    """Return by visit the appointment that waits for the morning: it says the same, for a calendar too."""
    rows = Letter.objects.filter(
        contact=reader.contact, channel=reader.channel, kind=LetterKind.APPOINTMENT,
        state=Delivery.QUEUED, not_before__gt=at, visit__in=list(keys),
    )  # fmt: skip
    return {row.visit_id: row for row in rows.order_by("made_at") if row.visit_id}


def _key(visit: Visit, reader: Reader) -> str:
    """Return under which key a reader is told of a visit's time; another once it was held back."""
    key = f"reminder:{visit.pk}:{visit.start.isoformat()}"
    key = f"text:{key}" if reader.channel == Channel.TEXT else key
    held = Notice.objects.filter(
        contact=reader.contact, key__startswith=key, letter__state=Delivery.WITHHELD,
        letter__last_error=NOBODY_GOES,
    ).aggregate(last=Max("letter__made_at"))["last"]  # fmt: skip
    return f"{key}:{held.isoformat()}" if held else key


def _told(visit: Visit) -> bool:
    """Whether the client is not asked any more: they have confirmed, or want no question."""
    return visit.client_answer == Answer.CONFIRMED or visit.place.client.just_tell


def reminder_sentence(visits: Sequence[Visit]) -> str:
    """Return when we come: on a day at one or several times, or on several days."""
    days = {timezone.localdate(visit.start) for visit in visits}
    times = list(dict.fromkeys(time_of_day(visit.start) for visit in visits))
    if len(days) == 1 and len(times) == 1:
        return _("We come on %(when)s.") % {"when": day_and_time(visits[0].start)}
    if len(days) == 1:
        return _("We come on %(day)s at %(times)s.") % {
            "day": day_text(days.pop(), "long"), "times": listed(times),
        }  # fmt: skip
    by_day: dict[dt.date, list[str]] = {}
    for start in dict.fromkeys(visit.start for visit in visits):
        by_day.setdefault(timezone.localdate(start), []).append(time_of_day(start))
    whens = [
        _("%(day)s at %(time)s") % {"day": day_text(day, "long"), "time": listed(clocks)}
        for day, clocks in by_day.items()
    ]
    count = sum(map(len, by_day.values()))
    return ngettext(
        "We come %(count)s time: %(times)s.", "We come %(count)s times: %(times)s.", count
    ) % {"count": count, "times": pgettext("between parts", "; ").join(whens)}


def compose_reminder(letter: Letter) -> Mail:
    """Put a reminder together: of its visits those that still hold when it is sent."""
    contact, firm = letter.contact, firm_current()
    assert contact is not None  # noqa: S101 - the kind asks for one
    # one that is looked at later shows all that it was written for
    visits = visits_standing(letter, clock.now()) or [visit for visit, _seq in visits_of(letter)]
    sentence = reminder_sentence(visits)
    facts = [visit_facts(letter, visit, contact, told=_told(visit)) for visit in visits]
    return Mail(
        kind=letter.kind,
        subject=sentence,
        context={
            "firm": firm, "greeting": greeting(contact), "sentence": sentence, "visits": facts,
            "called_off": False,
            "preheader": facts[0]["systems"],
        },
        address=letter.address,
        message_id=letter.message_id,
        firm_name=firm.name,
        reply_to=firm.email,
    )  # fmt: skip
