"""A loop in full figures, and its equations written once more for an integrator of others."""

import math
from typing import Any

from apps.calc.ahead.step import Day, Gear, Params, Water

VOLUME, FISH = 2200.0, 150.0
GEAR = Gear(VOLUME, 0.32, 6.0, 1.0, (FISH,), (0.66,), (1.0,))
PARAMS = Params(
    first=36.0, second=54.0, half_first=1.0, half_second=1.0, uptake=0.6, loss=0.0, base=0.0,
    base_scale=1.0, aeration=90.0, stripping=60.0, other_co2=0.0, feed=1.0, salts=1.0,
    conversion=1.5, capture=0.7, decay=0.15, usual_tan=0.3, usual_no2=0.15,
)  # fmt: skip
MAKE_UP = {"tan": 0.0, "no2": 0.0, "no3": 2.0, "alk": 80.0, "tds": 200.0, "k": 2.0, "ca": 30.0}
NAMES = tuple(MAKE_UP)
UP, OUT = 65.0 / VOLUME, 20.0 / VOLUME
DAY = Day(
    warmth=1.05**9, saturation=7.690, pk1=6.297, pka=0.09018 + 2729.92 / 302.15, resting=0.0,
    rations=(0.14,), given=-1.0, leaving=OUT,
    coming=tuple(UP * MAKE_UP[name] for name in NAMES), renewed=0.0,
    fresh=tuple(MAKE_UP[name] for name in NAMES), salted=0.0,
    steer=tuple(200.0 if name == "alk" else 0.0 for name in NAMES),
    kept_at=tuple(60.0 for _ in NAMES),
)  # fmt: skip
UNKEPT = DAY._replace(steer=(0.0,) * 7)
BEGIN = Water(
    tan=0.5, no2=0.2, no3=30.0, alk=60.0, tds=400.0, k=20.0, ca=50.0, ss=5.0, weights=(60.0,),
    first=0.0, second=0.0, eaten=0.0,
)  # fmt: skip
STATES = ("tan", "no2", "no3", "alk", "tds", "ss", "weight", "k", "ca")


def slopes(day: Day, held: float) -> Any:
    """Return dy/dt of the same loop, written from the balance of each substance."""
    c = 1000 / VOLUME

    def rate(_: float, y: Any) -> list[float]:
        tan, no2, no3, alk, tds, ss, weight, k, ca = (max(0.0, v) for v in y)
        feed = FISH * 0.14 * weight**0.66
        breath = (0.45 * feed + 0.15 * ss * VOLUME / 1000) * c
        # oxygen depends on nitrification, which depends on oxygen: settle it by repetition
        oxygen = 6.0
        for _ in range(30):
            aired = oxygen / (0.5 + oxygen)
            n1 = 36 * day.warmth * tan / (1 + tan) * aired * alk / (15 + alk)
            n2 = 54 * day.warmth * no2 / (1 + no2) * aired
            oxygen = max(0.0, day.saturation - (breath + (3.43 * n1 + 1.14 * n2) * c) / 90)
        up = 6 * 0.6 * no3 / (10 + no3)
        return [
            (feed * 0.32 * 0.092 - n1) * c - OUT * tan,
            (n1 - n2) * c - OUT * no2,
            (n2 - up) * c - OUT * no3 + UP * 2,
            (-7.14 * n1 + 3.57 * up) * c - OUT * alk + UP * 80 + held * (60 - alk),
            (4.4266 * n2 + 0.02 * feed - 8 * up) * c - OUT * tds + UP * 200,
            0.25 * feed * 0.3 * c - (0.15 + OUT) * ss,
            feed / (1.5 * FISH),
            (0.004 * feed - 1.3 * up * k / (5 + k)) * c - OUT * k + UP * 2,
            (0.004 * feed - 0.3 * up * ca / (5 + ca)) * c - OUT * ca + UP * 30,
        ]

    return rate


def as_states(water: Water) -> dict[str, float]:
    return {name: water.weights[0] if name == "weight" else getattr(water, name) for name in STATES}


def ph(alk: float, breath: float) -> float:
    """pH by the field formula from alkalinity and what is breathed [mg/L/day]."""
    co2 = 0.57 + 44.009 / 32 * breath / 60
    return 6.297 + math.log10(alk / 50043 / (co2 / 44009))
