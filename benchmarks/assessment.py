"""Assessing one visit, and 10,000 of them in a row."""

import datetime as dt
import time

from apps.calc.advice import Crop, Fish, Loop, Media, Reading, Situation, assess
from apps.catalogue.selectors import catalogue_current
from apps.visits.selectors import bands_of
from benchmarks.measure import Claim, paired

MANY = 10_000


def situation(number: int) -> Situation:
    """Return a system on a day; some of them with something wrong."""
    values = {
        "temp": 27.5, "ph": 6.2 + number % 9 / 10, "alk": 15 + number % 11 * 10, "do": 6.0,
        "tan": number % 7 * 0.25, "no2": number % 5 * 0.2, "no3": 40, "ec": 0.8,
    }  # fmt: skip
    loop = Loop(
        id="1", kind="whole", volume_l=1500, tank_l=1000,
        readings={code: Reading(value) for code, value in values.items()},
        fish=(Fish("nile_tilapia", 40, 180.0),), crops=(Crop("basil", "leafy", 2.0),),
        media=(Media("moving_bed", 40),), feed_g_day=110,
    )  # fmt: skip
    return Situation(kind="coupled", today=dt.date(2026, 6, 11), loops=(loop,))


def run() -> list[Claim]:
    """Return the time of one, against the mean of 10,000 in the same run."""
    bands = bands_of(catalogue_current())
    some = [situation(n) for n in range(97)]
    began = time.process_time()
    for number in range(MANY):
        assess(some[number % 97], bands)
    total = time.process_time() - began

    def each() -> object:
        return [assess(item, bands) for item in some]

    claim = paired("assessment, 97 visits", each, each, rounds=3, against="itself")
    name = f"assessment of {MANY:,} visits: {total:.1f} s CPU; of one"
    one = claim.ours_ms / 97
    return [Claim(name, one, one, 1.0, 1.0, 1.0, None, "itself")]
