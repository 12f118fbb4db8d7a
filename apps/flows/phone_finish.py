"""The end of a visit that was given on a phone, once all that belongs to it is here.

`finish` holds {needs_seq, photos, worked_out}: the highest count of the answers that still lay on
the phone when the end was given, the photos that did, and what the phone had worked out as [sheet, rule, loop, dose or null].
"""

import datetime as dt
from typing import Any
from uuid import UUID

from django.db import transaction
from django.db.models import Min
from django.utils.translation import gettext as _

from apps.accounts.services import audit
from apps.core.exceptions import DomainError, Invalid
from apps.core.scoping import Actor
from apps.flows import visit_closing
from apps.flows.phone_parts import PhoneOp, Reply, Why, refused
from apps.visits.choices import Remark, State
from apps.visits.models import Operation, PhoneRemark, Photo, RefusedOperation, Visit
from apps.visits.services.answers import BadAnswer, amount, key, keys, words
from apps.visits.services.steps import author

WAITING = "waiting"
MOST_ADVICE = 400
MOST_PHOTOS = 1000
MOST_SEQ = 20_000
# two doses are the same to the digit that is shown, one part in two hundred at most
NEAR = 0.005
Found = dict[tuple[str, str, str], float | None]


class _Said:
    """What a phone says with the end. Raises BadAnswer."""

    def __init__(self, value: Any) -> None:
        if not isinstance(value, dict):
            raise BadAnswer(_("an object is needed"))
        self.photos = {UUID(one) for one in keys(value.get("photos") or [], MOST_PHOTOS)}
        needs = value.get("needs_seq")
        if needs is not None and (type(needs) is not int or not 0 <= needs < 2**53):
            raise BadAnswer("needs_seq: " + _("a whole number from 0 is needed"))
        self.needs_seq: int = needs or 0
        self.worked_out = _worked_out(value.get("worked_out"))


def _worked_out(rows: Any) -> Found | None:
    """Return what the phone worked out; None where that cannot be read: it never holds an end up."""
    if not isinstance(rows, list) or len(rows) > MOST_ADVICE:
        return None
    found: Found = {}
    try:
        for sheet, rule, loop, dose in rows:
            found[key(sheet), words(60)(rule), words(40)(loop)] = amount(dose)
    except (TypeError, ValueError):
        return None
    return found


def finish_take(device: str, visit: Visit, op: PhoneOp, by: Actor, at: dt.datetime) -> Reply:
    """End a visit once all that belongs to it is here; until then it waits and says for what."""
    visit.refresh_from_db()
    if visit.state in (State.WRITTEN_UP, State.REPORTED):
        _keep(device, visit, op, by, at, "again")
        return Reply(str(op.id), "ok", "again")
    try:
        said = _Said(op.value)
    except BadAnswer as error:
        return refused(device, op.row, [{"code": "answer", "message": str(error)}], by, at)
    waits = [*_answers_missing(device, visit, op, said), *_photos_missing(visit, said)]
    if waits:
        return Reply(str(op.id), "ok", WAITING, why=waits)
    try:
        with transaction.atomic():
            result = visit_closing.finish(visit=visit, by=by, at=at)
            _keep(device, visit, op, by, at, "applied")
            _settle(device, visit, at)
            differs = _compare(said.worked_out, result) if said.worked_out is not None else []
            if differs:
                _remark(device, visit, differs, by, at)
    except Invalid as error:
        why = [
            {"code": "invalid", "message": str(item["message"]), "pointer": item["pointer"]}
            for item in error.errors
        ]
        return refused(device, op.row, why, by, at)
    except DomainError as error:
        return refused(device, op.row, [{"code": error.code, "message": error.message}], by, at)
    return Reply(str(op.id), "ok", "applied", why=_differs_why(differs))


def _keep(device: str, visit: Visit, op: PhoneOp, by: Actor, at: dt.datetime, outcome: str) -> None:
    """Keep the operation, so that the phone's count has no gap."""
    if Operation.objects.filter(device=device, seq=op.seq).exists():
        return
    if Operation.objects.filter(pk=op.id).exists():
        return
    Operation.objects.create(
        pk=op.id, visit=visit, path="finish", value=op.value, device=device, seq=op.seq, at=op.at,
        received_at=at, by=author(by), outcome=outcome,
    )  # fmt: skip


def _settle(device: str, visit: Visit, at: dt.datetime) -> None:
    """Nobody need look at earlier ends of this visit that could not be taken."""
    ends = PhoneRemark.objects.filter(
        kind=Remark.REFUSED, device=device, visit=visit, refused__payload__path="finish"
    )
    ends.filter(seen_at__isnull=True).update(seen_at=at, seen_by="system:the visit ended")


def _answers_missing(device: str, visit: Visit, op: PhoneOp, said: _Said) -> Why:
    """Return what the phone counted before the end and nobody has received.

    The phone sends an end only once all answers of the visit were acknowledged; a hole in its
    count since the visit's first answer means that the server has lost some (restored from a
    copy), and the phone still holds them.
    """
    rows = Operation.objects.filter(device=device)
    first = rows.filter(visit=visit).aggregate(Min("seq"))["seq__min"]
    if first is None or said.needs_seq - first > MOST_SEQ:
        return []
    last = min(said.needs_seq, op.seq - 1)
    held = set(rows.filter(seq__range=(first, last)).values_list("seq", flat=True))
    gone = RefusedOperation.objects.filter(device=device, seq__range=(first, last))
    held |= set(gone.values_list("seq", flat=True))
    missing = [seq for seq in range(first, last + 1) if seq not in held]
    if not missing:
        return []
    message = _("Answers of this phone are still on their way.")
    return [{"code": "answers", "message": message, "seqs": missing[:100]}]


def _photos_missing(visit: Visit, said: _Said) -> Why:
    held = Photo.objects.filter(pk__in=said.photos, sheet__visit=visit)
    missing = said.photos - set(held.values_list("pk", flat=True))
    if not missing:
        return []
    message = _("Photos are still on their way.")
    return [{"code": "photos", "message": message, "photos": sorted(map(str, missing))}]


def _compare(phone: Found, result: visit_closing.Result) -> list[dict[str, Any]]:
    """Return where phone and server differ: advice that one of them lacks, or another dose."""
    server: Found = {
        (str(item.sheet.pk), draft.rule, draft.loop): draft.dose
        for item in result.sheets
        for draft in item.found.advice
    }
    return [
        {"sheet": sheet, "rule": rule, "loop": loop,
         "phone": _side(phone, (sheet, rule, loop)), "server": _side(server, (sheet, rule, loop))}
        for sheet, rule, loop in sorted(phone.keys() | server.keys())
        if not _same(phone, server, (sheet, rule, loop))
    ]  # fmt: skip


def _side(found: Found, place: tuple[str, str, str]) -> dict[str, Any] | None:
    return {"dose": found[place]} if place in found else None


def _same(phone: Found, server: Found, place: tuple[str, str, str]) -> bool:
    if (place in phone) != (place in server):
        return False
    one, other = phone[place], server[place]
    if one is None or other is None:
        return one is other
    return abs(one - other) <= NEAR * max(1.0, abs(other))


def _remark(
    device: str, visit: Visit, differs: list[dict[str, Any]], by: Actor, at: dt.datetime
) -> None:
    PhoneRemark.objects.create(
        kind=Remark.DIFFERS, device=device, visit=visit, says=differs, made_at=at
    )
    audit(
        at=at, by=by, verb="phone differs", kind="visit", object_id=visit.pk,
        change={"device": device, "differs": differs},
    )  # fmt: skip


def _differs_why(differs: list[dict[str, Any]]) -> Why:
    if not differs:
        return []
    message = _("The server works some advice out otherwise; its figures stand on record.")
    return [{"code": "differs", "message": message, "differs": differs}]
