"""Loops side by side: the mass balance's words as arrays of systems and members."""

from collections.abc import Sequence
from typing import Any

import numpy as np

from apps.calc.ahead.ops import Ops
from apps.calc.ahead.step import Day, Gear, Params, Water

Array = np.ndarray[Any, np.dtype[np.float64]]

ARRAYS = Ops(np.sqrt, np.exp, np.log, np.maximum, np.minimum, np.where)


def column(values: Sequence[float]) -> Array:
    """Return one value a system, to stand beside its members."""
    return np.asarray(values, dtype=np.float64)[:, None]


def gear_side_by_side(gears: Sequence[Gear]) -> Gear:
    """Return the gear of all; systems with fewer groups of fish get groups of none."""
    groups = max(len(gear.counts) for gear in gears)
    return Gear(
        column([gear.volume_l for gear in gears]),
        column([gear.protein for gear in gears]),
        column([gear.plants_m2 for gear in gears]),
        column([gear.returned for gear in gears]),
        tuple(column([_at(gear.counts, n, 0.0) for gear in gears]) for n in range(groups)),
        tuple(column([_at(gear.powers, n, 0.66) for gear in gears]) for n in range(groups)),
        tuple(column([_at(gear.growths, n, 1.0) for gear in gears]) for n in range(groups)),
    )


def _at(values: Sequence[float], place: int, instead: float) -> float:
    return values[place] if place < len(values) else instead


def params_side_by_side(all_of: Sequence[Params]) -> Params:
    """Return the parameters of all."""
    return Params(*(column(values) for values in zip(*all_of, strict=True)))


def day_side_by_side(days: Sequence[Day], groups: int) -> Day:
    """Return one day of all."""
    found: dict[str, Any] = {}
    for name in Day._fields:
        values = [getattr(day, name) for day in days]
        if name == "rations":
            found[name] = tuple(column([_at(v, n, 0.0) for v in values]) for n in range(groups))
        elif name in ("coming", "fresh", "steer", "kept_at"):
            found[name] = tuple(column(part) for part in zip(*values, strict=True))
        else:
            found[name] = column(values)
    return Day(**found)


def water_side_by_side(waters: Sequence[Water], groups: int, members: int) -> Water:
    """Return the water of all, alike for each member."""

    def spread(values: Sequence[float]) -> Array:
        return np.repeat(column(values), members, axis=1)

    found: dict[str, Any] = {}
    for name in Water._fields:
        values = [getattr(water, name) for water in waters]
        if name == "weights":
            found[name] = tuple(spread([_at(v, n, 1.0) for v in values]) for n in range(groups))
        else:
            found[name] = spread(values)
    return Water(**found)


def chosen(water: Water, rows: Any) -> Water:
    """Return the water of some systems."""
    parts = water._asdict()
    weights = tuple(weight[rows] for weight in parts.pop("weights"))
    return Water(**{name: value[rows] for name, value in parts.items()}, weights=weights)
