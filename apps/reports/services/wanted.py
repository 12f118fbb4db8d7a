"""Whether a letter that is about to go out is still wanted, and still holds."""

import datetime as dt

from django.utils import timezone
from django.utils.translation import gettext_noop as _noop

from apps.clients.choices import ReportsAs
from apps.reports.choices import NOTICES, PAPERS, Channel, Delivery, LetterKind
from apps.reports.models import BlockedAddress, Letter
from apps.rounds.selectors.standing_in import lacks_hands
from apps.visits.choices import State

# of no use once the visit's time is over
DATED = frozenset({LetterKind.APPOINTMENT, LetterKind.REMINDER, LetterKind.TIMES})
# said on the day itself, often of a visit whose time is over already: the promised time counts
FROM_THE_ROAD = frozenset({LetterKind.ON_MY_WAY, LetterKind.RUNNING_LATE})
# each says when the visit is, so that of these the newest alone holds
SAYS_WHEN = frozenset({LetterKind.APPOINTMENT, LetterKind.REMINDER})
# why a reminder was held back: it is written anew once somebody goes
NOBODY_GOES = _noop("whoever was to come is away then")
# how long "about 14:20" may be believed after it: common practice
GRACE = dt.timedelta(minutes=15)


def why_not(letter: Letter, at: dt.datetime) -> tuple[str, str] | None:
    """Return where a letter stands that must not go out, and why; None where it may go."""
    return _reader(letter) or _visit(letter, at) or _proposal(letter, at)


def _reader(letter: Letter) -> tuple[str, str] | None:
    contact = letter.contact
    if contact is None:
        return None
    if letter.channel == Channel.TEXT:
        wanted = contact.gets_texts
        return None if wanted else (Delivery.WITHHELD, _noop("they want no text messages any more"))
    if not contact.gets_letters:
        return Delivery.WITHHELD, _noop("they want no letters any more")
    if letter.kind in PAPERS and contact.reports_as == ReportsAs.PAUSED:
        return Delivery.WITHHELD, _noop("they want no reports for now")
    if letter.kind in NOTICES and not contact.gets_notices:
        return Delivery.WITHHELD, _noop("they want no notices")
    if BlockedAddress.objects.filter(address=letter.address.lower()).exists():
        return Delivery.WITHHELD, _noop("mail to this address came back, or was called spam")
    return None


def _visit(letter: Letter, at: dt.datetime) -> tuple[str, str] | None:
    visit = letter.visit
    if visit is None or letter.kind not in DATED | FROM_THE_ROAD:
        return None
    if visit.state == State.CALLED_OFF:
        return Delivery.WITHHELD, _noop("the visit is called off")
    if letter.kind in DATED and visit.end <= at:
        return Delivery.WITHHELD, _noop("the visit is over")
    there = letter.parameters.get("there")
    if there and dt.datetime.fromisoformat(there) + GRACE <= at:
        return Delivery.WITHHELD, _noop("the promised time is over")
    if letter.kind == LetterKind.REMINDER and lacks_hands(visit):
        return Delivery.WITHHELD, NOBODY_GOES
    newer = visit.appointment_sequence > int(letter.parameters.get("sequence") or 0)
    if letter.kind in SAYS_WHEN and newer:
        return Delivery.REPLACED, _noop("a later letter says how it stands")
    return None


def _proposal(letter: Letter, at: dt.datetime) -> tuple[str, str] | None:
    until = letter.parameters.get("until") if letter.kind == LetterKind.PROPOSAL else None
    if until and dt.date.fromisoformat(until) < timezone.localdate(at):
        return Delivery.WITHHELD, _noop("the proposal is no longer valid")
    return None
