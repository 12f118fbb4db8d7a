"""What the forecast of a loop says: fans, crossings, fish, needs. Days count from the start."""

from dataclasses import dataclass

METHODS = ("balance", "trend", "steady")


@dataclass(frozen=True)
class Fan:
    """One measurand on each day: the middle and the 80 % range, in the catalogue's unit.

    ``method`` is the forecast that has earned its place here for most of the days: the mass balance,
    the trend of the readings (Theil–Sen) or 'steady', the last reading carried on. ``turns`` says
    where that differs: (day, method) from the first on. ``hit_rate`` is the share of
    later readings that lay inside such ranges when they were made, over ``judged`` readings;
    None where too few are known.
    """

    measurand: str
    method: str
    days: tuple[float, ...]
    low: tuple[float, ...]
    middle: tuple[float, ...]
    high: tuple[float, ...]
    hit_rate: float | None
    judged: int
    turns: tuple[tuple[float, str], ...] = ()


@dataclass(frozen=True)
class Crossing:
    """When a measurand may pass a level: the 80 % range and the middle; None: not in sight."""

    measurand: str
    side: str
    level: float
    soonest: float | None
    middle: float | None
    latest: float | None


@dataclass(frozen=True)
class StockDay:
    """The fish on one day: mean weight, biomass, density, feed and oxygen above the limit."""

    day: float
    weight_g: float
    biomass_kg: float
    density_kg_m3: float
    feed_g_day: float
    oxygen_mg_l: float
    oxygen_margin_mg_l: float


@dataclass(frozen=True)
class Needs:
    """What is needed from the start until ``day``: feed [g], base [g CaCO3], top-up [L]."""

    day: float
    feed_g: float
    base_g_caco3: float
    topup_l: float


@dataclass(frozen=True)
class Outlook:
    """The forecast of one loop."""

    fans: tuple[Fan, ...]
    crossings: tuple[Crossing, ...]
    stock: tuple[StockDay, ...]
    needs: tuple[Needs, ...]
