"""Rounds: who goes out in a week, plans of it, and who is away."""

import datetime as dt
from collections.abc import Container
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from apps.accounts.actors import office_of
from apps.accounts.models import User
from apps.accounts.selectors import feeds_open, firm_current, technicians
from apps.clients.models import Place
from apps.core import clock
from apps.core.asked import day_of
from apps.core.exceptions import DomainError
from apps.core.refusing import attempt
from apps.core.scoping import Actor
from apps.flows.crews import crew_set
from apps.flows.rounds import plan_accept, plan_drop, plan_start, stale
from apps.flows.rounds_changes import stop_move
from apps.flows.rounds_wording import failed_text
from apps.office.forms.planning import PlanningForm
from apps.office.forms.rounds import QUICK, AwayForm, CrewForm, PlanForm, StopForm
from apps.office.selectors import rounds as reads
from apps.office.selectors import rounds_planned as planned
from apps.office.selectors.plans_list import PER_PAGE, plans_grouped, plans_listed
from apps.office.views.common import POSTED, form_page, found, page_of, posted
from apps.rounds.choices import PlanState
from apps.rounds.models import Absence, Crew, RoundPlan, WorkingHours
from apps.rounds.planning.effort import Effort
from apps.rounds.selectors import settings_current
from apps.rounds.selectors.shown import PlanShown, plan_shown
from apps.rounds.selectors.standing_in import absences_with_visits
from apps.rounds.services import absence_add, absence_end, planning_set

MOST_DAYS_AWAY = 31


def _people(actor: Actor) -> QuerySet[User]:
    return technicians().visible_to(actor)  # type: ignore[attr-defined]


def _plan(request: HttpRequest, pk: UUID) -> tuple[Actor, RoundPlan]:
    actor = office_of(request)
    return actor, found(RoundPlan.objects.visible_to(actor), pk)


def plan_url(plan: RoundPlan) -> str:
    """Return the address of a plan's page."""
    return reverse("office:round_plan", args=[plan.pk])


@require_http_methods(POSTED)
def rounds(request: HttpRequest) -> HttpResponse:
    """Office: who goes where in a week, and the plans of it; POST has some days planned."""
    actor, today = office_of(request), clock.today()
    first = day_of(request, "from") or today
    start = {"first": max(first, today), "days": settings_current().days_ahead, "seconds": QUICK}
    form = PlanForm(posted(request), initial=start)
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        effort = Effort(seconds=float(data["seconds"]))
        plan = attempt(
            form,
            lambda: plan_start(
                first=data["first"], days=data["days"], effort=effort, today=today, by=actor,
                at=actor.at,
            ),
        )  # fmt: skip
        if plan is not None:
            return redirect(plan_url(plan))
    week = dt.timedelta(days=reads.SHOWN_DAYS)
    page = page_of(request, plans_listed(actor, today), per=PER_PAGE)
    absences = Absence.objects.visible_to(actor).filter(last__gte=today).select_related("user")
    return form_page(
        request, form, "office/rounds/week.html", first=first, last=first + week - dt.timedelta(1),
        before=first - week, after=first + week, days=reads.week_standing(actor, first),
        page=page, plans=plans_grouped(actor, page.object_list, today), people=_people(actor),
        absences=absences.order_by("first", "user__first_name"),
    )  # fmt: skip


@require_safe
def round_plan(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: a plan of rounds: how far it has come, or what it would do, day by day."""
    actor, row = _plan(request, pk)
    shown = plan_shown(row)
    away = Absence.objects.visible_to(actor).filter(first__lte=row.last, last__gte=row.first)
    booked = absences_with_visits(away.select_related("user"), actor.at)
    context = {
        "plan": row, "days": planned.plan_days(shown), "left_out": planned.plan_left_out(shown),
        "notes": planned.plan_notes(shown), "sums": planned.plan_sums(shown),
        "changes": planned.change_words(shown), "percent": round(100 * row.share),
        "estimated": bool(shown.plan and shown.plan.estimated),
        "failed": failed_text(shown),
        "stale": row.state == PlanState.READY and stale(row, clock.today()),
        "open": row.state == PlanState.READY, "away": booked,
    }  # fmt: skip
    return render(request, "office/rounds/plan.html", context)


@require_POST
def round_accept(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: turn a plan into visits; whoever was told of a time keeps it."""
    actor, row = _plan(request, pk)
    try:
        visits = plan_accept(plan=row, today=clock.today(), by=actor, at=actor.at)
    except DomainError as error:
        messages.error(request, error.message)
        return redirect(plan_url(row))
    said = _("Accepted: %(count)d visits were pencilled in or moved. Nobody has been asked yet.")
    messages.success(request, said % {"count": len(visits)})
    return redirect(reverse("office:rounds") + f"?from={row.first.isoformat()}")


@require_POST
def round_drop(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: drop a plan, or stop one that is being made; what stands stays as it is."""
    actor, row = _plan(request, pk)
    try:
        plan_drop(plan=row, by=actor, at=actor.at)
    except DomainError as error:
        messages.error(request, error.message)
        return redirect(plan_url(row))
    messages.success(request, _("Dropped. What stood before stands."))
    return redirect(plan_url(row.revises) if row.revises else reverse("office:rounds"))


@require_http_methods(POSTED)
def round_move(request: HttpRequest, pk: UUID, stop: str) -> HttpResponse:
    """Office: put a stop of a plan elsewhere; a plan of its own says what that costs."""
    actor, row = _plan(request, pk)
    shown = plan_shown(row)
    if shown.stop(stop) is None:
        return redirect(plan_url(row))
    days, closed = planned.days_for(shown, stop)
    form = StopForm(
        posted(request), people=_people(actor), days=days, closed=closed,
        initial=_stands(shown, stop, closed),
    )  # fmt: skip
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        made = attempt(
            form,
            lambda: stop_move(
                plan=row, stop=stop, technicians=list(data["technicians"]), day=data["day"],
                time=data["time"], position=None if data["time"] else data["position"],
                today=clock.today(), by=actor, at=actor.at,
            ),
        )  # fmt: skip
        if made is not None:
            return redirect(plan_url(made))
    lead = _(
        "What it costs and whom it shifts stands on the next page; nothing moves before you accept."
    )
    return form_page(
        request, form, heading=_("Put %(place)s elsewhere") % {"place": shown.place(stop)},
        lead=lead, button=_("See what it costs"), back=plan_url(row),
        trail=[(_("Plan of rounds"), plan_url(row))],
    )  # fmt: skip


def _stands(shown: PlanShown, stop: str, closed: Container[str]) -> dict[str, Any]:
    """Return where a stop is in a plan, as the form's values; no day that cannot be chosen."""
    rounds = shown.plan.rounds if shown.plan else ()
    there = [one for one in rounds if any(call.stop == stop for call in one.calls)]
    if not there:
        return {}
    people = [UUID(one.technician) for one in there]
    day = shown.day(there[0].day).isoformat()
    return {"technicians": people} if day in closed else {"day": day, "technicians": people}


@require_http_methods(POSTED)
def away_new(request: HttpRequest) -> HttpResponse:
    """Office: write down that a technician is away, and have these days planned anew."""
    actor, today = office_of(request), clock.today()
    form = AwayForm(posted(request), people=_people(actor), initial={"first": today, "last": today})
    if request.method == "POST" and form.is_valid():
        done = attempt(form, lambda: _away(form.cleaned_data, actor, today))
        if done is not None:
            absence, plan = done
            messages.success(request, _("Noted."))
            if absences_with_visits([absence], actor.at):
                return redirect("office:stand_in", absence.pk)
            return redirect(plan_url(plan) if plan else "office:rounds")
    return form_page(
        request, form, heading=_("Somebody is away"), button=_("Note it"),
        back=reverse("office:rounds"),
        lead=_("Pencilled visits of these days find other hands; for booked ones you see who could go instead, at the promised time."),
    )  # fmt: skip


def _away(data: dict[str, Any], actor: Actor, today: dt.date) -> tuple[Absence, RoundPlan | None]:
    absence = absence_add(
        user=data["technician"], first=data["first"], last=data["last"], part=data["part"],
        reason=data["reason"], by=actor, at=actor.at,
    )  # fmt: skip
    first = max(data["first"], today)
    if not data["plan"] or data["last"] < first:
        return absence, None
    days = min((data["last"] - first).days + 1 + 5, MOST_DAYS_AWAY)
    return absence, plan_start(
        first=first, days=days, effort=Effort(seconds=float(QUICK)), today=today, by=actor,
        at=actor.at,
    )  # fmt: skip


@require_POST
def away_end(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: take an absence back."""
    actor = office_of(request)
    row = found(Absence.objects.visible_to(actor).select_related("user"), pk)
    absence_end(absence=row, by=actor, at=actor.at)
    messages.success(request, _("%(user)s works on these days after all.") % {"user": row.user})
    return redirect("office:rounds")


@require_http_methods(POSTED)
def crew(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: from where a technician works, with which skills, and the hours of their week."""
    actor = office_of(request)
    user = found(_people(actor), pk)
    held = Crew.objects.visible_to(actor).filter(user=user).first() or Crew(user=user)
    hours = list(WorkingHours.objects.visible_to(actor).filter(user=user))
    form = CrewForm(posted(request), initial=_crew_values(held) | CrewForm.initial_of(hours))
    if request.method == "POST" and form.is_valid():
        values = {
            name: form.cleaned_data[name]
            for name in ("starts_from", "latitude", "longitude", "overtime_minutes")
        }
        values["skills"] = form.skill_list()
        done = attempt(
            form,
            lambda: crew_set(user=user, values=values, days=form.days(), by=actor, at=actor.at),
        )
        if done is not None:
            messages.success(request, _("The hours are set."))
            return redirect("office:rounds")
    areas = Place.objects.visible_to(actor).exclude(area="").values_list("area", flat=True)
    return form_page(
        request, form, "office/rounds/crew.html", person=user,
        areas=areas.distinct().order_by("area"), feeds=feeds_open(actor).filter(user=user),
    )  # fmt: skip


@require_http_methods(POSTED)
def planning(request: HttpRequest) -> HttpResponse:
    """Office: where rounds begin, what they cost, how fast one drives, what a plan leaves alone."""
    actor, held = office_of(request), settings_current()
    form = PlanningForm(
        posted(request), currency=firm_current().currency, initial=PlanningForm.initial_of(held)
    )
    if request.method == "POST" and form.is_valid():
        done = attempt(form, lambda: planning_set(values=form.values(), by=actor, at=actor.at))
        if done is not None:
            messages.success(request, _("Kept. The next plan is made by it."))
            return redirect("office:rounds")
    return form_page(
        request, form, heading=_("How rounds are planned"), button=_("Keep it"),
        lead=_("What a plan weighs against each other, in the firm's currency. Plans that are made "
               "already stay as they are."),
        back=reverse("office:rounds"), trail=[(_("Rounds"), reverse("office:rounds"))],
    )  # fmt: skip


def _crew_values(held: Crew) -> dict[str, Any]:
    return {
        "starts_from": held.starts_from,
        "where": Place(latitude=held.latitude, longitude=held.longitude).where,
        "overtime_minutes": held.overtime_minutes, "skills": ", ".join(held.skills),
    }  # fmt: skip
