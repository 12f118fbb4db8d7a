"""Water changes, dechlorination, chloride against nitrite, meters."""

from apps.calc import units
from apps.calc.quantities import require, require_between

# mg of agent per mg of total chlorine (stoichiometry; thiosulfate by its slow, acid reaction,
# which needs the most), and the margin on top (common practice).
DECHLORINATORS: dict[str, float] = {
    "sodium_thiosulfate": 7.00,  # pentahydrate, 2 S2O3 for each Cl2
    "ascorbic_acid": 2.484,
    "sodium_ascorbate": 2.794,
}
DECHLORINATION_MARGIN = 1.1
# mg/L nitrogen that chloramine leaves behind per mg/L total chlorine (N / Cl2)
CHLORAMINE_N_PER_CHLORINE = units.N / (2 * units.CHLORIDE)

# g of salt per g of chloride, and its share of sodium
CHLORIDE_SALTS: dict[str, tuple[float, float]] = {
    "NaCl": (58.440 / units.CHLORIDE, units.SODIUM / 58.440),
    "KCl": (74.548 / units.CHLORIDE, 0.0),
    "CaCl2.2H2O": (147.008 / (2 * units.CHLORIDE), 0.0),
}


def _one_of(
    name: str, value: str, allowed: dict[str, float] | dict[str, tuple[float, float]]
) -> str:
    if value not in allowed:
        message = f"{name} must be one of {', '.join(allowed)}, not {value}"
        raise ValueError(message)
    return value


def change_fraction(now: float, target: float, source: float) -> float:
    """Return the share of the water (0 to 1) to change to bring ``now`` down to ``target``.

    Parameters: concentrations [mg/L] in the system, wanted, and in the new water.
    0 when the system is already at or below the target; ValueError when the new water is not
    below the target, or a value lies outside 0 to 999 999. References: chemistry.

    >>> change_fraction(200, 105, 10)
    0.5
    """
    for value in (now, target, source):
        require("concentration_mg_l", value)
    if now <= target:
        return 0.0
    if source >= target:
        message = f"the new water holds {source:g} mg/L, not below the target of {target:g} mg/L"
        raise ValueError(message)
    return (now - target) / (now - source)


def after_changes(now: float, source: float, fraction: float, times: int = 1) -> float:
    """Return the concentration [mg/L] after ``times`` equal batch changes of ``fraction``.

    Valid range: fraction 0 to 1, times 0 to 1000; ValueError outside. References: chemistry.

    >>> after_changes(200, 10, 0.2)
    162.0
    """
    require("concentration_mg_l", now)
    require("concentration_mg_l", source)
    require("fraction", fraction)
    require_between("times", times, 0, 1000)
    return float(source + (now - source) * (1 - fraction) ** times)


def dechlorinator_g(litres: float, total_chlorine_mg_l: float, agent: str) -> float:
    """Return the agent [g] for the litres of tap water added, a tenth more than stoichiometry.

    ``agent``: sodium_thiosulfate (pentahydrate), ascorbic_acid, sodium_ascorbate.
    Valid range: 0 to 999 999 L, 0 to 10 mg/L TOTAL chlorine; ValueError outside.
    References: chemistry, practice (the margin).

    >>> dechlorinator_g(200, 1.0, "sodium_thiosulfate")
    1.54
    """
    factor = DECHLORINATORS[_one_of("agent", agent, DECHLORINATORS)]
    require("litres", litres)
    require("total_chlorine_mg_l", total_chlorine_mg_l)
    return litres * total_chlorine_mg_l / 1000 * factor * DECHLORINATION_MARGIN


def chloramine_n_mg_l(total_chlorine_mg_l: float) -> float:
    """Return the ammonia nitrogen [mg/L] that dechlorinated chloramine leaves.

    Valid range: 0 to 10 mg/L; ValueError outside. References: chemistry (all of it monochloramine).

    >>> chloramine_n_mg_l(1.0)
    0.1976
    """
    return require("total_chlorine_mg_l", total_chlorine_mg_l) * CHLORAMINE_N_PER_CHLORINE


def chloride_needed_mg_l(no2_n_mg_l: float, chloride_mg_l: float, ratio: float = 10.0) -> float:
    """Return the chloride [mg/L] to add so that it is ``ratio`` times the nitrite ION.

    Valid range: nitrite 0 to 30 mg/L N, chloride 0 to 3000 mg/L, ratio 1 to 50; ValueError outside.
    References: srac462; not for black bass and sunfish (tomasso1986).

    >>> chloride_needed_mg_l(1.0, 5)
    27.84
    """
    require("no2_n_mg_l", no2_n_mg_l)
    require("chloride_mg_l", chloride_mg_l)
    require("ratio", ratio)
    return max(0.0, ratio * units.from_nitrogen(no2_n_mg_l, "no2") - chloride_mg_l)


def nitrite_chloride_g(
    volume_l: float, no2_n_mg_l: float, chloride_mg_l: float, salt: str, ratio: float = 10.0
) -> float:
    """Return the salt [g] that brings chloride to ``ratio`` times the nitrite ion.

    ``salt``: NaCl, KCl or CaCl2.2H2O. Valid range: as :func:`chloride_needed_mg_l`.
    References: srac462, chemistry.

    >>> nitrite_chloride_g(1000, 1.0, 5, "NaCl")
    45.9
    """
    per_chloride, _ = CHLORIDE_SALTS[_one_of("salt", salt, CHLORIDE_SALTS)]
    needed = chloride_needed_mg_l(no2_n_mg_l, chloride_mg_l, ratio)
    return require("volume_l", volume_l) * needed * per_chloride / 1000


def sodium_added_mg_l(volume_l: float, dose_g: float, salt: str) -> float:
    """Return the sodium [mg/L] that ``dose_g`` of a chloride salt brings to ``volume_l``.

    ValueError for an unknown salt or a volume outside the range. References: chemistry.

    >>> sodium_added_mg_l(1000, 45.9, "NaCl")
    18.06
    """
    _, sodium = CHLORIDE_SALTS[_one_of("salt", salt, CHLORIDE_SALTS)]
    return require("dose_g", dose_g) * 1000 / require("volume_l", volume_l) * sodium
