"""Biofilters: media area, what it nitrifies at a temperature."""

import math

from apps.calc.quantities import require

REFERENCE_RATE = 0.5  # g ammonia nitrogen per m2 and day at 25 °C
THETA_WARM = 1.05  # per °C from 20 to 25 °C
THETA_COLD = 1.09  # per °C below 20 °C

# m2 of surface per m3 of media. Where a range is published its lower end stands here.
MEDIA: dict[str, float] = {
    "gravel": 120.0,
    "coarse_gravel": 70.0,
    "pea_gravel": 295.0,
    "volcanic_rock": 300.0,
    "pumice": 250.0,
    "expanded_clay": 250.0,
    "moving_bed": 500.0,
    "bioballs": 600.0,
    "brushes": 100.0,
    "scrub_pads": 1310.0,
}


def temperature_factor(temp_c: float) -> float:
    """Return the share of the 25 °C rate that a filter keeps at ``temp_c``.

    1 from 25 °C up; 1.05 per °C down to 20 °C and 1.09 per °C below; and never more than half
    at 15 °C and a quarter at 10 °C.
    Valid range: -2 to 45 °C (bacteria suffer above 34 °C); ValueError outside.
    References: rusten2006 (theta), practice (the halving).

    >>> temperature_factor(25)
    1.0
    >>> temperature_factor(10)
    0.25
    """
    require("temp_c", temp_c)
    if temp_c >= 25:
        return 1.0
    if temp_c >= 20:
        return math.pow(THETA_WARM, temp_c - 25)
    by_theta = math.pow(THETA_WARM, -5) * math.pow(THETA_COLD, temp_c - 20)
    return min(by_theta, math.pow(2, (temp_c - 20) / 5))


def capacity_g_day(area_m2: float, temp_c: float) -> float:
    """Return the ammonia nitrogen [g/day] that ``area_m2`` of ripe media takes at ``temp_c``.

    Valid range: 0 to 999 999 m2, -2 to 45 °C; ValueError outside.
    References: fao589, timmons (0.2 to 0.6 g/m2/day at 25 °C).

    >>> capacity_g_day(20, 28)
    10.0
    """
    return require("area_m2", area_m2) * REFERENCE_RATE * temperature_factor(temp_c)


def media_area_m2(kind: str, litres: float) -> float:
    """Return the surface [m2] of ``litres`` of media.

    ``kind`` is a key of MEDIA. Valid range: 0 to 999 999 L; ValueError outside.
    References: fao589, practice.

    >>> media_area_m2("moving_bed", 100)
    50.0
    """
    if kind not in MEDIA:
        message = f"kind must be one of {', '.join(MEDIA)}, not {kind}"
        raise ValueError(message)
    return MEDIA[kind] * require("litres", litres) / 1000


def media_litres(kind: str, area_m2: float) -> float:
    """Return the litres of media that have ``area_m2`` of surface (reverse of media_area_m2)."""
    return require("area_m2", area_m2) / media_area_m2(kind, 1.0)
