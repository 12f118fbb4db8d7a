"""A loop's facts for tests, from a water that the balance itself made with known figures."""

import random
from dataclasses import replace

from apps.calc.ahead.drive import drive_of, gear_of
from apps.calc.ahead.facts import FishGroup, LoopFacts, MakeUp, Observed, Weather
from apps.calc.ahead.members import STEPS, beginning, earlier_weights, middle_of, shown
from apps.calc.ahead.ops import FLOATS
from apps.calc.ahead.priors import ERRORS
from apps.calc.ahead.step import Params, advance

LIMITS = (("tan", "above", 1.0), ("no3", "above", 80.0), ("alk", "below", 40.0))


def facts(**other) -> LoopFacts:
    """A coupled loop of 2200 L with 150 tilapia of 60 g, nothing read."""
    plain = LoopFacts(
        kind="coupled", volume_l=2200, fish_volume_l=1200, media_area_m2=60, plant_area_m2=6,
        open_area_m2=3, rain_area_m2=0, altitude_m=100, aeration_per_day=None,
        protein_fraction=0.32, feed_g_day=None, drawn_off_l_day=20, flow_out_l_day=0,
        flow_in_l_day=0, inflow=MakeUp(), make_up=MakeUp((("alk", 80.0), ("no3", 2.0))),
        fish=(FishGroup("nile_tilapia", 150, 60.0),),
        weather=tuple(Weather(27.0, 4.0, 0.0) for _ in range(42)), observed=(), fed=(), dosed=(),
        renewed=(), limits=LIMITS,
    )  # fmt: skip
    return replace(plain, **other)


def seen(day: float, measurand: str, value: float, step: float = 0.0) -> Observed:
    return Observed(day, measurand, value, max(0.0, value - step / 2), value + step / 2)


def read_from(
    known: dict[str, float], *, seed: int = 1, weeks: int = 12, keep: float = 0.4
) -> tuple[LoopFacts, Params]:
    """Return facts whose readings come from the balance with the middle's figures times ``known``.

    ``keep``: how strongly somebody holds the alkalinity at 75 mg/L, per day.
    """
    rng = random.Random(seed)
    blank = facts(observed=tuple(seen(-7.0 * n, "temp", 27.0) for n in range(1, weeks + 1)))
    gear, drive = gear_of(blank), drive_of(blank)
    middle = middle_of(blank, gear, drive)
    true = middle._replace(**{name: getattr(middle, name) * times for name, times in known.items()})
    weights = earlier_weights(blank, gear, drive.days[: -drive.first], middle.conversion)
    water = beginning(blank, weights, 1.0)
    kept = {"steer": (0, 0, 0, keep, 0, 0, 0), "kept_at": (0, 0, 0, 75.0, 0, 0, 0)}
    readings = []
    for on in range(drive.first, 0):
        day = drive.at(on)._replace(**kept)
        if on % 7 == 0:
            for name, value in shown(FLOATS, gear, true, day, water).items():
                if name in ("tan", "no2", "no3", "alk", "ph", "do"):
                    error = ERRORS[name]
                    spread = 0.5 * (error.units + error.share * value)
                    read = max(0.0, value + rng.gauss(0, spread))
                    readings.append(seen(float(on), name, read))
        for _ in range(STEPS):
            water = advance(FLOATS, gear, true, day, water, 1 / STEPS)
    return replace(blank, observed=(*blank.observed, *readings)), true
