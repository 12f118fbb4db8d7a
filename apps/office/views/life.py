"""Fish, plants and treatments of a system."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from apps.accounts.actors import office_of
from apps.batches import services
from apps.batches.models import FishBatch, FishHarvest, Picking, Planting, Treatment
from apps.care.models import CareTask
from apps.catalogue.selectors import catalogue_current
from apps.core import clock
from apps.core.refusing import attempt
from apps.core.scoping import Actor
from apps.office.forms.life import (
    DeathsForm,
    FishTakenForm,
    PickForm,
    PlantForm,
    SetOutForm,
    StockForm,
    TreatForm,
    WeighForm,
)
from apps.office.services import planting_change
from apps.office.views.common import POSTED, form_page, found, posted
from apps.office.views.system_edits import system_of, system_url, trail_of
from apps.office.wording import upper_first
from apps.systems.choices import BEDS, LoopKind
from apps.systems.models import Component, Loop, System


def _named(kind: str) -> list[tuple[str, str]]:
    catalogue = catalogue_current()
    rows = [(code, _(catalogue.name(kind, code))) for code in catalogue.of(kind)]
    return sorted(rows, key=lambda row: row[1].lower())


def _one(rows: Any) -> dict[str, Any]:
    """Choose the only row, if it is the only one."""
    first = list(rows[:2])
    return {"initial": first[0].pk} if len(first) == 1 else {}


def _page(
    request: HttpRequest,
    form: Any,
    system: System,
    part: str,
    heading: str,
    button: str,
    **more: Any,
) -> HttpResponse:
    return form_page(
        request, form, heading=heading, button=button, back=system_url(system, part),
        trail=trail_of(system), **more,
    )  # fmt: skip


@require_http_methods(POSTED)
def fish_stock(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: note fish that were stocked."""
    actor, system = system_of(request, pk)
    loops = Loop.objects.visible_to(actor).filter(system=system).exclude(kind=LoopKind.PLANT)
    initial = {"stocked_on": clock.today(), "loop": _one(loops).get("initial")}
    form = StockForm(posted(request), initial=initial, loops=loops, species=_named("species"))
    if request.method == "POST" and form.is_valid():
        batch = FishBatch(**form.cleaned_data)
        if attempt(form, lambda: services.batch_stock(batch=batch, by=actor, at=actor.at)):
            messages.success(request, _("The fish are noted."))
            return redirect(system_url(system, "fish"))
    lead = _("Permits and local rules on species come first.")
    gated = CareTask.objects.visible_to(actor).filter(system=system, code="fish_first")
    if gated.filter(next_due__isnull=False).exists():
        lead += " " + _(
            "What stands in the way of the first fish is on the page of the first weeks."
        )
    return _page(request, form, system, "fish", _("Stock fish"), _("Note them"), lead=lead)


def _batch(request: HttpRequest, pk: UUID) -> tuple[Actor, FishBatch, System]:
    actor = office_of(request)
    rows = FishBatch.objects.visible_to(actor).select_related("loop__system__place__client")
    batch = found(rows, pk)
    return actor, batch, batch.loop.system


@require_http_methods(POSTED)
def fish_weigh(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: note a sample of weights of a batch."""
    actor, batch, system = _batch(request, pk)
    form = WeighForm(posted(request), initial={"on": clock.today()})
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        if attempt(
            form,
            lambda: services.weighing_add(batch=batch, **data, by=actor, at=actor.at),
        ):
            messages.success(request, _("The weights are noted."))
            return redirect(system_url(system, "fish"))
    return _page(request, form, system, "fish", _("Weigh"), _("Note it"), lead=_name(batch))


def _name(batch: FishBatch) -> str:
    name = _(catalogue_current().name("species", batch.species_code))
    return _("%(name)s, %(count)d stocked.") % {"name": name, "count": batch.count}


@require_http_methods(POSTED)
def fish_deaths(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: note fish found dead."""
    actor, batch, system = _batch(request, pk)
    form = DeathsForm(posted(request), initial={"on": clock.today()})
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        if attempt(form, lambda: services.deaths_add(batch=batch, **data, by=actor, at=actor.at)):
            messages.success(request, _("Noted."))
            return redirect(system_url(system, "fish"))
    return _page(
        request, form, system, "fish", _("Fish found dead"), _("Note it"), lead=_name(batch)
    )


@require_http_methods(POSTED)
def fish_taken(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: note fish taken out to be eaten; they count as harvest and no longer as stock."""
    actor, batch, system = _batch(request, pk)
    form = FishTakenForm(posted(request), initial={"on": clock.today()})
    if request.method == "POST" and form.is_valid():
        row = FishHarvest(batch=batch, **form.cleaned_data)
        if attempt(form, lambda: services.fish_take(row=row, by=actor, at=actor.at)):
            messages.success(request, _("Noted."))
            return redirect(system_url(system, "fish"))
    return _page(
        request, form, system, "fish", _("Fish taken out to eat"), _("Note it"), lead=_name(batch)
    )


@require_http_methods(POSTED)
def plant_new(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: note plants that were sown or set out."""
    actor, system = system_of(request, pk)
    parts = Component.objects.visible_to(actor).filter(
        loop__system=system, removed_on__isnull=True, kind__in=BEDS
    )
    initial = {"transplanted_on": clock.today(), "component": _one(parts).get("initial")}
    form = PlantForm(posted(request), initial=initial, parts=parts, crops=_named("crops"))
    if request.method == "POST" and form.is_valid():
        row = Planting(**form.cleaned_data)
        if attempt(form, lambda: services.planting_add(planting=row, by=actor, at=actor.at)):
            messages.success(request, _("The plants are noted."))
            return redirect(system_url(system, "plants"))
    return _page(request, form, system, "plants", _("Sow or set out"), _("Note it"))


def _planting(request: HttpRequest, pk: UUID) -> tuple[Actor, Planting, System]:
    actor = office_of(request)
    rows = Planting.objects.visible_to(actor).select_related(
        "component__loop__system__place__client"
    )
    row = found(rows, pk)
    return actor, row, row.component.loop.system


def _crop(row: Planting) -> str:
    name = _(catalogue_current().name("crops", row.crop_code))
    return _("%(name)s, %(count)d in %(where)s.") % {
        "name": upper_first(name), "count": row.count, "where": row.component.name,
    }  # fmt: skip


@require_http_methods(POSTED)
def plant_out(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: note on which day sown plants were set out."""
    actor, row, system = _planting(request, pk)
    form = SetOutForm(posted(request), initial={"transplanted_on": clock.today()})
    if request.method == "POST" and form.is_valid():
        changes = dict(form.cleaned_data)
        if attempt(
            form,
            lambda: planting_change(planting=row, changes=changes, by=actor, at=actor.at),
        ):
            messages.success(request, _("Noted."))
            return redirect(system_url(system, "plants"))
    return _page(request, form, system, "plants", _("Set out"), _("Note it"), lead=_crop(row))


@require_http_methods(POSTED)
def plant_pick(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: note what was picked, and whether that was the last of it."""
    actor, row, system = _planting(request, pk)
    form = PickForm(posted(request), initial={"on": clock.today()})
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data

        def act() -> Picking:
            picking = Picking(
                planting=row, on=data["on"], heads=data["heads"], mass_kg=data["mass_kg"]
            )
            services.picking_add(picking=picking, by=actor, at=actor.at)
            if data["finished"]:
                ended = {"ended_on": data["on"]}
                planting_change(planting=row, changes=ended, by=actor, at=actor.at)
            return picking

        if attempt(form, act):
            messages.success(request, _("Noted."))
            return redirect(system_url(system, "plants"))
    return _page(request, form, system, "plants", _("Pick"), _("Note it"), lead=_crop(row))


@require_http_methods(POSTED)
def treat(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: note a treatment and the harvest hold that it puts; never advised, only recorded."""
    actor, system = system_of(request, pk)
    loops = Loop.objects.visible_to(actor).filter(system=system)
    initial = {"began_on": clock.today(), "loop": _one(loops).get("initial")}
    form = TreatForm(posted(request), initial=initial, loops=loops)
    if request.method == "POST" and form.is_valid():
        data = dict(form.cleaned_data)
        touches, until = data.pop("touches"), data.pop("hold_until")
        row = Treatment(**data)
        if attempt(
            form,
            lambda: services.treatment_add(
                treatment=row, touches=touches, hold_until=until, by=actor, at=actor.at
            ),
        ):
            messages.success(request, _("The treatment and its hold are noted."))
            return redirect(system_url(system, "fish"))
    lead = _(
        "No medicine without the word of a vet or a fish-health professional: plants take it up."
    )
    return _page(request, form, system, "fish", _("Note a treatment"), _("Note it"), lead=lead)
