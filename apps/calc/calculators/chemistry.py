"""Calculators of water chemistry: ammonia, oxygen, carbon dioxide, pH."""

from dataclasses import dataclass

from apps.calc import ammonia, carbonate, dosing, oxygen
from apps.calc.calculators.fields import choice, number, refuse
from apps.calc.calculators.model import Calculator, Inputs, Outcome
from apps.calc.wording import text as _

_ALKALINITY = "alkalinity_mg_l_caco3"
STRONG_BASE = _(
    "Burns eyes and skin: goggles and gloves, a trained person only, into the sump, slowly."
)
MANY_STEPS = _("So many days of steps: a bicarbonate does it in fewer.")
HEAVY_DOSE = _("A heavy dose of salt: a change of water or aeration may be the better way.")
MEASURE_TAN = _(
    "Measure total ammonia first: each 0.2 pH raises its toxic share by half; above 1 mg/L feed "
    "stops and steps stay small."
)
FRESH_READINGS = _("Alkalinity and pH must be less than a day old; measure again before each step.")
HIGH_CO2 = _("Above 40 mg/L: check the pH and alkalinity readings, then aerate.")


def _ammonia(inputs: Inputs) -> Outcome:
    ph, temp_c = inputs.number("ph"), inputs.number("temp_c")
    share = ammonia.unionised_fraction(ph, temp_c)
    harmful = ammonia.nh3_n(inputs.number("tan_mg_l"), ph, temp_c)
    cautions = (_("Above 0.05 mg/L gills are harmed."),) if harmful > 0.05 else ()
    result: dict[str, object] = {"nh3_n_mg_l": harmful, "fraction": share}
    if ammonia.in_wild_range(ph, temp_c):
        result["wild_water_tan_mg_l"] = ammonia.wild_water_tan(ph, temp_c)
    return Outcome(result, cautions=cautions)


def _oxygen(inputs: Inputs) -> Outcome:
    place = (inputs.number("temp_c"), inputs.number("altitude_m"), inputs.number("salinity_g_kg"))
    result: dict[str, object] = {"saturation_mg_l": oxygen.saturation_mg_l(*place)}
    measured = inputs.maybe("do_mg_l")
    if measured is not None:
        result["percent"] = oxygen.percent(measured, *place)
    return Outcome(result)


def _co2(inputs: Inputs) -> Outcome:
    found = carbonate.co2_mg_l(
        inputs.number(_ALKALINITY), inputs.number("ph"), inputs.number("temp_c")
    )
    return Outcome({"co2_mg_l": found}, cautions=(HIGH_CO2,) if found > 40 else ())


def _raise_ph(inputs: Inputs) -> Outcome:
    ph, target = inputs.number("ph"), inputs.number("target_ph")
    if target <= ph:
        raise refuse(
            "target_ph",
            target,
            _(
                "{field} must be above {other} ({value}) and at most 8",
                field="target_ph",
                other="ph",
                value=ph,
            ),
        )
    alkalinity, salt = inputs.number(_ALKALINITY), inputs.text("salt")
    grams = inputs.number("volume_l") / 1000
    try:
        plan = dosing.base_plan(alkalinity, ph, inputs.number("temp_c"), target, salt)
    except ValueError as fault:
        raise refuse(
            "target_ph", target, _("{field} is out of reach of this salt", field="target_ph")
        ) from fault
    steps = [
        {
            "after_hours": step.after_hours,
            "dose_g": step.dose_mg_l * grams,
            "ph_minutes": step.ph_minutes,
            "ph_hours": step.ph_hours,
        }
        for step in plan.steps
    ]
    cautions = [FRESH_READINGS, MEASURE_TAN]
    if salt in carbonate.STRONG_SALTS:
        cautions.append(STRONG_BASE)
    if alkalinity < dosing.LOW_ALKALINITY:
        cautions.append(
            _(
                "Below 20 mg/L the kit is nearly all error: measure again an hour after the first step."
            )
        )
    if len(steps) > 14:
        cautions.append(MANY_STEPS)
    if plan.dose_mg_l > 500:
        cautions.append(HEAVY_DOSE)
    if plan.closed_mg_l is None:
        cautions.append(_("In closed water this salt does not reach the target at all."))
    closed = None if plan.closed_mg_l is None else plan.closed_mg_l * grams
    return Outcome(
        {"dose_g": plan.dose_mg_l * grams, "dose_g_after_minutes": closed, "steps": steps},
        cautions=tuple(cautions),
    )


@dataclass(frozen=True)
class MixLimits:
    """What a water change may do to fish at once."""

    ph: float = 0.3
    temp_c: float = 2.0
    nh3_n_mg_l: float = 0.02
    fraction: float = 0.30


MIX_LIMITS = MixLimits()
WHY_PH = _("pH would move by more than 0.3")
WHY_TEMP = _("temperature would move by more than 2 °C")
WHY_NH3 = _("un-ionised ammonia would rise above 0.02 mg/L")
WHY_SIZE = _("more than 30 % at once: split it")


def mix_breaches(
    tank: carbonate.Chemistry, mixed: carbonate.Mixed, nh3_n_mg_l: float, fraction: float
) -> tuple[str, ...]:
    """Return why a water change is refused: nothing where it is safe.

    >>> same = carbonate.Chemistry(7.0, 60, 25, 0.5)
    >>> mix_breaches(same, carbonate.mix(same, same, 0.2), 0.003, 0.2)
    ()
    """
    limits = MIX_LIMITS
    moved = max(abs(mixed.ph_minutes - tank.ph), abs(mixed.ph_hours - tank.ph))
    before = ammonia.nh3_n(tank.tan_mg_l, tank.ph, tank.temp_c)
    checks = (
        (moved > limits.ph, WHY_PH),
        (abs(mixed.temp_c - tank.temp_c) > limits.temp_c, WHY_TEMP),
        (nh3_n_mg_l > max(before, limits.nh3_n_mg_l), WHY_NH3),
        (fraction > limits.fraction, WHY_SIZE),
    )
    return tuple(text for broken, text in checks if broken)


def _mix(inputs: Inputs) -> Outcome:
    volume, litres = inputs.number("volume_l"), inputs.number("litres")
    if litres > volume:
        raise refuse(
            "litres",
            litres,
            _(
                "{field} must not be above {other} ({value})",
                field="litres",
                other="volume_l",
                value=volume,
            ),
        )
    tank, source = (
        carbonate.Chemistry(
            ph=inputs.number(f"{prefix}ph"),
            alkalinity_mg_l_caco3=inputs.number(f"{prefix}alkalinity_mg_l_caco3"),
            temp_c=inputs.number(f"{prefix}temp_c"),
            tan_mg_l=inputs.number(f"{prefix}tan_mg_l"),
        )
        for prefix in ("", "source_")
    )
    mixed = carbonate.mix(tank, source, litres / volume)
    worst = ammonia.nh3_n(mixed.tan_mg_l, max(mixed.ph_minutes, mixed.ph_hours), mixed.temp_c)
    why = mix_breaches(tank, mixed, worst, litres / volume)
    return Outcome(
        {
            "ph_minutes": mixed.ph_minutes,
            "ph_hours": mixed.ph_hours,
            "temp_c": mixed.temp_c,
            "tan_mg_l": mixed.tan_mg_l,
            "nh3_n_mg_l": worst,
            "allowed": not why,
            "why": "; ".join(why),
        }
    )


CALCULATORS: tuple[Calculator, ...] = (
    Calculator(
        name="ammonia",
        title=_("Un-ionised ammonia"),
        fields=(number("tan_mg_l"), number("ph"), number("temp_c", low=0)),
        compute=_ammonia,
        formula=_(
            "pKa = 0.09018 + 2729.92 / T; fraction = 1 / (1 + 10^(pKa - pH)); NH3-N = TAN x fraction"
        ),
        sources=("emerson1975", "fa16", "epa2013"),
        valid_range=_("0 to 45 °C, pH 6 to 10 (3 to 11 accepted), fresh water"),
        assumptions=(
            _("total ammonia is given as nitrogen"),
            _("what wild water may hold for a month counts young mussels; pH 6.5 to 9, to 30 °C"),
        ),
    ),
    Calculator(
        name="oxygen",
        title=_("Oxygen saturation"),
        fields=(
            number("temp_c", low=0, high=40),
            number("altitude_m", default=0.0),
            number("salinity_g_kg", default=0.0),
            number("do_mg_l", required=False),
        ),
        compute=_oxygen,
        formula=_(
            "Benson and Krause's ln C by temperature and salinity, corrected to the pressure at the altitude"
        ),
        sources=("benson1984",),
        valid_range=_("0 to 40 °C, 0 to 40 g/kg, -400 to 4000 m"),
        assumptions=(_("pressure of the standard atmosphere at that altitude"),),
    ),
    Calculator(
        name="co2",
        title=_("Carbon dioxide"),
        fields=(number(_ALKALINITY), number("ph"), number("temp_c", low=0)),
        compute=_co2,
        formula=_(
            "alkalinity = [HCO3] + 2 [CO3] + [OH] - [H] with activities and calcium pairs, solved for CO2"
        ),
        sources=("plummer1982", "davies1962"),
        valid_range=_("pH 6 to 8.5, alkalinity to 150 mg/L CaCO3; approximate beyond"),
        assumptions=(_("ionic strength and calcium of a soft fresh water with that alkalinity"),),
    ),
    Calculator(
        name="raise_ph",
        title=_("Raise pH with a base"),
        fields=(
            number("volume_l"),
            number(_ALKALINITY, low=1),
            number("ph", low=5, high=8),
            number("temp_c", low=0),
            number("target_ph", low=5, high=8),
            choice("salt", tuple(carbonate.SALTS), _("Pure dry salt")),
        ),
        compute=_raise_ph,
        formula=(
            _(
                "dose = alkalinity that holds the same CO2 at the target pH, less the present alkalinity; "
                "after minutes: carbon conserved; a step a day, at most 0.2 pH at once and 0.2 a day"
            )
        ),
        sources=("plummer1982", "davies1962", "practice"),
        valid_range=_(
            "pH 5 to 8, alkalinity 1 to 600 mg/L CaCO3; approximate above pH 7.5 with calcium"
        ),
        assumptions=(
            _("pure dry salt"),
            _("aeration holds the carbon dioxide at its present level"),
        ),
    ),
    Calculator(
        name="mix",
        title=_("Mix two waters"),
        fields=(
            number("volume_l"),
            number("litres"),
            number("ph"),
            number(_ALKALINITY),
            number("temp_c", low=0),
            number("tan_mg_l"),
            number("source_ph", of="ph", text=_("pH of the new water")),
            number(
                "source_alkalinity_mg_l_caco3",
                of=_ALKALINITY,
                text=_("Alkalinity of the new water"),
            ),
            number("source_temp_c", of="temp_c", low=0, text=_("Temperature of the new water")),
            number("source_tan_mg_l", of="tan_mg_l", text=_("Total ammonia of the new water")),
        ),
        compute=_mix,
        formula=_(
            "alkalinity, carbon, heat and ammonia mix by volume; pH solved at once and with the tank's CO2 held"
        ),
        sources=("plummer1982", "davies1962", "emerson1975", "practice"),
        valid_range=_("pH 6 to 8.5; approximate beyond"),
        assumptions=(
            _("litres are taken out and replaced"),
            _("un-ionised ammonia at the higher of the two pH values"),
        ),
        cautions=(_("Chlorine must be gone from the new water."),),
    ),
)
