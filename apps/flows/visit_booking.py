"""Booking: a visit on the calendar, and the letter that asks the client.

A time that is held for another client is not taken, but by a call for help: then it is gone. What
was offered for a visit ends once the visit is moved, booked, called off or answered otherwise.
"""

import datetime as dt
from uuid import UUID

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from apps.accounts.models import User
from apps.care.services import visit_days_ask
from apps.clients.models import Place
from apps.core.dates import day_text
from apps.core.exceptions import Invalid
from apps.core.scoping import Actor
from apps.flows.hands_letters import hands_letters
from apps.flows.visit_letters import appointment_letters
from apps.reports.choices import LetterKind
from apps.rounds.choices import OfferState
from apps.rounds.exceptions import NotKept
from apps.rounds.selectors.offers import visits_asked_anew
from apps.rounds.selectors.standing_in import lacks_hands
from apps.rounds.services.offers import held_check, offer_overtaken, times_gone, times_lock
from apps.systems.models import System
from apps.visits.choices import Answer, State
from apps.visits.models import Visit
from apps.visits.services.booking import client_answer, visit_book, visit_hand_over, visit_move
from apps.visits.services.steps import visit_step


@transaction.atomic
def pencil(
    *,
    place: Place,
    systems: list[System],
    start: dt.datetime,
    end: dt.datetime,
    technicians: list[User],
    by: Actor,
    at: dt.datetime,
    reason: str = "",
    pk: UUID | None = None,
    any_hour: bool = False,
) -> Visit:
    """Pencil a visit in; nobody is told yet. `any_hour`: a call for help, at any hour."""
    times_lock()
    if any_hour:
        times_gone(technicians=technicians, start=start, end=end, by=by, at=at)
    else:
        held_check(technicians, start, end)
    visit = visit_book(
        place=place, systems=systems, start=start, end=end, technicians=technicians, by=by, at=at,
        reason=reason, pk=pk, any_hour=any_hour,
    )  # fmt: skip
    visit_days_ask([place.pk], at)
    return visit


@transaction.atomic
def step(*, visit: Visit, to: str, by: Actor, at: dt.datetime, reason: str = "") -> Visit:
    """Bring a visit to another state and tell the client where that concerns them."""
    before, asked_by_client = visit.state, by.role == "client"
    times_lock()
    if to != State.PENCILLED:
        offer_overtaken(visit=visit, by=by, at=at)
    visit = visit_step(visit=visit, to=to, by=by, at=at, reason=reason)
    if to == State.BOOKED and before == State.PENCILLED:
        appointment_letters(visit, LetterKind.APPOINTMENT, at, at_once=asked_by_client)
    if to == State.CALLED_OFF and visit.appointment_sequence:
        appointment_letters(visit, LetterKind.CALLED_OFF, at, at_once=asked_by_client)
    visit_days_ask([visit.place_id], at)
    visit.refresh_from_db()
    return visit


@transaction.atomic
def move(
    *,
    visit: Visit,
    start: dt.datetime,
    end: dt.datetime,
    technicians: list[User],
    rev: int,
    by: Actor,
    at: dt.datetime,
) -> Visit:
    """Move a visit; a client who was told is told again. Raises Invalid for a day gone by."""
    day_check(start, at)
    told = visit.appointment_sequence > 0
    times_lock()
    offer_overtaken(visit=visit, by=by, at=at)
    held_check(technicians, start, end)
    visit = visit_move(
        visit=visit, start=start, end=end, technicians=technicians, rev=rev, by=by, at=at
    )
    if told and visit.state == State.BOOKED:
        appointment_letters(visit, LetterKind.APPOINTMENT, at, at_once=by.role == "client")
    visit_days_ask([visit.place_id], at)
    visit.refresh_from_db()
    return visit


@transaction.atomic
def hand_over(
    *, visit: Visit, leaves: User, instead: User, rev: int, by: Actor, at: dt.datetime
) -> Visit:
    """Send somebody else to a booked visit at its time; a client who was told who comes is told."""
    told = visit.appointment_sequence > 0
    times_lock()
    held_check([instead], visit.start, visit.end)
    visit = visit_hand_over(visit=visit, leaves=leaves, instead=instead, rev=rev, by=by, at=at)
    if told:
        hands_letters(visit, at)
    return visit


@transaction.atomic
def answer(*, visit: Visit, answer: str, words: str, by: Actor, at: dt.datetime) -> Visit:
    """Note what the client says to the appointment; what was offered besides it ends with that.

    Raises IllegalTransition once the visit has begun, NotKept where a client confirms a time that
    cannot be kept, or for which they were offered others.
    """
    times_lock()
    if by.role == "client" and answer == Answer.CONFIRMED:
        _stands_check(visit)
    if answer == Answer.OTHER_TIME:
        offer_overtaken(visit=visit, by=by, at=at, to=OfferState.NONE_SUITS, words=words)
    elif answer in (Answer.CONFIRMED, Answer.DECLINED):
        offer_overtaken(visit=visit, by=by, at=at)
    return client_answer(visit=visit, answer=answer, words=words, by=by, at=at)


def day_check(start: dt.datetime, at: dt.datetime) -> None:
    """Raise Invalid where a visit that has not begun would stand on a day gone by."""
    day = timezone.localdate(start)
    if day < timezone.localdate(at):
        words = _("%(day)s has gone by; choose today or a day to come") % {"day": day_text(day)}
        raise Invalid(
            [{"pointer": "/start", "value": start.isoformat(), "message": f"start: {words}"}]
        )


def _stands_check(visit: Visit) -> None:
    if lacks_hands(visit):
        raise NotKept(_("We cannot come then after all; please tell us when else would suit you, or call us."))  # fmt: skip
    if visits_asked_anew([visit]):
        raise NotKept(_("You have asked for another time instead of this one; please call us if it suits you after all."))  # fmt: skip
