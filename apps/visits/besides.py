"""What a sheet says besides lines, readings and findings: used, swapped, signed.

Plain, storable data first, so that a report's snapshot says the same years later; then words.
"""

from collections.abc import Iterable, Mapping
from typing import Any
from uuid import UUID

from django.utils.translation import gettext as _

from apps.core.measures import measured_plain
from apps.systems.models import Component
from apps.visits.services.typed import Typed

Data = dict[str, Any]


def supplies_data(typed: Typed) -> list[Data]:
    """Return what was used, in the order of the rows' keys; empty rows are left out."""
    return [
        {"item": row.get("item") or "", "amount": row.get("amount"), "unit": row.get("unit") or ""}
        for row in typed.supplies.values()
        if row.get("item") or row.get("amount")
    ]


def swaps_data(typed: Typed) -> list[Data]:
    """Return what was swapped; one query where there is something."""
    rows = {key: row for key, row in typed.swaps.items() if row.get("component")}
    if not rows:
        return []
    keys = [UUID(row["component"]) for row in rows.values()]
    parts = {part.pk: part for part in Component.objects.filter(pk__in=keys)}
    found = []
    for row in rows.values():
        old = parts.get(UUID(row["component"]))
        found.append(
            {
                "name": old.name if old else "", "off": old.serial if old else "",
                "make": row.get("make") or "", "on": row.get("serial") or "",
                "reason": row.get("reason") or "",
            }
        )  # fmt: skip
    return found


def signature_data(sheets: Iterable[Typed]) -> Data | None:
    """Return the latest signature of a visit, which stands for all of its sheets."""
    rows = [row for typed in sheets for row in typed.signature.values() if row.get("name")]
    if not rows:
        return None
    row = max(rows, key=lambda row: str(row.get("at") or ""))
    return {"name": row["name"], "at": row.get("at"), "strokes": row.get("strokes") or []}


def supply_words(row: Mapping[str, Any]) -> str:
    """Return "Chelated iron, 20 g" as far as it is known."""
    amount = row["amount"]
    figure = "" if amount is None else measured_plain(amount, row["unit"])
    return ", ".join(part for part in (row["item"], figure) if part)


def swap_words(row: Mapping[str, Any]) -> str:
    """Return what went off and what came on, with serials and the reason."""
    off = _("off: %(serial)s") % {"serial": row["off"]} if row["off"] else ""
    new = " ".join(part for part in (row["make"], row["on"]) if part)
    on = _("on: %(serial)s") % {"serial": new} if new else ""
    return " · ".join(part for part in (off, on, row["reason"]) if part)
