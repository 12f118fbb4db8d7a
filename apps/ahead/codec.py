"""A forecast as it is kept: plain JSON and back."""

import math
from dataclasses import asdict
from typing import Any

from apps.calc.ahead.outlook import Crossing, Fan, Needs, Outlook, StockDay

# raised when the shape changes: what was kept in another one is made anew
VERSION = 1
DIGITS = 6


def outlook_kept(outlook: Outlook) -> dict[str, Any]:
    """Return a forecast as JSON. Raises ValueError for a number that is not finite."""
    kept: dict[str, Any] = _plain(asdict(outlook), "outlook")
    return kept


def _plain(value: Any, where: str) -> Any:
    if isinstance(value, dict):
        return {name: _plain(item, f"{where}.{name}") for name, item in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(item, where) for item in value]
    if isinstance(value, float):
        if not math.isfinite(value):
            message = f"{where}: a finite number is needed, not {value}"
            raise ValueError(message)
        return float(f"{value:.{DIGITS}g}")
    return value


def outlook_read(kept: dict[str, Any]) -> Outlook:
    """Return a forecast from its JSON."""
    return Outlook(
        fans=tuple(fan_read(row) for row in kept["fans"]),
        crossings=tuple(Crossing(**row) for row in kept["crossings"]),
        stock=tuple(StockDay(**row) for row in kept["stock"]),
        needs=tuple(Needs(**row) for row in kept["needs"]),
    )


def fan_read(kept: dict[str, Any]) -> Fan:
    """Return a fan from its JSON."""
    known = dict(kept)
    for name in ("days", "low", "middle", "high"):
        known[name] = tuple(kept[name])
    return Fan(**known)
