"""Water temperature by season, with one heat wave; a model of its own, in °C."""

import datetime as dt
import math
import random
from dataclasses import dataclass

WAVE_FROM, WAVE_DAYS = (7, 24), 13
WARMEST_DAY = 208
# what is usual by month in the invented town: mean daily lowest and highest, rain, days with rain
MONTHS: tuple[tuple[float, float, float, float], ...] = (
    (1.2, 6.4, 71, 13), (1.1, 7.3, 58, 11), (2.9, 10.6, 60, 12), (5.0, 14.8, 48, 9),
    (8.6, 18.7, 61, 10), (11.6, 21.8, 68, 10), (13.7, 24.0, 74, 10), (13.4, 23.7, 77, 10),
    (10.6, 20.0, 66, 10), (7.8, 15.4, 72, 11), (4.3, 10.2, 74, 13), (1.9, 6.9, 79, 14),
)  # fmt: skip
OPEN_TO_RAIN_M2 = 2.5  # of a system out of doors


@dataclass(frozen=True)
class Climate:
    """Mean and yearly swing of the water, the wave's lift, and where a heater or chiller holds it."""

    mean: float
    swing: float
    wave: float
    floor: float = -5.0
    ceiling: float = 40.0
    wander: float = 0.5


CLIMATES = {
    "house": Climate(28.0, 0.6, 1.2, floor=27.2, ceiling=29.4, wander=0.35),
    "perch_house": Climate(25.8, 0.8, 1.0, floor=24.6, ceiling=27.4, wander=0.35),
    "catfish_house": Climate(25.5, 1.4, 1.6, floor=24.0, ceiling=28.0),
    "cool_house": Climate(20.2, 2.0, 0.6, ceiling=23.2),
    "greenhouse": Climate(20.0, 5.2, 4.2, floor=14.6, ceiling=26.4),
    "outdoor": Climate(16.2, 5.8, 5.6, floor=9.4, ceiling=24.4),
    "cellar": Climate(13.5, 1.2, 0.4, ceiling=15.2, wander=0.25),
    "indoor": Climate(20.6, 1.6, 1.8, wander=0.4),
    "cool_indoor": Climate(19.6, 2.4, 1.8, floor=16.4, ceiling=23.4, wander=0.4),
    "warm_indoor": Climate(22.8, 1.2, 1.4, floor=20.6, wander=0.4),
}


def wave_year(today: dt.date) -> int:
    """Return the year of the last heat wave that is over for two weeks and more."""
    ended = dt.date(today.year, *WAVE_FROM) + dt.timedelta(days=WAVE_DAYS + 14)
    return today.year if ended <= today else today.year - 1


def wave_visit(today: dt.date) -> dt.date:
    """Return the working day at the height of the wave on which the firm looks after the fish."""
    day = dt.date(wave_year(today), *WAVE_FROM) + dt.timedelta(days=WAVE_DAYS // 2)
    return day + dt.timedelta(days={5: -1, 6: 1}.get(day.weekday(), 0))


def wave(day: dt.date, today: dt.date) -> float:
    """Return the strength of the heat wave on a day, 0 to 1."""
    first = dt.date(wave_year(today), *WAVE_FROM)
    share = (day - first).days / WAVE_DAYS
    return math.sin(math.pi * share) if 0 < share < 1 else 0.0


def temperatures(
    climate: str, first: dt.date, today: dt.date, rng: random.Random
) -> dict[dt.date, float]:
    """Return the water's temperature at noon for each day."""
    kind, drift = CLIMATES[climate], 0.0
    found = {}
    for number in range((today - first).days + 1):
        day = first + dt.timedelta(days=number)
        drift = 0.75 * drift + rng.gauss(0, kind.wander)
        phase = 2 * math.pi * (day.timetuple().tm_yday - WARMEST_DAY) / 365.25
        plain = kind.mean + kind.swing * math.cos(phase) + drift
        held = min(kind.ceiling, max(kind.floor + 0.3 * drift, plain))
        found[day] = held + kind.wave * wave(day, today)
    return found
