"""Steps of a salt or a chelate towards calcium, potassium, magnesium, iron or phosphorus."""

from apps.calc.advice.facts import Facts
from apps.calc.advice.nutrients import EC_STEP, IRON_TARGET
from apps.calc.dosing_plan.acids import PHOSPHATES, ph_after_phosphate
from apps.calc.dosing_plan.needs import counted
from apps.calc.dosing_plan.products import PRODUCTS, Product
from apps.calc.dosing_plan.results import (
    CALCIUM,
    IRON,
    MAGNESIUM,
    MEASURANDS,
    PHOSPHORUS,
    POTASSIUM,
    NotUsed,
    Plan,
    Refusal,
    Request,
    Step,
)
from apps.calc.dosing_plan.rooms import HORIZON_DAYS, STEP_GAP, STEP_MOST, Rooms
from apps.calc.dosing_plan.weighing import bucket_litres, weighed
from apps.calc.wording import Text
from apps.calc.wording import text as _

# what could serve, in the order in which it is taken
CANDIDATES: dict[str, tuple[str, ...]] = {
    POTASSIUM: ("K2SO4", "KCl", "KNO3", "KHCO3", "KOH"),
    CALCIUM: ("CaCl2.2H2O", "5Ca(NO3)2.NH4NO3.10H2O", "Ca(OH)2"),
    MAGNESIUM: ("MgSO4.7H2O",),
    IRON: ("Fe-EDTA 13 %", "Fe-DTPA 11 %", "Fe-EDDHA 6 %"),
    PHOSPHORUS: ("KH2PO4", "NH4H2PO4"),
}
# the pH up to which a chelate holds its iron (Rakocy 2007; common practice)
HOLDS_TO_PH = {"Fe-EDTA 13 %": 6.5, "Fe-DTPA 11 %": 7.2, "Fe-EDDHA 6 %": 9.0}
_LEAST_SHARE = 0.02  # of the target, below which a step is not worth a walk (common practice)


def element_plan(f: Facts, ask: Request, rooms: Rooms) -> Plan | Refusal:
    """Return steps of one product towards the target of an element, under step and week limits.

    Where fish live, or the water flows back to them: no nitrate, no ammonium, and at most
    WEEK_MOST in seven days. Expects that :func:`needs.lacks` found nothing.
    References: chemistry, rakocy2007, practice.
    """
    if ask.target is None:
        message = "target must be given"
        raise ValueError(message)
    start, blind = counted(f, MEASURANDS[ask.goal])
    chosen, left_out = _choose(f, ask, rooms)
    if chosen is None:
        why = next((item for item in left_out if item.product in ask.at_hand), None)
        return Refusal("at_hand", why.text if why else _(
            "None of the products that may be used is at hand. Tick one that is, or order it."
        ))  # fmt: skip
    steps, at = _walk(f, ask, rooms, chosen, start)
    if not steps:
        return _too_coarse(f, ask)
    return Plan(
        ask.goal, ask.target, start, at, f.loop.volume_l, tuple(steps), tuple(left_out),
        tuple(_notes(f, ask, at, start if blind else None, rooms.waiting(chosen, steps[0].day))), ("chemistry", "rakocy2007", "practice"),
    )  # fmt: skip


def _choose(f: Facts, ask: Request, rooms: Rooms) -> tuple[Product | None, list[NotUsed]]:
    chosen: Product | None = None
    left_out = []
    for code in CANDIDATES[ask.goal]:
        product = PRODUCTS[code]
        why = _why_not(f, ask, product, rooms.plant_only)
        if why is None and chosen is not None:
            why = _("Another that comes first serves.")
        if why is not None:
            left_out.append(NotUsed(code, why))
        else:
            chosen = product
    return chosen, left_out


def _why_not(f: Facts, ask: Request, product: Product, plant_only: bool) -> Text | None:
    if product.feeds_nitrogen and not plant_only:
        return _(
            "A nitrate or ammonium fertiliser: never where fish live or where the water flows back to them."
        )
    if product.strength:
        return _("A dose for the pH, not a nutrient: it stands in the plan for alkalinity.")
    if product.code not in ask.at_hand:
        return _("None is at hand.")
    ph = f.v("ph")
    if product.code in HOLDS_TO_PH and ph is not None and ph > HOLDS_TO_PH[product.code]:
        return _(
            "Lets go of its iron above pH {limit}; the water has {value}.",
            limit=HOLDS_TO_PH[product.code], value=ph,
        )  # fmt: skip
    chloride, most = f.v("cl"), f.band("cl").t_hi
    if (
        "cl" in product.shares
        and chloride is not None
        and most is not None
        and chloride >= most
        and f.has_plants
    ):
        return _(
            "Chloride stands at {value} mg/L; {limit} is the most for the plants.",
            value=chloride,
            limit=most,
        )
    return None


def _walk(
    f: Facts, ask: Request, rooms: Rooms, product: Product, at: float
) -> tuple[list[Step], float]:
    steps: list[Step] = []
    target, share = ask.target or 0.0, product.shares[ask.goal]
    gap = ask.every_days if rooms.plant_only else max(ask.every_days, STEP_GAP[ask.goal])
    day = 0
    while day <= HORIZON_DAYS and target - at > _LEAST_SHARE * target:
        most = target - at if rooms.plant_only else min(target - at, STEP_MOST[ask.goal])
        mg_l = min(most / share, rooms.most_mg_l(product, day))
        step = _step(f, ask, rooms, product, day, at, mg_l)
        if step is None:
            day += 1
            continue
        steps.append(step)
        at = step.after[MEASURANDS[ask.goal]]
        day += gap
    return steps, at


def _step(
    f: Facts, ask: Request, rooms: Rooms, product: Product, day: int, at: float, mg_l: float
) -> Step | None:
    exact = mg_l * f.loop.volume_l / 1000
    grams = weighed(exact, ask.scale_g)
    given = grams * 1000 / f.loop.volume_l
    code, share = MEASURANDS[ask.goal], product.shares[ask.goal]
    if grams == 0 or given * share < _LEAST_SHARE / 2 * (ask.target or 0.0):
        return None
    minutes, hours = _ph(f, product, given)
    brings = rooms.take(product, given, day)
    return Step(
        day, 24.0 * day, product.code, exact, grams, bucket_litres(product, grams),
        "client" if product.mild and ask.by_client else "technician",
        {code: at}, {code: at + given * share}, minutes, hours, brings, rooms.totals(day),
    )  # fmt: skip


def _ph(f: Facts, product: Product, mg_l: float) -> tuple[float | None, float | None]:
    """Return the pH at once and after aeration; a neutral salt leaves it where it was."""
    alk, ph, temp = f.v("alk"), f.v("ph"), f.v("temp")
    if ph is None:
        return None, None
    if product.code not in PHOSPHATES:
        return ph, ph
    if alk is None or temp is None:
        return None, None
    return ph_after_phosphate(alk, ph, temp, mg_l, PHOSPHATES[product.code])


def _too_coarse(f: Facts, ask: Request) -> Refusal:
    return Refusal("scale_g", _(
        "A scale that shows {value} g is too coarse for {litres} L. Take one that shows 0.1 g "
        "or 0.01 g.", value=ask.scale_g, litres=float(f.loop.volume_l),
    ))  # fmt: skip


def _notes(f: Facts, ask: Request, at: float, blind: float | None, wait: Text | None) -> list[Text]:
    notes = [
        _("What the plants take up meanwhile is not in the predictions: what you measure decides.")
    ]
    if wait:
        notes.append(wait)
    if f.plant_water and not f.has_fish:
        notes.append(
            _(
                "Plant water without fish: no week's limits, and each step lifts the conductivity by {limit} mS/cm at most.",
                limit=EC_STEP,
            )
        )
    if blind is not None:
        notes.append(_(
            "The reading lies below what the kit can tell; it is counted as {value} mg/L, so that "
            "the target is not passed.", value=blind,
        ))  # fmt: skip
    if (ask.target or 0.0) - at > _LEAST_SHARE * (ask.target or 0.0):
        notes.append(_(
            "The target is not reached within {days} days under the limits. Measure then and make "
            "a new plan.", days=HORIZON_DAYS,
        ))  # fmt: skip
    if ask.goal == POTASSIUM and f.below("alk", f.band("alk").t_lo) and not f.plant_water:
        notes.append(_(
            "Alkalinity is short as well: a plan for alkalinity with potassium bicarbonate brings "
            "both. Do not run the two side by side."
        ))  # fmt: skip
    if ask.goal == IRON and (ask.target or 0.0) > IRON_TARGET:
        notes.append(
            _("{limit} mg/L every three weeks is enough for most crops.", limit=IRON_TARGET)
        )
    return notes
