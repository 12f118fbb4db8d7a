"""Calculators of air, flow through the loop, settlers and light."""

from apps.calc import aeration, carbonate, feed, hydraulics, light, loop_flow
from apps.calc.calculators.fields import choice, number, refuse
from apps.calc.calculators.model import Calculator, Inputs, Outcome
from apps.calc.wording import text as _

_LEAST_SHARE = 0.05  # of what air does in clean water; below it no pump is large enough


def _air(inputs: Inputs) -> Outcome:
    share = aeration.share_here(
        *(inputs.number(name) for name in ("temp_c", "do_mg_l", "altitude_m", "alpha", "beta"))
    )
    clean = aeration.clean_water_g_h(inputs.number("air_l_min"), inputs.number("transfer_percent"))
    # what it brings here stands first, what it comes from below
    result: dict[str, object] = {"here_g_h": clean * share, "clean_g_h": clean, "here_share": share}
    need = inputs.maybe("oxygen_g_day")
    if share <= 0:
        caution = _("This water holds as much oxygen as air gives, or more: air takes it out.")
        return Outcome(result, cautions=(caution,))
    if need is not None:
        if share < _LEAST_SHARE:
            message = _("{field} is too near saturation to size air by it", field="do_mg_l")
            raise refuse("do_mg_l", inputs.number("do_mg_l"), message)
        wanted = inputs.number("air_l_min") * need / 24 / (clean * share)
        result = {"air_l_min": wanted} | result
    short = need is not None and need / 24 > clean * share
    cautions = (_("Less than is used: more air, or less feed."),) if short else ()
    return Outcome(result, cautions=cautions)


def _loop_flow(inputs: Inputs) -> Outcome:
    fed = inputs.number("feed_g_day")
    tan_drop = inputs.number("tan_limit_mg_l") * inputs.number("filter_share")
    result: dict[str, object] = {
        "for_ammonia_l_h": loop_flow.needed_l_h(
            feed.tan_g_day(fed, inputs.number("protein_fraction")), tan_drop
        )
    }
    inlet, outlet = inputs.maybe("do_in_mg_l"), inputs.number("do_mg_l")
    if inlet is not None:
        if inlet <= outlet:
            message = _(
                "{field} must be above {other} ({value})",
                field="do_in_mg_l", other="do_mg_l", value=outlet,
            )  # fmt: skip
            raise refuse("do_in_mg_l", inlet, message)
        by_oxygen = loop_flow.needed_l_h(feed.fish_oxygen_g_day(fed), inlet - outlet)
        result["for_oxygen_l_h"] = by_oxygen
    above_air = inputs.number("co2_limit_mg_l") - carbonate.air_co2_mg_l(inputs.number("temp_c"))
    stripped = inputs.number("strip_share") * above_air
    result["for_co2_l_h"] = loop_flow.needed_l_h(feed.fish_co2_g_day(fed), stripped)
    flows = [value for value in result.values() if isinstance(value, float)]
    # what to take stands first, what it comes from below
    return Outcome({"flow_l_h": max(flows)} | result)


def _settler(inputs: Inputs) -> Outcome:
    area = hydraulics.settler_m2(inputs.number("flow_l_h"), inputs.number("surface_load_m_day"))
    return Outcome({"surface_m2": area, "across_m": hydraulics.circle_m(area)})


def _light(inputs: Inputs) -> Outcome:
    found = light.day_sum_mol_m2(inputs.number("ppfd_umol_m2_s"), inputs.number("hours"))
    verdict = light.light_verdict(found, inputs.text("crop_group"))
    return Outcome({"light_mol_m2_day": found, "verdict": verdict})


CALCULATORS: tuple[Calculator, ...] = (
    Calculator(
        name="air",
        title=_("Air for the water"),
        fields=(
            number("air_l_min"),
            number("transfer_percent", default=2.0),
            number("temp_c", low=0, high=40),
            number("do_mg_l", text=_("Oxygen to be held in the water")),
            number("altitude_m", default=0.0),
            number("alpha", default=1.0),
            number("beta", default=1.0),
            number("oxygen_g_day", of="load_g_day", required=False, text=_("Oxygen used in a day")),
        ),
        compute=_air,
        formula=_(
            "in clean water = air x 0.2786 g/L x share; here = that x alpha 1.024^(t-20) (beta C - DO) / 9.092"
        ),
        sources=("asce2006", "benson1984", "practice"),
        valid_range=_("0 to 40 °C; air from stones or hoses, not from a fall of water"),
        assumptions=(
            _("2 to 3 % dissolves from fine stones, 0.5 to 1 % for each 0.3 m from coarse ones"),
            _("the air that arrives at that depth, not what the pump's plate promises"),
            _("alpha and beta 1 are clean water; water with much feed takes less"),
        ),
        cautions=(
            _("Size air by the worst hour: after a meal fish use more than the day's mean."),
        ),
    ),
    Calculator(
        name="loop_flow",
        title=_("Flow through the loop"),
        fields=(
            number("feed_g_day"),
            number("protein_fraction"),
            number("temp_c", low=0),
            number(
                "tan_limit_mg_l",
                of="tan_mg_l",
                low=0.1,
                default=1.0,
                text=_("Total ammonia to be held"),
            ),
            number(
                "filter_share",
                of="removal_share",
                default=0.5,
                text=_("Share of the ammonia that the filter takes at each pass"),
            ),
            number(
                "co2_limit_mg_l",
                of="co2_mg_l",
                low=2,
                high=100,
                default=15.0,
                text=_("Carbon dioxide to be held"),
            ),
            number(
                "strip_share",
                of="removal_share",
                default=0.6,
                text=_("Share of the carbon dioxide above air's that leaves at each pass"),
            ),
            number("do_mg_l", default=5.0, text=_("Oxygen of the water that leaves the tank")),
            number(
                "do_in_mg_l",
                of="do_mg_l",
                required=False,
                text=_("Oxygen of the water that enters; empty where the tank has its own air"),
            ),
        ),
        compute=_loop_flow,
        formula=_(
            "flow = 1000 P / (24 dC); P: 0.092 x protein, 0.45 oxygen, 0.619 carbon dioxide per g of feed; "
            "the largest counts"
        ),
        sources=("timmons", "plummer1982", "chemistry"),
        valid_range=_("a steady day; feed and filter as they usually are"),
        assumptions=(
            _("all ammonia goes to the filter, none to plants or with drained water"),
            _("fish breathe out as much carbon dioxide as they breathe in oxygen"),
        ),
    ),
    Calculator(
        name="settler",
        title=_("Settler"),
        fields=(number("flow_l_h"), number("surface_load_m_day", default=100.0)),
        compute=_settler,
        formula=_("surface = flow / surface load; across = 2 sqrt(surface / pi)"),
        sources=("davidson2005", "practice"),
        valid_range=_("settlers without media, the flow even over their surface"),
        assumptions=(
            _(
                "100 to 200 m³/m²/day for the whole flow; a radial settler on a tank's drain took 268"
            ),
        ),
    ),
    Calculator(
        name="light",
        title=_("Light of a day"),
        fields=(
            number("ppfd_umol_m2_s"),
            number("hours"),
            choice("crop_group", tuple(light.WANTED), _("Crops")),
        ),
        compute=_light,
        formula=_("mol/m2/day = PPFD x hours x 0.0036; leafy 12 to 17, fruiting 20 to 30"),
        sources=("faust2018", "practice"),
        valid_range=_("lamps that shine evenly, measured at the leaves"),
    ),
)
