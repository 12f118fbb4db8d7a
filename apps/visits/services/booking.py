"""Making and moving visits."""

import datetime as dt
from collections.abc import Sequence
from uuid import UUID

from django.db import IntegrityError, transaction
from django.db.models import F
from django.utils import timezone
from django.utils.translation import gettext as _

from apps.accounts.choices import Role
from apps.accounts.models import User
from apps.accounts.services import audit
from apps.clients.models import Place, VisitingHours
from apps.core.dates import day_text
from apps.core.exceptions import Invalid, StaleVersion
from apps.core.scoping import Actor
from apps.systems.models import System
from apps.visits.choices import HOLDING, Answer, State
from apps.visits.exceptions import DoubleBooked, IllegalTransition
from apps.visits.models import Assignment, Sheet, Visit, VisitStep
from apps.visits.services.lines import lines_make
from apps.visits.services.steps import author

LONGEST = dt.timedelta(hours=14)


def _refuse(pointer: str, value: object, message: str, **extra: object) -> Invalid:
    return Invalid([{"pointer": pointer, "value": value, "message": message, **extra}])


def times_check(place: Place, start: dt.datetime, end: dt.datetime) -> None:
    """Raise Invalid where the times are out of order or nobody may come to the place then."""
    if end <= start:
        raise _refuse("/end", end.isoformat(), "end: " + _("must come after start"))
    if end - start > LONGEST:
        raise _refuse("/end", end.isoformat(), "end: " + _("a visit lasts 14 hours at most"))
    hours = list(place.hours.order_by("weekday", "opens"))
    if not hours:
        return
    first, last = timezone.localtime(start), timezone.localtime(end)
    for row in hours:
        fits = row.opens <= first.time() and last.time() <= row.closes
        if row.weekday == first.isoweekday() and first.date() == last.date() and fits:
            return
    words = _hours_words(hours)
    raise _refuse(
        "/start", start.isoformat(),
        "start: " + _("nobody may come then; %(name)s is open %(allowed)s") % {"name": place.name, "allowed": "; ".join(words)}, allowed=words,
    )  # fmt: skip


def _hours_words(hours: Sequence[VisitingHours]) -> list[str]:
    return [f"{row.get_weekday_display()} {row.opens:%H:%M}-{row.closes:%H:%M}" for row in hours]


def _technicians_check(technicians: list[User]) -> None:
    for index, user in enumerate(technicians):
        if user.role != Role.TECHNICIAN or not user.is_active:
            raise _refuse(
                f"/technicians/{index}",
                str(user.pk),
                "technicians: " + _("%(user)s is not a technician") % {"user": user},
            )
    if not technicians:
        raise _refuse("/technicians", [], "technicians: " + _("at least one is needed"))


def free_check(
    technicians: list[User], start: dt.datetime, end: dt.datetime, ignore: UUID | None
) -> None:
    """Raise DoubleBooked where one of the technicians is at another visit than `ignore` then."""
    clash = (
        Assignment.objects.filter(user__in=technicians, holds=True, start__lt=end, end__gt=start)
        .exclude(visit_id=ignore or UUID(int=0))
        .select_related("user", "visit__place")
        .first()
    )
    if clash is None:
        return
    when = timezone.localtime(clash.start)
    raise DoubleBooked(
        _("%(user)s is at %(place)s on %(when)s; choose another time or another technician")
        % {
            "user": clash.user,
            "place": clash.visit.place,
            "when": f"{day_text(when.date())}, {when:%H:%M}",
        },
        technician=str(clash.user_id),
        visit=str(clash.visit_id),
    )


@transaction.atomic
def visit_book(
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
    """Pencil a visit in, with a sheet and its checklist for each system.

    `any_hour`: the client asks for it now, whatever hours the place keeps otherwise.
    Raises Invalid (422) naming the field, DoubleBooked (409) where a technician is elsewhere.
    """
    if not any_hour:
        times_check(place, start, end)
    _technicians_check(technicians)
    if not systems:
        raise _refuse("/systems", [], "systems: " + _("at least one is needed"))
    for index, system in enumerate(systems):
        if system.place_id != place.pk:
            raise _refuse(
                f"/systems/{index}",
                str(system.pk),
                "systems: "
                + _("%(system)s does not stand at %(place)s") % {"system": system, "place": place},
            )
        if not system.active:
            raise _refuse(
                f"/systems/{index}",
                str(system.pk),
                "systems: " + _("%(system)s has ended") % {"system": system},
            )
    free_check(technicians, start, end, None)
    visit = Visit(place=place, start=start, end=end, reason=reason, made_at=at)
    if pk is not None:
        visit.pk = pk
    visit.full_clean()
    visit.save()
    _assign(visit, technicians)
    VisitStep.objects.create(
        visit=visit, number=1, to_state=State.PENCILLED, at=at, by=author(by), reason=reason
    )
    sheets = [Sheet(visit=visit, system=system) for system in systems]
    Sheet.objects.bulk_create(sheets)
    lines_make(visit=visit, sheets=sheets)
    audit(at=at, by=by, verb="pencilled", kind="visit", object_id=visit.pk)
    return visit


def _assign(visit: Visit, technicians: list[User]) -> None:
    try:
        with transaction.atomic():
            Assignment.objects.bulk_create(
                Assignment(visit=visit, user=user, start=visit.start, end=visit.end)
                for user in dict.fromkeys(technicians)
            )
    except IntegrityError as error:
        if "assignment_no_overlap" in str(error):
            raise DoubleBooked(_("A technician is at another visit at that time.")) from error
        raise


@transaction.atomic
def visit_move(
    *,
    visit: Visit,
    start: dt.datetime,
    end: dt.datetime,
    technicians: list[User],
    rev: int,
    by: Actor,
    at: dt.datetime,
) -> Visit:
    """Move a visit that has not begun to another time or other technicians."""
    current = Visit.objects.select_for_update().get(pk=visit.pk)
    if current.state not in (State.PENCILLED, State.BOOKED):
        raise IllegalTransition(current.state, "moved", [])
    if current.rev != rev:
        raise StaleVersion(_("Somebody else changed this visit; read it again."))
    times_check(current.place, start, end)
    _technicians_check(technicians)
    free_check(technicians, start, end, visit.pk)
    Visit.objects.filter(pk=visit.pk).update(
        start=start,
        end=end,
        rev=F("rev") + 1,
        # it counts what the client was told: nothing, as long as the visit is pencilled in
        appointment_sequence=F("appointment_sequence") + int(current.appointment_sequence > 0),
        client_answer=Answer.NOT_ASKED,
        told_at=None,
    )
    visit.refresh_from_db()
    Assignment.objects.filter(visit=visit).delete()
    _assign(visit, technicians)
    # on the same day the checklist stays as somebody may have brought it up to date
    if timezone.localdate(current.start) != timezone.localdate(start):
        lines_make(visit=visit, sheets=list(visit.sheets.select_related("system")))
    audit(
        at=at, by=by, verb="moved", kind="visit", object_id=visit.pk,
        change={"from": current.start.isoformat(), "to": start.isoformat()},
    )  # fmt: skip
    return visit


@transaction.atomic
def visit_hand_over(
    *, visit: Visit, leaves: User, instead: User, rev: int, by: Actor, at: dt.datetime
) -> Visit:
    """Let another technician make a booked visit at its time; the client's answer stands.

    Raises StaleVersion where it was changed meanwhile, IllegalTransition once it has begun or is
    off, Invalid where one of the two cannot be meant, DoubleBooked where `instead` is elsewhere.
    """
    current = Visit.objects.select_for_update().get(pk=visit.pk)
    if current.state != State.BOOKED:
        raise IllegalTransition(current.state, "handed over", [])
    if current.rev != rev:
        raise StaleVersion(_("Somebody else changed this visit; read it again."))
    _technicians_check([instead])
    going = set(Assignment.objects.filter(visit=visit).values_list("user_id", flat=True))
    if leaves.pk not in going or instead.pk in going:
        wrong = (
            _("%(user)s does not go there")
            if leaves.pk not in going
            else _("%(user)s goes there already")
        )
        who = leaves if leaves.pk not in going else instead
        raise _refuse("/technicians/0", str(who.pk), "technicians: " + wrong % {"user": who})
    free_check([instead], current.start, current.end, visit.pk)
    Assignment.objects.filter(visit=visit, user=leaves).delete()
    _assign(current, [instead])
    Visit.objects.filter(pk=visit.pk).update(rev=F("rev") + 1)
    audit(
        at=at, by=by, verb="handed over", kind="visit", object_id=visit.pk,
        change={"from": str(leaves.pk), "to": str(instead.pk)},
    )  # fmt: skip
    visit.refresh_from_db()
    return visit


def visits_lift(*, visits: Sequence[Visit]) -> None:
    """Let go of the time that visits hold, so that they may change places in one transaction.

    For the caller's transaction alone: each visit has to be moved in it, which holds time again.
    """
    Assignment.objects.filter(
        visit__in=visits, visit__state__in=(State.PENCILLED, State.BOOKED)
    ).update(holds=False)


@transaction.atomic
def client_answer(*, visit: Visit, answer: str, words: str, by: Actor, at: dt.datetime) -> Visit:
    """Note what the client says to the appointment. Raises IllegalTransition once it has begun."""
    taken = Visit.objects.filter(
        pk=visit.pk, state__in=[state for state in HOLDING if state != State.UNDER_WAY]
    ).update(client_answer=answer, client_words=words, answered_at=at, rev=F("rev") + 1)
    if not taken:
        raise IllegalTransition(visit.state, answer, [])
    audit(
        at=at, by=by, verb=f"client: {answer}", kind="visit", object_id=visit.pk,
        change={"words": words},
    )  # fmt: skip
    visit.refresh_from_db()
    return visit
