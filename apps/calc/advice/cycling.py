"""Rules on a filter that is brought in without fish.

The curve is a computed model (Monod growth of two groups of bacteria, 25 °C) and holds within
30 % in days; it agrees at its ends with 25 to 40 days at 25 to 28 °C (FAO 589).
"""

from apps.calc import units
from apps.calc.advice.doses import dose_explanation, grams_for
from apps.calc.advice.facts import Facts
from apps.calc.advice.registry import FISH_SOON, REST, Act, rule
from apps.calc.advice.results import CLIENT, GOOD_TO_KNOW, SOON, TECHNICIAN
from apps.calc.advice.shared import base_act
from apps.calc.species import interpolate

DOSE_TO_TAN = 2.0  # mg/L N
DOSE_BELOW_TAN, DOSE_BELOW_NO2 = 0.5, 5.0
BASE_BELOW_ALK, BASE_TO_ALK = 60.0, 80.0
STALL_AFTER = 1.3  # times the expected days
_READY_DAY = ((16.0, 48.0), (20.0, 38.0), (25.0, 28.0), (28.0, 24.0))


def ready_day(temp_c: float) -> float:
    """Return the day on which a dosed filter is expected to be ready at ``temp_c``.

    Valid range: 16 to 28 °C, flat beyond; a computed model within 30 %. References: fao589.

    >>> ready_day(25)
    28.0
    """
    return interpolate(_READY_DAY, temp_c)


def _age(f: Facts) -> float:
    return float(f.s.filter_age_days or 0)


@rule(
    "cycling_dose", urgency=SOON, who=TECHNICIAN, source="fao589", priority=REST,
    recheck_hours=72, cautions=("no_fish_while_cycling",),
)  # fmt: skip
def cycling_dose(f: Facts) -> Act | None:
    """The bacteria have eaten their ammonia: the next dose, unless nitrite is already high."""
    tan, no2 = f.fresh("tan"), f.v("no2")
    if not f.cycling or tan is None or tan >= DOSE_BELOW_TAN:
        return None
    if no2 is None or no2 >= DOSE_BELOW_NO2:
        return None
    grams = grams_for("NH4Cl", "n", DOSE_TO_TAN - tan, f.loop.volume_l)
    return Act(
        {"day": _age(f), "tan": tan},
        dose=grams,
        unit="g",
        substance="NH4Cl",
        explanation=dose_explanation(
            "element_dose",
            {"mg_l": DOSE_TO_TAN - tan, "volume_l": f.loop.volume_l, "share": units.N / 53.49},
            "chemistry",
        ),
    )


@rule(
    "cycling_base", urgency=SOON, who=TECHNICIAN, source="ebeling2006", priority=FISH_SOON,
    recheck_hours=72, answers=("alk.low", "ph.low"),
)  # fmt: skip
def cycling_base(f: Facts) -> Act | None:
    """Bringing a filter in uses much alkalinity: base belongs to it."""
    if not f.cycling or not f.below("alk", BASE_BELOW_ALK):
        return None
    return base_act(f, BASE_TO_ALK, "ebeling2006", {"alk": f.v("alk") or 0.0}, against_trap=True)


@rule(
    "cycling_on_course", urgency=GOOD_TO_KNOW, who=CLIENT, source="chemistry", priority=REST,
    recheck_hours=72, answers=("no2.high", "tan.high"), wet=False,
)  # fmt: skip
def cycling_on_course(f: Facts) -> Act | None:
    """What was read is usual for this day: wait."""
    temp = f.v("temp") or 25.0
    if not f.cycling or f.v("tan") is None or _age(f) > STALL_AFTER * ready_day(temp):
        return None
    if f.above("tan", 5.0) or f.above("no2", f.band("no2").amber_hi):
        return None
    return Act({"day": _age(f), "ready_day": ready_day(temp)})


@rule(
    "cycling_stalled", urgency=SOON, who=TECHNICIAN, source="fao589", priority=REST,
    recheck_hours=72, answers=("tan.high", "no2.high"),
)  # fmt: skip
def cycling_stalled(f: Facts) -> Act | None:
    """Long after its day, or with too much ammonia, the filter is not ready."""
    if not f.cycling or f.v("tan") is None:
        return None
    temp = f.v("temp") or 25.0
    late = _age(f) > STALL_AFTER * ready_day(temp)
    waiting = f.above("tan", DOSE_BELOW_TAN) or f.above("no2", DOSE_BELOW_TAN)
    if not f.above("tan", 5.0) and not (late and waiting):
        return None
    return Act({"day": _age(f), "ready_day": ready_day(temp), "causes": ", ".join(_causes(f))})


def _causes(f: Facts) -> list[str]:
    found = [
        ("ph_under_6_5", f.below("ph", 6.5)),
        ("alkalinity_under_40", f.below("alk", 40)),
        ("ammonia_over_5", f.above("tan", 5)),
        ("under_15_degrees", f.below("temp", 15)),
        ("chlorine", f.above("chlorine", 0)),
        ("oxygen_under_2", f.below("do", 2)),
    ]
    return [code for code, holds in found if holds]
