"""Values of the science as plain JSON, and how far two of them agree."""

import dataclasses
import datetime as dt
import math
from typing import Any


def plain(value: Any) -> Any:
    """Return dataclasses, sets and days as JSON has them."""
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {f.name: plain(getattr(value, f.name)) for f in dataclasses.fields(value)}
    if isinstance(value, dict):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, frozenset | set):
        return sorted(plain(item) for item in value)
    if isinstance(value, list | tuple):
        return [plain(item) for item in value]
    return value.isoformat() if isinstance(value, dt.date) else value


def difference(one: Any, other: Any, where: str = "") -> str:
    """Return where two plain values first differ by more than rounding; empty when they agree."""
    if isinstance(one, dict) and isinstance(other, dict):
        if one.keys() != other.keys():
            return f"{where}: {sorted(one)} and {sorted(other)}"
        return next(filter(None, (difference(one[k], other[k], f"{where}.{k}") for k in one)), "")
    if isinstance(one, list) and isinstance(other, list):
        if len(one) != len(other):
            return f"{where}: {len(one)} and {len(other)} items"
        pairs = enumerate(zip(one, other, strict=True))
        return next(filter(None, (difference(a, b, f"{where}.{i}") for i, (a, b) in pairs)), "")
    numbers = isinstance(one, int | float) and isinstance(other, int | float)
    if numbers and not isinstance(one, bool) and not isinstance(other, bool):
        same = math.isclose(one, other, rel_tol=1e-9, abs_tol=1e-12)
    else:
        same = one == other
    return "" if same else f"{where}: {one!r} and {other!r}"
