"""Un-ionised ammonia: the share of total ammonia that harms gills."""

import math

from apps.calc.quantities import require, require_between


def unionised_fraction(ph: float, temp_c: float) -> float:
    """Return the un-ionised share (0 to 1) of total ammonia in fresh water.

    Parameters: ``ph`` [-], ``temp_c`` [°C].
    Valid range: pH 3 to 11 (fitted 6 to 10), -2 to 45 °C (fitted 0 to 50); ValueError outside.
    Salt lowers the share slightly, so the figure is on the safe side.
    References: emerson1975, pKa = 0.09018 + 2729.92 / T.

    >>> unionised_fraction(8.0, 24)
    0.0502
    """
    require("ph", ph)
    require("temp_c", temp_c)
    pka = 0.09018 + 2729.92 / (temp_c + 273.15)
    return 1.0 / (1.0 + math.pow(10.0, pka - ph))


def nh3_n(tan_mg_l: float, ph: float, temp_c: float) -> float:
    """Return un-ionised ammonia [mg/L N] from total ammonia nitrogen [mg/L N].

    Valid range: as :func:`unionised_fraction`, 0 to 20 mg/L; ValueError outside.
    References: emerson1975.

    >>> nh3_n(1.0, 8.0, 28)
    0.0654
    """
    return require("tan_mg_l", tan_mg_l) * unionised_fraction(ph, temp_c)


def tan_for_nh3(nh3_n_mg_l: float, ph: float, temp_c: float) -> float:
    """Return the total ammonia nitrogen [mg/L N] at which un-ionised ammonia is ``nh3_n_mg_l``.

    Valid range: as :func:`unionised_fraction`; ValueError outside. References: emerson1975.

    >>> tan_for_nh3(0.05, 7.5, 28)
    2.3
    """
    return require("nh3_n_mg_l", nh3_n_mg_l) / unionised_fraction(ph, temp_c)


WILD_PH, WILD_TEMP_C = (6.5, 9.0), (0.0, 30.0)


def in_wild_range(ph: float, temp_c: float) -> bool:
    """Tell whether :func:`wild_water_tan` has a figure for that pH and °C."""
    return WILD_PH[0] <= ph <= WILD_PH[1] and WILD_TEMP_C[0] <= temp_c <= WILD_TEMP_C[1]


def wild_water_tan(ph: float, temp_c: float) -> float:
    """Return the total ammonia [mg/L N] that a wild fresh water may hold for a month.

    The chronic criterion with mussels in the water, whose young are the most sensitive: far on
    the careful side for a fish tank, and what a pond or stream that gets the water should see.
    CCC = 0.8876 (0.0278 / (1 + 10^(7.688 - pH)) + 1.1994 / (1 + 10^(pH - 7.688)))
    x 2.126 x 10^(0.028 (20 - max(T, 7))).
    Valid range: pH 6.5 to 9, 0 to 30 °C; ValueError outside. References: epa2013.

    >>> wild_water_tan(7.0, 20)
    1.89
    """
    require_between("ph", ph, *WILD_PH)
    require_between("temp_c", temp_c, *WILD_TEMP_C)
    by_ph = 0.0278 / (1 + 10 ** (7.688 - ph)) + 1.1994 / (1 + 10 ** (ph - 7.688))
    return 0.8876 * by_ph * 2.126 * math.pow(10, 0.028 * (20 - max(temp_c, 7.0)))
