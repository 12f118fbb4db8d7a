"""The readings of a report as files inside its PDF: JSON (RFC 8259) and CSV (RFC 4180)."""

import json
from collections.abc import Mapping
from typing import Any

from apps.core.csv_text import csv_lines

KEPT = ("number", "version", "system", "visit", "readings")
COLUMNS = (
    "loop", "measurand", "name", "value", "unit", "word", "trusted", "when", "at", "last",
    "last_at", "method", "instrument",
)  # fmt: skip


def readings_json(snapshot: Mapping[str, Any]) -> bytes:
    """Return number, version, system, visit and readings; the same snapshot, the same bytes."""
    data = {name: snapshot[name] for name in KEPT}
    return json.dumps(data, sort_keys=True, ensure_ascii=False).encode()


def readings_csv(snapshot: Mapping[str, Any]) -> bytes:
    """Return one row a reading in stored units; text that looks like a formula is made harmless."""
    kinds = {loop["id"]: loop["kind"] for loop in snapshot["sketch"]}
    rows = [
        [({**row, "loop": kinds.get(row["loop"], row["loop"])}).get(name) for name in COLUMNS]
        for row in snapshot["readings"]
    ]
    return "".join(csv_lines(COLUMNS, rows)).encode()
