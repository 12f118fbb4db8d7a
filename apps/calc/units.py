"""Units: what kits and meters print, turned into the unit that is stored, and back for display."""

from apps.calc.quantities import require_between

# Standard atomic weights (IUPAC 2021, abridged) summed to molar masses, g/mol.
N = 14.007
NO2_ION = 46.005
NO3_ION = 62.004
NH3 = 17.031
NH4_ION = 18.039
CACO3 = 100.086
CO2 = 44.009
CHLORIDE = 35.45
CA = 40.078
P = 30.974
PO4_ION = 94.970
P2O5 = 141.943
K = 39.098
K2O = 94.195
SODIUM = 22.990

MG_CACO3_PER_MEQ = CACO3 / 2
MG_CACO3_PER_DKH = 17.848  # 10 mg/L CaO, CaO 56.077 g/mol
MG_CACO3_PER_GRAIN_US_GALLON = 17.118

# grams of nitrogen in a gram of what the kit reports
NITROGEN_SHARE: dict[str, float] = {
    "n": 1.0,
    "no3": N / NO3_ION,
    "no2": N / NO2_ION,
    "nh3": N / NH3,
    "nh4": N / NH4_ION,
}
# grams of the element in a gram of the ion that a kit, or the oxide that a label, reports
ELEMENT_SHARE: dict[str, float] = {
    **{basis: share for basis, share in NITROGEN_SHARE.items() if basis != "n"},
    "po4": P / PO4_ION,
    "p2o5": 2 * P / P2O5,
    "k2o": 2 * K / K2O,
}
TDS_SCALES: tuple[int, ...] = (500, 640, 700)
LITRES_PER_US_GALLON = 3.785411784
GRAMS_PER_OUNCE = 28.349523125
GRAMS_PER_POUND = 453.59237
METRES_PER_FOOT = 0.3048


def as_nitrogen(value: float, basis: str) -> float:
    """Turn a kit's value [mg/L of ``basis``] into mg/L nitrogen.

    ``basis`` is n, no3, no2, nh3 or nh4; another one raises ValueError. Source: molar masses.

    >>> round(as_nitrogen(10, "no3"), 3)
    2.259
    """
    if basis not in NITROGEN_SHARE:
        message = f"basis must be one of {', '.join(NITROGEN_SHARE)}, not {basis}"
        raise ValueError(message)
    return value * NITROGEN_SHARE[basis]


def from_nitrogen(value: float, basis: str) -> float:
    """Turn mg/L nitrogen into mg/L of ``basis`` (the reverse of :func:`as_nitrogen`)."""
    return value / as_nitrogen(1.0, basis)


def as_element(value: float, basis: str) -> float:
    """Turn an amount of an ion or oxide into that of its nitrogen, phosphorus or potassium.

    ``basis`` is no3, no2, nh3, nh4, po4, p2o5 or k2o; another one raises ValueError.
    Source: molar masses.

    >>> round(as_element(8, "p2o5"), 2), round(as_element(24, "k2o"), 1)
    (3.49, 19.9)
    """
    if basis not in ELEMENT_SHARE:
        message = f"basis must be one of {', '.join(ELEMENT_SHARE)}, not {basis}"
        raise ValueError(message)
    return value * ELEMENT_SHARE[basis]


def celsius(fahrenheit: float) -> float:
    """Turn °F into °C.

    >>> celsius(77)
    25.0
    """
    return (fahrenheit - 32) / 1.8


def fahrenheit(celsius: float) -> float:
    """Turn °C into °F."""
    return celsius * 1.8 + 32


def alkalinity_from_dkh(degrees: float) -> float:
    """Turn German degrees of carbonate hardness into mg/L CaCO3.

    >>> round(alkalinity_from_dkh(4), 1)
    71.4
    """
    return degrees * MG_CACO3_PER_DKH


def alkalinity_from_meq(meq_l: float) -> float:
    """Turn meq/L of alkalinity into mg/L CaCO3."""
    return meq_l * MG_CACO3_PER_MEQ


def ec_from_tds(tds_ppm: float, scale: int) -> float:
    """Turn a meter's ppm into conductivity [µS/cm] by the scale printed on the meter.

    ``scale`` is 500, 640 or 700 ppm per mS/cm; another one raises ValueError.

    >>> ec_from_tds(700, 700)
    1000.0
    """
    if scale not in TDS_SCALES:
        message = f"scale must be one of 500, 640, 700, not {scale}"
        raise ValueError(message)
    return tds_ppm / scale * 1000


def tds_from_ec(ec_us_cm: float, scale: int) -> float:
    """Turn conductivity [µS/cm] into the ppm of a meter with that scale."""
    return ec_us_cm / ec_from_tds(1.0, scale)


def ec_at_25(ec_us_cm: float, temp_c: float) -> float:
    """Refer the conductivity of an uncompensated meter to 25 °C.

    EC25 = EC / (1 + 0.0191 (t - 25)), valid 0 to 45 °C; ValueError outside. Source: APHA 2510 B.

    >>> round(ec_at_25(1147, 15))
    1418
    """
    require_between("temp_c", temp_c, 0, 45)
    return ec_us_cm / (1 + 0.0191 * (temp_c - 25))


def us_gallons(litres: float) -> float:
    """Turn litres into US gallons."""
    return litres / LITRES_PER_US_GALLON


def ounces(grams: float) -> float:
    """Turn grams into avoirdupois ounces."""
    return grams / GRAMS_PER_OUNCE


def pounds(kilograms: float) -> float:
    """Turn kilograms into avoirdupois pounds."""
    return kilograms * 1000 / GRAMS_PER_POUND


def feet(metres: float) -> float:
    """Turn metres into feet."""
    return metres / METRES_PER_FOOT
