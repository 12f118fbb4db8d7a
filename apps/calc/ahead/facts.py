"""What the forecast of a loop starts from.

Days count from the first day's midnight on the local clock: what was lies below 0, today from 0 to 1,
and what is planned from 1 on.
"""

from dataclasses import dataclass, replace
from typing import Any, Literal

Kind = Literal["coupled", "fish", "plants"]


@dataclass(frozen=True)
class FishGroup:
    """Fish of one batch on the first day: their number and mean weight [g].

    ``growth``: how much of what their feed usually makes of them these have made, by their
    weighings; 1 where they say nothing.
    """

    species: str
    count: int
    weight_g: float
    growth: float = 1.0


@dataclass(frozen=True)
class MakeUp:
    """The water that replaces what is lost, by measurand code in the catalogue's unit."""

    values: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True)
class Weather:
    """One day: water temperature [°C], reference evapotranspiration and rain [mm/day].

    ``wet``: the share of such days on which all of the rain falls; 1 where it falls on this very day.
    """

    temp_c: float
    et0_mm: float
    rain_mm: float
    wet: float = 1.0


@dataclass(frozen=True)
class Observed:
    """A reading with the interval that its kit's steps leave open, in the catalogue's unit.

    ``high`` is infinite for a reading at the end of the kit's scale. ``fed_ago_h``: hours since the
    fish were fed, where that was noted. Untrusted ones are left out by whoever gathers.
    """

    day: float
    measurand: str
    value: float
    low: float
    high: float
    fed_ago_h: float | None = None


@dataclass(frozen=True)
class Fed:
    """Feed given [g] on a day."""

    day: float
    grams: float


@dataclass(frozen=True)
class Dosed:
    """Grams put in on a day, as the measurand counts them ('alk': g CaCO3, 'k': g potassium)."""

    day: float
    measurand: str
    grams: float


@dataclass(frozen=True)
class Renewed:
    """Litres of water drawn off and replaced on a day."""

    day: float
    litres: float


@dataclass(frozen=True)
class LoopFacts:
    """One loop with its gear, its stock and what was seen and done in the time before.

    ``limits`` holds (measurand, 'above' or 'below', level) whose crossing is asked for.
    ``flow_out_l_day`` leaves one way for the next loop; ``inflow`` is what comes from the loop
    before, as measurand values at ``flow_in_l_day``.
    ``meals_a_day`` tells at which hours fish are fed, where nobody notes them.
    """

    kind: Kind
    volume_l: float
    fish_volume_l: float
    media_area_m2: float
    plant_area_m2: float
    open_area_m2: float
    rain_area_m2: float
    altitude_m: float
    aeration_per_day: float | None
    protein_fraction: float
    feed_g_day: float | None
    drawn_off_l_day: float
    flow_out_l_day: float
    flow_in_l_day: float
    inflow: MakeUp
    make_up: MakeUp
    fish: tuple[FishGroup, ...]
    weather: tuple[Weather, ...]
    observed: tuple[Observed, ...]
    fed: tuple[Fed, ...]
    dosed: tuple[Dosed, ...]
    renewed: tuple[Renewed, ...]
    limits: tuple[tuple[str, str, float], ...]
    meals_a_day: int = 2


def as_known(facts: LoopFacts, day: float, weather: tuple[Weather, ...]) -> LoopFacts:
    """Return the facts as they were known on a ``day`` below 0, counted from there.

    ``weather``: that of the days that followed, by their normals or as it was.
    """

    def before(rows: tuple[Any, ...]) -> tuple[Any, ...]:
        return tuple(replace(row, day=row.day - day) for row in rows if row.day < day)

    return replace(
        facts,
        weather=weather,
        observed=before(facts.observed),
        fed=before(facts.fed),
        dosed=before(facts.dosed),
        renewed=before(facts.renewed),
    )
