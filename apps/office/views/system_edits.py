"""Systems: new ones, and changes of a system, its loops, components and flows."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from apps.accounts.actors import office_of
from apps.clients.models import Place
from apps.core import clock
from apps.core.refusing import attempt
from apps.core.scoping import Actor
from apps.flows.visit_days import system_change
from apps.office import services
from apps.office.forms.base import EmptyForm
from apps.office.forms.systems import (
    ComponentForm,
    FlowForm,
    LoopForm,
    RemoveForm,
    SwapForm,
    SystemEditForm,
    SystemForm,
)
from apps.office.views.common import POSTED, attempt_based, form_page, found, posted
from apps.office.wording import place_label
from apps.systems.models import Component, Flow, Loop, System
from apps.systems.services import component_save, component_swap

SIZES = (
    "litres", "area_m2", "depth_m", "media", "media_litres", "flow_l_h", "lift_m", "watts", "make",
    "serial", "fitted_on", "warranty_until",
)  # fmt: skip
KEPT_AT_SWAP = ("litres", "media_litres", "flow_l_h", "watts", "make")


def system_url(system: System | UUID, part: str = "") -> str:
    """Return the address of a system's page, or of a part of it."""
    pk = system.pk if isinstance(system, System) else system
    return reverse("office:system", args=[pk]) + (f"#{part}" if part else "")


def system_of(request: HttpRequest, pk: UUID) -> tuple[Actor, System]:
    """Return the office's actor and the system."""
    actor = office_of(request)
    return actor, found(System.objects.visible_to(actor).select_related("place__client"), pk)


def trail_of(system: System) -> list[tuple[str, str]]:
    """Return the way back to a system."""
    return [(system.name, system_url(system))]


@require_http_methods(POSTED)
def system_new(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: a new system at a place; its loops follow from its kind."""
    actor = office_of(request)
    place = found(Place.objects.visible_to(actor).select_related("client"), pk)
    initial = {"name": place_label(place)[:120], "kind": "coupled"}
    form = SystemForm(posted(request), initial=initial)
    if request.method == "POST" and form.is_valid():
        row = System(place=place, **form.cleaned_data)
        if attempt(form, lambda: services.system_make(system=row, by=actor, at=actor.at)):
            messages.success(request, _("The system is there. Add its parts, then make its plan."))
            return redirect(system_url(row))
    return form_page(
        request, form, heading=_("Add a system"), button=_("Add it"),
        lead=f"{place.name}, {place.address}", back=reverse("office:place", args=[place.pk]),
    )  # fmt: skip


@require_http_methods(POSTED)
def system_edit(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: change a system; what somebody else changed meanwhile is shown beside."""
    actor, system = system_of(request, pk)
    names = ("name", "started_on", "ended_on", "notes", "active")
    initial = {name: getattr(system, name) for name in (*names, "rev")}
    form = SystemEditForm(posted(request), initial=initial)
    both: list[Any] = []
    if request.method == "POST" and form.is_valid():
        changes = {name: form.cleaned_data[name] for name in names}
        done, both = attempt_based(
            form, system, {},
            lambda rev: system_change(
                system=system, changes=changes, rev=rev, by=actor, at=actor.at
            ),
        )  # fmt: skip
        if done:
            messages.success(request, _("Kept."))
            return redirect(system_url(system))
    return form_page(
        request, form, heading=_("Change the system"), button=_("Keep it"),
        back=system_url(system), trail=trail_of(system), both=both,
    )  # fmt: skip


@require_http_methods(POSTED)
def loop_edit(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: say how much water mixes in a loop."""
    actor = office_of(request)
    loop = found(Loop.objects.visible_to(actor).select_related("system"), pk)
    initial = {name: getattr(loop, name) for name in LoopForm.base_fields}
    form = LoopForm(posted(request), initial=initial)
    if request.method == "POST" and form.is_valid():
        changes = dict(form.cleaned_data)
        if attempt(
            form, lambda: services.loop_change(loop=loop, changes=changes, by=actor, at=actor.at)
        ):
            messages.success(request, _("Kept."))
            return redirect(system_url(loop.system, "parts"))
    return form_page(
        request, form, heading=_("How much water: %(loop)s") % {"loop": loop}, button=_("Keep it"),
        back=system_url(loop.system, "parts"), trail=trail_of(loop.system),
    )  # fmt: skip


def _loops(actor: Actor, system: System) -> QuerySet[Loop]:
    return Loop.objects.visible_to(actor).filter(system=system).order_by("kind")


def _fitted(actor: Actor, system: System) -> QuerySet[Component]:
    rows = Component.objects.visible_to(actor).filter(loop__system=system, removed_on__isnull=True)
    return rows.order_by("loop__kind", "place_in_flow", "name")


def _component(request: HttpRequest, pk: UUID) -> tuple[Actor, Component]:
    actor = office_of(request)
    rows = Component.objects.visible_to(actor).filter(removed_on__isnull=True)
    return actor, found(rows.select_related("loop__system"), pk)


@require_http_methods(POSTED)
def component_new(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: add a component to a system."""
    actor, system = system_of(request, pk)
    last = _fitted(actor, system).order_by("-place_in_flow").first()
    place = min(999, last.place_in_flow + 1) if last else 1
    form = ComponentForm(
        posted(request), initial={"place_in_flow": place}, loops=_loops(actor, system)
    )
    if request.method == "POST" and form.is_valid():
        row = Component(**form.cleaned_data)
        if attempt(form, lambda: component_save(component=row, by=actor, at=actor.at)):
            messages.success(request, _("%(name)s is added.") % {"name": row.name})
            more = "again" in request.POST
            return redirect(request.path if more else system_url(system, "parts"))
    return form_page(
        request, form, "office/component_form.html", heading=_("Add a part"), button=_("Add it"),
        back=system_url(system, "parts"), trail=trail_of(system), again=True,
        groups=_groups(form),
    )  # fmt: skip


@require_http_methods(POSTED)
def component_edit(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: change a component's sizes or papers."""
    actor, part = _component(request, pk)
    system = part.loop.system
    names = ("loop", "kind", "name", "place_in_flow", *SIZES)
    initial = {name: getattr(part, name) for name in names} | {"loop": part.loop_id}
    form = ComponentForm(posted(request), initial=initial, loops=_loops(actor, system))
    if request.method == "POST" and form.is_valid():
        for name, value in form.cleaned_data.items():
            setattr(part, name, value)
        if attempt(form, lambda: component_save(component=part, by=actor, at=actor.at)):
            messages.success(request, _("Kept."))
            return redirect(system_url(system, "parts"))
    return form_page(
        request, form, "office/component_form.html", heading=_("Change a part"),
        button=_("Keep it"), back=system_url(system, "parts"), trail=trail_of(system),
        groups=_groups(form), part=part,
    )  # fmt: skip


def _groups(form: ComponentForm) -> list[tuple[str, list[Any]]]:
    wanted = (
        (_("What it is"), ("loop", "kind", "name", "place_in_flow")),
        (_("Sizes"), ("litres", "area_m2", "depth_m")),
        (_("Media"), ("media", "media_litres")),
        (_("Machine"), ("flow_l_h", "lift_m", "watts")),
        (_("Papers"), ("make", "serial", "fitted_on", "warranty_until")),
    )
    return [(heading, [form[name] for name in names]) for heading, names in wanted]


@require_http_methods(POSTED)
def component_swap_page(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: put a new component in the place of an old one; flows move over, history stays."""
    actor, part = _component(request, pk)
    system = part.loop.system
    initial = {name: getattr(part, name) for name in KEPT_AT_SWAP}
    form = SwapForm(posted(request), initial=initial | {"name": part.name, "on": clock.today()})
    if request.method == "POST" and form.is_valid():
        data = dict(form.cleaned_data)
        on = data.pop("on")
        kept = {
            name: getattr(part, name) for name in ("kind", "area_m2", "depth_m", "media", "lift_m")
        }
        fresh = Component(loop=part.loop, **kept, **data)
        if attempt(form, lambda: component_swap(old=part, new=fresh, on=on, by=actor, at=actor.at)):
            messages.success(request, _("Swapped; the old one stays on record."))
            return redirect(system_url(system, "parts"))
    return form_page(
        request, form, heading=_("Swap %(name)s") % {"name": part.name}, button=_("Swap it"),
        back=system_url(system, "parts"), trail=trail_of(system),
        lead=_("Off: %(name)s.") % {"name": f"{part.name} {part.serial}".strip()},
    )  # fmt: skip


@require_http_methods(POSTED)
def component_remove(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: ask once, then take a component off for good."""
    actor, part = _component(request, pk)
    system = part.loop.system
    form = RemoveForm(posted(request), initial={"on": clock.today()})
    if request.method == "POST" and form.is_valid():
        on = form.cleaned_data["on"]
        if attempt(
            form,
            lambda: services.component_remove(component=part, on=on, by=actor, at=actor.at),
        ):
            messages.success(request, _("Taken off; it stays on record."))
            return redirect(system_url(system, "parts"))
    return form_page(
        request, form, "office/confirm.html", heading=_("Take %(name)s off?") % {"name": part.name},
        text=_("The flows through it end. To put a new one in its place, swap it instead."),
        button=_("Take it off"), back=system_url(system, "parts"), pen=True,
    )  # fmt: skip


@require_http_methods(POSTED)
def flow_new(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: join two components by a flow."""
    actor, system = system_of(request, pk)
    form = FlowForm(posted(request), parts=_fitted(actor, system))
    if request.method == "POST" and form.is_valid():
        row = Flow(**form.cleaned_data)
        if attempt(form, lambda: services.flow_save(flow=row, by=actor, at=actor.at)):
            messages.success(request, _("Joined."))
            more = "again" in request.POST
            return redirect(request.path if more else system_url(system, "flows"))
    return form_page(
        request, form, "office/component_form.html", heading=_("Join two parts"),
        button=_("Join them"), back=system_url(system, "flows"), trail=trail_of(system), again=True,
        groups=[("", list(form.visible_fields()))],
    )  # fmt: skip


@require_http_methods(POSTED)
def flow_remove(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: ask once, then undo a flow."""
    actor = office_of(request)
    rows = Flow.objects.visible_to(actor).select_related("source__loop__system", "target")
    flow = found(rows, pk)
    system = flow.source.loop.system
    form = EmptyForm(posted(request))
    if request.method == "POST" and form.is_valid():
        services.flow_remove(flow=flow, by=actor, at=actor.at)
        messages.success(request, _("The flow is gone."))
        return redirect(system_url(system, "flows"))
    return form_page(
        request, form, "office/confirm.html", heading=_("Undo this flow?"),
        text=_("From %(source)s to %(target)s.") % {"source": flow.source, "target": flow.target}, button=_("Undo it"),
        back=system_url(system, "flows"), pen=True,
    )  # fmt: skip
