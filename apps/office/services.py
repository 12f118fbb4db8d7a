"""What only the office's pages change: a new system with its loops, flows, notes of calls."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from apps.accounts.services import audit
from apps.batches.models import Planting
from apps.calc.design.parts import Plan
from apps.care.models import Standing
from apps.care.services import plan_make
from apps.catalogue.selectors import Catalogue
from apps.clients.models import Client, Place
from apps.core.exceptions import Invalid
from apps.core.scoping import Actor
from apps.proposals.designs import plan_of
from apps.proposals.models import Proposal
from apps.proposals.services import proposal_build_begin, proposal_built
from apps.systems.choices import LoopKind, SystemKind
from apps.systems.models import Component, Flow, Loop, System
from apps.systems.services import component_save, system_save
from apps.visits.choices import Way
from apps.visits.models import CallNote
from apps.visits.services.steps import author

LOOPS = {
    SystemKind.COUPLED: (LoopKind.WHOLE,),
    SystemKind.DECOUPLED: (LoopKind.FISH, LoopKind.PLANT),
    SystemKind.FISH_ONLY: (LoopKind.FISH,),
    SystemKind.PLANTS_ONLY: (LoopKind.PLANT,),
}


@transaction.atomic
def system_make(*, system: System, by: Actor, at: dt.datetime) -> System:
    """Store a new system with the loops of its kind and a standing."""
    system_save(system=system, by=by, at=at)
    for kind in LOOPS[SystemKind(system.kind)]:
        Loop.objects.create(system=system, kind=kind)
    Standing.objects.get_or_create(system=system)
    return system


@transaction.atomic
def design_build(
    *,
    place: Place,
    name: str,
    plan: Plan,
    names: Mapping[str, str],
    catalogue: Catalogue,
    by: Actor,
    at: dt.datetime,
) -> System:
    """Make a coupled system of a design: its parts called by ``names``, its flows, its care plan.

    All of it or nothing. It is not built yet: its care sleeps until somebody says from when it runs.
    """
    system = system_make(
        system=System(place=place, name=name, kind=SystemKind.COUPLED), by=by, at=at
    )
    loop = system.loops.get()
    parts = [
        component_save(
            component=Component(
                loop=loop, name=names[part.kind], place_in_flow=index + 1, **asdict(part)
            ),
            by=by,
            at=at,
        )
        for index, part in enumerate(plan.parts)
    ]
    for source, target, how in plan.flows:
        flow_save(flow=Flow(source=parts[source], target=parts[target], kind=how), by=by, at=at)
    plan_make(
        system=system, catalogue=catalogue, components=parts, has_fish=True, has_plants=True,
        anchor=None, at=at,
    )  # fmt: skip
    return system


@transaction.atomic
def proposal_make_system(
    *,
    proposal: Proposal,
    name: str,
    names: Mapping[str, str],
    catalogue: Catalogue,
    by: Actor,
    at: dt.datetime,
) -> System:
    """Make the system of an accepted proposal, as its accepted version says.

    Raises Conflict where it was not accepted, or one was made of it already.
    """
    plan = plan_of(proposal_build_begin(proposal=proposal))
    system = design_build(
        place=proposal.place, name=name, plan=plan, names=names, catalogue=catalogue, by=by, at=at
    )
    proposal_built(proposal=proposal, system=system, by=by, at=at)
    return system


@transaction.atomic
def loop_change(*, loop: Loop, changes: dict[str, Any], by: Actor, at: dt.datetime) -> Loop:
    """Change how much water mixes in a loop, in litres, and within how many per cent it is known."""
    for name, value in changes.items():
        setattr(loop, name, value)
    loop.full_clean()
    loop.save(update_fields=list(changes))
    audit(at=at, by=by, verb="changed", kind="loop", object_id=loop.pk)
    return loop


@transaction.atomic
def component_remove(*, component: Component, on: dt.date, by: Actor, at: dt.datetime) -> Component:
    """Take a component off for good; it stays on record, the flows through it end."""
    component.removed_on = on
    component.full_clean()
    component.save(update_fields=["removed_on"])
    component.flows_out.all().delete()
    component.flows_in.all().delete()
    audit(at=at, by=by, verb="took off", kind="component", object_id=component.pk)
    return component


@transaction.atomic
def flow_save(*, flow: Flow, by: Actor, at: dt.datetime) -> Flow:
    """Store a flow between two components of one system. Raises Invalid for two of the same."""
    if Flow.objects.filter(source=flow.source, target=flow.target).exclude(pk=flow.pk).exists():
        raise Invalid(
            [{"pointer": "/target", "value": str(flow.target_id),
              "message": "target: " + _("this flow is there already")}]
        )  # fmt: skip
    flow.full_clean()
    flow.save()
    audit(at=at, by=by, verb="joined", kind="component", object_id=flow.source_id)
    return flow


@transaction.atomic
def flow_remove(*, flow: Flow, by: Actor, at: dt.datetime) -> None:
    """Undo a flow."""
    audit(at=at, by=by, verb="parted", kind="component", object_id=flow.source_id)
    flow.delete()


@transaction.atomic
def call_note(
    *,
    client: Client,
    system: System | None,
    text: str,
    by: Actor,
    at: dt.datetime,
    way: str = Way.CALL,
) -> CallNote:
    """Note a call, a message or a talk with a client, about one system or the whole."""
    row = CallNote(client=client, system=system, at=at, by=author(by), text=text, way=way)
    row.full_clean()
    row.save(force_insert=True)
    audit(at=at, by=by, verb="called", kind="client", object_id=client.pk)
    return row


@transaction.atomic
def planting_change(
    *, planting: Planting, changes: dict[str, Any], by: Actor, at: dt.datetime
) -> Planting:
    """Note on which day plants were set out, or that none are left."""
    for name, value in changes.items():
        setattr(planting, name, value)
    planting.full_clean()
    planting.save(update_fields=list(changes))
    audit(at=at, by=by, verb="changed", kind="planting", object_id=planting.pk)
    return planting
