"""Acid for the barrel in which source water stands, before it goes anywhere."""

from apps.calc import units
from apps.calc.advice.facts import Facts
from apps.calc.dosing_plan.acids import (
    ACIDS,
    acid_mg_l,
    density_g_ml,
    ph_after_acid,
    ph_aired,
    solution_g,
)
from apps.calc.dosing_plan.products import PRODUCTS
from apps.calc.dosing_plan.results import SOURCE, NotUsed, Plan, Refusal, Request, Step
from apps.calc.dosing_plan.weighing import bucket_litres, weighed
from apps.calc.quantities import PARAMETERS
from apps.calc.wording import Text
from apps.calc.wording import text as _

LEAST_LEFT = 20.0  # mg/L CaCO3: below it the pH has nothing to hold on to
STEP_HCL = 40.0  # mg/L CaCO3 a step, measured in between (common practice)
PHOSPHORIC_MOST = 15.0  # mg/L CaCO3 a step, and one step a barrel: it brings phosphorus
OLDEST_DAYS = 90.0  # of the source water's measurement (common practice)
_HOURS_APART = 1.0
_USUAL_TEMP = 20.0
_PHOSPHORUS = 30.974


def source_plan(f: Facts, ask: Request) -> Plan | Refusal:
    """Return steps of acid for a barrel of source water, down to an alkalinity [mg/L CaCO3].

    A technician's work, an hour apart, the alkalinity measured in between; the barrel is aired
    for a day before its water is used. Phosphoric acid takes 15 mg/L at most, since it brings
    phosphorus. Nitric acid is not used. References: plummer1982, davies1962, crc, practice.
    """
    why = _refused(f, ask)
    if why:
        return why
    source = f.s.source
    if source is None or ask.target is None or ask.barrel_l is None or ask.acid_pct is None:
        message = "source, target, barrel_l and acid_pct must be known"
        raise ValueError(message)
    temp = _USUAL_TEMP if source.temp_c is None else source.temp_c
    steps = _steps(ask, source.alkalinity, source.ph, temp)
    if not steps:
        return Refusal("scale_g", _(
            "A scale that shows {value} g is too coarse for {litres} L. Take one that shows 0.1 g "
            "or 0.01 g.", value=ask.scale_g, litres=float(ask.barrel_l),
        ))  # fmt: skip
    reached = steps[-1].after["source_alk"]
    other = "H3PO4" if ask.acid == "HCl" else "HCl"
    left_out = (
        NotUsed(other, _("The other acid was chosen; never mix two acids.")),
        NotUsed("HNO3", _("Nitric acid stays off: it feeds fires and burns worst of all.")),
    )
    return Plan(
        SOURCE, ask.target, source.alkalinity, reached, ask.barrel_l, tuple(steps), left_out,
        tuple(_notes(ask, steps, reached, source.temp_c is None)),
        ("plummer1982", "davies1962", "crc", "practice"),
    )  # fmt: skip


def _refused(f: Facts, ask: Request) -> Refusal | None:
    source = f.s.source
    if source is None:
        return Refusal("source_alk", _(
            "The source water of this place is not on record. Measure its pH and alkalinity and "
            "write them here."
        ))  # fmt: skip
    if ask.source_age_days > OLDEST_DAYS:
        return Refusal("source_alk", _(
            "The source water was measured {age} days ago; this plan asks for {limit} days at "
            "most. Measure again and write it here.",
            age=round(ask.source_age_days), limit=OLDEST_DAYS,
        ))  # fmt: skip
    if ask.acid not in ask.at_hand:
        return Refusal(
            "at_hand", _("The chosen acid is not at hand. Tick it, or choose the other one.")
        )
    return _no_target(ask, source.alkalinity) or _no_stock(ask)


def _no_target(ask: Request, alkalinity: float) -> Refusal | None:
    if ask.target is None or ask.target < LEAST_LEFT:
        return Refusal("target", _(
            "At least {limit} mg/L of alkalinity has to stay, or the pH falls without a hold. "
            "Write {limit} or more.", limit=LEAST_LEFT,
        ))  # fmt: skip
    if ask.target >= alkalinity:
        return Refusal("target", _(
            "The source water has {now} mg/L and the target is {value}: no acid is needed.",
            now=alkalinity, value=ask.target,
        ))  # fmt: skip
    return None


def _no_stock(ask: Request) -> Refusal | None:
    most = ACIDS[ask.acid].densities[-1][0]
    if ask.acid_pct is None or not 1 <= ask.acid_pct <= most:
        return Refusal("acid_pct", _(
            "The strength of the acid decides the dose: write the percent on its label, 1 to "
            "{limit}.", limit=most,
        ))  # fmt: skip
    if ask.barrel_l is None or not 1 <= ask.barrel_l <= PARAMETERS["volume_l"].high:
        return Refusal("barrel_l", _("Write how many litres of source water the barrel holds."))
    return None


def _steps(ask: Request, alkalinity: float, ph: float, temp: float) -> list[Step]:
    assert ask.target is not None and ask.barrel_l is not None and ask.acid_pct is not None  # noqa: S101,PT018
    product, phosphoric = PRODUCTS[ask.acid], ACIDS[ask.acid].phosphate
    at, at_ph, pure = alkalinity, ph, 0.0
    steps: list[Step] = []
    while at - ask.target > 0.5 and not (phosphoric and steps):
        part = min(at - ask.target, PHOSPHORIC_MOST if phosphoric else STEP_HCL)
        exact = solution_g(ask.acid, ask.acid_pct, acid_mg_l(ask.acid, part), ask.barrel_l)
        grams = weighed(exact, ask.scale_g)
        given = grams * ask.acid_pct / 100 * 1000 / ask.barrel_l
        removed = given / ACIDS[ask.acid].molar_g * units.MG_CACO3_PER_MEQ
        if removed < 0.25:
            break
        pure += given
        minutes = ph_after_acid(alkalinity, ph, temp, ask.acid, pure)
        hours = ph_aired(alkalinity, temp, ask.acid, pure)
        brings = {"p": given * _PHOSPHORUS / ACIDS[ask.acid].molar_g} if phosphoric else {}
        steps.append(Step(
            0, _HOURS_APART * len(steps), ask.acid, exact, grams, bucket_litres(product, grams),
            "technician", {"source_alk": at, "ph": at_ph}, {"source_alk": at - removed, "ph": minutes},
            minutes, hours, brings, brings, ml=grams / density_g_ml(ask.acid, ask.acid_pct),
        ))  # fmt: skip
        at, at_ph = at - removed, minutes
    return steps


def _notes(ask: Request, steps: list[Step], reached: float, assumed: bool) -> list[Text]:
    notes = [
        _("Fill the barrel first. Measure alkalinity and pH before each step; stop when the alkalinity is there."),
        _("Air the barrel for 24 hours and measure again before any of it is used; where the tap water holds chlorine, take that out too."),
    ]  # fmt: skip
    if steps[-1].brings:
        notes.append(_(
            "Brings {value} mg/L of phosphorus into this water.", value=round(steps[-1].brings["p"], 1)
        ))  # fmt: skip
    if ask.target is not None and reached - ask.target > 0.5:
        notes.append(_(
            "{left} mg/L of alkalinity stay above the target: phosphoric acid takes {limit} mg/L at "
            "most. Blend with rain water for the rest.",
            left=round(reached - ask.target), limit=PHOSPHORIC_MOST,
        ))  # fmt: skip
    if assumed:
        notes.append(
            _(
                "The temperature of the source water is not known; {value} °C is counted.",
                value=_USUAL_TEMP,
            )
        )
    return notes
