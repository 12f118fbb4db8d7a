"""The first fish: in stages, each when the filter has caught up, and how they come across."""

from dataclasses import dataclass

from apps.calc.quantities import require_between

FIRST, NEXT, EVERY_DAYS = 0.2, 0.25, 14
MOST_TAN, MOST_NO2 = 0.5, 0.3  # mg/L N before the next stage
SAFE_TEMP, SAFE_PH = 2.0, 0.3
FLOAT_MIN, MIX_MIN = 20, 45
_PH_A_DAY = 0.3
# day after they came: grams of feed a day for each kg of fish; None: the table's whole ration
FEEDING: tuple[tuple[int, float | None], ...] = ((0, 0.0), (1, 5.0), (3, 0.5), (7, None))


@dataclass(frozen=True)
class Stage:
    """One stage: its earliest day from the first, and what the system then can carry."""

    day: int
    share: float
    count: int
    biomass_kg: float


def stages(final_kg: float, weight_g: float, market_g: float) -> tuple[Stage, ...]:
    """Return the stages of stocking towards ``final_kg`` of fish of ``market_g`` each.

    A fifth of the fish first, then a quarter of them every 14 days while total ammonia stays at
    0.5 and nitrite at 0.3 mg/L N or less. ``count``: of the fish then in the system; their
    biomass is that of the weight at which they come. Valid range: 0.1 to 10,000 kg, weights 0.1
    to 10,000 g; ValueError outside. Source: practice.

    >>> [(row.day, row.count) for row in stages(12, 20, 600)]
    [(0, 4), (14, 9), (28, 14), (42, 19), (56, 20)]
    """
    require_between("final_kg", final_kg, 0.1, 10_000.0)
    for name, value in (("weight_g", weight_g), ("market_g", market_g)):
        require_between(name, value, 0.1, 10_000.0)
    whole = int(final_kg * 1000 / market_g + 1e-9)
    if not whole:
        message = f"final_kg must be one fish of {market_g:g} g at least, not {final_kg:g} kg"
        raise ValueError(message)
    found, share = [], FIRST
    for number in range(5):
        count = max(1, int(whole * min(share, 1.0) + 1e-9))
        found.append(Stage(number * EVERY_DAYS, min(share, 1.0), count, count * weight_g / 1000))
        share += NEXT
    return tuple(found)


@dataclass(frozen=True)
class Crossing:
    """How fish come across: minutes to float or to mix, and the days that the pH needs."""

    float_min: int
    mix_min: int
    temp_apart: float
    ph_apart: float
    ph_days: int


def crossing(bag: bool, water: tuple[float, float], system: tuple[float, float]) -> Crossing:
    """Return how fish cross from their ``water`` into the ``system``, both (°C, pH).

    A closed bag floats 20 minutes and is then emptied at once, for its ammonia turns poisonous
    when air comes to it; fish of an open container get the new water mixed in over 45 minutes
    with air. More than 2 °C apart takes as much longer for each 2 °C. pH more than 0.3 apart is
    not for one day. Valid range: 0 to 40 °C, pH 4 to 10; ValueError outside. References: fao589,
    practice.

    >>> crossing(True, (24.0, 7.0), (27.0, 7.2))
    Crossing(float_min=40, mix_min=0, temp_apart=3.0, ph_apart=0.2, ph_days=0)
    """
    for name, pair in (("water", water), ("system", system)):
        require_between(f"{name}_temp_c", pair[0], 0.0, 40.0)
        require_between(f"{name}_ph", pair[1], 4.0, 10.0)
    warm, sour = abs(system[0] - water[0]), round(abs(system[1] - water[1]), 6)
    times = max(1, -int(-warm // SAFE_TEMP))
    days = -int(-round(sour / _PH_A_DAY, 6) // 1) if sour > SAFE_PH else 0
    return Crossing(
        FLOAT_MIN * times if bag else 0, 0 if bag else MIX_MIN * times, warm, sour, days
    )
