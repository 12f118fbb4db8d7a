"""Lime scale: whether a water lays down calcite or dissolves it."""

import math

from apps.calc.carbonate import water_of

SCALES_ABOVE = 0.3  # common practice


def saturation_index(
    alkalinity_mg_l_caco3: float, ph: float, temp_c: float, calcium_mg_l: float
) -> float:
    """Return log10 of the ion product of calcite against its solubility: 0 in balance.

    Above about 0.3 scale is to be looked for in heaters and pipes; below 0 the water dissolves
    lime. Parameters: mg/L CaCO3, pH, °C, calcium [mg/L].
    Valid range: alkalinity and calcium above 0, else those of the quantities; ValueError outside.
    References: plummer1982, davies1962.

    >>> saturation_index(100, 7.6, 25, 80)
    0.17
    """
    product = water_of(alkalinity_mg_l_caco3, ph, temp_c, calcium_mg_l).calcite_product(ph)
    if product <= 0:
        message = "alkalinity_mg_l_caco3 is lower than this pH allows"
        raise ValueError(message)
    kelvin = temp_c + 273.15
    soluble = -171.9065 - 0.077993 * kelvin + 2839.319 / kelvin + 71.595 * math.log10(kelvin)
    return math.log10(product) - soluble
