"""What is known of each species: temperatures, rations, protein, growth, weight by length."""

import json
import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from pathlib import Path

Points = tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class Species:
    """One species. Temperatures in °C, weights in g, rations in % body weight a day."""

    code: str
    name: str
    scientific_name: str
    dies_below_c: float
    feed_min_c: float
    best_low_c: float
    best_high_c: float
    feed_max_c: float
    dies_above_c: float
    oxygen_target_mg_l: float
    oxygen_limit_mg_l: float
    protein_low: float
    protein_high: float
    most_kg_m3: float
    market_g: float | None
    tgc: float
    ration: Points
    feeding: Points
    cold_water: bool
    winter_hardy: bool
    chloride_helps: bool
    sources: tuple[str, ...]


def _points(rows: Sequence[Sequence[float]]) -> Points:
    return tuple((float(x), float(y)) for x, y in rows)


@lru_cache(maxsize=1)
def species_table() -> dict[str, Species]:
    """Return all species by code, read once from the table beside this module.

    A group of the catalogue (tilapia, carp, trout, bass_perch) stands for its first species.
    """
    path = Path(__file__).parent / "tables" / "species.json"
    data = json.loads(path.read_text(encoding="utf-8"))
    curves = {name: _points(rows) for name, rows in data["rations"].items()}
    found: dict[str, Species] = {}
    for row in data["species"]:
        fields = dict(row)
        fields["ration"] = curves[fields["ration"]]
        fields["feeding"] = _points(fields["feeding"])
        fields["sources"] = tuple(fields["sources"])
        found[row["code"]] = Species(**fields)
    for group, code in data["groups"].items():
        found[group] = found[code]
    return found


def species_named(code: str) -> Species:
    """Return the species with that code, ValueError naming the known codes when there is none.

    >>> species_named("koi").name
    'Koi'
    """
    table = species_table()
    if code not in table:
        message = f"species must be one of {', '.join(table)}, not {code}"
        raise ValueError(message)
    return table[code]


def interpolate(points: Points, x: float, *, logarithmic: bool = False) -> float:
    """Return the value at ``x`` on straight lines between ``points``, flat beyond the ends.

    With ``logarithmic`` the lines are straight in the logarithm of x.

    >>> interpolate(((0.0, 1.0), (10.0, 2.0)), 5)
    1.5
    """
    if x <= points[0][0]:
        return points[0][1]
    for (x0, y0), (x1, y1) in pairwise(points):
        if x <= x1:
            share = math.log(x / x0) / math.log(x1 / x0) if logarithmic else (x - x0) / (x1 - x0)
            return y0 + share * (y1 - y0)
    return points[-1][1]
