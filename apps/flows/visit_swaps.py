"""Parts that a technician swapped, carried out when the visit ends.

The new component's key is the row's key, so that ending a visit twice swaps once.
"""

import datetime as dt
from collections.abc import Mapping
from typing import Any
from uuid import UUID

from django.core.exceptions import ValidationError
from django.utils import timezone
from django.utils.translation import gettext as _

from apps.core.exceptions import DomainError, Invalid
from apps.core.scoping import Actor
from apps.systems.models import Component
from apps.systems.services import component_swap
from apps.visits.models import Sheet
from apps.visits.services.projection import Sheets
from apps.visits.services.typed import Where

SAID = ("component", "make", "serial", "reason")
KEPT = (
    "kind", "name", "litres", "area_m2", "depth_m", "media", "media_litres", "flow_l_h", "lift_m",
    "watts",
)  # fmt: skip


def swaps_carry_out(
    work: Sheets, places: Mapping[UUID, Where], *, by: Actor, at: dt.datetime
) -> None:
    """Swap what the sheets say was swapped, in the caller's transaction.

    Raises Invalid with a pointer for a swap without a part or without the new one's serial, for a
    part of another system and for one that is off already. A row with nothing in it says nothing.
    """
    errors: list[dict[str, Any]] = []
    for sheet in work.sheets:
        for key, row in work.typed_of(sheet).swaps.items():
            if any(row.get(name) for name in SAID):
                errors += _carry_out(work, sheet, key, row, places[sheet.pk], by, at)
    if errors:
        raise Invalid(errors)


def _carry_out(
    work: Sheets,
    sheet: Sheet,
    key: UUID,
    row: Mapping[str, Any],
    where: Where,
    by: Actor,
    at: dt.datetime,
) -> list[dict[str, Any]]:
    component, serial = row.get("component"), (row.get("serial") or "").strip()

    def error(leaf: str, message: str) -> list[dict[str, Any]]:
        pointer = where.of("swaps", key, leaf)
        return [{"pointer": pointer, "value": row.get(leaf), "message": f"{leaf}: {message}"}]

    if not component:
        return error("component", _("say which part was swapped"))
    fitted = {
        part.pk: part
        for loop in work.background(sheet).loops
        for part in loop.fitted  # type: ignore[attr-defined]
    }
    if key in fitted:
        return []
    old = fitted.get(UUID(component))
    if not serial:
        return error("serial", _("the new part's serial is needed"))
    if old is None:
        return error("component", _("is not fitted in this system, or came off before"))
    kept = {name: getattr(old, name) for name in KEPT}
    new = Component(
        pk=key, loop=old.loop, make=(row.get("make") or old.make)[:80], serial=serial[:80], **kept
    )
    try:
        component_swap(old=old, new=new, on=timezone.localdate(work.seen), by=by, at=at)
    except ValidationError as fault:
        return error("component", " ".join(fault.messages))
    except DomainError as fault:
        return error("component", fault.message)
    return []
