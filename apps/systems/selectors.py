"""Systems with what they are made of."""

from collections.abc import Iterable
from dataclasses import dataclass
from uuid import UUID

from django.db.models import Prefetch, QuerySet

from apps.systems.choices import BEDS, WATER_HOLDERS
from apps.systems.models import Component, Flow, Loop, System


def with_parts(systems: QuerySet[System]) -> QuerySet[System]:
    """Add place, client, loops and fitted components: three queries in all."""
    fitted = Component.objects.filter(removed_on__isnull=True).order_by("place_in_flow", "name")
    return systems.select_related("place__client").prefetch_related(
        Prefetch("loops", Loop.objects.order_by("kind")),
        Prefetch("loops__components", fitted, to_attr="fitted"),
    )


def loop_litres(loop: Loop) -> float:
    """Return the litres that mix in a loop: as measured, or else the sum of what holds water."""
    if loop.measured_litres:
        return loop.measured_litres
    return sum(
        component.litres or 0.0 for component in _fitted(loop) if component.kind in WATER_HOLDERS
    )


def _fitted(loop: Loop) -> list[Component]:
    if hasattr(loop, "fitted"):
        return list(loop.fitted)
    return list(loop.components.filter(removed_on__isnull=True))


@dataclass(frozen=True)
class LoopSizes:
    """What the science needs of a loop: litres, m2, L/h; of air L/min."""

    litres: float
    tank_litres: float
    bed_m2: float
    media: tuple[tuple[str, float], ...]
    pump_l_h: float
    air_l_min: float


def loop_sizes(loop: Loop) -> LoopSizes:
    """Return the sizes of a loop from its fitted components."""
    parts = _fitted(loop)
    return LoopSizes(
        litres=loop_litres(loop),
        tank_litres=sum(part.litres or 0.0 for part in parts if part.kind == "tank"),
        bed_m2=sum(part.area_m2 or 0.0 for part in parts if part.kind in BEDS),
        media=tuple(
            (part.media, part.media_litres) for part in parts if part.media and part.media_litres
        ),
        pump_l_h=sum(part.flow_l_h or 0.0 for part in parts if part.kind == "pump"),
        air_l_min=sum(part.flow_l_h or 0.0 for part in parts if part.kind == "air_pump") / 60,
    )


def flows_of(component_ids: Iterable[UUID]) -> list[Flow]:
    """Return the flows that leave these components."""
    return list(
        Flow.objects.filter(
            source_id__in=list(component_ids), target__removed_on__isnull=True
        ).order_by("source__place_in_flow", "target__place_in_flow")
    )
