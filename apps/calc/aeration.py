"""Air: what a pump's air brings into a water, against what it brings into clean water."""

import math

from apps.calc import oxygen
from apps.calc.quantities import require

# g of oxygen in a litre of dry air at 20 °C and one atmosphere: 1.204 g/L, 23.14 % by mass
OXYGEN_PER_LITRE = 1.204 * 0.2314
THETA = 1.024
CLEAN_TEMP_C = 20.0  # of the standard test, in water without any oxygen


def clean_water_g_h(air_l_min: float, transfer_percent: float) -> float:
    """Return the oxygen [g/h] that air brings into clean, oxygen-free water of 20 °C (SOTR).

    Parameters: air [L/min], share of its oxygen that dissolves [%].
    Valid range: 0.1 to 10 000 L/min, 0.1 to 50 %; ValueError outside. References: asce2006.

    >>> clean_water_g_h(60, 2)
    20.06
    """
    share = require("transfer_percent", transfer_percent) / 100
    return require("air_l_min", air_l_min) * 60 * OXYGEN_PER_LITRE * share


def share_here(
    temp_c: float, do_mg_l: float, altitude_m: float = 0.0, alpha: float = 1.0, beta: float = 1.0
) -> float:
    """Return what air brings into this water, as a share of what it brings into clean water.

    alpha 1.024^(t - 20) (beta C - DO) / C(20 °C). Parameters: °C, oxygen [mg/L], height [m], speed
    of uptake (alpha) and saturation (beta) of this water against clean water.
    Below zero where the water holds more than air gives: air then takes oxygen out.
    Valid range: those of the quantities; ValueError outside. References: asce2006, benson1984.

    >>> share_here(29, 5)
    0.366
    """
    lacking = require("beta", beta) * oxygen.saturation_mg_l(temp_c, altitude_m)
    lacking -= require("do_mg_l", do_mg_l)
    speed = require("alpha", alpha) * math.pow(THETA, temp_c - CLEAN_TEMP_C)
    return speed * lacking / oxygen.saturation_mg_l(CLEAN_TEMP_C)
