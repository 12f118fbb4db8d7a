"""Calculators of vessels, pumps, weather and seed."""

from collections.abc import Callable

from apps.calc import climate, hydraulics, statistics
from apps.calc.calculators.fields import (
    DATE,
    INTEGER,
    CalculatorError,
    Field,
    FieldError,
    choice,
    number,
    refuse,
)
from apps.calc.calculators.model import Calculator, Inputs, Outcome
from apps.calc.wording import text as _

# Which measures a shape needs, in the order in which its formula takes them; and what it may have.
_SHAPES: dict[str, tuple[tuple[str, ...], Callable[..., float]]] = {
    "box": (("length_m", "width_m", "depth_m"), hydraulics.box_l),
    "upright_cylinder": (("diameter_m", "depth_m"), hydraulics.upright_cylinder_l),
    "horizontal_cylinder": (
        ("diameter_m", "length_m", "depth_m"),
        hydraulics.horizontal_cylinder_l,
    ),
    "cone_bottom": (
        ("diameter_m", "cone_height_m", "cylinder_height_m"),
        hydraulics.cone_bottom_l,
    ),
    "frustum": (("top_diameter_m", "bottom_diameter_m", "depth_m"), hydraulics.frustum_l),
    "gravel_bed": (
        ("length_m", "width_m", "depth_m", "void_fraction"),
        hydraulics.gravel_bed_l,
    ),
}
_MAY_HAVE: dict[str, str] = {"cone_bottom": "depth_m"}


def _volume(inputs: Inputs) -> Outcome:
    shape = inputs.text("shape")
    needs, formula = _SHAPES[shape]
    faults = []
    for name in inputs.values:
        given = inputs.given(name)
        if name in needs and not given:
            faults.append(
                FieldError(
                    f"/{name}",
                    None,
                    _("{field} is required for this shape: {shape}", field=name, shape=shape),
                )
            )
        elif given and name not in (*needs, "shape", _MAY_HAVE.get(shape, "shape")):
            message = _("{field} does not belong to this shape: {shape}", field=name, shape=shape)
            faults.append(FieldError(f"/{name}", inputs.values[name], message))
    if faults:
        raise CalculatorError(*faults)
    measures = [inputs.number(name) for name in needs]
    depth = inputs.maybe("depth_m")
    if shape == "horizontal_cylinder" and measures[2] > measures[0]:
        message = _(
            "{field} must not be above {other} ({value})",
            field="depth_m",
            other="diameter_m",
            value=measures[0],
        )
        raise refuse("depth_m", depth, message)
    if shape == "cone_bottom" and depth is not None:
        if depth > measures[1] + measures[2]:
            message = _(
                "{field} must not be above the whole height ({value})",
                field="depth_m",
                value=measures[1] + measures[2],
            )
            raise refuse("depth_m", depth, message)
        measures.append(depth)
    return Outcome({"litres": formula(*measures)})


def _pump_head(inputs: Inputs) -> Outcome:
    names = ("flow_l_h", "pipe_id_mm", "length_m", "fittings_k", "static_m", "temp_c", "efficiency")
    found = hydraulics.pump_head(*(inputs.number(name) for name in names))
    cautions = (_("Faster than 1.5 m/s: take a wider pipe."),) if found.velocity_m_s > 1.5 else ()
    return Outcome(
        {"head_m": found.head_m, "velocity_m_s": found.velocity_m_s, "watts": found.watts},
        cautions=cautions,
    )


def _evapotranspiration(inputs: Inputs) -> Outcome:
    for low, high in (("tmin_c", "tmax_c"), ("rh_min", "rh_max")):
        least, most = inputs.maybe(low), inputs.maybe(high)
        if least is not None and most is not None and least > most:
            raise refuse(
                low,
                least,
                _("{field} must not be above {other} ({value})", field=low, other=high, value=most),
            )
    if inputs.given("wind_height_m") and not inputs.given("wind_m_s"):
        raise refuse(
            "wind_m_s",
            None,
            _("{field} is required with {other}", field="wind_m_s", other="wind_height_m"),
        )
    height, soil = inputs.maybe("wind_height_m"), inputs.maybe("soil_heat_mj_m2_day")
    weather = climate.Weather(
        day=inputs.day("date"),
        latitude_deg=inputs.number("latitude_deg"),
        altitude_m=inputs.number("altitude_m"),
        tmax_c=inputs.number("tmax_c"),
        tmin_c=inputs.number("tmin_c"),
        rh_max=inputs.maybe("rh_max"),
        rh_min=inputs.maybe("rh_min"),
        ea_kpa=inputs.maybe("ea_kpa"),
        wind_m_s=inputs.maybe("wind_m_s"),
        wind_height_m=2.0 if height is None else height,
        sunshine_h=inputs.maybe("sunshine_h"),
        rs_mj_m2_day=inputs.maybe("rs_mj_m2_day"),
        soil_heat_mj_m2_day=0.0 if soil is None else soil,
    )
    found = climate.reference_et0(weather)
    return Outcome(
        {"et0_mm_day": found.et0_mm_day, "method": found.method}, assumptions=found.assumptions
    )


def _germination(inputs: Inputs) -> Outcome:
    sown, came_up = inputs.whole("sown"), inputs.whole("came_up")
    if came_up > sown:
        raise refuse(
            "came_up",
            came_up,
            _(
                "{field} must not be above {other} ({value})",
                field="came_up",
                other="sown",
                value=sown,
            ),
        )
    found = statistics.wilson(came_up, sown)
    return Outcome({"rate": found.rate, "low": found.low, "high": found.high})


def _measure(name: str, of: str, text: str) -> Field:
    return number(name, of=of, required=False, text=text)


CALCULATORS: tuple[Calculator, ...] = (
    Calculator(
        name="volume",
        title=_("Volume of a vessel"),
        fields=(
            choice("shape", tuple(_SHAPES), _("Shape")),
            _measure("length_m", "length_m", "Length"),
            _measure("width_m", "width_m", "Width"),
            _measure("depth_m", "depth_m", _("Depth of water")),
            _measure("diameter_m", "diameter_m", "Diameter"),
            number(
                "cone_height_m",
                of="depth_m",
                low=0.01,
                required=False,
                text=_("Height of the cone"),
            ),
            _measure("cylinder_height_m", "depth_m", _("Height of the cylinder")),
            _measure("top_diameter_m", "diameter_m", _("Diameter at the water line")),
            _measure("bottom_diameter_m", "diameter_m", _("Diameter at the floor")),
            _measure("void_fraction", "void_fraction", _("Share of voids in the bed")),
        ),
        compute=_volume,
        formula=_(
            "volume of the solid in litres; a gravel bed holds length x width x depth x voids"
        ),
        sources=("geometry",),
        valid_range=_("inner measures, depth of the water"),
    ),
    Calculator(
        name="pump_head",
        title=_("Pump head"),
        fields=(
            number("flow_l_h"),
            number("pipe_id_mm"),
            number("length_m", low=0),
            number("fittings_k"),
            number("static_m"),
            number("temp_c", low=0),
            number("efficiency", default=0.30),
        ),
        compute=_pump_head,
        formula=_(
            "head = static + (f L / D + K) v^2 / 2g; f by Swamee and Jain; watts = rho g Q head / efficiency"
        ),
        sources=("swamee1976",),
        valid_range=_("Reynolds number to 1e8; between 2040 and 4000 approximate"),
        assumptions=(_("PVC pipe, roughness 1.5e-6 m"),),
    ),
    Calculator(
        name="evapotranspiration",
        title=_("Reference evapotranspiration"),
        fields=(
            Field("date", DATE, help=_("Day")),
            number("latitude_deg"),
            number("altitude_m"),
            number("tmax_c"),
            number("tmin_c"),
            number("rh_max", required=False),
            number("rh_min", required=False),
            number("ea_kpa", required=False),
            number("wind_m_s", required=False),
            number("wind_height_m", required=False),
            number("sunshine_h", required=False),
            number("rs_mj_m2_day", required=False),
            number("soil_heat_mj_m2_day", required=False),
        ),
        compute=_evapotranspiration,
        formula=_(
            "Penman-Monteith over short grass; with air temperatures alone 0.0023 (Tm + 17.8) sqrt(TD) Ra"
        ),
        sources=("fao56",),
        valid_range=_("daily values; wind 0.5 to 10 m/s"),
    ),
    Calculator(
        name="germination",
        title=_("Germination"),
        fields=(
            Field("sown", INTEGER, low=1, high=999_999, help=_("Seeds sown")),
            Field("came_up", INTEGER, low=0, high=999_999, help=_("Seedlings that came up")),
        ),
        compute=_germination,
        formula=_("rate = came up / sown, with Wilson's 95 % interval"),
        sources=("wilson1927",),
        valid_range=_("1 to 999 999 seeds"),
    ),
)
