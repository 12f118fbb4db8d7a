"""Times offered to a client: found in the rounds as they stand, held, picked, let go.

Whoever takes or frees somebody's time does it under one lock, so that two clients, a client and
the office, or a client and the deadline never both have it.
"""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from uuid import UUID, uuid4

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from apps.accounts.choices import Role
from apps.accounts.models import User
from apps.care.services import visit_days_ask
from apps.clients.selectors import letter_contacts
from apps.core import outbox
from apps.core.exceptions import DomainError, Invalid
from apps.core.scoping import Actor, system
from apps.flows.offer_letters import times_letters
from apps.flows.rounds_wording import left_out_text, note_text
from apps.flows.visit_letters import appointment_letters
from apps.reports.choices import LetterKind
from apps.reports.models import Letter
from apps.rounds.choices import OfferState, TimeState
from apps.rounds.exceptions import NoOffer, OfferEnded, TimeGone
from apps.rounds.models import TimeOffered, TimesOffered
from apps.rounds.selectors import settings_current
from apps.rounds.selectors.axis import seconds_of
from apps.rounds.selectors.offers import AsItStands, Time, offers_of, shown, times_ahead
from apps.rounds.selectors.people import staff_between
from apps.rounds.selectors.standing_in import lacks_hands
from apps.rounds.services.offers import (
    MOST_TIMES,
    NewTime,
    ended_words,
    offer_end,
    offer_new,
    time_gone,
    times_lock,
    until_check,
)
from apps.visits.choices import Answer, State
from apps.visits.models import Visit
from apps.visits.services.booking import client_answer, free_check, times_check, visit_move
from apps.visits.services.steps import visit_step

LEAST_TIMES = 2
ANSWER_WITHIN = dt.timedelta(hours=48)
MOST_PEOPLE = 2
QUARTER = 15


@dataclass(frozen=True)
class Refusal:
    """Why no times can be offered: a word, and a sentence with the way out."""

    why: str
    text: str


@dataclass(frozen=True)
class Choice:
    """What could be offered for a visit: the times, until when, what the office should know."""

    times: list[Time]
    until: dt.datetime
    latest: dt.datetime
    notes: list[str]
    refusal: Refusal | None = None


def is_wanted(visit: Visit) -> bool:
    """Whether a visit's time is open: pencilled in, its client wants another one, or nobody can go."""
    if visit.state != State.BOOKED:
        return bool(visit.state == State.PENCILLED)
    return visit.client_answer == Answer.OTHER_TIME or lacks_hands(visit)


def refusal_of(visit: Visit) -> Refusal | None:
    """Return why no times can be offered for a visit as it stands; None where they can."""
    client, place = visit.place.client, visit.place
    if not is_wanted(visit):
        return Refusal("settled", _(
            "This visit is %(state)s. Times are offered while it is pencilled in, once its client "
            "wants another time, or where who was to come is away; note that first, or move it."
        ) % {"state": State(visit.state).label})  # fmt: skip
    if visit.times_offered.filter(state=OfferState.OPEN).exists():
        text = _("Times are offered for this visit already; take them back first.")
        return Refusal("open", text)
    if client.just_tell:
        return Refusal("just_tell", _(
            "%(client)s wants no questions, only to be told. Choose a time yourself: move the visit, "
            "then book it."
        ) % {"client": client.name})  # fmt: skip
    if not letter_contacts(client.pk):
        return Refusal("no_letters", _(
            "Nobody at %(client)s gets letters. Telephone, then move the visit to what suits."
        ) % {"client": client.name})  # fmt: skip
    if visit.assignments.count() > MOST_PEOPLE:
        return Refusal("people", _(
            "More than two people go to this visit, and their days are not searched together. Choose "
            "a time yourself: move the visit, then book it."
        ))  # fmt: skip
    if place.latitude is None or place.longitude is None:
        return Refusal("no_coordinates", _(
            "%(place)s is not on the map, so nobody knows the way there. Put latitude and longitude "
            "on the page of the place first."
        ) % {"place": place.name})  # fmt: skip
    return _written_to_often(visit)


def _written_to_often(visit: Visit) -> Refusal | None:
    """Refuse where the client was written to about this visit as often as the firm wants."""
    most = settings_current().most_letters
    rows = Letter.objects.filter(visit=visit, kind=LetterKind.APPOINTMENT)
    count = rows.values("parameters__sequence").distinct().count() + visit.times_offered.count()
    if count < most:
        return None
    text = ngettext(
        "The client was written to %(count)d time about this visit, as often as the firm wants. "
        "Telephone, then move the visit.",
        "The client was written to %(count)d times about this visit, as often as the firm wants. "
        "Telephone, then move the visit.", count,
    ) % {"count": count}  # fmt: skip
    return Refusal("written_to_often", text)


def choice_of(visit: Visit, at: dt.datetime) -> Choice:
    """Return the times that could be offered for a visit, the cheapest of each day, soonest first.

    Where none can, or too few, the refusal says why.
    """
    refusal = refusal_of(visit)
    if refusal is not None:
        return Choice([], at, at, [], refusal)
    try:
        stands, times = times_ahead(visit, timezone.localdate(at), at, MOST_TIMES)
    except ValueError as error:
        return Choice([], at, at, [], Refusal("settings", str(error)))
    notes = _notes(stands, visit, times)
    if len(times) < LEAST_TIMES:
        return Choice(times, at, at, notes, _too_few(stands, visit, times))
    latest = latest_of([time.start for time in times])
    until = min(at + ANSWER_WITHIN, latest)
    return Choice(times, _quarter(until, at), latest, notes)


def _notes(stands: AsItStands, visit: Visit, times: Sequence[Time]) -> list[str]:
    """Return what the office should know of the days that are offered, in words."""
    days = {(timezone.localdate(time.start) - stands.first).days for time in times}
    plan = shown(stands, visit)
    return [
        note_text(plan, note.code, note.params)
        for note in stands.notes
        if note.params.get("day") is None or note.params["day"] in days
    ]


def _too_few(stands: AsItStands, visit: Visit, times: Sequence[Time]) -> Refusal:
    if times:
        return Refusal("one_time", _(
            "Only one time fits into the rounds of the days to come. Move the visit there, then ask "
            "the client."
        ))  # fmt: skip
    plan = shown(stands, visit)
    for left in stands.plan.left_out:
        if left.stop == stands.stop:
            why = left_out_text(plan, left.stop, left.reason, left.params)
            words = _("No time fits into the rounds of the days to come: %(why)s.")
            return Refusal("no_time", words % {"why": why})
    return Refusal("no_time", _("No time fits into the rounds of the days to come."))


def latest_of(starts: Sequence[dt.datetime]) -> dt.datetime:
    """Return until when a client may choose at the latest: before the first time is frozen."""
    return min(starts) - dt.timedelta(days=settings_current().frozen_days)


def _quarter(moment: dt.datetime, after: dt.datetime) -> dt.datetime:
    """Return a moment down to the full quarter of an hour, where that still lies ahead."""
    over = dt.timedelta(
        minutes=moment.minute % QUARTER, seconds=moment.second, microseconds=moment.microsecond
    )
    return moment - over if moment - over > after else moment


def offer(
    *,
    visit: Visit,
    by: Actor,
    at: dt.datetime,
    keys: Sequence[str] | None = None,
    until: dt.datetime | None = None,
    pk: UUID | None = None,
) -> TimesOffered:
    """Offer a client times of a visit, hold them, and write to whoever gets letters there.

    `keys` names those to offer (all that are found where it is left out), `pk` is the offer's own:
    the same again is the same offer. Raises NoOffer with why, Invalid naming the field, and
    DoubleBooked or TimeHeld where a time was taken meanwhile.
    """
    pk = pk or uuid4()
    made = TimesOffered.objects.filter(pk=pk, visit=visit).first()
    if made is not None:
        return made
    found = choice_of(visit, at)
    if found.refusal is not None:
        raise NoOffer(found.refusal.text, why=found.refusal.why)
    times = _chosen(found.times, keys)
    latest = latest_of([time.start for time in times])
    until = until or _quarter(min(at + ANSWER_WITHIN, latest), at)
    until_check(until, latest, at)
    with transaction.atomic():
        times_lock()
        made = TimesOffered.objects.filter(pk=pk, visit=visit).first()
        return made or _offered(visit, times, until, pk, by, at)


def _offered(
    visit: Visit, times: Sequence[Time], until: dt.datetime, pk: UUID, by: Actor, at: dt.datetime
) -> TimesOffered:
    current = Visit.objects.select_for_update().get(pk=visit.pk)
    if current.rev != visit.rev:
        refusal = refusal_of(Visit.objects.select_related("place__client").get(pk=visit.pk))
        if refusal is not None:
            raise NoOffer(refusal.text, why=refusal.why)
    names = {name for time in times for name in time.technicians}
    users = User.objects.in_bulk([UUID(name) for name in names])
    rows = [
        NewTime(
            time.start, time.end, time.told_from, time.told_until,
            tuple(users[UUID(name)] for name in time.technicians), time.extra, time.metres,
        )
        for time in times
    ]  # fmt: skip
    made = offer_new(visit=visit, times=rows, until=until, pk=pk, by=by, at=at)
    outbox.enqueue(
        "offer.lapse", f"offer:{made.pk}", {"offer_id": str(made.pk)}, at=at, run_at=until
    )
    times_letters(made, at)
    return made


def _chosen(times: Sequence[Time], keys: Sequence[str] | None) -> list[Time]:
    """Return the times that were asked for. Raises Invalid."""
    if keys is None:
        return list(times)
    known = {time.key: time for time in times}
    for key in keys:
        if key not in known:
            raise _refuse("times", key, _(
                "one of these can be had no more; look at the times again"
            ))  # fmt: skip
    chosen = [time for time in times if time.key in set(keys)]
    if len(chosen) < LEAST_TIMES:
        raise _refuse("times", None, _("leave at least two, so that the client can choose"))
    return chosen


def _refuse(name: str, value: object, message: str) -> Invalid:
    return Invalid([{"pointer": f"/{name}", "value": value, "message": f"{name}: {message}"}])


def pick(*, offer: TimesOffered, time_id: UUID, by: Actor, at: dt.datetime) -> Visit:
    """Book the time that a client chose; the usual letter confirms it, with a calendar entry.

    The same choice again changes nothing. Raises OfferEnded where it was ended or its time is over,
    TimeGone where this one can be had no more: the others still can.
    """
    with transaction.atomic():
        times_lock()
        row = TimesOffered.objects.select_for_update().get(pk=offer.pk)
        time = _time_of(row, time_id)
        if row.state == OfferState.PICKED and time.state == TimeState.PICKED:
            return Visit.objects.get(pk=row.visit_id)
        _open_check(row, at)
        visit = Visit.objects.select_related("place__client").get(pk=row.visit_id)
        users = [hold.user for hold in time.holds.select_related("user").order_by("user_id")]
        there = time.state == TimeState.HELD and _can_be(visit, time, users, at)
        if there:
            return _booked(row, time, visit, users, by, at)
        if time.state == TimeState.HELD:
            time_gone(time=time, by=by, at=at)
    raise TimeGone(_("This time can be had no more; please choose another one."))


def _time_of(offer: TimesOffered, time_id: UUID) -> TimeOffered:
    time = offer.times.filter(pk=time_id).first()
    if time is None:
        raise _refuse("time", str(time_id), _("is none of the times that are offered"))
    return time


def _open_check(offer: TimesOffered, at: dt.datetime) -> None:
    if offer.state != OfferState.OPEN:
        raise OfferEnded(ended_words(offer), state=offer.state)
    if offer.until <= at:
        # the job that lets it lapse may come a little later
        raise OfferEnded(_("The time to choose is over."), state=OfferState.LAPSED)


def _can_be(visit: Visit, time: TimeOffered, users: Sequence[User], at: dt.datetime) -> bool:
    """Whether a held time can still be kept: who comes is free and at work, the place is open."""
    local = timezone.localtime(time.start)
    staff = staff_between(local.date(), local.date())
    seconds = seconds_of(local.time())
    there = all(
        user.role == Role.TECHNICIAN and staff.at_work(str(user.pk), local.date(), seconds)
        for user in users
    )
    if not there or time.start <= at or local.date() in staff.closed:
        return False
    try:
        free_check(list(users), time.start, time.end, visit.pk)
        times_check(visit.place, time.start, time.end)
    except DomainError:
        return False
    return True


def _booked(
    offer: TimesOffered,
    time: TimeOffered,
    visit: Visit,
    users: list[User],
    by: Actor,
    at: dt.datetime,
) -> Visit:
    """Book the picked time. What is ended first no longer stands in its own way."""
    offer_end(offer=offer, to=OfferState.PICKED, by=by, at=at, picked=time)
    visit = visit_move(
        visit=visit, start=time.start, end=time.end, technicians=users, rev=visit.rev, by=by, at=at
    )
    if visit.state == State.PENCILLED:
        reason = _("picked by the client")
        visit = visit_step(visit=visit, to=State.BOOKED, by=by, at=at, reason=reason, flow=True)
    appointment_letters(visit, LetterKind.APPOINTMENT, at, picked=True)
    visit_days_ask([visit.place_id], at)
    visit.refresh_from_db()
    return visit


@transaction.atomic
def none_suits(*, offer: TimesOffered, words: str, by: Actor, at: dt.datetime) -> TimesOffered:
    """Note that none of the times suits, with the client's words; the times are free again.

    The same again changes nothing. Raises OfferEnded where it was ended otherwise.
    """
    times_lock()
    row = TimesOffered.objects.select_for_update().get(pk=offer.pk)
    if row.state == OfferState.NONE_SUITS:
        return row
    _open_check(row, at)
    visit = Visit.objects.get(pk=row.visit_id)
    client_answer(visit=visit, answer=Answer.OTHER_TIME, words=words, by=by, at=at)
    return offer_end(offer=row, to=OfferState.NONE_SUITS, by=by, at=at, words=words)


@transaction.atomic
def lapse(*, offer_id: UUID, at: dt.datetime) -> bool:
    """Let an offer lapse whose time is over and that nobody answered; return whether it did."""
    times_lock()
    row = TimesOffered.objects.select_for_update().filter(pk=offer_id).first()
    if row is None or row.state != OfferState.OPEN or row.until > at:
        return False
    offer_end(offer=row, to=OfferState.LAPSED, by=system("its time is over", at), at=at)
    return True


@transaction.atomic
def take_back(*, offer: TimesOffered, by: Actor, at: dt.datetime) -> TimesOffered:
    """Take an offer back; the times are free again, and the client's link says so.

    Raises OfferEnded where it has ended before.
    """
    times_lock()
    return offer_end(offer=offer, to=OfferState.TAKEN_BACK, by=by, at=at)


def latest_offer(visit: Visit) -> TimesOffered | None:
    """Return what was offered last for a visit."""
    return offers_of(visit).first()
