"""Working alone: a time by which somebody says that all is well, or else the office is told.

Where there is no signal neither the time nor the word arrives, so this never stands for a person
who waits for a call.
"""

import datetime as dt
from typing import Any
from uuid import UUID

from django.db import transaction

from apps.accounts.selectors import firm_current
from apps.accounts.services import audit
from apps.core import outbox
from apps.core.scoping import Actor
from apps.reports.choices import LetterKind
from apps.reports.services.letters import letter_make
from apps.visits.models import CheckIn, Visit
from apps.visits.services.answers import check
from apps.visits.services.phones import check_in_fine, check_in_set
from apps.visits.services.steps import author
from apps.visits.services.typed import moment_of

# a phone that was away sends 'by when' and 'fine' in one go
GRACE = dt.timedelta(minutes=1)


@transaction.atomic
def heard(*, visit: Visit, path: str, value: Any, by: Actor, at: dt.datetime) -> None:
    """Note an answer that is a check-in, and see to it that the office is told in time."""
    group, _sep, rest = path.partition("/")
    if group != "checkin" or value is None:
        return
    key, leaf = rest.split("/")
    if leaf == "who":
        return
    moment = moment_of(check(path, value)[1])
    if moment is None:
        return
    if leaf == "fine_at":
        for row in CheckIn.objects.filter(pk=UUID(key), visit=visit):
            _fine(row, moment, at)
        return
    if check_in_set(visit=visit, key=UUID(key), fine_by=moment, by=author(by)):
        outbox.enqueue(
            "check_in.tell", f"check_in:{key}:{moment.isoformat()}", {"check_in_id": key}, at=at,
            run_at=max(moment, at) + GRACE,
        )  # fmt: skip


@transaction.atomic
def tell(*, check_in_id: UUID, at: dt.datetime) -> bool:
    """Write to the office about a check-in that nobody has answered, once; return whether."""
    late = CheckIn.objects.filter(pk=check_in_id, fine_at__isnull=True, fine_by__lte=at)
    if not late.filter(told_at__isnull=True).update(told_at=at):
        return False
    _letter(CheckIn.objects.select_related("visit").get(pk=check_in_id), "late", at)
    return True


@transaction.atomic
def office_heard(*, check_in: CheckIn, by: Actor, at: dt.datetime) -> None:
    """Note that the office has spoken to the person."""
    _fine(check_in, at, at)
    audit(at=at, by=by, verb="heard from", kind="check_in", object_id=check_in.pk)


def visit_ended(visit: Visit, at: dt.datetime) -> None:
    """Close what is open: who writes a visit up is well. In the caller's transaction."""
    for row in CheckIn.objects.filter(visit=visit, fine_at__isnull=True):
        _fine(row, at, at)


def _fine(row: CheckIn, moment: dt.datetime, at: dt.datetime) -> None:
    """Note that all is well; where the office was told otherwise, take it back."""
    if check_in_fine(check_in=row, fine_at=moment) and row.told_at is not None:
        _letter(row, "fine", at)


def _letter(row: CheckIn, word: str, at: dt.datetime) -> None:
    letter_make(
        kind=LetterKind.CHECK_IN, key=f"check_in:{row.pk}:{word}", address=firm_current().email,
        contact=None, visit=row.visit, parameters={"check_in": str(row.pk), "word": word}, at=at,
    )  # fmt: skip
