"""Calculators of fish, feed and filter."""

from apps.calc import feed, filtration, growth
from apps.calc.calculators.fields import (
    INTEGER,
    LIST,
    ROWS,
    Field,
    choice,
    number,
    refuse,
)
from apps.calc.calculators.model import Calculator, Inputs, Outcome
from apps.calc.species import species_named, species_table
from apps.calc.wording import text as _

_SPECIES = tuple(species_table())
_LEAST_AREA = 0.001


def _feed(inputs: Inputs) -> Outcome:
    code, temp_c = inputs.text("species"), inputs.number("temp_c")
    weight = inputs.number("mean_weight_g")
    percent = feed.ration_percent(code, weight, temp_c)
    kind = species_named(code)
    cautions = [_("The feed maker's table goes before this one; no feed while oxygen is low.")]
    if not kind.feed_min_c <= temp_c <= kind.feed_max_c:
        cautions.append(_("Outside the temperatures at which this fish is fed: no feed."))
    ration = inputs.number("count") * weight * percent / 100
    return Outcome(
        {"ration_g_day": ration, "percent_body_weight": percent}, cautions=tuple(cautions)
    )


def _biomass(inputs: Inputs) -> Outcome:
    weights, count = inputs.numbers("weights_g"), inputs.whole("count")
    if len(weights) < 2:
        raise refuse(
            "weights_g", len(weights), _("{field} must hold at least 2 weights", field="weights_g")
        )
    if count < len(weights):
        message = _(
            "{field} must not be below the {value} fish weighed", field="count", value=len(weights)
        )
        raise refuse("count", count, message)
    found = growth.biomass(weights, count)
    return Outcome({"kg": found.kg, "kg_low": found.kg_low, "kg_high": found.kg_high})


def _growth(inputs: Inputs) -> Outcome:
    weight, temp_c = inputs.number("weight_g"), inputs.number("temp_c")
    days, given = inputs.number("days"), inputs.maybe("tgc")
    if inputs.given("species") == (given is not None):
        raise refuse(
            "tgc", given, _("give either {field} or {other}", field="species", other="tgc")
        )
    if given is not None:
        return Outcome({"weight_g": growth.weight_after_g(weight, temp_c, days, given)})
    kind = species_named(inputs.text("species"))
    if not kind.feed_min_c <= temp_c <= kind.feed_max_c:
        caution = _("Outside the temperatures at which this fish feeds: no growth counted.")
        return Outcome({"weight_g": weight}, cautions=(caution,))
    after = growth.weight_after_g(weight, temp_c, days, kind.tgc)
    note = _("growth coefficient of the species from its usual months to market weight")
    return Outcome({"weight_g": after}, assumptions=(note,))


def _growth_rates(inputs: Inputs) -> Outcome:
    weight, later = inputs.number("weight_g"), inputs.number("later_weight_g")
    days, temp_c = inputs.number("days"), inputs.maybe("temp_c")
    result: dict[str, object] = {"sgr_percent_day": growth.sgr_percent_day(weight, later, days)}
    if temp_c is not None:
        result["tgc"] = growth.tgc(weight, later, temp_c, days)
    fed, count = inputs.maybe("feed_kg"), inputs.maybe("count")
    if (fed is None) != (count is None):
        missing, given = ("count", "feed_kg") if count is None else ("feed_kg", "count")
        message = _("{field} is required with {other}", field=missing, other=given)
        raise refuse(missing, None, message)
    if fed is not None and count is not None:
        if later <= weight:
            message = _(
                "{field} must be above {other} ({value})",
                field="later_weight_g", other="weight_g", value=weight,
            )  # fmt: skip
            raise refuse("later_weight_g", later, message)
        result["feed_conversion"] = growth.feed_conversion(fed, count * (later - weight) / 1000)
    cautions = (_("The fish lost weight: look for why."),) if later < weight else ()
    return Outcome(result, cautions=cautions)


def _sample_size(inputs: Inputs) -> Outcome:
    found = growth.sample_size(
        inputs.whole("count"), inputs.number("cv_percent"), inputs.number("within_percent")
    )
    return Outcome({"to_weigh": found})


def _tan_load(inputs: Inputs) -> Outcome:
    made = feed.tan_g_day(inputs.number("feed_g_day"), inputs.number("protein_fraction"))
    return Outcome({"tan_g_day": made})


def _filter(inputs: Inputs) -> Outcome:
    area = inputs.maybe("media_m2")
    if inputs.given("media") == (area is not None):
        raise refuse(
            "media", None, _("give either {field} or {other}", field="media", other="media_m2")
        )
    if area is None:
        rows = inputs.rows("media")
        area = sum(filtration.media_area_m2(row.text("kind"), row.number("litres")) for row in rows)
    temp_c = inputs.number("temp_c")
    capacity = filtration.capacity_g_day(area, temp_c)
    factor = filtration.temperature_factor(temp_c)
    share = inputs.number("tan_g_day") / capacity
    cautions = []
    if share > 0.5:
        cautions.append(_("Above half of the capacity: less feed or more media."))
    if temp_c > 34:
        cautions.append(_("Above 34 °C the bacteria suffer."))
    return Outcome(
        {"capacity_g_day": capacity, "share": share},
        assumptions=(
            _("media surface {area} m²", area=area),
            _("temperature factor {factor}", factor=round(factor, 4)),
        ),
        cautions=tuple(cautions),
    )


def _feed_area(inputs: Inputs) -> Outcome:
    per_area = feed.per_area_g_m2_day(inputs.number("feed_g_day"), inputs.number("area_m2"))
    verdict = feed.area_verdict(per_area, inputs.text("crop_group"))
    return Outcome({"g_m2_day": per_area, "verdict": verdict})


CALCULATORS: tuple[Calculator, ...] = (
    Calculator(
        name="feed",
        title=_("Ration"),
        fields=(
            choice("species", _SPECIES, _("Fish")),
            number("count", kind=INTEGER),
            number("mean_weight_g", of="weight_g"),
            number("temp_c"),
        ),
        compute=_feed,
        formula=_(
            "ration = count x weight x percent / 100; percent = table by weight x factor of temperature"
        ),
        sources=("srac282", "fao589", "practice"),
        valid_range=_("0.01 to 30 000 g; 0 outside the feeding temperatures"),
        assumptions=(_("the gentler of the published tables"),),
    ),
    Calculator(
        name="biomass",
        title=_("Biomass from a sample"),
        fields=(
            Field(
                "weights_g",
                LIST,
                unit="g",
                low=0.01,
                high=30_000,
                help=_("Weights of the fish sampled"),
            ),
            number("count", kind=INTEGER),
        ),
        compute=_biomass,
        formula=_(
            "kg = N mean / 1000; half width = N t(0.975, n-1) s / sqrt(n) sqrt(1 - n/N) / 1000"
        ),
        sources=("student1908",),
        valid_range=_("2 to 1000 weights, not more than the fish there are"),
        assumptions=(_("the sample is caught without choosing"),),
    ),
    Calculator(
        name="growth",
        title=_("Growth by warmth"),
        fields=(
            choice("species", _SPECIES, _("Fish"), required=False),
            number("tgc", required=False),
            number("weight_g"),
            number("temp_c", low=0),
            number("days"),
        ),
        compute=_growth,
        formula=_("W2 = (W1^(1/3) + tgc / 1000 x temperature x days)^3"),
        sources=("iwama1981", "practice"),
        valid_range=_("temperatures at which the fish feeds; not across its optimum"),
        assumptions=(_("fed to the table, the temperature held"),),
    ),
    Calculator(
        name="growth_rates",
        title=_("Growth and feed between two weighings"),
        fields=(
            number("weight_g"),
            number("later_weight_g"),
            number("days", low=1),
            number("temp_c", low=0.1, required=False),
            number("feed_kg", required=False, text=_("Feed given to all of them")),
            number("count", kind=INTEGER, required=False),
        ),
        compute=_growth_rates,
        formula=_(
            "SGR = 100 ln(W2 / W1) / days; TGC = 1000 (W2^(1/3) - W1^(1/3)) / (temperature x days); "
            "FCR = feed / gain"
        ),
        sources=("ricker1975", "iwama1981", "fao589"),
        valid_range=_("the same fish at both weighings, by their mean weights"),
        assumptions=(_("none died between: dead fish ate too"),),
    ),
    Calculator(
        name="sample_size",
        title=_("How many fish to weigh"),
        fields=(
            number("count", kind=INTEGER, low=2),
            number("cv_percent", default=20.0),
            number("within_percent", default=10.0),
        ),
        compute=_sample_size,
        formula=_("the fewest n with t(0.975, n-1) cv / sqrt(n) sqrt(1 - n/N) not above the wish"),
        sources=("student1908",),
        valid_range=_("2 fish or more; the mean 95 of 100 times"),
        assumptions=(_("the sample is caught without choosing"),),
    ),
    Calculator(
        name="tan_load",
        title=_("Ammonia from feed"),
        fields=(number("feed_g_day"), number("protein_fraction")),
        compute=_tan_load,
        formula=_("TAN = feed x protein x 0.092"),
        sources=("timmons",),
        valid_range=_("protein 0.05 to 0.7"),
        assumptions=(
            _("0.16 nitrogen in protein, 0.8 assimilated, 0.8 excreted, 0.9 of it as ammonia"),
        ),
    ),
    Calculator(
        name="filter",
        title=_("Biofilter"),
        fields=(
            number("tan_g_day"),
            number("temp_c", low=0),
            Field(
                "media",
                ROWS,
                required=False,
                help=_("Media in the filter"),
                columns=(
                    choice("kind", tuple(filtration.MEDIA), _("Media")),
                    number("litres", low=_LEAST_AREA),
                ),
            ),
            number(
                "media_m2", of="area_m2", low=_LEAST_AREA, required=False, text=_("Media surface")
            ),
        ),
        compute=_filter,
        formula=(
            _(
                "capacity = surface x 0.5 g TAN/m2/day x factor; factor 1 from 25 °C, 1.05^(t-25) to 20 °C, "
                "1.09 per °C below, at most half at 15 °C and a quarter at 10 °C"
            )
        ),
        sources=("timmons", "fao589", "rusten2006", "practice"),
        valid_range=_("ripe media, oxygen above 2 mg/L in it, alkalinity above 40 mg/L CaCO3"),
    ),
    Calculator(
        name="feed_area",
        title=_("Feed for a bed"),
        fields=(
            number("feed_g_day"),
            number("area_m2", low=_LEAST_AREA),
            choice("crop_group", tuple(feed.FEED_PER_AREA), _("Crops")),
        ),
        compute=_feed_area,
        formula=_("g/m2/day = feed / area; leafy 40 to 50, fruiting 50 to 80"),
        sources=("fao589",),
        valid_range=_("feed of about 32 % protein"),
        assumptions=(_("a rule for sizing, not a balance of nitrogen"),),
    ),
)
