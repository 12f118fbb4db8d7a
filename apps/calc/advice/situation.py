"""What is known of a system when advice is asked for: plain values, easy to build from rows.

Readings are in base units of the measurands; unknown things are None or absent, never guessed.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date


@dataclass(frozen=True)
class Reading:
    """One reading of one measurand: base units, age in hours, and whether it is trusted.

    ``hour``: local hour of the day at which it was taken; ``doubt``: why it is not trusted.
    """

    value: float
    age_h: float = 0.0
    trusted: bool = True
    hour: float | None = None
    method: str = ""
    doubt: str = ""
    id: str = ""


@dataclass(frozen=True)
class Past:
    """An earlier trusted value and its day."""

    on: date
    value: float


@dataclass(frozen=True)
class Fish:
    """One batch. ``weights_g``: the last sample, when single weights are known."""

    species: str
    count: int
    mean_weight_g: float
    weights_g: tuple[float, ...] = ()
    stocked_on: date | None = None


@dataclass(frozen=True)
class Media:
    """Filter media: kind as in apps.calc.filtration.MEDIA."""

    kind: str
    litres: float


@dataclass(frozen=True)
class Crop:
    """A crop in the loop: code, group (leafy, fruiting) and the bed area it stands on [m2]."""

    code: str
    group: str
    area_m2: float


@dataclass(frozen=True)
class Germination:
    """A batch of seed counted: percent that came up, and the temperature it was sown at [°C]."""

    crop: str
    percent: float
    temp_c: float | None = None


@dataclass(frozen=True)
class Source:
    """The water a place tops up with. ``chloramine``: the utility uses it."""

    ph: float
    alkalinity: float
    tan: float = 0.0
    total_chlorine: float = 0.0
    chloramine: bool = False
    temp_c: float | None = None
    nitrate: float = 0.0
    sodium: float | None = None


@dataclass(frozen=True)
class Event:
    """Something that happened.

    Codes: filter_cleaned, bed_cleaned, medicated, power_cut, restocked, fish_handled,
    water_changed, iron_given, settler_drained, visited, new_metal.
    """

    code: str
    on: date


@dataclass(frozen=True)
class Hold:
    """A harvest hold after a treatment; ``touches``: fish, plants or both."""

    product: str
    until: date
    touches: str = "both"


@dataclass(frozen=True)
class Loop:
    """One body of water that mixes.

    kind: whole, fish or plant; ``volume_l`` of the loop and the percent within which it is known;
    ``readings``: the latest per measurand; ``history``: earlier ones, oldest first, today's not
    included; ``second``: today's reading of the same measurand by another method; ``ph_swing``:
    highest less lowest pH of one day; ``given_7d``: mg/L of K, Ca, Na, Fe dosed in seven days;
    ``deaths``: fish found dead by day, oldest first; ``air_l_min``: rated air of the loop;
    ``pump_l_h``: what its pumps moved when they were put in; ``sown_crop``: what was sown there last.
    """

    id: str
    kind: str
    volume_l: float
    volume_within_pct: float = 10.0
    tank_l: float | None = None
    readings: Mapping[str, Reading] = field(default_factory=dict)
    history: Mapping[str, tuple[Past, ...]] = field(default_factory=dict)
    second: Mapping[str, float] = field(default_factory=dict)
    ph_swing: float | None = None
    fish: tuple[Fish, ...] = ()
    crops: tuple[Crop, ...] = ()
    media: tuple[Media, ...] = ()
    feed_g_day: float | None = None
    protein: float = 0.32
    fed_hours_ago: float | None = None
    air_l_min: float | None = None
    pump_l_h: float | None = None
    sown_crop: str = ""
    given_7d: Mapping[str, float] = field(default_factory=dict)
    deaths: tuple[Past, ...] = ()


@dataclass(frozen=True)
class Situation:
    """One system on one day. ``filter_age_days``: days since the filter was first dosed or fed."""

    kind: str
    today: date
    loops: tuple[Loop, ...]
    source: Source | None = None
    signs: frozenset[str] = frozenset()
    events: tuple[Event, ...] = ()
    holds: tuple[Hold, ...] = ()
    filter_age_days: int | None = None
    altitude_m: float = 0.0
    outage_minutes: float | None = None
    feed_conversion: float | None = None
    expected_topup_l_day: float | None = None
    germination: tuple[Germination, ...] = ()
