"""Doses for a volume of water, under the caps that keep fish safe.

A base is capped at a rise of 0.2 pH in closed water (minutes) and at 0.2 pH a day with carbon
dioxide held (hours); below 20 mg/L alkalinity, where a test kit is nearly all error, the first
step is smaller still; and what un-ionised ammonia the rise frees stays below 0.02 mg/L.
"""

import math
from dataclasses import dataclass

from apps.calc.ammonia import nh3_n, unionised_fraction
from apps.calc.carbonate import Water, salt_named, water_of
from apps.calc.quantities import require, require_between
from apps.calc.units import MG_CACO3_PER_MEQ

PH_STEP = 0.2
NH3_LIMIT = 0.02
# The day's highest pH lies above the one measured.
DAY_SWING_PH = 0.2
LOW_ALKALINITY = 20.0
_HOURS_BETWEEN = 24.0
_MOST_STEPS = 2000
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
    Valid range: alkalinity 1 to 600 mg/L CaCO3, target from ``ph`` to 8; ValueError outside.
    References: plummer1982, davies1962, practice.

    >>> plan = base_plan(30, 6.4, 25, 6.8, "KHCO3")
    >>> round(plan.dose_mg_l, 1), len(plan.steps)
    (92.2, 2)
    """
    require_between("alkalinity_mg_l_caco3", alkalinity_mg_l_caco3, 1, 600)
    require_between("target_ph", target_ph, ph, 8)
    water = water_of(alkalinity_mg_l_caco3, ph, temp_c)
    total = water.dose_held(target_ph, salt)
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
        if len(steps) > _MOST_STEPS:
            message = f"{salt} would take more than {_MOST_STEPS} days"
            raise ValueError(message)
    return tuple(steps)


@dataclass(frozen=True)
class BaseStep:
    """The one dose that is safe now, what follows from it, and which caps held it back."""

    dose_mg_l: float
    dose_g: float
    alkalinity_mg_l_caco3: float
    ph_minutes: float
    ph_hours: float
    nh3_n_mg_l: float
    limited_by: tuple[str, ...]


def safe_base_step(
    volume_l: float,
    alkalinity_mg_l_caco3: float,
    ph: float,
    temp_c: float,
    salt: str,
    wanted_alkalinity: float,
    tan_mg_l: float = 0.0,
    ph_rise: float = PH_STEP,
) -> BaseStep:
    """Return the largest safe dose now toward ``wanted_alkalinity`` [mg/L CaCO3 to add].

    ``limited_by`` names the caps that bind: closed_ph, held_ph, low_alkalinity, nh3. The last
    projects total ammonia at the new pH and 0.2 more; where even the present pH is too high for
    it the dose is 0.
    Valid range: those of the quantities, rise 0.01 to 0.3; ValueError outside.
    References: plummer1982, davies1962, emerson1975, practice.

    >>> step = safe_base_step(1000, 18, 6.4, 25, "KHCO3", 42)
    >>> round(step.dose_g, 1), step.limited_by
    (10.0, ('low_alkalinity',))
    """
    require("volume_l", volume_l)
    require_between("wanted_alkalinity", wanted_alkalinity, 0, 600)
    require_between("ph_rise", ph_rise, 0.01, 0.3)
    water = water_of(alkalinity_mg_l_caco3, ph, temp_c)
    strength = salt_named(salt).strength
    caps = {
        "closed_ph": water.dose_closed(ph + ph_rise, salt),
        "held_ph": water.dose_held(ph + ph_rise, salt),
        "low_alkalinity": first_step_cap_mg_l_caco3(alkalinity_mg_l_caco3) / strength,
        "nh3": _nh3_cap(water, ph, temp_c, salt, tan_mg_l),
    }
    wanted = wanted_alkalinity / strength
    dose = min(wanted, *caps.values())
    bound = tuple(name for name, cap in caps.items() if cap <= dose * (1 + 1e-9) and cap < wanted)
    dosed = water.dosed(salt, dose)
    minutes, hours = (dosed.closed_ph(), dosed.held_ph()) if dose else (ph, ph)
    return BaseStep(
        dose_mg_l=dose,
        dose_g=dose * volume_l / 1000,
        alkalinity_mg_l_caco3=dosed.alkalinity_mg_l_caco3,
        ph_minutes=minutes,
        ph_hours=hours,
        nh3_n_mg_l=nh3_n(tan_mg_l, max(minutes, hours), temp_c),
        limited_by=bound,
    )


def _nh3_cap(water: Water, ph: float, temp_c: float, salt: str, tan_mg_l: float) -> float:
    if tan_mg_l <= NH3_LIMIT:
        return math.inf
    share, now = NH3_LIMIT / tan_mg_l, unionised_fraction(ph, temp_c)
    highest = ph + math.log10(share / (1 - share) * (1 - now) / now) - DAY_SWING_PH
    if highest <= ph:
        return 0.0
    return min(water.dose_closed(highest, salt), water.dose_held(highest, salt))


# Grams of the element in a gram of the pure salt (stoichiometry).
NUTRIENT_SALTS: dict[str, dict[str, float]] = {
    "KHCO3": {"k": 0.3905},
    "K2SO4": {"k": 0.4487},
    "KCl": {"k": 0.5245, "cl": 0.4755},
    "KH2PO4": {"k": 0.2873, "p": 0.2276},
    "CaCl2.2H2O": {"ca": 0.2726, "cl": 0.4823},
    "CaSO4.2H2O": {"ca": 0.2328},
    "MgSO4.7H2O": {"mg": 0.0986},
    "NaCl": {"na": 0.3934, "cl": 0.6066},
    "Fe-EDTA 13 %": {"fe": 0.13},
    "Fe-DTPA 11 %": {"fe": 0.11},
    "Fe-EDDHA 6 %": {"fe": 0.06},
}


def nutrient_g(volume_l: float, rise_mg_l: float, element: str, salt: str) -> float:
    """Return the salt [g] that lifts an element by ``rise_mg_l`` in ``volume_l``.

    Valid range: rise 0 to 1000 mg/L, salts and elements of NUTRIENT_SALTS; ValueError outside.
    References: chemistry.

    >>> nutrient_g(1000, 10, "k", "K2SO4")
    22.3
    """
    require("volume_l", volume_l)
    require_between("rise_mg_l", rise_mg_l, 0, 1000)
    share = NUTRIENT_SALTS.get(salt, {}).get(element)
    if share is None:
        message = f"{salt} does not bring {element}"
        raise ValueError(message)
    return volume_l * rise_mg_l / 1000 / share


# mol of acid per litre of the strong solution as sold, and equivalents per mol at the end pH.
ACIDS: dict[str, float] = {
    "HCl 37 %": 12.1,
    "HCl 31.5 %": 10.0,
    "H3PO4 85 %": 14.6,
    "HNO3 68 %": 15.2,
}


def source_acid_ml(litres: float, alkalinity_removed: float, acid: str) -> float:
    """Return the strong acid [mL] that takes ``alkalinity_removed`` from a barrel of new water.

    For a barrel that is then aerated for a day; never for water with fish in it, never more than
    the barrel needs, made up by trained people. One equivalent per mol, so that phosphoric acid
    ends a little lower. Valid range: 0 to 600 mg/L CaCO3; ValueError outside.
    References: chemistry (densities from memory).

    >>> source_acid_ml(1000, 10, "HCl 37 %")
    16.5
    """
    require("litres", litres)
    require_between("alkalinity_removed", alkalinity_removed, 0, 600)
    if acid not in ACIDS:
        message = f"acid must be one of {', '.join(ACIDS)}, not {acid}"
        raise ValueError(message)
    return litres * alkalinity_removed / MG_CACO3_PER_MEQ / ACIDS[acid]
