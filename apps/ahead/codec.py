"""A forecast as it is kept: plain JSON and back."""

import math
from dataclasses import asdict
from typing import Any

from django.utils.translation import gettext as _

from apps.calc.ahead.earned import Records
from apps.calc.ahead.members import Kept, Member
from apps.calc.ahead.outlook import Crossing, Fan, Needs, Outlook, StockDay
from apps.calc.ahead.scores import Score
from apps.calc.ahead.step import Params, Water

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
            message = _("%(where)s: a finite number is needed, not %(value)s")
            raise ValueError(message % {"where": where, "value": value})
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
    known["turns"] = tuple((day, method) for day, method in kept.get("turns", ()))
    return Fan(**known)


def record_kept(records: Records) -> dict[str, Any]:
    """Return a loop's record as JSON: measurand, horizon, method, [readings, error, inside]."""
    kept: dict[str, Any] = _plain(
        {
            measurand: {
                str(horizon): {
                    method: [one.judged, float(one.error), float(one.inside)]
                    for method, one in scores.items()
                }
                for horizon, scores in record.items()
            }
            for measurand, record in records.items()
        },
        "record",
    )
    return kept


def record_read(kept: dict[str, Any]) -> Records:
    """Return a loop's record from its JSON."""
    return {
        measurand: {
            int(horizon): {method: Score(*one) for method, one in scores.items()}
            for horizon, scores in record.items()
        }
        for measurand, record in kept.items()
    }


def learnt_kept(learnt: Kept) -> dict[str, Any]:
    """Return what was learnt of a loop as JSON. Raises ValueError for a number that is not finite."""
    members = [
        {"deviations": list(map(float, one.deviations)), "water": _figures(one.water)}
        for one in learnt.members
    ]
    kept: dict[str, Any] = _plain(
        {"middle": _figures(learnt.middle), "media_area_m2": float(learnt.media_area_m2),
         "members": members}, "learnt"
    )  # fmt: skip
    return kept


def _figures(row: Params | Water) -> dict[str, Any]:
    return {
        name: [float(part) for part in value] if isinstance(value, tuple) else float(value)
        for name, value in row._asdict().items()
    }


def learnt_read(kept: dict[str, Any]) -> Kept:
    """Return what was learnt of a loop from its JSON."""
    members = [
        Member(tuple(one["deviations"]),
               Water(**one["water"] | {"weights": tuple(one["water"]["weights"])}))
        for one in kept["members"]
    ]  # fmt: skip
    return Kept(Params(**kept["middle"]), kept["media_area_m2"], tuple(members))
