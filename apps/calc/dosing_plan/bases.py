"""Steps of base towards an alkalinity or a pH: potassium and calcium bases in turn."""

from dataclasses import dataclass

from apps.calc import carbonate
from apps.calc.advice import guards
from apps.calc.advice.facts import Facts
from apps.calc.dosing_plan.products import PRODUCTS, STRONG_BASE, Product
from apps.calc.dosing_plan.results import PH, NotUsed, Plan, Refusal, Request, Step
from apps.calc.dosing_plan.rooms import HORIZON_DAYS, Rooms
from apps.calc.dosing_plan.weighing import bucket_litres, weighed
from apps.calc.wording import Text
from apps.calc.wording import text as _

# the milder one first within a family
POTASSIUM_BASES = ("KHCO3", "K2CO3", "KOH")
CALCIUM_BASES = ("Ca(OH)2",)
SODIUM_BASES = ("NaHCO3",)
BASES = (*POTASSIUM_BASES, *CALCIUM_BASES, *SODIUM_BASES)
SMALLEST_PH_RISE = 0.03  # what a meter tells from nothing (common practice)


@dataclass
class _Walk:
    """Where the water stands as the steps are laid out."""

    alk: float
    ph: float
    temp: float


def base_plan(f: Facts, ask: Request, rooms: Rooms) -> Plan | Refusal:
    """Return one step of base a day at most, towards the alkalinity or pH that is asked for.

    Each step passes the guards: at most 0.2 pH at once and after aeration, un-ionised ammonia
    below the fish's limit, 5 mg/L CaCO3 at first below 20; potassium and sodium under their
    limits. Potassium and calcium bases take turns, first what the plants lack more (Rakocy 2007).
    Expects that :func:`needs.lacks` found nothing. References: plummer1982, davies1962,
    emerson1975, rakocy2007, fao589.
    """
    alk, ph, temp = f.fresh("alk"), f.fresh("ph"), f.v("temp")
    if alk is None or ph is None or temp is None or ask.target is None:
        message = "alk, ph, temp and target must be known"
        raise ValueError(message)
    families, left_out = _families(f, ask)
    start = ph if ask.goal == PH else alk
    if not any(families):
        return Refusal("at_hand", _(
            "None of the bases that may be used is at hand. Tick one that is, or order potassium "
            "bicarbonate."
        ))  # fmt: skip
    at = _Walk(alk, ph, temp)
    steps = _walk(f, ask, rooms, families, at)
    if not steps:
        return _blocked(f, ask)
    used = {step.product for step in steps}
    return Plan(
        ask.goal, ask.target, start, at.ph if ask.goal == PH else at.alk, f.loop.volume_l,
        tuple(steps), (*left_out, *_others(families, used)), tuple(_notes(f, ask, at, alk, rooms.waiting(PRODUCTS[steps[0].product], steps[0].day))),
        ("plummer1982", "davies1962", "emerson1975", "rakocy2007", "fao589", "chemistry"),
    )  # fmt: skip


def _families(f: Facts, ask: Request) -> tuple[list[tuple[str, ...]], list[NotUsed]]:
    """Return the bases by family in the order of their turns, and what is left out with the reason."""
    left_out: list[NotUsed] = []
    allowed: dict[str, tuple[str, ...]] = {}
    for element, codes in (("k", POTASSIUM_BASES), ("ca", CALCIUM_BASES), ("na", SODIUM_BASES)):
        kept = []
        for code in codes:
            why = _why_not(f, ask, element, code)
            if why:
                left_out.append(NotUsed(code, why))
            else:
                kept.append(code)
        allowed[element] = tuple(kept)
    first, second = ("ca", "k") if _lacking(f, "ca") > _lacking(f, "k") else ("k", "ca")
    return [allowed[first], allowed[second], allowed["na"]], left_out


def _lacking(f: Facts, element: str) -> float:
    """Return by which share an element is short of its band's beginning, 0 where it is not."""
    value, low = f.v(element), f.band(element).t_lo
    return max(0.0, 1 - value / low) if value is not None and low else 0.0


def _why_not(f: Facts, ask: Request, element: str, code: str) -> Text | None:
    if code not in ask.at_hand:
        return _("None is at hand.")
    value, high = f.v(element), f.band(element).t_hi
    if element == "na":
        if value is None:
            return _(
                "Sodium was not measured, and it may not pass {limit} mg/L.",
                limit=guards.SODIUM_CAP,
            )
        if value >= guards.SODIUM_CAP:
            return _(
                "Sodium stands at {value} mg/L; {limit} is the most.",
                value=value,
                limit=guards.SODIUM_CAP,
            )
    elif value is not None and high is not None and value > high:
        return _(
            "The water holds {value} mg/L of its metal already; {limit} is enough.",
            value=value,
            limit=high,
        )
    return None


def _others(families: list[tuple[str, ...]], used: set[str]) -> list[NotUsed]:
    return [
        NotUsed(code, _("Another that is milder, or that the plants want more, serves first."))
        for family in families for code in family if code not in used
    ]  # fmt: skip


def _walk(
    f: Facts, ask: Request, rooms: Rooms, families: list[tuple[str, ...]], at: _Walk
) -> list[Step]:
    steps: list[Step] = []
    blind = at.alk < guards.KIT_BLIND_ALK
    for turn, day in enumerate(range(0, HORIZON_DAYS + 1, ask.every_days)):
        if _reached(ask, at) or (blind and steps):
            break
        both = [families[turn % 2], families[1 - turn % 2], families[2]]
        for code in (code for family in both for code in family):
            step = _step(f, ask, rooms, PRODUCTS[code], day, at)
            if step:
                steps.append(step)
                break
    return steps


def _reached(ask: Request, at: _Walk) -> bool:
    target = ask.target or 0.0
    if ask.goal == PH:
        return target - at.ph < SMALLEST_PH_RISE
    return target - at.alk <= guards.LEAST_DOSE_ALK


def _step(
    f: Facts, ask: Request, rooms: Rooms, product: Product, day: int, at: _Walk
) -> Step | None:
    target = ask.target or 0.0
    most_rise = guards.MOST_PH_RISE
    if ask.goal == PH:
        most_rise = min(most_rise, target - at.ph)
        dose = carbonate.base_for_ph_held(at.alk, at.ph, at.temp, target, product.code)
        wanted = dose * product.strength
    else:
        wanted = target - at.alk
    wanted = min(wanted, rooms.most_mg_l(product, day) * product.strength)
    alk = guards.base_step_alk(f, at.alk, at.ph, product.code, wanted, most_rise)
    exact = alk / product.strength * f.loop.volume_l / 1000
    grams = weighed(exact, ask.scale_g)
    mg_l = grams * 1000 / f.loop.volume_l
    if mg_l * product.strength < guards.LEAST_DOSE_ALK:
        return None
    before = {"alk": at.alk, "ph": at.ph}
    minutes = carbonate.ph_after_base_closed(at.alk, at.ph, at.temp, product.code, mg_l)
    hours = carbonate.ph_after_base_held(at.alk, at.ph, at.temp, product.code, mg_l)
    at.alk, at.ph = at.alk + mg_l * product.strength, hours
    brings = rooms.take(product, mg_l, day)
    return Step(
        day, 24.0 * day, product.code, exact, grams, bucket_litres(product, grams),
        "client" if product.mild and ask.by_client else "technician", before,
        {"alk": at.alk, "ph": at.ph}, minutes, hours, brings, rooms.totals(day),
    )  # fmt: skip


def _blocked(f: Facts, ask: Request) -> Refusal:
    """Return what keeps even a first step from being: the scale, or what it would do to the fish."""
    if f.loop.volume_l * guards.LEAST_DOSE_ALK / 1000 < 2 * ask.scale_g:
        return Refusal("scale_g", _(
            "A scale that shows {value} g is too coarse for {litres} L. Take one that shows 0.1 g "
            "or 0.01 g.", value=ask.scale_g, litres=float(f.loop.volume_l),
        ))  # fmt: skip
    return Refusal("ph", _(
        "At pH {value} even a small step would move the water too far for these fish or make its "
        "ammonia toxic. Bring ammonia down and air the water, then measure again.",
        value=f.fresh("ph") or 0.0,
    ))  # fmt: skip


def _notes(f: Facts, ask: Request, at: _Walk, alk: float, wait: Text | None) -> list[Text]:
    notes = [
        _("What the filter uses up meanwhile is not in the predictions: what you measure decides.")
    ]
    if wait:
        notes.append(wait)
    if alk < guards.KIT_BLIND_ALK:
        notes.append(_(
            "Below {limit} mg/L the kit may be wrong by all of its reading: one small step only. "
            "Measure after an hour, then make a new plan.", limit=guards.KIT_BLIND_ALK,
        ))  # fmt: skip
    elif not _reached(ask, at):
        notes.append(_(
            "The target is not reached within {days} days under the limits. Measure then and make "
            "a new plan.", days=HORIZON_DAYS,
        ))  # fmt: skip
    if any(PRODUCTS[code].kind == STRONG_BASE for code in ask.at_hand & set(BASES)):
        notes.append(
            _("A hydroxide is a dose for the pH, not a nutrient: a technician alone gives it.")
        )
    if ask.goal == PH and f.below("tan", 0.5) and alk >= (f.band("alk").t_lo or 60.0):
        notes.append(_(
            "Alkalinity is good though the pH is low: carbon dioxide is held. More air raises the "
            "pH without any base."
        ))  # fmt: skip
    return notes
