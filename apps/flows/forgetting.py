"""What the night takes away because its time is over: one list, with whose setting each follows.

How long is a setting (`BACKYARD_KEEP_…_DAYS`, `KEEP_DAYS`) or, for what is only of use to the
program itself, fixed. Each part is a transaction of its own: one that fails keeps what it would have
taken, and the others go on.
"""

import datetime as dt
import logging
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any
from uuid import uuid4

from django.conf import settings
from django.db import models, transaction
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from apps.accounts.models import AuditEntry
from apps.accounts.services import KEY_KEPT, audit, keys_forget, sign_in_counts_forget
from apps.core import outbox
from apps.core.erasing import erasing, rows_erase
from apps.core.scoping import system
from apps.flows.access_log import days_forget
from apps.flows.client_rows import files_of
from apps.flows.file_removal import GRACE, files_sweep
from apps.incidents.models import IncidentPhoto
from apps.reports.choices import Delivery
from apps.reports.models import Letter
from apps.reports.services.returned import returned_forget_old
from apps.rounds.services import KEPT as DRAFTS_KEPT
from apps.rounds.services import plans_forget_old
from apps.visits.models import CallNote, PhoneRemark, ReadingPhoto, RefusedOperation
from apps.visits.services.uploads import KEPT as PIECES_KEPT
from apps.visits.services.uploads import uploads_forget_old

logger = logging.getLogger(__name__)
VERB, KIND = "forgot", "keeping"
GONE = "…"
"""What stands where somebody's own words were."""
OWN_WORDS = ("words", "subject")


@dataclass(frozen=True)
class Night:
    """The day that begins, the moment now, and from before when something goes."""

    on: dt.date
    at: dt.datetime
    before: dt.datetime


Forget = Callable[[Night], int]
"""Takes away what is over; returns how many went."""


@dataclass(frozen=True)
class Subject:
    """Something that is kept for a time. `setting`: its variable; empty where the time is fixed."""

    code: str
    words: Promise
    setting: str
    fixed: dt.timedelta | None
    forget: Forget

    @property
    def days(self) -> int | None:
        """After how many days it goes; None: never."""
        return self.fixed.days if self.fixed is not None else settings.KEEP_DAYS[self.code]


def _set(code: str, words: Promise, forget: Forget) -> Subject:
    return Subject(code, words, f"BACKYARD_KEEP_{code.upper()}_DAYS", None, forget)


def _fixed(
    code: str, words: Promise, time: dt.timedelta, forget: Callable[[dt.datetime], int]
) -> Subject:
    return Subject(code, words, "", time, lambda night: forget(night.at))


def _refused(night: Night) -> int:
    """Take refused answers of phones away that somebody has looked at, with what was said of them."""
    seen = PhoneRemark.objects.filter(refused__isnull=False, seen_at__lt=night.before)
    pairs = list(seen.values_list("pk", "refused_id"))
    with erasing():
        rows_erase(PhoneRemark, [pk for pk, _refused_id in pairs])
        return rows_erase(RefusedOperation, [pk for _pk, pk in pairs])


def _letter_words(night: Night) -> int:
    """Take own words and subjects out of letters that are over, and what a server answered to them.

    Why the program itself held one back names nobody, and tells whether it is written anew.
    """
    count = 0
    over = [Delivery.SENT, Delivery.RETURNED, Delivery.REPLACED, Delivery.WITHHELD]
    rows = Letter.objects.filter(made_at__lt=night.before, state__in=over).exclude(
        subject_line=GONE
    )
    for row in rows.iterator(chunk_size=500):
        answered = row.state in (Delivery.SENT, Delivery.RETURNED)
        Letter.objects.filter(pk=row.pk).update(
            parameters=_without_words(row.parameters), subject_line=GONE,
            last_error="" if answered else row.last_error,
        )  # fmt: skip
        count += 1
    return count


def _without_words(value: Any) -> Any:
    if isinstance(value, dict):
        return {
            name: GONE if name in OWN_WORDS and item else _without_words(item)
            for name, item in value.items()
        }
    return [_without_words(item) for item in value] if isinstance(value, list) else value


def _client_photos(night: Night) -> int:
    """Take photos of test tubes and of calls for help away that clients sent."""
    keys: dict[type[models.Model], set[Any]] = {
        ReadingPhoto: set(
            ReadingPhoto.objects.filter(reading__received_at__lt=night.before).values_list(
                "pk", flat=True
            )
        ),
        IncidentPhoto: set(
            IncidentPhoto.objects.filter(note__at__lt=night.before).values_list("pk", flat=True)
        ),
    }
    names = sorted(files_of(keys))
    with erasing():
        gone = sum(rows_erase(model, held) for model, held in keys.items())
        if names:
            outbox.enqueue("files.remove", f"files:{uuid4()}", {"names": names}, at=night.at)
    return gone


def _calls(night: Night) -> int:
    return CallNote.objects.filter(at__lt=night.before).delete()[0]


SUBJECTS = (
    _set("access", _("who looked at a client's data"), lambda night: days_forget(night.before)),
    _set("refused", _("answers of phones that were refused, once looked at"), _refused),
    _set("letter_words", _("own words and subjects of letters that went out"), _letter_words),
    _set("client_photos", _("photos that clients sent themselves"), _client_photos),
    _set("calls", _("notes of calls and messages"), _calls),
    _set("returned", _("which returned mail was read"),
         lambda night: returned_forget_old(night.at, night.at - night.before)),
    _fixed("keys", _("answers that a repeated request gets"), KEY_KEPT, keys_forget),
    _fixed("pieces", _("photos of which only a part came"), PIECES_KEPT, uploads_forget_old),
    _fixed("files", _("files that belong to nothing"), GRACE, files_sweep),
    Subject("drafts", _("drafts of rounds, after their last day"), "", DRAFTS_KEPT,
            lambda night: plans_forget_old(night.on)),
    _fixed("tries", _("counts of failed sign-ins"), dt.timedelta(), sign_in_counts_forget),
)  # fmt: skip
"""All that goes by itself."""


def forget(on: dt.date, at: dt.datetime) -> dict[str, int]:
    """Take away whatever is over, once a night; return how many of each went."""
    gone: dict[str, int] = {}
    for subject in SUBJECTS:
        days = subject.days
        if days is None:
            continue
        try:
            with transaction.atomic():
                gone[subject.code] = subject.forget(Night(on, at, at - dt.timedelta(days=days)))
        except Exception:
            logger.exception("%s could not be taken away", subject.code)
    audit(at=at, by=system("the night", at), verb=VERB, kind=KIND, object_id=on, change=gone)
    return gone


def last_time() -> AuditEntry | None:
    """Return what went in the last night."""
    return AuditEntry.objects.filter(verb=VERB, kind=KIND).order_by("-at", "-pk").first()
