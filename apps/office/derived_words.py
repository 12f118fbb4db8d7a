"""Worked-out values and doubts in words: name, decimals, formula, assumptions."""

from dataclasses import dataclass

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy


@dataclass(frozen=True)
class Words:
    """What a worked-out value is called, how finely it is shown, how it is worked out."""

    name: Promise
    decimals: int
    formula: Promise


DERIVED: dict[str, Words] = {
    "nh3": Words(
        gettext_lazy("Un-ionised ammonia as N"), 3,
        gettext_lazy("total ammonia × share, share = 1 / (1 + 10^(pKa − pH)), pKa = 0.09018 + 2729.92 / (273.15 + °C)"),
    ),
    "nh3_highest": Words(
        gettext_lazy("Un-ionised ammonia at the day's highest pH"), 3,
        gettext_lazy("as un-ionised ammonia, with the pH of the afternoon"),
    ),
    "do_saturation": Words(
        gettext_lazy("Oxygen that the water can hold"), 1,
        gettext_lazy("saturation at this temperature, corrected for the pressure at this height"),
    ),
    "do_pct": Words(
        gettext_lazy("Oxygen saturation"), 0, gettext_lazy("oxygen measured / saturation × 100")
    ),
    "co2": Words(
        gettext_lazy("Carbon dioxide"), 1,
        gettext_lazy("carbonate equilibrium from alkalinity, pH and temperature, with ion pairs"),
    ),
    "biomass": Words(
        gettext_lazy("Fish, together"), 2,
        gettext_lazy("mean weight of the sample × count; interval by Student's t at 95 %"),
    ),
    "density": Words(gettext_lazy("Fish in the tank"), 1, gettext_lazy("biomass / litres of the tank")),
    "ration": Words(
        gettext_lazy("Feed a day that suits them"), 0,
        gettext_lazy("share of body weight by species, weight and temperature × biomass"),
    ),
    "tan_load": Words(
        gettext_lazy("Ammonia made a day"), 1, gettext_lazy("feed × protein share × 0.092")
    ),
    "alkalinity_use": Words(
        gettext_lazy("Alkalinity used a day, as CaCO3"), 1,
        gettext_lazy("ammonia nitrified × 7.05 g of CaCO3 per g of N"),
    ),
    "oxygen_demand": Words(
        gettext_lazy("Oxygen used a day"), 0, gettext_lazy("feed × grams of oxygen per gram of feed")
    ),
    "filter_capacity": Words(
        gettext_lazy("Ammonia that the filter can take a day"), 1,
        gettext_lazy("area of the media × rate at this temperature"),
    ),
    "filter_share": Words(
        gettext_lazy("Load of the filter"), 0, gettext_lazy("ammonia made / capacity × 100")
    ),
    "feed_area": Words(
        gettext_lazy("Feed to the area of the beds"), 0, gettext_lazy("feed a day / area of the beds")
    ),
    "minutes_without_air": Words(
        gettext_lazy("Minutes that the fish last without air, at least"), 0,
        gettext_lazy("oxygen above the limit × litres / what the fish breathe"),
    ),
    "days_since_visit": Words(
        gettext_lazy("Days since the last visit"), 0, gettext_lazy("counted from its day")
    ),
    "days_since_clean": Words(
        gettext_lazy("Days since filter, bed or settler was cleaned"), 0,
        gettext_lazy("counted from its day"),
    ),
    "cycling_day": Words(
        gettext_lazy("Day of the filter's growth"), 0, gettext_lazy("counted from the start")
    ),
}  # fmt: skip

ASSUMED: dict[str, Promise] = {
    "afternoon_ph": gettext_lazy(
        "the pH rises in the afternoon by what is usual in planted systems"
    ),
    "plants_give_back_part": gettext_lazy("the plants give a part back when they take up nitrate"),
    "surface_ignored": gettext_lazy("nothing comes in through the surface"),
    "others_breathe": gettext_lazy(
        "bacteria and plants breathe as much as is usual beside the fish"
    ),
}
INPUTS: dict[str, Promise] = {
    "altitude_m": gettext_lazy("height above the sea, m"),
    "count": gettext_lazy("fish counted"),
    "biomass": gettext_lazy("fish together, kg"),
    "tank_l": gettext_lazy("tank, L"),
    "volume_l": gettext_lazy("loop, L"),
    "feed": gettext_lazy("feed a day, g"),
    "protein": gettext_lazy("protein share of the feed"),
    "media_m2": gettext_lazy("area of the media, m²"),
    "tan_load": gettext_lazy("ammonia made, g a day"),
    "filter_capacity": gettext_lazy("filter's capacity, g a day"),
    "area_m2": gettext_lazy("beds, m²"),
    "limit": gettext_lazy("least oxygen, mg/L"),
}
DOUBTS: dict[str, Promise] = {
    "kit_expired": gettext_lazy("the kit had expired"),
    "meter_failed": gettext_lazy("the meter failed its check"),
    "unusual": gettext_lazy("unusual for this measurand"),
    "fahrenheit": gettext_lazy("looks like °F"),
    "degrees_of_hardness": gettext_lazy("looks like degrees of hardness"),
    "ion_for_nitrogen": gettext_lazy("looks like the ion, not nitrogen"),
    "solids_scale": gettext_lazy("looks like another scale of dissolved solids"),
    "oversaturated": gettext_lazy("more oxygen than the water can hold"),
    "ph_and_alkalinity": gettext_lazy("pH and alkalinity do not go together"),
    "jump": gettext_lazy("a jump from last time"),
    "drops_blind": gettext_lazy("drops cannot show a pH this low"),
    "unknown_unit": gettext_lazy("a unit that is not known"),
}


def doubt_word(code: str) -> str:
    """Return why a reading is doubted, or its code in plain letters."""
    return str(DOUBTS.get(code, code.replace("_", " ")))


def blocking_words(code: str) -> str:
    """Return what stands in the way of a release."""
    return {
        "not_written_up": _("The visit is not written up yet."),
        "not_drawn": _("A report is still being drawn; it will be here in a moment."),
        "correction_due": _("A correction is still being drawn."),
    }.get(code, code)
