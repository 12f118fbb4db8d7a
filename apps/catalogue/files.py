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
    data = yaml.load(path.read_text(encoding="utf-8"), loader)  # noqa: S506 - safe loader
    if isinstance(data, list):
        return tuple(data)
    # a file in parts: the part goes before the code
    return tuple(
        row | {"part": part, "code": f"{part}.{row['code']}"}
        for part, items in data.items()
        for row in items
    )


def code_of(kind: str, row: dict[str, Any]) -> str:
    """Return what names a row within its file."""
    if kind == EntryKind.BAND:
        return f"{row['measurand']}.{row['context']}"
    return str(row["code"])
