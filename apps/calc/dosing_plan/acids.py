"""What acids and phosphates do to the pH: added to the carbonate system's solver."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from apps.calc import units
from apps.calc.carbonate import Water, air_equilibrium_ph, water_of
from apps.calc.quantities import require, require_between
from apps.calc.roots import rising_root

# second dissociation of phosphoric acid, the only one that matters between pH 5 and 9; the first
# (2.15) is over by pH 4. At 25 °C (page of constants of the CRC Handbook, memory).
_PK1, _PK2, _PK3 = 2.15, 7.20, 12.35
_LOWEST_PH, _HIGHEST_PH = 2.5, 12.5


@dataclass(frozen=True)
class Phosphate:
    """A phosphate as a pure substance: g/mol and the equivalents of base that come along."""

    molar_g: float
    base: float


PHOSPHATES: Mapping[str, Phosphate] = {
    "KH2PO4": Phosphate(136.086, 1), "NH4H2PO4": Phosphate(115.025, 1),
}  # fmt: skip


@dataclass(frozen=True)
class Acid:
    """An acid: g/mol, equivalents that titrated alkalinity loses per mol, density by percent."""

    molar_g: float
    densities: tuple[tuple[float, float], ...]
    phosphate: bool = False


# densities in g/mL at 20 °C by percent of mass: CRC Handbook (memory)
ACIDS: Mapping[str, Acid] = {
    "HCl": Acid(36.458, ((0, 0.998), (10, 1.048), (20, 1.098), (31.5, 1.157), (38, 1.189))),
    "H3PO4": Acid(
        97.994, ((0, 0.998), (10, 1.053), (25, 1.146), (50, 1.335), (75, 1.579), (85, 1.685)), True
    ),
}


def density_g_ml(acid: str, percent: float) -> float:
    """Return the density [g/mL] of an acid by its percent of mass, straight between the table's rows.

    Valid range: HCl 1 to 38 %, H3PO4 1 to 85 %; ValueError outside. References: crc.

    >>> round(density_g_ml("HCl", 37), 3)
    1.184
    """
    rows = ACIDS[acid].densities
    require_between("acid_pct", percent, 1, rows[-1][0])
    above = next(i for i, (pct, _) in enumerate(rows) if pct >= percent)
    (low, at_low), (high, at_high) = rows[above - 1], rows[above]
    return at_low + (at_high - at_low) * (percent - low) / (high - low)


def acid_mg_l(acid: str, remove_mg_l_caco3: float) -> float:
    """Return the pure acid [mg/L] that takes away so much alkalinity [mg/L CaCO3].

    One equivalent a mol: alkalinity is titrated to about pH 4.5, where phosphoric acid has given
    one. Valid range: 0 to 600 mg/L; ValueError outside. References: chemistry.

    >>> round(acid_mg_l("HCl", 50.0), 1)
    36.4
    """
    require("alkalinity_mg_l_caco3", remove_mg_l_caco3)
    return remove_mg_l_caco3 / units.MG_CACO3_PER_MEQ * ACIDS[acid].molar_g


def solution_g(acid: str, percent: float, pure_mg_l: float, litres: float) -> float:
    """Return the grams of a stock of that percent that bring ``pure_mg_l`` to ``litres``.

    Valid range: percent as :func:`density_g_ml`; ValueError outside. References: chemistry.
    """
    density_g_ml(acid, percent)
    return pure_mg_l * litres / 1000 / (percent / 100)


def _charge(ph: float, water: Water) -> float:
    """Return the mean negative charge of phosphate at a pH, activity by Davies."""
    root = math.sqrt(water.ionic)
    activity = (0.4883 + 8.074e-4 * water.temp_c) * (root / (1 + root) - 0.3 * water.ionic)
    h = 10**-ph
    # each step towards a higher charge is easier by 1, 3 and 5 times the single ion's activity
    k1, k2, k3 = (
        10 ** (z * activity - pk) for pk, z in ((_PK1, 1), (_PK2, 3), (_PK3, 5))
    )  # fmt: skip
    parts = (h**3, h**2 * k1, h * k1 * k2, k1 * k2 * k3)
    return (parts[1] + 2 * parts[2] + 3 * parts[3]) / sum(parts)


def _solved(water: Water, mol: float, base: float, *, closed: bool) -> float:
    """Return the pH of a water with so many mol/L of phosphate and base equivalents per mol in it."""

    def excess(ph: float) -> float:
        charge = _charge(ph, water) - base
        left = replace(water, alkalinity=water.alkalinity - charge * mol)
        return ph - (left.closed_ph() if closed else left.held_ph())

    return rising_root(excess, _LOWEST_PH, _HIGHEST_PH)


def ph_after_phosphate(
    alkalinity_mg_l_caco3: float, ph: float, temp_c: float, mg_l: float, kind: Phosphate
) -> tuple[float, float]:
    """Return the pH minutes and hours after a dose [mg/L] of a phosphate, aeration as before.

    Valid range: as carbonate.co2_mg_l; approximate above pH 8. References: plummer1982,
    davies1962, crc.
    """
    water = water_of(alkalinity_mg_l_caco3, ph, temp_c)
    mol = require("dose_mg_l", mg_l) / 1000 / kind.molar_g
    if not mol:
        return ph, ph
    return (
        _solved(water, mol, kind.base, closed=True),
        _solved(water, mol, kind.base, closed=False),
    )


def ph_after_acid(
    alkalinity_mg_l_caco3: float, ph: float, temp_c: float, acid: str, pure_mg_l: float
) -> float:
    """Return the pH minutes after a dose [mg/L of pure acid], before any gas is exchanged.

    Valid range: start as carbonate.co2_mg_l, alkalinity left above nought; ValueError for an
    unknown acid. References: plummer1982, davies1962, crc.

    >>> round(ph_after_acid(100, 7.6, 20, "HCl", 10.08), 2)
    7.0
    """
    if acid not in ACIDS:
        message = f"acid must be one of {', '.join(ACIDS)}, not {acid}"
        raise ValueError(message)
    water = water_of(alkalinity_mg_l_caco3, ph, temp_c)
    mol = require("dose_mg_l", pure_mg_l) / 1000 / ACIDS[acid].molar_g
    if ACIDS[acid].phosphate:
        return _solved(water, mol, 0.0, closed=True)
    return replace(water, alkalinity=water.alkalinity - mol).closed_ph()


def ph_aired(alkalinity_mg_l_caco3: float, temp_c: float, acid: str, pure_mg_l: float) -> float:
    """Return the pH of a barrel aired for a day: carbon dioxide as in the air, acid in it.

    ``alkalinity_mg_l_caco3`` before the acid. Valid range and references: as
    carbonate.air_equilibrium_ph and :func:`ph_after_acid`.
    """
    in_air = air_equilibrium_ph(alkalinity_mg_l_caco3, temp_c)
    water = water_of(alkalinity_mg_l_caco3, in_air, temp_c)
    mol = pure_mg_l / 1000 / ACIDS[acid].molar_g
    if ACIDS[acid].phosphate:
        return _solved(water, mol, 0.0, closed=False)
    return replace(water, alkalinity=water.alkalinity - mol).held_ph()
