"""Light: the sum of a day that falls on plants."""

from apps.calc.quantities import require

# mol/m2 that crops of the group want in a day (memory)
WANTED: dict[str, tuple[float, float]] = {"leafy": (12.0, 17.0), "fruiting": (20.0, 30.0)}


def day_sum_mol_m2(ppfd_umol_m2_s: float, hours: float) -> float:
    """Return the daily light integral [mol/m2/day] of lamps that shine evenly for some hours.

    Parameters: photons that plants use [µmol/m2/s], hours a day. DLI = PPFD x hours x 0.0036.
    Valid range: 0 to 3000 µmol/m2/s, 0 to 24 h; ValueError outside. References: faust2018.

    >>> round(day_sum_mol_m2(200, 16), 2)
    11.52
    """
    return require("ppfd_umol_m2_s", ppfd_umol_m2_s) * require("hours", hours) * 0.0036


def light_verdict(mol_m2_day: float, crop_group: str) -> str:
    """Return ``low``, ``in range`` or ``high`` for a day's light and crop group.

    ``crop_group``: leafy or fruiting; ValueError for another. References: faust2018, practice.

    >>> light_verdict(11.52, "leafy")
    'low'
    """
    if crop_group not in WANTED:
        message = f"crop_group must be one of {', '.join(WANTED)}, not {crop_group}"
        raise ValueError(message)
    low, high = WANTED[crop_group]
    if require("mol_m2_day", mol_m2_day) < low:
        return "low"
    return "high" if mol_m2_day > high else "in range"
