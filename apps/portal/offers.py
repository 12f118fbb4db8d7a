"""Times that a client may choose from, as their page shows them."""

import datetime as dt
from collections.abc import Collection
from dataclasses import dataclass
from uuid import UUID

from django.utils import timezone
from django.utils.translation import gettext as _

from apps.core.dates import day_text
from apps.core.scoping import Actor
from apps.flows.letter_parts import day_and_time, span
from apps.rounds.choices import OfferState, TimeState
from apps.rounds.models import TimesOffered
from apps.visits.choices import Answer
from apps.visits.models import Visit

RECENT = dt.timedelta(days=30)


@dataclass(frozen=True)
class TimeShown:
    """One of the times; `there`: it can still be chosen."""

    pk: UUID
    day: str
    span: str
    there: bool


@dataclass(frozen=True)
class OfferShown:
    """What was offered, or why nothing can be chosen any more."""

    row: TimesOffered
    is_open: bool
    heading: str
    text: str
    times: list[TimeShown]
    systems: str
    stands: str


def cannot_come(start: dt.datetime) -> str:
    """Return the sentence that a visit does not come at the time that it was promised for."""
    return _("We cannot come on %(when)s after all.") % {"when": day_and_time(start)}


def offers_shown(
    actor: Actor, at: dt.datetime, subject: UUID | None, booked: Collection[UUID],
    lacking: Collection[UUID],
) -> list[OfferShown]:  # fmt: skip
    """Return the latest offer of each visit, soonest to answer first: a fixed number of queries.

    `subject`: the one visit that the link is for. Of those that ended only what still says
    something: not of a visit that is `booked`, and not for long. `lacking`: nobody makes them.
    """
    rows = (
        TimesOffered.objects.visible_to(actor)
        .select_related("visit__place")
        .prefetch_related("times", "visit__sheets__system")
        .order_by("-made_at", "id")
    )
    rows = rows.filter(visit_id=subject) if subject else rows.filter(made_at__gte=at - RECENT)
    latest: dict[UUID, TimesOffered] = {}
    for row in rows:
        latest.setdefault(row.visit_id, row)
    shown = [_shown(row, at, lacking) for row in latest.values() if _says(row, subject, booked)]
    return sorted(shown, key=lambda item: (not item.is_open, item.row.until))


def _says(row: TimesOffered, subject: UUID | None, booked: Collection[UUID]) -> bool:
    """Whether an offer is worth showing."""
    if row.state == OfferState.OPEN:
        return True
    if row.visit_id in booked or row.state == OfferState.PICKED:
        return False
    return subject is not None or row.state in (OfferState.LAPSED, OfferState.NONE_SUITS)


def _shown(row: TimesOffered, at: dt.datetime, lacking: Collection[UUID]) -> OfferShown:
    is_open = row.state == OfferState.OPEN and row.until > at
    state = OfferState.LAPSED if row.state == OfferState.OPEN and not is_open else row.state
    heading, text = _words(row, state, is_open)
    return OfferShown(
        row, is_open, heading, text,
        [
            TimeShown(time.pk, day_text(timezone.localdate(time.told_from), "long"),
                      span(time.told_from, time.told_until), time.state == TimeState.HELD)
            for time in row.times.all()
        ] if is_open else [],
        ", ".join(sorted(sheet.system.name for sheet in row.visit.sheets.all())),
        _stands(row.visit, lacking) if row.visit.state == "booked" and is_open else "",
    )  # fmt: skip


def _stands(visit: Visit, lacking: Collection[UUID]) -> str:
    if visit.client_answer == Answer.DECLINED:
        return ""
    if visit.pk in lacking:
        return cannot_come(visit.start)
    return _("So far we come on %(when)s.") % {"when": day_and_time(visit.start)}


def _words(row: TimesOffered, state: str, is_open: bool) -> tuple[str, str]:
    until = day_and_time(row.until)
    if is_open:
        text = _("We keep these times for you until %(until)s. The one you take is booked at once.")
        text %= {"until": until}
        return _("Which time suits you?"), text
    if state == OfferState.LAPSED:
        return _("The time to choose is over"), _(
            "We kept the times for you until %(until)s. Please call us or write to us, and we find "
            "another one."
        ) % {"until": until}  # fmt: skip
    if state == OfferState.NONE_SUITS:
        return _("None of the times suits you"), _(
            "You have told us so. We look for other times and write to you."
        )  # fmt: skip
    return _("These times can be had no more"), _(
        "Something has changed meanwhile. We write to you or call you about our visit."
    )  # fmt: skip
