"""What is believed of a loop before it was measured, how that wanders, and how kits err.

Medians: timmons and rusten2006 for the filter, fao589 for beds, the rest common practice. Every
spread is a standard deviation of the logarithm, except that of ``base``, which is a share of the
alkalinity that nitrification takes. ``memory`` is the days in which a wandering parameter forgets.
"""

from dataclasses import dataclass

from apps.calc.ahead.step import Gear, Params


@dataclass(frozen=True)
class Belief:
    """One parameter: its spread beforehand and the days of its memory."""

    spread: float
    memory: float


RATE_FIRST = 0.6  # g ammonia nitrogen per m2 and day at 20 °C
SECOND_TO_FIRST = 1.5
HALF = 1.0  # mg/L nitrogen
UPTAKE = 0.4  # g nitrogen per m2 of bed and day
LOSS = 0.008  # of nitrate per day, to sludge and gas
BASE_SHARE = 0.5
AERATION = 90.0  # per day
STRIPPING_TO_AERATION = 60.0 / 90.0
CONVERSION = 1.5  # g feed per g gain
CAPTURE, DECAY = 0.7, 0.15
LEAST_CAPACITY = 1.6  # times the ammonia made: a loop that lives has grown what it needs

BELIEFS: dict[str, Belief] = {
    "first": Belief(0.6, 60.0),
    "second": Belief(0.7, 60.0),
    "half_first": Belief(0.4, 400.0),
    "half_second": Belief(0.4, 400.0),
    "uptake": Belief(0.6, 60.0),
    "loss": Belief(0.8, 120.0),
    "base": Belief(0.5, 40.0),
    "aeration": Belief(0.4, 120.0),
    "stripping": Belief(0.6, 60.0),
    "feed": Belief(0.15, 10.0),
    "salts": Belief(0.5, 120.0),
}
FITTED = tuple(BELIEFS)
PLAIN = frozenset({"base"})  # not a logarithm


def medians(gear: Gear, media_m2: float, aeration: float | None, made_g_day: float) -> Params:
    """Return the middle of the belief of a loop that makes ``made_g_day`` ammonia nitrogen."""
    first = max(RATE_FIRST * media_m2, LEAST_CAPACITY * made_g_day, 0.02)
    air = aeration if aeration is not None else AERATION
    used = 7.14 * made_g_day * 1000 / gear.volume_l
    return Params(
        first=first, second=SECOND_TO_FIRST * first, half_first=HALF, half_second=HALF,
        uptake=UPTAKE, loss=LOSS, base=BASE_SHARE * used, aeration=air,
        stripping=STRIPPING_TO_AERATION * air, feed=1.0, salts=1.0, conversion=CONVERSION,
        capture=CAPTURE, decay=DECAY,
    )  # fmt: skip


@dataclass(frozen=True)
class Error:
    """How far a reading lies from the day's mean of the water: units, share, and a usual step."""

    units: float
    share: float
    step: float


# Kit and meter (common practice, as the catalogue's resolutions), with the hour of the day in it.
ERRORS: dict[str, Error] = {
    "tan": Error(0.05, 0.20, 0.1),
    "no2": Error(0.02, 0.15, 0.05),
    "no3": Error(1.0, 0.12, 5.0),
    "alk": Error(4.0, 0.05, 10.0),
    "ph": Error(0.10, 0.0, 0.05),
    "do": Error(0.35, 0.0, 0.1),
    "ec": Error(0.01, 0.03, 0.01),
    "k": Error(3.0, 0.15, 10.0),
    "ca": Error(4.0, 0.10, 10.0),
    "nh3": Error(0.002, 0.30, 0.0),
}
TDS_PER_EC = 640.0  # mg/L per mS/cm
