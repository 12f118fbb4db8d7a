"""What is believed of a loop before it was measured, how that wanders, and how kits err.

Medians: timmons and rusten2006 for the filter, fao589 for beds, the rest common practice. Every
spread is a standard deviation of the logarithm, except that of ``base``, which is a share of the
alkalinity that nitrification takes. ``base`` is believed to hold the alkalinity where it is: loops
that somebody looks after stay in balance, and what a loop does else is learnt. ``memory`` is the days in which a wandering parameter forgets.
"""

from dataclasses import dataclass

from apps.calc.ahead.step import HALF_NITRATE, Gear, Params
from apps.calc.feed import ALKALINITY_PER_N, ALKALINITY_PER_NITRATE_N


@dataclass(frozen=True)
class Belief:
    """One parameter: its spread beforehand and the days of its memory."""

    spread: float
    memory: float


SECOND_TO_FIRST = 1.5
HALF = 1.0  # mg/L nitrogen
UPTAKE = 0.4  # g nitrogen per m2 of bed and day
LOSS = 0.008  # of nitrate per day, to sludge and gas
USUAL_ALKALINITY, USUAL_NITRATE = 70.0, 40.0
USUAL_TAN, USUAL_NO2 = 0.3, 0.15
GROWTH = 0.15  # per day by which bacteria grow when fed all they can take, against not at all
OTHER_CO2 = 60.0  # mg/L a day
AERATION = 90.0  # per day
STRIPPING_TO_AERATION = 45.0 / 90.0
CONVERSION = 1.5  # g feed per g gain
CAPTURE, DECAY = 0.7, 0.15
LEAST_CAPACITY = 1.6  # times the ammonia made: a loop that lives has grown what it needs
LEAST_FIRST = 0.02  # g nitrogen a day, on walls and beds
AIRED, BUFFERED = 0.9, 0.8  # share of its rate that usual oxygen and alkalinity leave a filter

BELIEFS: dict[str, Belief] = {
    "first": Belief(0.6, 40.0),
    "second": Belief(0.7, 40.0),
    "half_first": Belief(0.4, 400.0),
    "half_second": Belief(0.4, 400.0),
    "uptake": Belief(0.6, 60.0),
    "loss": Belief(0.8, 120.0),
    "base": Belief(0.25, 30.0),
    "aeration": Belief(0.4, 120.0),
    "stripping": Belief(0.6, 60.0),
    "other_co2": Belief(0.8, 60.0),
    "feed": Belief(0.2, 30.0),
    "salts": Belief(0.5, 120.0),
}
FITTED = tuple(BELIEFS)
# What moves the water itself beside all that: the deviation of the logarithm after a day.
STIRRED: dict[str, float] = {
    "tan": 0.20, "no2": 0.20, "no3": 0.02, "alk": 0.03, "tds": 0.02, "k": 0.13, "ca": 0.02,
}  # fmt: skip
PLAIN = frozenset({"base"})  # not a logarithm


def medians(
    gear: Gear, aeration: float | None, made_g_day: float, come_alk: float, leaving: float
) -> Params:  # fmt: skip
    """Return the middle of the belief of a loop that makes ``made_g_day`` ammonia nitrogen.

    ``come_alk``: mg/L/day of alkalinity with water and doses; ``leaving``: share of the water a day.
    """
    first = max(LEAST_CAPACITY * made_g_day, LEAST_FIRST)
    air = aeration if aeration is not None else AERATION
    per = 1000 / gear.volume_l
    taken = gear.plants_m2 * UPTAKE * USUAL_NITRATE / (HALF_NITRATE + USUAL_NITRATE)
    taken = min(taken, made_g_day) if made_g_day else taken
    used = ALKALINITY_PER_N * made_g_day * per + leaving * USUAL_ALKALINITY
    given = come_alk + gear.returned * ALKALINITY_PER_NITRATE_N * taken * per
    return Params(
        first=first, second=SECOND_TO_FIRST * first, half_first=HALF, half_second=HALF,
        uptake=UPTAKE, loss=LOSS, base=used - given, base_scale=max(used, 1.0), aeration=air,
        stripping=STRIPPING_TO_AERATION * air, other_co2=OTHER_CO2, feed=1.0, salts=0.6, conversion=CONVERSION,
        capture=CAPTURE, decay=DECAY, usual_tan=USUAL_TAN, usual_no2=USUAL_NO2,
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
    "no3": Error(1.0, 0.075, 5.0),
    "alk": Error(4.0, 0.05, 10.0),
    "ph": Error(0.085, 0.0, 0.05),
    "do": Error(0.42, 0.0, 0.1),
    "ec": Error(0.01, 0.03, 0.01),
    "k": Error(3.0, 0.10, 10.0),
    "ca": Error(4.0, 0.10, 10.0),
    "nh3": Error(0.002, 0.30, 0.0),
}
TDS_PER_EC = 640.0  # mg/L per mS/cm
