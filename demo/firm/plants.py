"""Plantings of the demo: crop after crop in each bed, with pickings."""

import datetime as dt
import random
from dataclasses import dataclass, field

# plants per m2, days in the nursery, days in the bed, picked how: heads at once, or mass per plant
CROPS: dict[str, tuple[float, int, int, str, float]] = {
    "lettuce_loose_leaf": (20, 20, 31, "heads", 0),
    "lettuce_head": (15, 22, 42, "heads", 0),
    "pak_choi": (22, 16, 33, "heads", 0),
    "basil": (16, 22, 58, "cuts", 0.035),
    "parsley": (12, 28, 75, "cuts", 0.030),
    "swiss_chard": (15, 22, 70, "cuts", 0.060),
    "kale": (8, 24, 85, "cuts", 0.085),
    "rocket": (40, 13, 30, "cuts", 0.012),
    "mizuna": (22, 15, 38, "cuts", 0.025),
    "tomato": (3.2, 34, 165, "fruit", 0.210),
    "cucumber": (2.4, 18, 110, "fruit", 0.300),
}


@dataclass
class Crop:
    """One planting in a bed: counts in plants, pickings as (day, heads, kg)."""

    key: str
    part: str
    crop: str
    count: int
    sown: dt.date
    set_out: dt.date
    ended: dt.date | None
    pickings: list[tuple[dt.date, int | None, float | None]] = field(default_factory=list)


def crops_of(
    key: str, beds: list[tuple[str, float]], names: tuple[str, ...], started: int,
    today: dt.date, rng: random.Random,
) -> list[Crop]:  # fmt: skip
    """Return what grew in each bed (part, m2) since a year ago."""
    found: list[Crop] = []
    if not names or not beds:
        return found
    for place, name in enumerate(names):
        part, area = beds[place % len(beds)]
        share = area * len(beds) / len(names) if len(beds) < len(names) else area
        first = min(started - 12, 380) - rng.randrange(4, 22)
        day = today - dt.timedelta(days=first)
        number = 0
        while day < today - dt.timedelta(days=4):
            number += 1
            found.append(
                _planting(f"{key}-{part}-{name}-{number}", part, name, share, day, rng, today)
            )
            end = found[-1].ended
            if end is None:
                break
            day = end + dt.timedelta(days=rng.randrange(1, 6))
    return found


def _planting(
    key: str, part: str, name: str, area: float, day: dt.date, rng: random.Random, today: dt.date
) -> Crop:
    dense, nursery, stay, how, mass = CROPS[name]
    count = max(3, round(area * dense * rng.uniform(0.85, 0.98)))
    leave = day + dt.timedelta(days=stay + rng.randrange(-3, 6))
    crop = Crop(
        key, part, name, count, day - dt.timedelta(days=nursery + rng.randrange(-2, 3)), day,
        leave if leave <= today else None,
    )  # fmt: skip
    if how == "heads":
        _heads(crop, leave, today, rng)
    else:
        _cuts(crop, stay, mass, leave, today, rng, fruit=how == "fruit")
    return crop


def _heads(crop: Crop, leave: dt.date, today: dt.date, rng: random.Random) -> None:
    kept = crop.count - rng.randrange(0, max(2, crop.count // 12))
    half = kept // 2
    for back, heads in ((6, half), (0, kept - half)):
        on = leave - dt.timedelta(days=back)
        if on < today and heads:
            crop.pickings.append((on, heads, None))


def _cuts(
    crop: Crop, stay: int, mass: float, leave: dt.date, today: dt.date, rng: random.Random,
    *, fruit: bool,
) -> None:  # fmt: skip
    on = crop.set_out + dt.timedelta(days=max(18, int(stay * (0.42 if fruit else 0.4))))
    while on <= leave and on < today:
        kg = crop.count * mass * rng.uniform(0.7, 1.25)
        crop.pickings.append((on, None, round(kg, 2)))
        on += dt.timedelta(days=rng.randrange(9, 15))
