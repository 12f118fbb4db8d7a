"""Whether a letter that is about to go out is still wanted, and still holds."""

import datetime as dt
from uuid import UUID

from django.utils import timezone
from django.utils.translation import gettext_noop as _noop

from apps.clients.choices import ReportsAs
from apps.reports.choices import NOTICES, PAPERS, Channel, Delivery, LetterKind
from apps.reports.models import BlockedAddress, Letter
from apps.rounds.selectors.standing_in import lacks_hands
from apps.visits.choices import State
from apps.visits.models import Visit

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


def visits_of(letter: Letter) -> list[tuple[Visit, int]]:
    """Return the visits of a letter, each with the calendar's sequence that it was written for.

    A reminder may hold several: a query more.
    """
    if letter.visit is None:
        return []
    rows = [(letter.visit, int(letter.parameters.get("sequence") or 0))]
    besides = letter.parameters.get("besides") or []
    if besides:
        held = Visit.objects.select_related("place__client").in_bulk(
            [UUID(row["visit"]) for row in besides]
        )
        rows += [
            (held[UUID(row["visit"])], int(row["sequence"]))
            for row in besides
            if UUID(row["visit"]) in held
        ]
    return rows


def visits_standing(letter: Letter, at: dt.datetime) -> list[Visit]:
    """Return the visits of a letter of which it still says how it stands."""
    return [
        visit
        for visit, sequence in visits_of(letter)
        if _stands(letter, visit, sequence, at) is None
    ]


def _visit(letter: Letter, at: dt.datetime) -> tuple[str, str] | None:
    if letter.visit is None or letter.kind not in DATED | FROM_THE_ROAD:
        return None
    found = [_stands(letter, visit, sequence, at) for visit, sequence in visits_of(letter)]
    if (held := (Delivery.WITHHELD, NOBODY_GOES)) in found:
        # as a whole: it is written anew for those to which somebody goes
        return held
    return None if None in found else found[0]


def _stands(
    letter: Letter, visit: Visit, sequence: int, at: dt.datetime
) -> tuple[str, str] | None:  # fmt: skip
    if visit.state == State.CALLED_OFF:
        return Delivery.WITHHELD, _noop("the visit is called off")
    if letter.kind in DATED and visit.end <= at:
        return Delivery.WITHHELD, _noop("the visit is over")
    there = letter.parameters.get("there")
    if there and dt.datetime.fromisoformat(there) + GRACE <= at:
        return Delivery.WITHHELD, _noop("the promised time is over")
    if letter.kind == LetterKind.REMINDER and lacks_hands(visit):
        return Delivery.WITHHELD, NOBODY_GOES
    if letter.kind in SAYS_WHEN and visit.appointment_sequence > sequence:
        return Delivery.REPLACED, _noop("a later letter says how it stands")
    return None


def _proposal(letter: Letter, at: dt.datetime) -> tuple[str, str] | None:
    until = letter.parameters.get("until") if letter.kind == LetterKind.PROPOSAL else None
    if until and dt.date.fromisoformat(until) < timezone.localdate(at):
        return Delivery.WITHHELD, _noop("the proposal is no longer valid")
    return None
