"""Somebody is away: others make their booked visits, at the times that clients were promised.

Nothing is stored before the office has seen it all. Each line is stored by itself: one that
somebody else was quicker with is refused in words, and the others are stored all the same.
"""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from uuid import UUID

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from apps.accounts.models import User
from apps.clients.models import Place
from apps.clients.selectors import clients_with_letters
from apps.core.dates import day_text
from apps.core.exceptions import Conflict, DomainError
from apps.core.scoping import Actor
from apps.flows import offering
from apps.flows.rounds_wording import left_out_text
from apps.flows.visit_booking import hand_over
from apps.rounds.models import Absence, RoundPlan
from apps.rounds.selectors.shown import PlanShown
from apps.rounds.selectors.standing_in import (
    DaysWithout,
    StandIn,
    days_without,
    stand_ins,
    visits_lost,
)
from apps.rounds.services.offers import times_lock
from apps.visits.models import Visit


@dataclass(frozen=True)
class Line:
    """Somebody who could make a visit instead: what it costs more, and whether the client is told.

    `extra` counts ten-thousandths of the firm's currency, `metres` what is driven more.
    """

    visit: Visit
    user: User
    extra: int
    metres: int
    told: bool

    @property
    def pick(self) -> "Pick":
        """What the office accepts with it."""
        return Pick(self.visit.pk, self.visit.rev, self.user.pk)


@dataclass(frozen=True)
class Pick:
    """A line that was accepted: the visit as it was then, and who makes it."""

    visit: UUID
    rev: int
    user: UUID


@dataclass(frozen=True)
class Refused:
    """A line that could not be stored, and why."""

    pick: Pick
    why: str


@dataclass(frozen=True)
class Proposal:
    """All that is proposed for an absence, and with its reason what nobody can make."""

    lines: list[Line]
    nobody: list[tuple[Visit, str]]


def propose(*, absence: Absence, today: dt.date, at: dt.datetime) -> Proposal:
    """Return who could make each booked visit of somebody who is away; nothing is stored."""
    visits = visits_lost(absence, at)
    if not visits:
        return Proposal([], [])
    days = days_without(absence, visits, today, at)
    found, out = stand_ins(days)
    users = User.objects.in_bulk([UUID(row.technician) for row in found])
    shown = _shown(days)
    nobody = [
        (days.lost[row.stop], left_out_text(shown, row.stop, row.reason, row.params)) for row in out
    ]
    # what lies more than a month ahead is not looked at yet
    seen = {visit.pk for visit in days.lost.values()}
    later = _("it lies more than a month ahead; look again when it is nearer")
    nobody += [(visit, later) for visit in visits if visit.pk not in seen]
    reached = clients_with_letters(row.visit.place.client_id for row in found)
    return Proposal([_line(row, users[UUID(row.technician)], reached) for row in found], nobody)


def _line(row: StandIn, user: User, reached: set[UUID]) -> Line:
    told = row.visit.appointment_sequence > 0 and row.visit.place.client_id in reached
    return Line(row.visit, user, row.extra, row.metres, told)


def _shown(days: DaysWithout) -> PlanShown:
    places = Place.objects.in_bulk({row.place for row in days.work.values()})
    return PlanShown(RoundPlan(first=days.first, days=1), None, days.problem, days.work, places)


@transaction.atomic
def take_over(
    *, absence: UUID, picks: Sequence[Pick], today: dt.date, by: Actor, at: dt.datetime
) -> tuple[list[Visit], list[Refused]]:
    """Store the lines that were accepted; return the visits that others make now, and what failed.

    Looked at again behind the lock, each after those before it. Raises Conflict where the absence
    was taken back.
    """
    times_lock()
    row = Absence.objects.filter(pk=absence).select_related("user").first()
    if row is None:
        raise Conflict(_("They work on these days after all: nobody was sent instead."), "not_away")
    days = days_without(row, visits_lost(row, at), today, at)
    stored, refused = [], []
    for pick in picks:
        try:
            with transaction.atomic():
                stored.append(_take(days, row, pick, by, at))
        except DomainError as error:
            refused.append(Refused(pick, _why(pick.visit, error)))
    return stored, refused


def _take(days: DaysWithout, absence: Absence, pick: Pick, by: Actor, at: dt.datetime) -> Visit:
    stop = next((name for name, visit in days.lost.items() if visit.pk == pick.visit), None)
    instead = User.objects.filter(pk=pick.user).first()
    if stop is None or instead is None or days.lost[stop].rev != pick.rev:
        raise Conflict(_("somebody changed it meanwhile; look at it again"), "changed")
    offer = days.offer(stop, str(pick.user))
    if offer is None:
        raise Conflict(
            _("%(user)s cannot be there then any more; look who else can") % {"user": instead},
            "no_room",
        )
    visit = hand_over(
        visit=days.lost[stop], leaves=absence.user, instead=instead, rev=pick.rev, by=by, at=at
    )
    days.draft.take(stop, offer)
    return visit


def _why(visit_id: UUID, error: DomainError) -> str:
    """Return why something was refused, with the visit that it was about."""
    visit = Visit.objects.select_related("place").filter(pk=visit_id).first()
    if visit is None:
        return error.message
    return _("%(place)s, %(day)s: %(why)s") % {
        "place": visit.place.name, "day": day_text(timezone.localdate(visit.start)), "why": error.message,
    }  # fmt: skip


def times_ask(
    *, absence: UUID, visits: Sequence[UUID], by: Actor, at: dt.datetime
) -> tuple[list[Visit], list[str]]:
    """Offer other times to the clients of visits that nobody can make, each visit by itself.

    Returns the visits whose clients were written to, and for each of the others why not, in words.
    A visit that lost nobody by the absence is left alone.
    """
    row = Absence.objects.filter(pk=absence).first()
    if row is None:
        raise Conflict(_("They work on these days after all: nobody was written to."), "not_away")
    wanted = set(visits)
    asked, refused = [], []
    for visit in visits_lost(row, at):
        if visit.pk not in wanted:
            continue
        try:
            offering.offer(visit=visit, by=by, at=at)
        except DomainError as error:
            refused.append(_why(visit.pk, error))
        else:
            asked.append(visit)
    return asked, refused
