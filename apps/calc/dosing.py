"""Doses for a volume of water, under the caps that keep fish safe.

A base is capped at a rise of 0.2 pH in closed water (minutes) and at 0.2 pH a day with carbon
dioxide held (hours); below 20 mg/L alkalinity, where a test kit is nearly all error, the first
step is smaller still.
"""

import math
from dataclasses import dataclass

from apps.calc.carbonate import Water, salt_named, water_of
from apps.calc.quantities import require, require_between

PH_STEP = 0.2
LOW_ALKALINITY = 20.0
_HOURS_BETWEEN = 24.0
# Beyond this the water is brine, and lime would long have fallen out as chalk.
MOST_DOSE_MG_L = 50_000.0
# Strictly inside a cap, whatever the last digit.
_INSIDE = 1 - 1e-9


@dataclass(frozen=True)
class Step:
    """One dose of a plan and the pH after it, at once and hours later."""

    after_hours: float
    dose_mg_l: float
    ph_minutes: float
    ph_hours: float


@dataclass(frozen=True)
class BasePlan:
    """Doses [mg/L] for a target: with carbon dioxide held, in closed water, and in safe steps.

    ``closed_mg_l`` is None where the salt does not bring closed water to the target at all.
    """

    dose_mg_l: float
    closed_mg_l: float | None
    steps: tuple[Step, ...]


def first_step_cap_mg_l_caco3(alkalinity_mg_l_caco3: float) -> float:
    """Return the most alkalinity [mg/L CaCO3] that a first step may add, infinite from 20 up.

    References: practice (a kit's error is as large as the reading).

    >>> first_step_cap_mg_l_caco3(12)
    5.0
    """
    require("alkalinity_mg_l_caco3", alkalinity_mg_l_caco3)
    if alkalinity_mg_l_caco3 >= LOW_ALKALINITY:
        return math.inf
    return 5.0 if alkalinity_mg_l_caco3 >= LOW_ALKALINITY / 2 else 3.0


def _step_dose(water: Water, ph: float, rise: float, salt: str) -> float:
    """Largest dose [mg/L] that lifts ``ph`` by ``rise`` at most, at once as hours later."""
    held = water.dose_held(ph + rise, salt)
    return min(held, water.dose_closed(ph + rise, salt)) * _INSIDE


def base_plan(
    alkalinity_mg_l_caco3: float, ph: float, temp_c: float, target_ph: float, salt: str
) -> BasePlan:
    """Return how to bring the pH to ``target_ph`` with a pure ``salt``, one step a day.

    The steps add up to the dose with carbon dioxide held. Strong bases and carbonates need many,
    since the water overshoots at once.
    Valid range: alkalinity 1 to 600 mg/L CaCO3, target from ``ph`` to 8, dose to 50 g/L;
    ValueError outside.
    References: plummer1982, davies1962, practice.

    >>> plan = base_plan(30, 6.4, 25, 6.8, "KHCO3")
    >>> round(plan.dose_mg_l, 1), len(plan.steps)
    (92.2, 2)
    """
    require_between("alkalinity_mg_l_caco3", alkalinity_mg_l_caco3, 1, 600)
    require_between("target_ph", target_ph, ph, 8)
    water = water_of(alkalinity_mg_l_caco3, ph, temp_c)
    total = water.dose_held(target_ph, salt)
    if not total <= MOST_DOSE_MG_L:
        message = f"a rise to {target_ph:g} would take more than 50 g/L of {salt}"
        raise ValueError(message)
    closed = water.dose_closed(target_ph, salt)
    count = max(1, math.ceil((target_ph - ph) / PH_STEP - 1e-9))
    rise = min(PH_STEP, (target_ph - ph) / count)
    cap = first_step_cap_mg_l_caco3(alkalinity_mg_l_caco3) / salt_named(salt).strength
    steps = _steps(water, ph, total, rise, salt, cap)
    return BasePlan(total, None if math.isinf(closed) else closed, steps)


def _steps(
    water: Water, ph: float, total: float, rise: float, salt: str, first_cap: float
) -> tuple[Step, ...]:
    steps: list[Step] = []
    left = total
    while left > 0:
        dose = min(_step_dose(water, ph, rise, salt), math.inf if steps else first_cap)
        if left - dose < 1e-6 * total:
            dose = left
        left -= dose
        closed = water.dosed(salt, dose)
        ph = closed.held_ph()
        steps.append(Step(len(steps) * _HOURS_BETWEEN, dose, closed.closed_ph(), ph))
        water = closed.aerated()
    return tuple(steps)
