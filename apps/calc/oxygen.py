"""Dissolved oxygen: saturation, percent, and how long the water lasts without air."""

import math
from itertools import pairwise

from apps.calc.quantities import require

# mg oxygen per kg of fish and hour, resting and unfed (common practice, from memory).
_RESPIRATION: tuple[tuple[float, float], ...] = ((18, 150), (24, 220), (28, 300), (32, 360))
# Filter bacteria and sludge go on breathing: about half as much again as the fish
# (4.57 g per g nitrogen nitrified and 0.1 to 0.2 g per g feed beside 0.45 g per g feed for fish).
OTHERS_SHARE = 0.5


def pressure_atm(altitude_m: float) -> float:
    """Return the pressure of the standard atmosphere [atm] at ``altitude_m`` [m].

    Valid range: -400 to 4000 m; ValueError outside.

    >>> pressure_atm(1000)
    0.887
    """
    require("altitude_m", altitude_m)
    return math.pow(1.0 - 2.25577e-5 * altitude_m, 5.25588)


def saturation_mg_l(temp_c: float, altitude_m: float = 0.0, salinity_g_kg: float = 0.0) -> float:
    """Return the oxygen [mg/L] of water in balance with humid air.

    Parameters: ``temp_c`` [°C], ``altitude_m`` [m], ``salinity_g_kg`` [g/kg].
    Valid range: fitted 0 to 40 °C and 0 to 40 g/kg; -2 to 45 °C is accepted, ValueError outside.
    References: benson1984, en25814.

    >>> saturation_mg_l(20)
    9.092
    >>> saturation_mg_l(25, altitude_m=1000)
    7.300
    """
    require("temp_c", temp_c)
    require("salinity_g_kg", salinity_g_kg)
    kelvin = temp_c + 273.15
    fresh = (
        -139.34411
        + 1.575701e5 / kelvin
        - 6.642308e7 / kelvin**2
        + 1.243800e10 / kelvin**3
        - 8.621949e11 / kelvin**4
    )
    salt = salinity_g_kg * (0.017674 - 10.754 / kelvin + 2140.7 / kelvin**2)
    return math.exp(fresh - salt) * _pressure_factor(temp_c, pressure_atm(altitude_m))


def _pressure_factor(temp_c: float, atm: float) -> float:
    kelvin = temp_c + 273.15
    vapour = math.exp(11.8571 - 3840.70 / kelvin - 216961 / kelvin**2)
    theta = 0.000975 - 1.426e-5 * temp_c + 6.436e-8 * temp_c**2
    high = (1 - vapour / atm) * (1 - theta * atm)
    return atm * high / ((1 - vapour) * (1 - theta))


def percent(
    do_mg_l: float, temp_c: float, altitude_m: float = 0.0, salinity_g_kg: float = 0.0
) -> float:
    """Return oxygen as percent of saturation.

    Valid range: ``do_mg_l`` 0 to 25 mg/L, else as :func:`saturation_mg_l`; ValueError outside.
    References: benson1984.

    >>> percent(4.546, 20)
    50.0
    """
    return 100.0 * require("do_mg_l", do_mg_l) / saturation_mg_l(temp_c, altitude_m, salinity_g_kg)


def respiration_mg_kg_h(temp_c: float) -> float:
    """Return the oxygen that a kilogram of resting, unfed fish takes [mg/kg/h].

    Below 18 °C the value of 18 °C is kept, so that fish of cold water are not given too long.
    Valid range: -2 to 45 °C; ValueError outside. References: practice.

    >>> respiration_mg_kg_h(26)
    260.0
    """
    require("temp_c", temp_c)
    first, last = _RESPIRATION[0], _RESPIRATION[-1]
    if temp_c <= first[0]:
        return first[1]
    if temp_c >= last[0]:
        return last[1] * math.pow(360 / 300, (temp_c - last[0]) / 4)
    for (t0, r0), (t1, r1) in pairwise(_RESPIRATION):
        if temp_c <= t1:
            return r0 + (r1 - r0) * (temp_c - t0) / (t1 - t0)
    raise AssertionError(temp_c)


def minutes_without_air(
    do_mg_l: float,
    temp_c: float,
    biomass_kg: float,
    volume_l: float,
    limit_mg_l: float,
    fed: bool = False,
    *,
    others_share: float = OTHERS_SHARE,
) -> float:
    """Return a cautious lower bound of the minutes until oxygen falls to ``limit_mg_l``.

    Parameters: measured oxygen [mg/L], temperature [°C], fish [kg] and water [L] of the loop,
    the lowest oxygen that the fish stand [mg/L], whether they were fed in the last hours (which
    halves the time), and what bacteria and sludge take as a share of the fish's own breathing.
    What enters through the surface is ignored. Without fish the answer is infinite.
    Valid range: those of the quantities; ValueError outside. References: practice.

    >>> round(minutes_without_air(6.65, 28, 10, 1000, 2.5, others_share=0))
    83
    >>> round(minutes_without_air(6.65, 28, 10, 1000, 2.5, fed=True))
    28
    """
    require("do_mg_l", do_mg_l)
    require("biomass_kg", biomass_kg)
    require("volume_l", volume_l)
    require("limit_mg_l", limit_mg_l)
    require("others_share", others_share)
    if do_mg_l <= limit_mg_l:
        return 0.0
    if biomass_kg == 0:
        return math.inf
    used_mg_l_h = respiration_mg_kg_h(temp_c) * (1 + others_share) * biomass_kg / volume_l
    minutes = 60.0 * (do_mg_l - limit_mg_l) / used_mg_l_h
    return minutes / 2 if fed else minutes
