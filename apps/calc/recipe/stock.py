"""Two cans of stock solution for a recipe: what goes into which, and whether it dissolves."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from apps.calc.quantities import require_between
from apps.calc.recipe.salts import CALCIUM, OTHER
from apps.calc.recipe.solve import Weighed

# Salts beside each other dissolve less than alone, and a cold shed less than 20 °C.
SAFE_SHARE = 0.7
MOST_FACTOR = 200.0


@dataclass(frozen=True)
class Can:
    """One can: its salts as (code, g) and the share of what would dissolve that is used."""

    letter: str
    litres: float
    salts: tuple[tuple[str, float], ...]
    filled: float

    @property
    def dissolves(self) -> bool:
        """Tell whether all of it dissolves with room to spare."""
        return self.filled <= SAFE_SHARE


@dataclass(frozen=True)
class Stock:
    """Can A and can B, so many times as strong as the water, and the strongest that dissolves."""

    factor: float
    cans: tuple[Can, ...]
    most_factor: float


def stock(salts: Sequence[Weighed], volume_l: float, factor: float) -> Stock:
    """Return the cans that hold a recipe for ``volume_l`` at ``factor`` times its strength.

    Each can has volume_l / factor litres. What is used of the room to dissolve adds up over the
    salts of a can and may be 70 % at most (common practice).
    Valid range: factor 1 to 200; ValueError outside. References: crc (solubility at 20 °C).
    """
    require_between("factor", factor, 1, MOST_FACTOR)
    litres = volume_l / factor
    cans = tuple(_can(letter, salts, litres) for letter in (CALCIUM, OTHER))
    used = max(can.filled for can in cans)
    most = min(MOST_FACTOR, factor * SAFE_SHARE / used) if used else MOST_FACTOR
    return Stock(factor, tuple(can for can in cans if can.salts), math.floor(most))


def _can(letter: str, salts: Sequence[Weighed], litres: float) -> Can:
    inside = [w for w in salts if w.salt.can == letter and w.times == 1]
    filled = sum(w.weighed_g / litres / w.salt.soluble_g_l for w in inside)
    return Can(letter, litres, tuple((w.salt.code, w.weighed_g) for w in inside), filled)
