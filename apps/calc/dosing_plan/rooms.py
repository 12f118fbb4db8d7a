"""What may still be brought into a loop: per step, per day, in seven days, in all."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from apps.calc.advice.facts import Facts
from apps.calc.advice.guards import POTASSIUM_WEEK, SODIUM_CAP
from apps.calc.advice.nutrients import EC_STEP
from apps.calc.dosing_plan.products import Product
from apps.calc.recipe.conductivity import cations_meq_l
from apps.calc.wording import Text
from apps.calc.wording import text as _

WEEK_DAYS = 7
HORIZON_DAYS = 14  # beyond two weeks the water has changed too much to plan (common practice)
# mg/L in seven days where fish live or the water flows back to them. Potassium is the guards';
# calcium, magnesium, phosphorus and iron follow the single doses of the rules; sulfur is that of
# 50 mg/L sulfate (common practice).
WEEK_MOST: Mapping[str, float] = {
    "k": POTASSIUM_WEEK, "ca": 20.0, "mg": 10.0, "fe": 2.0, "p": 1.0, "s": 16.7,
}  # fmt: skip
# mg/L in one step, and the days to the next one (the doses of the rules; common practice)
STEP_MOST: Mapping[str, float] = {"k": 10.0, "ca": 20.0, "mg": 5.0, "fe": 2.0, "p": 1.0}
STEP_GAP: Mapping[str, int] = {"k": 3, "ca": 7, "mg": 3, "fe": 7, "p": 7}
COUNTED: tuple[str, ...] = ("k", "ca", "na", "mg", "fe", "p", "s", "cl")
GIVEN: Mapping[str, str] = {
    "k": "K", "ca": "Ca", "na": "Na", "mg": "Mg", "fe": "Fe", "p": "P", "s": "S", "cl": "Cl",
}  # fmt: skip
# the slope of apps.calc.recipe.conductivity, mS/cm for each meq/L of cations
_EC_PER_MEQ = 0.095 + 0.19 / 8


@dataclass
class Rooms:
    """The running totals of one plan. What was given before counts for the first seven days whole.

    Plant water without fish has no weekly limits; there conductivity may rise by 0.3 mS/cm a day.
    """

    f: Facts
    plant_only: bool
    brought: list[tuple[int, Mapping[str, float]]] = field(default_factory=list)

    @property
    def week_most(self) -> Mapping[str, float]:
        """Return the limits of seven days [mg/L] that hold for this water."""
        return {} if self.plant_only else WEEK_MOST

    def week(self, element: str, day: int) -> float:
        """Return the mg/L of an element that the seven days up to ``day`` have brought."""
        before = self.f.loop.given_7d.get(GIVEN[element], 0.0) if day < WEEK_DAYS else 0.0
        own = sum(mg.get(element, 0.0) for d, mg in self.brought if day - WEEK_DAYS < d <= day)
        return before + own

    def totals(self, day: int) -> dict[str, float]:
        """Return the seven-day totals [mg/L] on a day, without what is nought."""
        found = {element: self.week(element, day) for element in COUNTED}
        return {element: total for element, total in found.items() if total > 0}

    def room(self, element: str, day: int) -> float:
        """Return the mg/L of an element for which there is room on a day, infinite without a limit."""
        rooms = [self._in_all(element)]
        if element in self.week_most:
            rooms.append(self.week_most[element] - self.week(element, day))
        return max(0.0, min(rooms))

    def _in_all(self, element: str) -> float:
        if element == "na":
            now = self.f.v("na")
            return SODIUM_CAP - now - self._own("na") if now is not None else 0.0
        limit, now = self.f.band("cl").t_hi, self.f.v("cl")
        if element == "cl" and self.f.has_plants and limit is not None and now is not None:
            return limit - now - self._own("cl")
        return math.inf

    def _own(self, element: str) -> float:
        return sum(mg.get(element, 0.0) for _, mg in self.brought)

    def most_mg_l(self, product: Product, day: int) -> float:
        """Return the most of a product [mg/L] that the limits leave room for on a day."""
        shares = product.shares
        rooms = [self.room(e, day) / share for e, share in shares.items() if e in COUNTED]
        meq = cations_meq_l(shares)
        if self.plant_only and meq > 0:
            rooms.append(EC_STEP / _EC_PER_MEQ / meq)
        return min(rooms, default=math.inf)

    def take(self, product: Product, mg_l: float, day: int) -> dict[str, float]:
        """Count a dose and return what it brings [mg/L] by element."""
        mg = {element: share * mg_l for element, share in product.shares.items()}
        self.brought.append((day, mg))
        return mg

    def waiting(self, product: Product, day: int) -> Text | None:
        """Return why the first step of a product waits until a day, None where it does not."""
        if day == 0:
            return None
        counted = [e for e in product.shares if e in WEEK_MOST]
        full = min(
            counted,
            key=lambda e: WEEK_MOST[e] - self.f.loop.given_7d.get(GIVEN[e], 0.0),
            default="k",
        )
        return _(
            "The first step waits for {days} days: the last seven days have brought {value} mg/L of "
            "{element}, and {limit} is the most.",
            days=day, value=round(self.f.loop.given_7d.get(GIVEN[full], 0.0), 1),
            element=GIVEN[full], limit=WEEK_MOST[full],
        )  # fmt: skip
