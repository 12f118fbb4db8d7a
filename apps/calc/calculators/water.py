"""Calculators of water changes and treatments."""

from apps.calc import calcite, units, water
from apps.calc.calculators.fields import choice, number, refuse
from apps.calc.calculators.model import Calculator, Inputs, Outcome
from apps.calc.wording import text as _

SODIUM_LIMIT_MG_L = 50.0
_DEFAULT_SCALE = 640


def _water_change(inputs: Inputs) -> Outcome:
    now, target, source = (inputs.number(f"{name}_mg_l") for name in ("now", "target", "source"))
    if now > target and source >= target:
        message = _(
            "{field} must be below {other} ({value})",
            field="source_mg_l",
            other="target_mg_l",
            value=target,
        )
        raise refuse("source_mg_l", source, message)
    share = water.change_fraction(now, target, source)
    cautions = (_("Never more than 30 % at once: split it."),) if share > 0.3 else ()
    return Outcome(
        {"fraction": share, "litres": share * inputs.number("volume_l")}, cautions=cautions
    )


def _dechlorinate(inputs: Inputs) -> Outcome:
    dose = water.dechlorinator_g(
        inputs.number("litres"), inputs.number("total_chlorine_mg_l"), inputs.text("agent")
    )
    return Outcome({"dose_g": dose})


def _nitrite_chloride(inputs: Inputs) -> Outcome:
    volume, salt = inputs.number("volume_l"), inputs.text("salt")
    dose = water.nitrite_chloride_g(
        volume,
        inputs.number("no2_n_mg_l"),
        inputs.number("chloride_mg_l"),
        salt,
        inputs.number("ratio"),
    )
    sodium = water.sodium_added_mg_l(volume, dose, salt)
    cautions = [_("Chloride gives black bass and sunfish no such help.")]
    if sodium > SODIUM_LIMIT_MG_L:
        cautions.append(
            _("Sodium would pass 50 mg/L: give the rest as calcium or potassium chloride.")
        )
    return Outcome({"dose_g": dose, "sodium_added_mg_l": sodium}, cautions=tuple(cautions))


def _conductivity(inputs: Inputs) -> Outcome:
    value, unit = inputs.number("value"), inputs.text("unit")
    if unit == "ppm" and not inputs.given("scale"):
        raise refuse(
            "scale", None, _("{field} is required with ppm: 500, 640 or 700", field="scale")
        )
    scale = int(inputs.text("scale")) if inputs.given("scale") else _DEFAULT_SCALE
    factor = {"uS/cm": 1.0, "mS/cm": 1000.0, "ppm": units.ec_from_tds(1.0, scale)}[unit]
    temp_c = inputs.maybe("temp_c")
    ec25 = value * factor if temp_c is None else units.ec_at_25(value * factor, temp_c)
    assumptions = []
    if not inputs.given("scale"):
        assumptions.append(_("dissolved solids on the scale of 640 ppm per mS/cm"))
    if temp_c is None:
        assumptions.append(_("the meter refers to 25 °C by itself"))
    return Outcome(
        {"ec25_us_cm": ec25, "tds_ppm": units.tds_from_ec(ec25, scale)},
        assumptions=tuple(assumptions),
    )


def _element(inputs: Inputs) -> Outcome:
    value, basis = inputs.number("value"), inputs.text("basis")
    element = units.as_element(value, basis)
    return Outcome({"as_element": element, "as_compound": value / units.as_element(1.0, basis)})


def _scale(inputs: Inputs) -> Outcome:
    names = ("alkalinity_mg_l_caco3", "ph", "temp_c", "calcium_mg_l")
    found = calcite.saturation_index(*(inputs.number(name) for name in names))
    likely = found > calcite.SCALES_ABOVE
    cautions = (_("Scale is likely on heaters, pipes and air stones."),) if likely else ()
    return Outcome({"calcite_index": found}, cautions=cautions)


CALCULATORS: tuple[Calculator, ...] = (
    Calculator(
        name="water_change",
        title=_("Water change"),
        fields=(
            number("volume_l"),
            number("now_mg_l", of="concentration_mg_l", text=_("In the system now")),
            number("target_mg_l", of="concentration_mg_l", text=_("Wanted")),
            number("source_mg_l", of="concentration_mg_l", text=_("In the new water")),
        ),
        compute=_water_change,
        formula=_("fraction = (now - target) / (now - source)"),
        sources=("chemistry",),
        valid_range=_("target above source; 0 where now is already at or below the target"),
        assumptions=(_("one change, the water mixed afterwards"),),
    ),
    Calculator(
        name="dechlorinate",
        title=_("Remove chlorine from tap water"),
        fields=(
            number("litres"),
            number("total_chlorine_mg_l"),
            choice("agent", tuple(water.DECHLORINATORS), _("Agent")),
        ),
        compute=_dechlorinate,
        formula=_(
            "dose = litres x chlorine / 1000 x factor x 1.1; 7.00, 2.484 or 2.794 g per g of chlorine"
        ),
        sources=("chemistry", "practice"),
        valid_range=_("0 to 10 mg/L total chlorine"),
        assumptions=(
            _("sodium thiosulfate as pentahydrate"),
            _("a tenth more than the chemistry needs"),
        ),
        cautions=(
            _(
                "Chloramine leaves about 0.2 mg/L ammonia nitrogen per mg/L: test ammonia afterwards."
            ),
        ),
    ),
    Calculator(
        name="nitrite_chloride",
        title=_("Chloride against nitrite"),
        fields=(
            number("volume_l"),
            number("no2_n_mg_l"),
            number("chloride_mg_l"),
            choice("salt", tuple(water.CHLORIDE_SALTS), _("Pure salt")),
            number("ratio", default=10.0),
        ),
        compute=_nitrite_chloride,
        formula=_(
            "chloride wanted = ratio x nitrite ion (3.2844 x nitrite-N); dose = what is missing, as salt"
        ),
        sources=("srac462", "tomasso1986", "chemistry"),
        valid_range=_("nitrite 0 to 30 mg/L N, ratio 1 to 50"),
        assumptions=(_("the ratio counts the nitrite ion, by weight"),),
    ),
    Calculator(
        name="conductivity",
        title=_("Conductivity and dissolved solids"),
        fields=(
            number("value", of="concentration_mg_l", text=_("What the meter shows")),
            choice("unit", ("uS/cm", "mS/cm", "ppm"), _("Unit on the meter")),
            choice(
                "scale",
                ("500", "640", "700"),
                _("ppm per mS/cm, printed on the meter"),
                required=False,
            ),
            number(
                "temp_c",
                low=0,
                required=False,
                text=_("Water temperature, for a meter without compensation"),
            ),
        ),
        compute=_conductivity,
        formula=_("EC25 = EC / (1 + 0.0191 (t - 25)); ppm = EC in mS/cm x scale"),
        sources=("apha2510",),
        valid_range=_("0 to 45 °C"),
    ),
    Calculator(
        name="element",
        title=_("Ion or oxide as element"),
        fields=(
            number("value", of="concentration_mg_l", text=_("What the kit or label says")),
            choice("basis", tuple(units.ELEMENT_SHARE), _("Said as")),
        ),
        compute=_element,
        formula=_(
            "NO3 4.427 N, NO2 3.284 N, NH3 1.216 N, NH4 1.288 N, PO4 3.066 P, P2O5 2.291 P, K2O 1.205 K"
        ),
        sources=("chemistry",),
        valid_range=_("mg/L, % or kg alike: the answer has the unit of what was given"),
    ),
    Calculator(
        name="lime_scale",
        title=_("Lime scale"),
        fields=(
            number("alkalinity_mg_l_caco3", low=1),
            number("ph", low=5, high=10),
            number("temp_c", low=0),
            number("calcium_mg_l"),
        ),
        compute=_scale,
        formula=_(
            "index = log10 of calcium x carbonate by their activities, less log K of calcite"
        ),
        sources=("plummer1982", "davies1962", "practice"),
        valid_range=_("pH 6 to 8.5, alkalinity to 150 mg/L CaCO3; approximate beyond"),
        assumptions=(
            _("ionic strength of a soft fresh water with that alkalinity"),
            _("above 0 lime may settle, above 0.3 scale is likely, below 0 lime dissolves"),
        ),
    ),
)
