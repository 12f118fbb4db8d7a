"""What no rule may pass: limits on bases, on water changes, on salts, on feed.

Every guard answers with a plan it allows, or with the reason why it allows none.
"""

import math
from dataclasses import dataclass

from apps.calc import ammonia, carbonate, judgement, units, water
from apps.calc.advice.doses import BICARBONATES, SUBSTANCES, alkalinity_grams
from apps.calc.advice.facts import ROOM_NEEDED_PCT, SLOW, Facts
from apps.calc.advice.results import Step
from apps.calc.carbonate import Chemistry

MOST_PH_RISE = 0.2  # a step in closed water, and a day (FAO 589: 0.3 in 12 to 24 h can harm)
MOST_PH_CHANGE = 0.3  # by a water change
MOST_TEMP_CHANGE = 2.0  # °C, by a water change
KIT_BLIND_ALK = 20.0  # below it the error of an alkalinity kit is all of the reading
BLIND_FIRST_STEP = 5.0  # mg/L CaCO3
BASE_TAN_LIMIT = 1.0  # mg/L N: above it a base is given only step by step against the trap
POTASSIUM_WEEK = 20.0  # mg/L
SODIUM_CAP = 50.0  # mg/L
MOST_STEP, MOST_DAY = 0.25, 0.5  # shares of the water
LEAST_STEP = 0.05
CHLORAMINE_N = 0.33  # mg/L N freed per mg/L chlorine, the upper end of 0.20 to 0.33
LEAST_DOSE_ALK = 0.5  # mg/L CaCO3 worth weighing


@dataclass(frozen=True)
class Refusal:
    """Why a guard lets nothing pass."""

    code: str


@dataclass(frozen=True)
class BasePlan:
    """Steps of one base towards an alkalinity, and what is left for another base."""

    salt: str
    steps: tuple[Step, ...]
    total_g: float
    reaches: float
    left_mg_l: float
    left_caco3_g: float
    ph_minutes: float
    ph_hours: float


def base_refusal(f: Facts, *, against_trap: bool = False) -> str:
    """Return why no base may be given now, empty when one may.

    Alkalinity and pH under 24 h old, temperature and ammonia known, the volume known within
    10 %; total ammonia above 1 only in the steps against the acid trap (``against_trap``).
    """
    if any(f.fresh(code) is None for code in ("alk", "ph")) or f.v("temp") is None:
        return "measure_first"
    if f.loop.volume_within_pct > ROOM_NEEDED_PCT:
        return "volume_unknown"
    tan = f.v("tan")
    if tan is None:
        return "ammonia_unknown"
    if tan > BASE_TAN_LIMIT and not against_trap:
        return "ammonia_high"
    return ""


def base_step_alk(
    f: Facts, alk: float, ph: float, salt: str, wanted: float, most_rise: float = MOST_PH_RISE
) -> float:
    """Return the largest step [mg/L CaCO3] up to ``wanted`` that harms nobody.

    Closed rise and the rise after aeration at most ``most_rise`` (0.2 pH); un-ionised ammonia at the new pH + 0.2
    below the fish's lasting limit; below 20 mg/L at most 5 mg/L, because the kit cannot tell.
    References: plummer1982, davies1962, emerson1975.
    """
    if alk < KIT_BLIND_ALK:
        wanted = min(wanted, BLIND_FIRST_STEP)
    temp = f.v("temp")
    tan = f.v("tan") or 0.0
    if temp is None or wanted <= 0:
        return 0.0
    low, high = 0.0, wanted
    water = _Start(alk, ph, temp, tan)
    if _harmless(f, water, salt, high, most_rise):
        return high
    for _ in range(24):
        middle = (low + high) / 2
        if _harmless(f, water, salt, middle, most_rise):
            low = middle
        else:
            high = middle
    return low


@dataclass(frozen=True)
class _Start:
    alk: float
    ph: float
    temp: float
    tan: float


def _harmless(f: Facts, now: _Start, salt: str, step: float, most_rise: float) -> bool:
    dose = step / carbonate.salt_named(salt).strength
    minutes = carbonate.ph_after_base_closed(now.alk, now.ph, now.temp, salt, dose)
    hours = carbonate.ph_after_base_held(now.alk, now.ph, now.temp, salt, dose)
    highest = max(minutes, hours)
    if highest - now.ph > most_rise + 1e-6:
        return False
    if not f.has_fish or now.tan == 0:
        return True
    toxic = ammonia.nh3_n(now.tan, min(highest + judgement.DAILY_PH_RISE, 11.0), now.temp)
    return toxic < f.nh3_target


def potassium_room(f: Facts) -> float:
    """Return the mg/L of potassium that may still be given this week."""
    return max(0.0, POTASSIUM_WEEK - f.loop.given_7d.get("K", 0.0))


def sodium_room(f: Facts) -> float:
    """Return the mg/L of sodium left under the cap; none when sodium is not known."""
    now = f.v("na")
    return max(0.0, SODIUM_CAP - now) if now is not None else 0.0


def base_plan(
    f: Facts,
    target: float,
    *,
    salt: str = "KHCO3",
    against_trap: bool = False,
    most_rise: float = MOST_PH_RISE,
) -> BasePlan | Refusal:
    """Return daily steps of ``salt`` towards ``target`` [mg/L CaCO3], or why there are none.

    One step a day; the first week's potassium (or the sodium cap) ends the plan, and the rest is
    for a calcium base. Below 20 mg/L, and against the acid trap, only the first step is planned:
    measure again before the next.
    """
    why = base_refusal(f, against_trap=against_trap)
    alk, ph = f.fresh("alk"), f.fresh("ph")
    if why or alk is None or ph is None:
        return Refusal(why or "measure_first")
    if salt not in BICARBONATES:
        return Refusal("not_for_rules")
    if target - alk <= LEAST_DOSE_ALK:
        return Refusal("not_needed")
    room = _room_alk(f, salt)
    steps: list[Step] = []
    at_alk, at_ph, closed = alk, ph, ph
    while target - at_alk > LEAST_DOSE_ALK and len(steps) < 7:
        step = min(base_step_alk(f, at_alk, at_ph, salt, target - at_alk, most_rise), room)
        if step < LEAST_DOSE_ALK:
            break
        grams = alkalinity_grams(salt, step, f.loop.volume_l)
        steps.append(Step(24.0 * len(steps), grams, "g", salt))
        dose = step / carbonate.salt_named(salt).strength
        temp = f.v("temp") or 20.0
        if len(steps) == 1:
            closed = carbonate.ph_after_base_closed(at_alk, at_ph, temp, salt, dose)
        at_ph = carbonate.ph_after_base_held(at_alk, at_ph, temp, salt, dose)
        at_alk, room = at_alk + step, room - step
        if alk < KIT_BLIND_ALK or against_trap:
            break
    if not steps:
        return Refusal("no_room_for_salt" if room < LEAST_DOSE_ALK else "would_harm")
    left = max(0.0, target - at_alk)
    return BasePlan(
        salt,
        tuple(steps),
        sum(step.dose for step in steps),
        at_alk,
        left,
        alkalinity_grams("CaCO3", left, f.loop.volume_l),
        closed,
        at_ph,
    )


def _room_alk(f: Facts, salt: str) -> float:
    """Return the alkalinity [mg/L CaCO3] that the salt's own metal leaves room for."""
    strength = carbonate.salt_named(salt).strength
    if salt == "NaHCO3":
        return sodium_room(f) / SUBSTANCES[salt].na * strength
    return potassium_room(f) / SUBSTANCES[salt].k * strength


@dataclass(frozen=True)
class ChangePlan:
    """A water change that the guards allow today: its share and litres, in how many parts.

    ``wanted`` may be more: the rest waits for another day. ``dechlorinator_g`` is for each part.
    """

    fraction: float
    wanted: float
    litres: float
    steps: int
    hours_apart: float
    ph_after: float
    temp_after: float
    nh3_after: float
    dechlorinator_g: float


def water_change(
    f: Facts, wanted: float, *, emergency: bool = False, most_ph: float = MOST_PH_CHANGE
) -> ChangePlan | Refusal:
    """Return the change of ``wanted`` (0 to 1) of the loop in steps that do no harm, or why not.

    Needs the record of the place's source water. Each part at most a quarter; half of the water a
    day in an emergency, a quarter otherwise. A day's change may move pH by 0.3 (at once and after
    aeration) and temperature by 2 °C, and must not raise un-ionised ammonia; what is beyond is
    left for another day.
    """
    if f.s.source is None:
        return Refusal("source_unknown")
    if wanted <= 0:
        return Refusal("not_needed")
    total = min(wanted, MOST_DAY if emergency else MOST_STEP)
    if f.plant_water and not f.has_fish:
        return _plan(f, total, wanted, None)
    why = _change_refusal(f)
    if why:
        return Refusal(why)
    total = _harmless_total(f, total, most_ph)
    if total < LEAST_STEP:
        return Refusal(_step_faults(f, LEAST_STEP, most_ph) or "too_small")
    return _plan(f, total, wanted, _mixed(f, total))


def _change_refusal(f: Facts) -> str:
    if any(f.v(code) is None for code in ("ph", "alk", "temp")):
        return "measure_first"
    source, ph = f.s.source, f.v("ph")
    toxic = f.has_fish and (f.nh3_highest or 0.0) > f.nh3_target
    if toxic and source and ph is not None and source.ph > ph + MOST_PH_CHANGE:
        return "source_ph_high"
    return ""


def _waters(f: Facts) -> tuple[Chemistry, Chemistry]:
    source = f.s.source
    ph, alk, temp = f.v("ph"), f.v("alk"), f.v("temp")
    if source is None or ph is None or alk is None or temp is None:
        message = "a water change needs the source water, pH, alkalinity and temperature"
        raise ValueError(message)
    tank = Chemistry(ph, alk, temp, f.v("tan") or 0.0)
    source_temp = temp if source.temp_c is None else source.temp_c
    freed = CHLORAMINE_N * source.total_chlorine if source.chloramine else 0.0
    return tank, Chemistry(source.ph, source.alkalinity, source_temp, source.tan + freed)


def _mixed(f: Facts, fraction: float) -> carbonate.Mixed:
    tank, source = _waters(f)
    return carbonate.mix(tank, source, fraction)


def _nh3(mixed: carbonate.Mixed) -> float:
    highest = min(max(mixed.ph_minutes, mixed.ph_hours) + judgement.DAILY_PH_RISE, 11.0)
    return ammonia.nh3_n(mixed.tan_mg_l, highest, mixed.temp_c)


def _step_faults(f: Facts, fraction: float, most_ph: float) -> str:
    tank, _ = _waters(f)
    mixed = _mixed(f, fraction)
    if max(abs(ph - tank.ph) for ph in (mixed.ph_minutes, mixed.ph_hours)) > most_ph:
        return "ph_would_jump"
    if abs(mixed.temp_c - tank.temp_c) > MOST_TEMP_CHANGE:
        return "temperature_would_jump"
    if f.has_fish and _nh3(mixed) > max(f.nh3_target, f.nh3_highest or 0.0):
        return "ammonia_would_rise"
    return ""


def _harmless_total(f: Facts, wanted: float, most_ph: float) -> float:
    """Return the largest share up to ``wanted`` that may be changed within a day."""
    if not _step_faults(f, wanted, most_ph):
        return wanted
    low, high = 0.0, wanted
    for _ in range(20):
        middle = (low + high) / 2
        if _step_faults(f, middle, most_ph):
            high = middle
        else:
            low = middle
    return low


def _plan(f: Facts, total: float, wanted: float, mixed: carbonate.Mixed | None) -> ChangePlan:
    count = math.ceil(total / MOST_STEP - 1e-9)
    step = total / count
    source = f.s.source
    litres = step * f.loop.volume_l
    chlorine = source.total_chlorine if source else 0.0
    agent = water.dechlorinator_g(litres, min(chlorine, 10.0), "sodium_thiosulfate")
    return ChangePlan(
        fraction=total,
        wanted=wanted,
        litres=litres * count,
        steps=count,
        hours_apart=1.0,
        ph_after=mixed.ph_minutes if mixed else f.v("ph") or 0.0,
        temp_after=mixed.temp_c if mixed else f.v("temp") or 0.0,
        nh3_after=_nh3(mixed) if mixed else 0.0,
        dechlorinator_g=agent,
    )


@dataclass(frozen=True)
class ChloridePlan:
    """Salts that bring chloride to ten times the nitrite ion, sodium kept under its cap."""

    steps: tuple[Step, ...]
    chloride_mg_l: float
    assumed_chloride: bool


def chloride_plan(f: Facts) -> ChloridePlan | Refusal:
    """Return the salts against nitrite, or why there are none.

    Sodium chloride only as far as sodium stays at 50 mg/L or below (none when sodium is not
    known), the rest calcium chloride. Bass and sunfish get none: it does not help them.
    References: srac462, tomasso1986.
    """
    no2 = f.fresh("no2")
    if no2 is None:
        return Refusal("measure_first")
    if f.loop.volume_within_pct > ROOM_NEEDED_PCT:
        return Refusal("volume_unknown")
    if not all(kind.chloride_helps for kind in f.species):
        return Refusal("chloride_does_not_help")
    chloride = f.v("cl")
    needed = water.chloride_needed_mg_l(no2, chloride or 0.0)
    if needed <= 0:
        return Refusal("not_needed")
    by_sodium = min(needed, sodium_room(f) * units.CHLORIDE / units.SODIUM)
    steps = [
        Step(0.0, grams, "g", salt)
        for salt, share in (("NaCl", by_sodium), ("CaCl2.2H2O", needed - by_sodium))
        if (grams := share * water.CHLORIDE_SALTS[salt][0] * f.loop.volume_l / 1000) > 0.05
    ]
    return ChloridePlan(tuple(steps), needed, chloride is None)


def feed_percent(f: Facts) -> float | None:
    """Return the most feed (percent of the ration) that the water allows, None when unlimited.

    Nothing below the oxygen limit, outside the feeding temperatures or with ammonia over 1;
    a quarter with nitrite over 0.5; half on the day after handling.
    References: fao589, practice.
    """
    if not f.has_fish:
        return None
    limits = []
    if f.below("do", f.no_feed_oxygen) or f.above("tan", 1.0):
        limits.append(0.0)
    if f.below("temp", f.feed_min_c) or f.above("temp", f.feed_max_c):
        limits.append(0.0)
    if f.above("no2", 0.5):
        limits.append(25.0)
    if f.within_days(2, "fish_handled"):
        limits.append(50.0)
    return min(limits, default=None)


def can_dose(f: Facts, *codes: str) -> str:
    """Return why a dose resting on these readings may not be given, empty when it may.

    Each reading trusted and under 24 h old (slow ones under 30 days); the volume known within 10 %.
    """
    if any((f.v(code) if code in SLOW else f.fresh(code)) is None for code in codes):
        return "measure_first"
    if f.loop.volume_within_pct > ROOM_NEEDED_PCT:
        return "volume_unknown"
    return ""
