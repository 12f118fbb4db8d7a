"""Times offered to a client: written, held, ended. What they lead to is a flow's."""

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from uuid import UUID

from django.db import transaction
from django.db.models import QuerySet
from django.utils import timezone
from django.utils.translation import gettext as _

from apps.accounts.models import User
from apps.accounts.services import audit
from apps.core.dates import day_text
from apps.core.exceptions import Invalid
from apps.core.scoping import Actor
from apps.rounds.choices import OfferState, TimeState
from apps.rounds.exceptions import NoOffer, OfferEnded, TimeHeld
from apps.rounds.models import Hold, TimeOffered, TimesOffered
from apps.rounds.services import plans_lock
from apps.visits.models import Visit
from apps.visits.services.booking import free_check
from apps.visits.services.steps import author

MOST_TIMES = 3


@dataclass(frozen=True)
class NewTime:
    """A time to offer: of the visit, of the window that the client reads, and what it costs."""

    start: dt.datetime
    end: dt.datetime
    told_from: dt.datetime
    told_until: dt.datetime
    technicians: tuple[User, ...]
    extra: int
    metres: int


def times_lock() -> None:
    """Let one transaction at a time take or hold somebody's time: whoever comes second waits.

    In the caller's transaction, before any visit or offer is locked.
    """
    plans_lock()


@transaction.atomic
def offer_new(
    *, visit: Visit, times: Sequence[NewTime], until: dt.datetime, pk: UUID, by: Actor,
    at: dt.datetime,
) -> TimesOffered:  # fmt: skip
    """Write times that a client may choose from, and hold them.

    Raises NoOffer where one is open already, DoubleBooked and TimeHeld where a time was taken
    meanwhile.
    """
    times_lock()
    if TimesOffered.objects.filter(visit=visit, state=OfferState.OPEN).exists():
        raise NoOffer(
            _("Times are offered for this visit already; take them back first."), why="open"
        )
    for time in times:
        free_check(list(time.technicians), time.start, time.end, visit.pk)
        held_check(time.technicians, time.start, time.end)
    offer = TimesOffered(pk=pk, visit=visit, until=until, made_by=author(by), made_at=at)
    offer.full_clean()
    offer.save(force_insert=True)
    for time in times:
        _hold(offer, time)
    audit(
        at=at, by=by, verb="offered times", kind="visit", object_id=visit.pk,
        change={"offer": str(offer.pk), "times": [time.start.isoformat() for time in times]},
    )  # fmt: skip
    return offer


def _hold(offer: TimesOffered, time: NewTime) -> None:
    row = TimeOffered(
        offer=offer, start=time.start, end=time.end, told_from=time.told_from,
        told_until=time.told_until, extra=time.extra, metres=time.metres,
    )  # fmt: skip
    row.full_clean()
    row.save()
    Hold.objects.bulk_create(
        Hold(time=row, user=user, start=time.start, end=time.end) for user in time.technicians
    )


def held_check(
    technicians: Iterable[User], start: dt.datetime, end: dt.datetime, besides: UUID | None = None
) -> None:
    """Raise TimeHeld where a time of one of them is held then, but for the offer ``besides``."""
    held = (
        _holding(technicians, start, end)
        .exclude(time__offer_id=besides or UUID(int=0))
        .select_related("user", "time__offer__visit__place")
        .first()
    )
    if held is None:
        return
    offer = held.time.offer
    raise TimeHeld(
        _(
            "%(user)s is held for %(place)s on %(when)s until %(until)s, as the client may pick that "
            "time; choose another time or another technician, or take the offer back"
        )
        % {
            "user": held.user,
            "place": offer.visit.place,
            "when": moment_text(held.start),
            "until": moment_text(offer.until),
        },
        technician=str(held.user_id),
        visit=str(offer.visit_id),
        offer=str(offer.pk),
        until=offer.until.isoformat(),
    )


def _holding(technicians: Iterable[User], start: dt.datetime, end: dt.datetime) -> QuerySet[Hold]:
    return Hold.objects.filter(
        user__in=list(technicians), holds=True, start__lt=end, end__gt=start
    ).order_by("start", "id")


def moment_text(moment: dt.datetime) -> str:
    """Return a moment as day and time of the firm's clock."""
    local = timezone.localtime(moment)
    return f"{day_text(local.date())}, {local:%H:%M}"


@transaction.atomic
def times_gone(
    *, technicians: Iterable[User], start: dt.datetime, end: dt.datetime, by: Actor, at: dt.datetime
) -> None:
    """Let go of the held times that something urgent takes; an offer without any left ends."""
    rows = TimeOffered.objects.filter(
        pk__in=_holding(technicians, start, end).values("time_id"), state=TimeState.HELD
    ).select_related("offer__visit")
    for time in rows.order_by("start", "id"):
        time_gone(time=time, by=by, at=at)


@transaction.atomic
def time_gone(*, time: TimeOffered, by: Actor, at: dt.datetime) -> None:
    """Note that one of the times offered cannot be had any more; with the last the offer ends."""
    _free([time.pk], TimeState.GONE)
    audit(
        at=at, by=by, verb="offered time gone", kind="visit", object_id=time.offer.visit_id,
        change={"offer": str(time.offer_id), "time": time.start.isoformat()},
    )  # fmt: skip
    if not time.offer.times.filter(state=TimeState.HELD).exists():
        offer_end(offer=time.offer, to=OfferState.OVERTAKEN, by=by, at=at)


def _free(times: Iterable[UUID], to: str) -> None:
    keys = list(times)
    TimeOffered.objects.filter(pk__in=keys, state=TimeState.HELD).update(state=to)
    Hold.objects.filter(time_id__in=keys, holds=True).update(holds=False)


@transaction.atomic
def offer_end(
    *,
    offer: TimesOffered,
    to: str,
    by: Actor,
    at: dt.datetime,
    picked: TimeOffered | None = None,
    words: str = "",
) -> TimesOffered:
    """End an open offer; its times are free again. Raises OfferEnded where it has ended before."""
    current = TimesOffered.objects.select_for_update().get(pk=offer.pk)
    if current.state != OfferState.OPEN:
        raise OfferEnded(ended_words(current), state=current.state)
    if picked is not None:
        _free([picked.pk], TimeState.PICKED)
    _free(current.times.values_list("pk", flat=True), TimeState.FREE)
    rev = Visit.objects.values_list("rev", flat=True).get(pk=current.visit_id)
    TimesOffered.objects.filter(pk=current.pk).update(
        state=to, ended_by=author(by), ended_at=at, rev=rev, words=words
    )
    audit(
        at=at, by=by, verb=f"offer {to}", kind="visit", object_id=current.visit_id,
        change={"offer": str(current.pk), "words": words},
    )  # fmt: skip
    current.refresh_from_db()
    return current


def ended_words(offer: TimesOffered) -> str:
    """Return why an offer is open no more, and the way out, for the office."""
    when = moment_text(offer.ended_at) if offer.ended_at else ""
    said = {
        OfferState.PICKED: _("The client picked a time on %(when)s."),
        OfferState.NONE_SUITS: _("The client said on %(when)s that none of the times suits."),
        OfferState.LAPSED: _("Nobody answered until %(when)s; offer other times."),
        OfferState.TAKEN_BACK: _("The offer was taken back on %(when)s."),
        OfferState.OVERTAKEN: _("The visit was settled otherwise on %(when)s."),
    }
    words = said.get(OfferState(offer.state), "")
    return words % {"when": when} if words else ""


@transaction.atomic
def offer_overtaken(
    *, visit: Visit, by: Actor, at: dt.datetime, to: str = OfferState.OVERTAKEN, words: str = ""
) -> None:
    """End what is offered for a visit, as it was moved, booked, called off or answered otherwise."""
    open_ones = TimesOffered.objects.filter(visit=visit, state=OfferState.OPEN)
    for offer in open_ones.select_for_update():
        offer_end(offer=offer, to=to, by=by, at=at, words=words)


def until_check(until: dt.datetime, latest: dt.datetime, at: dt.datetime) -> None:
    """Raise Invalid where a deadline lies in the past or leaves the rounds no time to settle."""
    if until <= at:
        words = _("has gone by; choose a later moment")
    elif until > latest:
        words = _("at the latest %(latest)s, as the rounds of the first day are settled then") % {
            "latest": moment_text(latest)
        }
    else:
        return
    raise Invalid([{"pointer": "/until", "value": until.isoformat(), "message": f"until: {words}"}])
