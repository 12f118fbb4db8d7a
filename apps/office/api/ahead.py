"""GET /systems/{id}/ahead: where a system's water is heading."""

from typing import Any
from uuid import UUID

from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from apps.ahead.choices import Assumed
from apps.ahead.selectors import Kept, forecasts_of
from apps.calc.ahead.next_visit import has_earned
from apps.calc.ahead.outlook import Crossing, Fan
from apps.calc.quantities import MEASURANDS
from apps.catalogue.selectors import Catalogue, catalogue_current
from apps.flows.operation import Operation, found
from apps.flows.wording import crossing_text
from apps.office.api import schemas
from apps.office.api.shapes import iso
from apps.office.selectors.ahead_page import crossing_days
from apps.systems.models import System


class Ahead(Operation):
    """The forecast of a system."""

    @extend_schema(
        operation_id="system_ahead",
        summary="The newest forecast of each loop, for six weeks; empty where there is none yet",
        responses={200: schemas.AHEAD},
    )
    def get(self, request: Request, pk: UUID) -> Response:
        """Office: any; technician: one of the visits around today."""
        system = found(System.objects.visible_to(self.actor), pk)
        catalogue = catalogue_current()
        kept = forecasts_of(self.actor, system.pk)
        rows = sorted(kept.values(), key=lambda one: str(one.loop_id))
        days = [one.row.next_visit for one in rows if one.row.next_visit is not None]
        return Response(
            {
                "system": str(system.pk), "next_visit": iso(min(days, default=None)),
                "loops": [_loop(one, catalogue) for one in rows],
            }
        )  # fmt: skip


def _loop(kept: Kept, catalogue: Catalogue) -> dict[str, Any]:
    return {
        "loop": str(kept.loop_id), "from": iso(kept.row.from_day), "made_at": iso(kept.row.made_at),
        "next_visit": iso(kept.row.next_visit),
        "fans": [_fan(fan) for fan in kept.outlook.fans],
        "crossings": [_crossing(kept, row, catalogue) for row in kept.outlook.crossings
                      if row.soonest is not None],
        "stock": [
            {"day": row.day, "weight_g": row.weight_g, "biomass_kg": row.biomass_kg,
             "density_kg_m3": row.density_kg_m3, "feed_g_day": row.feed_g_day,
             "oxygen_mg_l": row.oxygen_mg_l, "oxygen_margin_mg_l": row.oxygen_margin_mg_l}
            for row in kept.outlook.stock
        ],
        "needs": [
            {"day": row.day, "feed_g": row.feed_g, "base_g_caco3": row.base_g_caco3,
             "topup_l": row.topup_l}
            for row in kept.outlook.needs
        ],
        "assumed": [{"code": code, "text": str(Assumed(code).label)}
                    for code in kept.row.assumed],
    }  # fmt: skip


def _fan(fan: Fan) -> dict[str, Any]:
    known = MEASURANDS.get(fan.measurand)
    return {
        "measurand": fan.measurand, "unit": known.unit if known else "", "method": fan.method,
        "turns": [{"day": day, "method": method} for day, method in fan.turns],
        "days": list(fan.days), "low": list(fan.low), "middle": list(fan.middle),
        "high": list(fan.high), "hit_rate": fan.hit_rate, "judged": fan.judged,
        "moves_dates": has_earned(fan),
    }  # fmt: skip


def _crossing(kept: Kept, row: Crossing, catalogue: Catalogue) -> dict[str, Any]:
    seen = crossing_days(kept, row)
    days = {name: seen[name] for name in ("soonest", "middle", "latest")}
    return {
        "measurand": row.measurand, "side": row.side, "level": row.level, **days,
        "text": crossing_text(seen, catalogue),
    }  # fmt: skip
