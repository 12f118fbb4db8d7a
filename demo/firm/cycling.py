"""A new filter without fish: two groups of bacteria grow on ammonia that is dosed."""

import datetime as dt
import random

from demo.firm.people import Water

TO_TAN, BELOW = 2.0, 0.5
HALF = 0.5
GROWTH = (0.38, 0.36)
MOST = 4.0


def cycling_days(
    temps: dict[dt.date, float], source: Water, rng: random.Random
) -> dict[dt.date, dict[str, float]]:
    """Return the water by day since the first dose, in mg/L as N.

    Monod growth from a trace, 1.09 and 1.07 times as fast for each degree; a computed course that
    ends after four weeks at 25 °C (25 to 40 days at 25 to 28 °C in FAO 589, from memory).
    """
    tan, no2, no3, alk = TO_TAN, 0.0, source.nitrate_n, max(source.alk, 120.0)
    first, second = 0.02, 0.012
    days = {}
    for day, temp in temps.items():
        days[day] = {
            "temp": temp, "tan": tan, "no2": no2, "no3": no3, "alk": alk,
            "gh": source.hardness + 10, "fe": 0.1,
            "ph": 7.45 + 0.0035 * (alk - 110) + rng.gauss(0, 0.02),
            "do": 7.1 - 0.12 * (temp - 26), "ec": 0.34 + 0.0068 * no3, "feed": 0.0,
        }  # fmt: skip
        # read first, dosed after, as the task says
        if tan < BELOW and no2 < 5:
            tan = TO_TAN
        eaten = min(tan, min(first, MOST) * tan / (tan + HALF))
        passed = min(no2, min(second, MOST) * no2 / (no2 + HALF))
        first *= 1 + GROWTH[0] * 1.09 ** (temp - 25) * tan / (tan + HALF)
        second *= 1 + GROWTH[1] * 1.07 ** (temp - 25) * no2 / (no2 + HALF)
        tan, no2, no3 = tan - eaten, no2 + eaten - passed, no3 + passed
        alk -= 7.1 * eaten
        if alk < 82:
            alk += 45
    return days
