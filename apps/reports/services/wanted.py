"""Whether a letter that is about to go out is still wanted, and still holds."""

import datetime as dt

from django.utils.translation import gettext_noop as _noop

from apps.clients.choices import ReportsAs
from apps.reports.choices import NOTICES, Delivery, LetterKind
from apps.reports.models import BlockedAddress, Letter
from apps.visits.choices import State

# of no use once the visit is over, or will not be
ABOUT_A_VISIT_TO_COME = frozenset({
    LetterKind.APPOINTMENT, LetterKind.REMINDER, LetterKind.TIMES, LetterKind.RUNNING_LATE,
    LetterKind.ON_MY_WAY,
})  # fmt: skip
DATED = frozenset({LetterKind.APPOINTMENT, LetterKind.REMINDER})


def why_not(letter: Letter, at: dt.datetime) -> tuple[str, str] | None:
    """Return where a letter stands that must not go out, and why; None where it may go."""
    return _reader(letter) or _visit(letter, at)


def _reader(letter: Letter) -> tuple[str, str] | None:
    contact = letter.contact
    if contact is None:
        return None
    if not contact.gets_letters:
        return Delivery.WITHHELD, _noop("they want no letters any more")
    if letter.kind == LetterKind.REPORT and contact.reports_as == ReportsAs.PAUSED:
        return Delivery.WITHHELD, _noop("they want no reports for now")
    if letter.kind in NOTICES and not contact.gets_notices:
        return Delivery.WITHHELD, _noop("they want no notices")
    if BlockedAddress.objects.filter(address=letter.address.lower()).exists():
        return Delivery.WITHHELD, _noop("mail to this address came back, or was called spam")
    return None


def _visit(letter: Letter, at: dt.datetime) -> tuple[str, str] | None:
    visit = letter.visit
    if visit is None or letter.kind not in ABOUT_A_VISIT_TO_COME:
        return None
    if visit.state == State.CALLED_OFF:
        return Delivery.WITHHELD, _noop("the visit is called off")
    if visit.end <= at:
        return Delivery.WITHHELD, _noop("the visit is over")
    newer = visit.appointment_sequence > int(letter.parameters.get("sequence") or 0)
    if letter.kind in DATED and newer:
        return Delivery.REPLACED, _noop("a later letter says how it stands")
    return None
