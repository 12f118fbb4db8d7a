"""The conductivity that a nutrient solution will show."""

from collections.abc import Mapping

from apps.calc.recipe.salts import WEIGHTS

# mg per milliequivalent of the cations of a nutrient solution
_MG_PER_MEQ: dict[str, float] = {
    "k": WEIGHTS["K"],
    "ca": WEIGHTS["Ca"] / 2,
    "mg": WEIGHTS["Mg"] / 2,
    "na": WEIGHTS["Na"],
    "nh4": WEIGHTS["N"],
}
_PER_MEQ, _OFFSET = 0.095, 0.19  # mS/cm
_THIN = 8.0  # meq/L below which the straight line would count its offset too much


def cations_meq_l(mg_l: Mapping[str, float]) -> float:
    """Return the sum of the cations [meq/L] of a water by element [mg/L]."""
    return sum(mg_l.get(element, 0.0) / weight for element, weight in _MG_PER_MEQ.items())


def solution_ec_ms_cm(mg_l: Mapping[str, float]) -> float:
    """Return the conductivity at 25 °C [mS/cm] of a nutrient solution by element [mg/L].

    0.095 times the cations [meq/L] and 0.19; below 8 meq/L in proportion. Valid range: nutrient
    solutions of 1 to 30 meq/L, within 6 %. References: sonneveld1999.

    >>> round(solution_ec_ms_cm({"k": 234.6, "ca": 200.4, "mg": 48.6}), 2)
    2.09
    """
    meq = cations_meq_l(mg_l)
    if meq < _THIN:
        return meq * (_PER_MEQ + _OFFSET / _THIN)
    return _PER_MEQ * meq + _OFFSET
