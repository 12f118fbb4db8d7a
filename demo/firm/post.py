"""Letters about appointments, calls, and the steps of visits."""

import datetime as dt
import hashlib

from django.conf import settings

from apps.clients.models import Contact
from apps.reports.choices import Delivery, LetterKind
from apps.reports.models import DeliveryStep, Letter
from apps.visits.choices import Answer, State
from apps.visits.models import CallNote, Visit, VisitStep
from demo.firm.diary import Appointment
from demo.firm.keys import key
from demo.firm.rows import Estate, Works
from demo.firm.story import STORIES

LETTERS_SINCE = 30
FAILED = "hollis"
OTHER_CALLS = (
    ("lindqvist", 9, "Solveig Lindmere wants forty more lettuce plugs at the next visit."),
    ("school_tunnel", 12, "Perpetua Quill asks for the yearly figures for the school council."),
    ("cafe_wall", 5, "Bram Oakhill is pleased with the parsley; asks about mint."),
    ("price", 18, "Gwyn Pricewell heard the air pump rattle; told him how to seat the filter pad."),
)  # fmt: skip


def steps_of(row: Appointment, visit: Visit, office: str, technician: str) -> list[VisitStep]:
    """Return the steps that brought a visit to its state."""
    made = visit.made_at
    way: list[tuple[str, dt.datetime, str, str]] = [(State.PENCILLED, made, office, row.reason)]
    if row.state != State.PENCILLED:
        way.append((State.BOOKED, made + dt.timedelta(minutes=2), office, ""))
    if row.state == State.CALLED_OFF:
        way.append((State.CALLED_OFF, row.start - dt.timedelta(hours=22), office, row.off_reason))
    if row.done and row.started and row.finished:
        way.append((State.UNDER_WAY, row.started, technician, ""))
        way.append((State.WRITTEN_UP, row.finished, technician, ""))
    if row.state == State.REPORTED:
        way.append((State.REPORTED, released_at(row), office, ""))
    before, steps = "", []
    for number, (to, at, by, reason) in enumerate(way, start=1):
        steps.append(
            VisitStep(visit=visit, number=number, from_state=before, to_state=to, at=at, by=by,
                      reason=reason)
        )  # fmt: skip
        before = to
    return steps


def released_at(row: Appointment) -> dt.datetime:
    """Return when the office released a visit's reports: before the evening, two hours later."""
    assert row.finished is not None
    return row.finished + dt.timedelta(hours=2, minutes=int(key(row.key).hex[:2], 16) % 47)


def letters_of(
    row: Appointment, visit: Visit, estate: Estate, today: dt.date
) -> tuple[list[Letter], list[DeliveryStep]]:
    """Return the appointment letters of the last weeks with how they fared.

    They are told of as they were sent then; the mails themselves are not in the demo's folder.
    """
    if row.state == State.PENCILLED or (today - row.day).days > LETTERS_SINCE:
        return [], []
    contact = estate.contacts[0]
    at = visit.made_at + dt.timedelta(minutes=2)
    failed = row.home == FAILED and row.number < 0 and row.state == State.BOOKED
    letter = _letter(row, visit, contact, at)
    moments = [(Delivery.QUEUED, at, ""), (Delivery.SENDING, at + dt.timedelta(seconds=3), "")]
    if failed:
        words = "550 5.1.1 no such mailbox here"
        letter.state, letter.last_error, letter.sent_at = Delivery.FAILED, words, None
        moments.append((Delivery.FAILED, at + dt.timedelta(seconds=5), words))
    else:
        moments.append((Delivery.SENT, at + dt.timedelta(seconds=5), ""))
    return [letter], [
        DeliveryStep(letter=letter, at=moment, state=state, words=words)
        for state, moment, words in moments
    ]


def _letter(row: Appointment, visit: Visit, contact: Contact, at: dt.datetime) -> Letter:
    name = f"{LetterKind.APPOINTMENT}:{visit.pk}:1"
    digest = hashlib.sha256(f"{name}/{contact.email.lower()}".encode()).hexdigest()[:40]
    domain = settings.DEFAULT_FROM_EMAIL.rsplit("@", 1)[-1].rstrip(">")
    when = f"{row.start:%A} {row.start.day} {row.start:%B} at {row.start:%H:%M}"
    return Letter(
        pk=key("letter", name), kind=LetterKind.APPOINTMENT, key=f"{name}/{digest[:12]}",
        contact=contact, address=contact.email, visit=visit, parameters={"sequence": 1},
        message_id=f"<{digest}@{domain}>", subject_line=f"We would like to come on {when}.",
        state=Delivery.SENT, tries=1, sent_at=at + dt.timedelta(seconds=5), made_at=at,
    )  # fmt: skip


def answered(row: Appointment, made_at: dt.datetime) -> dt.datetime | None:
    """Return when the client answered, None where they have not."""
    if row.answer in (Answer.NOT_ASKED, Answer.ASKED):
        return None
    return made_at + dt.timedelta(hours=5 + int(key(row.key, "answer").hex[:2], 16) % 20)


def calls_of(
    works: dict[str, Works], office: str, today: dt.date, zone: dt.tzinfo
) -> list[CallNote]:
    """Return the notes of calls."""
    said = [(name, ago, text) for name, story in STORIES.items() for ago, text in story.calls]
    found = []
    for name, ago, text in (*said, *OTHER_CALLS):
        hour = 9 + int(key(name, ago).hex[:2], 16) % 8
        day = today - dt.timedelta(days=ago)
        found.append(
            CallNote(
                pk=key("call", name, ago), client=works[name].system.place.client,
                system=works[name].system, at=dt.datetime.combine(day, dt.time(hour, 20), zone),
                by=office, text=text,
            )
        )  # fmt: skip
    return found
