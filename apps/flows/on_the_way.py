"""'On my way' and 'running late' from a phone: the client is told once, while it is of use.

What was said is an operation of the phone, kept whatever came of it; it begins no visit and
changes none.
"""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.conf import settings
from django.db import transaction
from django.utils.translation import gettext as _

from apps.accounts.models import User
from apps.accounts.services import audit
from apps.clients.selectors import letter_contacts, text_contacts
from apps.core.scoping import Actor
from apps.flows.letters_on_the_way import on_my_way_sentence, running_late_sentence
from apps.flows.phone_parts import Known, PhoneOp, Reply, refused
from apps.flows.text_letters import text_letters
from apps.reports.choices import LetterKind
from apps.reports.services.letters import letter_make
from apps.reports.services.wanted import GRACE
from apps.visits.choices import State
from apps.visits.models import Operation, Phone, Visit
from apps.visits.services.answers import BadAnswer, moment
from apps.visits.services.steps import author, visit_locked
from apps.visits.services.typed import moment_of

KINDS = {"on_my_way": LetterKind.ON_MY_WAY, "running_late": LetterKind.RUNNING_LATE}
TOLD, TOO_LATE, NOBODY = "told", "too_late", "nobody"
# further from its visit nothing is said of it: it was moved to another day
FARTHEST = dt.timedelta(hours=12)
MOST_MINUTES = 480


@dataclass(frozen=True)
class Telling:
    """What was said from the road about one visit, and what came of it."""

    path: str
    minutes: int
    there: dt.datetime
    outcome: str
    at: dt.datetime
    name: str

    def as_json(self) -> dict[str, Any]:
        """Return it as a phone keeps it."""
        return {
            "minutes": self.minutes, "there": self.there.isoformat(), "became": self.outcome,
            "at": self.at.isoformat(), "name": self.name,
        }  # fmt: skip


def telling_take(device: str, visit: Visit, op: PhoneOp, by: Actor, at: dt.datetime) -> Reply:
    """Tell the client what was said on the road, once, or keep that it came too late for that.

    Too late: the visit has begun, ended or is called off, the promised time is past or has been
    promised anew, or the office has moved the visit meanwhile.
    """
    try:
        value = _said(op)
    except BadAnswer as error:
        return refused(device, op.row, [{"code": "answer", "message": str(error)}], by, at)
    with transaction.atomic():
        current = visit_locked(visit.pk)
        known = Known(device, [op])
        again = op.id in known.by_id
        why = known.fault(op, (visit.pk, None, op.path, value))
        if why:
            return refused(device, op.row, why, by, at)
        row = (
            Operation.objects.get(pk=op.id) if again else _kept(device, current, op, value, by, at)
        )
        told = telling_of(row, _names([row]))
        return Reply(str(op.id), "ok", told.outcome, theirs=told.as_json())


def _said(op: PhoneOp) -> dict[str, Any]:
    """Return minutes and the time that was promised. Raises BadAnswer."""
    if op.sheet is not None:
        raise BadAnswer(_("this is said of the visit, not of one of its systems"))
    said = op.value if isinstance(op.value, dict) else {}
    minutes = said.get("minutes")
    if type(minutes) is not int or not 1 <= minutes <= MOST_MINUTES:
        raise BadAnswer(
            "minutes: " + _("a whole number from 1 to %(most)s is needed") % {"most": MOST_MINUTES}
        )
    return {"minutes": minutes, "there": moment(said.get("there"))}


def _kept(
    device: str, visit: Visit, op: PhoneOp, value: dict[str, Any], by: Actor, at: dt.datetime
) -> Operation:
    """Keep what was said with what comes of it; write to the client where that is of use."""
    there = dt.datetime.fromisoformat(value["there"])
    contacts = letter_contacts(visit.place.client_id)
    outcome = TOLD if contacts or _texted(visit) else NOBODY
    if _too_late(device, visit, op, there, at):
        outcome = TOO_LATE
    row = Operation.objects.create(
        pk=op.id, visit=visit, path=op.path, value=value, device=device, seq=op.seq, at=op.at,
        received_at=at, by=author(by), outcome=outcome,
    )  # fmt: skip
    if outcome == TOLD:
        driver = Phone.objects.filter(pk=device).values_list("user_id", flat=True).first()
        key = f"{op.path}:{visit.pk}:{op.id}"
        said = {"there": value["there"], "was": visit.start.isoformat(), "by": str(driver)}
        for contact in contacts:
            letter_make(
                kind=KINDS[op.path], key=key, address=contact.email, contact=contact, visit=visit,
                at=at, parameters=said,
            )  # fmt: skip
        text_letters(kind=KINDS[op.path], key=f"text:{key}", visit=visit, parameters=said, at=at)
    audit(
        at=at, by=by, verb=f"{op.path}: {outcome}", kind="visit", object_id=visit.pk,
        change={"there": value["there"]},
    )  # fmt: skip
    return row


def _texted(visit: Visit) -> bool:
    return bool(settings.TEXT_GATEWAY and text_contacts(visit.place.client_id))


def _too_late(device: str, visit: Visit, op: PhoneOp, there: dt.datetime, at: dt.datetime) -> bool:
    newer = Operation.objects.filter(device=device, visit=visit, path__in=KINDS, seq__gt=op.seq)
    return (
        visit.state != State.BOOKED
        or there <= at
        or abs(there - visit.start) > FARTHEST
        # later than what the office says now, or it is none
        or (op.path == "running_late" and there <= visit.start)
        or newer.exists()
    )


def tellings_of(visits: Iterable[Visit]) -> dict[UUID, list[Telling]]:
    """Return what was said from the road about visits, the last first: two queries."""
    rows = list(
        Operation.objects.filter(visit__in=[visit.pk for visit in visits], path__in=KINDS)
        .order_by("-received_at", "-seq")
    )  # fmt: skip
    names = _names(rows)
    found: dict[UUID, list[Telling]] = {}
    for row in rows:
        found.setdefault(row.visit_id, []).append(telling_of(row, names))
    return found


def road_words(visit: Visit, rows: Iterable[Telling], at: dt.datetime) -> str:
    """Return what a client was told last of a visit that has not begun, while it may be believed."""
    told = next((row for row in rows if row.outcome == TOLD), None)
    if told is None or visit.state != State.BOOKED or told.there + GRACE <= at:
        return ""
    if abs(told.there - visit.start) > FARTHEST:
        return ""
    if told.path == "on_my_way":
        return on_my_way_sentence(told.name, told.there)
    return running_late_sentence(told.there)


def telling_of(row: Operation, names: dict[str, str]) -> Telling:
    """Return an operation as what was said; `names`: of the people by the phone."""
    value: Any = row.value
    there = moment_of(value["there"])
    assert there is not None  # noqa: S101 - it was looked at before it was kept
    name = names.get(row.device, "")
    return Telling(
        row.path, int(value["minutes"]), there, row.outcome, row.received_at, name
    )  # fmt: skip


def _names(rows: Iterable[Operation]) -> dict[str, str]:
    devices = {row.device for row in rows}
    people = User.objects.filter(phones__in=devices).values_list(
        "phones__pk", "first_name", "last_name", "username"
    )
    return {str(pk): f"{first} {last}".strip() or username for pk, first, last, username in people}
