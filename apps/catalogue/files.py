"""The data files as they lie in this app."""

from functools import cache
from pathlib import Path
from typing import Any

import yaml

from apps.catalogue.choices import EntryKind

FOLDER = Path(__file__).parent / "data"


@cache
def rows(kind: str) -> tuple[dict[str, Any], ...]:
    """Return the rows of a data file; () where the file does not exist."""
    path = FOLDER / f"{kind}.yaml"
    if not path.exists():
        return ()
    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    return tuple(yaml.load(path.read_text(encoding="utf-8"), loader))  # noqa: S506 - safe loader


def code_of(kind: str, row: dict[str, Any]) -> str:
    """Return what names a row within its file."""
    if kind == EntryKind.BAND:
        return f"{row['measurand']}.{row['context']}"
    return str(row["code"])
