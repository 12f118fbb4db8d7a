"""When to sow what, so that so many heads a week are picked; seed, bed and days that it takes."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from apps.calc.quantities import require_between
from apps.calc.species import interpolate

SURVIVAL = 0.9  # of the seedlings that come up (common practice)
USUAL_SHARE = 80.0  # % that come up where nothing is known (common practice)
WEEK = 7


@dataclass(frozen=True)
class Crop:
    """A crop of the catalogue: days at its good temperature, plants a square metre."""

    germination_days: Mapping[float, float]
    normal_pct: Mapping[float, float]
    transplant_days: tuple[float, float]
    harvest_days: tuple[float, float]
    per_m2: tuple[float, float] | None
    warm_limit_c: float | None = None
    seed_life_years: float | None = None


@dataclass(frozen=True)
class Sowing:
    """What one sowing a week takes; days count from the sowing.

    ``share_pct``: of the seeds that come up, ``share_known`` where it was measured or published;
    ``plants_in_bed``: when the bed is full; ``area_m2``: at the wider and the closer spacing,
    None where no spacing is known.
    """

    seeds: int
    share_pct: float
    share_known: bool
    comes_up_days: float | None
    plant_out: tuple[int, int]
    pick: tuple[int, int]
    plants_in_bed: int
    area_m2: tuple[float, float] | None
    too_warm: bool
    too_cold: bool
    seed_old: bool


def sowing(
    crop: Crop,
    heads_a_week: float,
    temp_c: float,
    *,
    tested_pct: float | None = None,
    seed_age_years: float | None = None,
) -> Sowing:
    """Return what one sowing a week takes for ``heads_a_week``.

    Seeds are heads over the share that comes up over a survival of 0.9. ``temp_c``: where they
    come up [°C]; ``tested_pct``: the share that came up in a test of this seed, which goes before
    the published one. Valid range: heads 0.1 to 10,000, 0 to 45 °C, 1 to 100 %; ValueError
    outside. References: harrington_minges1954, practice.

    >>> lettuce = Crop({15: 4, 20: 3, 25: 2}, {15: 99, 20: 99, 25: 99, 30: 12}, (18, 21), (24, 32),
    ...                (20, 25), 26, 3)
    >>> found = sowing(lettuce, 12, 20)
    >>> found.seeds, found.pick, found.plants_in_bed
    (14, (42, 53), 55)
    """
    require_between("heads_a_week", heads_a_week, 0.1, 10_000.0)
    require_between("temp_c", temp_c, 0.0, 45.0)
    if tested_pct is not None:
        require_between("tested_pct", tested_pct, 1.0, 100.0)
    share, known = _share(crop, temp_c, tested_pct)
    stand = math.ceil(heads_a_week * crop.harvest_days[1] / WEEK - 1e-9)
    return Sowing(
        seeds=math.ceil(heads_a_week / (share / 100 * SURVIVAL) - 1e-9),
        share_pct=share, share_known=known,
        comes_up_days=_at(crop.germination_days, temp_c),
        plant_out=(round(crop.transplant_days[0]), round(crop.transplant_days[1])),
        pick=(
            round(crop.transplant_days[0] + crop.harvest_days[0]),
            round(crop.transplant_days[1] + crop.harvest_days[1]),
        ),
        plants_in_bed=stand,
        area_m2=(stand / crop.per_m2[0], stand / crop.per_m2[1]) if crop.per_m2 else None,
        too_warm=crop.warm_limit_c is not None and temp_c > crop.warm_limit_c,
        too_cold=_colder(crop.normal_pct, temp_c) or _colder(crop.germination_days, temp_c),
        seed_old=None not in (seed_age_years, crop.seed_life_years)
        and (seed_age_years or 0.0) > (crop.seed_life_years or 0.0),
    )  # fmt: skip


def _share(crop: Crop, temp_c: float, tested_pct: float | None) -> tuple[float, bool]:
    if tested_pct is not None:
        return tested_pct, True
    found = _at(crop.normal_pct, temp_c)
    return (max(found, 1.0), True) if found is not None else (USUAL_SHARE, False)


def _at(table: Mapping[float, float], temp_c: float) -> float | None:
    """Return the value at a temperature, on straight lines; None where nothing was published.

    Colder than the coldest that was tried nothing is known: seeds may not come up at all.
    """
    if not table or _colder(table, temp_c):
        return None
    return interpolate(tuple(sorted(table.items())), temp_c)


def _colder(table: Mapping[float, float], temp_c: float) -> bool:
    return bool(table) and temp_c < min(table)


def by_week(windows: Sequence[tuple[int, int, float]], weeks: int) -> tuple[float, ...]:
    """Return what is picked in each of so many weeks from now.

    ``windows``: first and last day of picking from now, and how many; spread evenly over its
    days. What lay before now counts into the first week: it stands and waits.

    >>> by_week([(0, 13, 10), (-20, -8, 3)], 2)
    (8.0, 5.0)
    """
    found = [0.0] * weeks
    for first, last, number in windows:
        days = max(last, first) - first + 1
        for day in range(first, first + days):
            week = max(day, 0) // WEEK
            if week < weeks:
                found[week] += number / days
    return tuple(found)
