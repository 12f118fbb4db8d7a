"""Un-ionised ammonia: the share of total ammonia that harms gills."""

import math

from apps.calc.quantities import require


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
