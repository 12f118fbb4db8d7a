"""From the leaves that were typed to whole lines, readings, findings and decisions."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID

from django.utils.dateparse import parse_datetime

from apps.visits.models import Value

Rows = dict[UUID, dict[str, Any]]


@dataclass
class Typed:
    """What one sheet says, by row key."""

    lines: Rows = field(default_factory=dict)
    readings: Rows = field(default_factory=dict)
    findings: Rows = field(default_factory=dict)
    advice: Rows = field(default_factory=dict)
    supplies: Rows = field(default_factory=dict)
    swaps: Rows = field(default_factory=dict)
    signature: Rows = field(default_factory=dict)


@dataclass(frozen=True)
class Where:
    """Where the rows of a sheet stand in the body that brought them, for JSON pointers."""

    sheet: str = ""
    places: dict[UUID, int] = field(default_factory=dict)

    def of(self, group: str, key: UUID, leaf: str = "id") -> str:
        """Return the pointer to a leaf of a row; by its key where no body brought it."""
        return f"{self.sheet}/{group}/{self.places.get(key, key)}/{leaf}"


def typed_sheets(values: Iterable[Value]) -> dict[UUID, Typed]:
    """Return sheet -> what it says; rows that were taken back are left out."""
    sheets: dict[UUID, Typed] = {}
    for value in sorted(values, key=lambda row: row.path):
        if value.sheet_id is None:
            continue
        group, key, leaf = value.path.split("/")
        rows: Rows = getattr(sheets.setdefault(value.sheet_id, Typed()), group)
        rows.setdefault(UUID(key), {})[leaf] = value.value
    for sheet in sheets.values():
        for group in ("findings", "supplies", "swaps"):
            held: Rows = getattr(sheet, group)
            setattr(sheet, group, {pk: row for pk, row in held.items() if not row.get("gone")})
        sheet.readings = {
            pk: row
            for pk, row in sheet.readings.items()
            if not row.get("gone") and row.get("value") is not None
        }
    return sheets


def moment_of(text: str | None) -> dt.datetime | None:
    """Return a kept time."""
    return parse_datetime(text) if text else None
