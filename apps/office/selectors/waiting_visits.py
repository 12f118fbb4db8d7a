"""Which visits wait for the office: unanswered, wished elsewhere, not begun, or with nobody to go."""

import datetime as dt
from collections import Counter
from typing import Any
from uuid import UUID

from django.db.models import (
    BooleanField,
    Case,
    Exists,
    F,
    OuterRef,
    Q,
    QuerySet,
    Subquery,
    Value,
    When,
)
from django.db.models.functions import Coalesce, Concat, NullIf, Trim
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from apps.accounts.models import Firm
from apps.core.scoping import Actor
from apps.flows.letter_parts import time_of_day
from apps.incidents.models import PutOff
from apps.office.selectors.waiting_item import Waiting, waits
from apps.office.wording import day_words
from apps.reports.choices import LetterKind
from apps.reports.models import Letter
from apps.rounds.choices import OfferState, Part
from apps.rounds.models import Absence, TimesOffered
from apps.visits.choices import Answer, State
from apps.visits.models import Visit

MOST, MOST_LOOKED_AT = 24, 400
SOON = dt.timedelta(days=7)
STALE = dt.timedelta(hours=12)
ENDED_BY_ITSELF = (OfferState.LAPSED, OfferState.OVERTAKEN)
NOON_HOUR = 12


def visits_waiting(actor: Actor) -> list[Waiting]:
    """Return the visits that wait, and a line for each absence that leaves some without hands: a query."""
    rows = list(_rows(actor))
    lost = Counter(row.away for row in rows if row.away)
    held = Counter(row.away for row in rows if row.away and _reminder_held(row, actor.at))
    first = _first_of_each(rows)
    items = [_absent(row, lost[row.away]) for row in first]
    items += [_unreminded(row, held[row.away]) for row in first if held[row.away]]
    items += [_untold(actor, row) for row in rows if row.untold]
    own = [row for row in rows if row.own and not _said_otherwise(row)]
    return items + [
        waits(actor, _visit_since(row), reverse("office:visit", args=[row.pk]),
              row.place.client.name, _visit_text(row, actor.at))
        for row in own[:MOST]
    ]  # fmt: skip


def _said_otherwise(row: Any) -> bool:
    """Whether nobody waits for an answer: the time asked about cannot be kept, or is another now."""
    return bool(row.away or row.untold) and row.client_answer == Answer.ASKED


def _rows(actor: Actor) -> Any:
    now = actor.at
    open_states = (State.PENCILLED, State.BOOKED)
    offers = TimesOffered.objects.filter(visit=OuterRef("pk"))
    last = offers.order_by("-made_at", "id")
    away, late = _absences(), _delays()
    # nobody has done anything since the times that were offered ran out
    unanswered = Q(state__in=open_states, offered__in=ENDED_BY_ITSELF, offered_rev=F("rev"))
    wanted = (
        Q(state__in=open_states, client_answer__in=(Answer.OTHER_TIME, Answer.DECLINED))
        | Q(state=State.BOOKED, client_answer=Answer.ASKED, start__gt=now, start__lte=now + SOON)
        | Q(state=State.PENCILLED, start__gt=now, start__lte=now + SOON)
        | Q(state__in=open_states, start__lt=now - STALE)
        | Q(state=State.UNDER_WAY, end__lt=now - STALE)
        | unanswered
    )
    return (
        Visit.objects.visible_to(actor)
        # what is offered waits for the client, until its own time is near
        .exclude(Exists(offers.filter(state=OfferState.OPEN)), start__gt=now)
        .annotate(
            offered=Subquery(last.values("state")[:1]),
            offered_rev=Subquery(last.values("rev")[:1]),
            remind_hours=Subquery(Firm.objects.values("reminder_hours")[:1]),
            own=Case(When(wanted, then=True), default=False, output_field=BooleanField()),
            away=Case(
                When(state=State.BOOKED, start__gt=now, then=Subquery(away.values("pk")[:1]))
            ),
            untold=Subquery(late.values("incident_id")[:1]),
            untold_since=Subquery(late.values("at")[:1]),
            was=Subquery(late.values("was")[:1]),
            who=Subquery(away.values("who")[:1]),
        )
        .filter(Q(own=True) | Q(away__isnull=False) | Q(untold__isnull=False))
        .select_related("place__client")
        # those of an absence are all counted, and all who were not told named: they are not cut off
        .order_by(F("away").asc(nulls_last=True), F("untold").asc(nulls_last=True), "start")[
            :MOST_LOOKED_AT
        ]
    )


def _absences() -> QuerySet[Any]:
    """Return the absences of those who are to make a visit, at its time, with the name of each."""
    start = "user__assignments__visit__start"
    name = Trim(Concat("user__first_name", Value(" "), "user__last_name"))
    # all in one call, so that it speaks of one and the same visit
    return (
        Absence.objects.filter(
            Q(part=Part.WHOLE)
            | Q(part=Part.MORNING, **{f"{start}__hour__lt": NOON_HOUR})
            | Q(part=Part.AFTERNOON, **{f"{start}__hour__gte": NOON_HOUR}),
            user__assignments__visit=OuterRef("pk"),
            first__lte=F(f"{start}__date"), last__gte=F(f"{start}__date"),
        )
        .annotate(who=Coalesce(NullIf(name, Value("")), "user__username"))
        .order_by("first", "pk")
    )  # fmt: skip


def _delays() -> QuerySet[PutOff]:
    """Return the delays of a visit by calls for help that its client has not been told of.

    Who was asked about the visit since, or has answered since, has heard of its time.
    """
    letters = Letter.objects.filter(visit=OuterRef("visit"))
    told = letters.filter(
        Q(kind=LetterKind.RUNNING_LATE, made_at__gte=OuterRef("at"))
        | Q(kind=LetterKind.APPOINTMENT, made_at__gt=OuterRef("at"))
    )
    answered = Q(visit__answered_at__gt=F("at"))
    rows = PutOff.objects.filter(
        ~Exists(told), visit=OuterRef("pk"), visit__state=State.BOOKED, visit__start=F("now"),
        visit__appointment_sequence__gt=0,
    )  # fmt: skip
    return rows.exclude(answered).order_by("-at", "pk")


def _untold(actor: Actor, row: Any) -> Waiting:
    times = {"day": day_words(timezone.localdate(row.start)), "now": time_of_day(row.start),
             "was": time_of_day(row.was)}  # fmt: skip
    text = _(" was not told that on %(day)s we come at %(now)s, not at %(was)s: a call for help")
    url = reverse("office:running_late", args=[UUID(str(row.untold)), row.pk])
    return waits(actor, row.untold_since, url, row.place.client.name, text % times)


def _first_of_each(rows: list[Any]) -> list[Any]:
    """Return of the visits of each absence the one that was made first."""
    made = sorted((row for row in rows if row.away), key=lambda row: row.made_at, reverse=True)
    return list({row.away: row for row in made}.values())


def _reminder_held(row: Any, now: dt.datetime) -> bool:
    """Whether the client would be reminded by now of a visit that nobody can make."""
    agreed = row.client_answer in (Answer.ASKED, Answer.CONFIRMED) or row.is_told
    return bool(agreed and row.start <= now + dt.timedelta(hours=row.remind_hours or 0))


def _absent(first: Any, count: int) -> Waiting:
    text = ngettext(
        " is away: %(count)d booked visit has nobody",
        " is away: %(count)d booked visits have nobody", count,
    )  # fmt: skip
    url = reverse("office:stand_in", args=[first.away])
    return Waiting(first.made_at, "", url, first.who, text % {"count": count})


def _unreminded(first: Any, count: int) -> Waiting:
    text = ngettext(
        ": %(count)d client is not reminded of a visit, as nobody can make it",
        ": %(count)d clients are not reminded of a visit, as nobody can make it", count,
    )  # fmt: skip
    url = reverse("office:stand_in", args=[first.away])
    return Waiting(first.made_at, "", url, first.who, text % {"count": count})


def _visit_since(visit: Visit) -> dt.datetime:
    return visit.answered_at or visit.made_at


def _visit_text(visit: Visit, now: dt.datetime) -> str:
    day = day_words(timezone.localdate(visit.start))
    ended = getattr(visit, "offered", "") if visit.state != State.UNDER_WAY else ""
    if ended in ENDED_BY_ITSELF and getattr(visit, "offered_rev", None) == visit.rev:
        if ended == OfferState.LAPSED:
            return _(" did not choose one of the times offered")
        return _(": none of the times offered is left")
    if visit.client_answer == Answer.OTHER_TIME and visit.state != State.UNDER_WAY:
        return _(" wants another time than %(day)s") % {"day": day}
    if visit.client_answer == Answer.DECLINED and visit.state != State.UNDER_WAY:
        return _(" declined %(day)s") % {"day": day}
    if visit.state == State.UNDER_WAY:
        return _(": the visit of %(day)s is still under way") % {"day": day}
    if visit.start < now:
        return _(": the visit of %(day)s was not begun") % {"day": day}
    if visit.state == State.PENCILLED:
        return _(": pencilled for %(day)s, not asked yet") % {"day": day}
    return _(": asked about %(day)s, no answer") % {"day": day}
