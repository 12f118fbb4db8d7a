"""Worked-out values, their inputs and doubts in words."""

from dataclasses import dataclass

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy


@dataclass(frozen=True)
class Words:
    """What a worked-out value is called, and with how many decimals it is shown."""

    name: Promise
    decimals: int


DERIVED: dict[str, Words] = {
    code: Words(name, decimals)
    for code, name, decimals in (
        ("nh3", gettext_lazy("Un-ionised ammonia as N"), 3),
        ("nh3_highest", gettext_lazy("Un-ionised ammonia at the day's highest pH"), 3),
        ("do_saturation", gettext_lazy("Oxygen that the water can hold"), 1),
        ("do_pct", gettext_lazy("Oxygen saturation"), 0),
        ("co2", gettext_lazy("Carbon dioxide"), 1),
        ("biomass", gettext_lazy("Fish, together"), 2),
        ("density", gettext_lazy("Fish in the tank"), 1),
        ("ration", gettext_lazy("Feed a day that suits them"), 0),
        ("tan_load", gettext_lazy("Ammonia made a day"), 1),
        ("alkalinity_use", gettext_lazy("Alkalinity used a day, as CaCO3"), 1),
        ("oxygen_demand", gettext_lazy("Oxygen used a day"), 0),
        ("filter_capacity", gettext_lazy("Ammonia that the filter can take a day"), 1),
        ("filter_share", gettext_lazy("Load of the filter"), 0),
        ("feed_area", gettext_lazy("Feed to the area of the beds"), 0),
        (
            "minutes_without_air",
            gettext_lazy("Minutes that the fish last without air, at least"),
            0,
        ),
        ("days_since_visit", gettext_lazy("Days since the last visit"), 0),
        ("days_since_clean", gettext_lazy("Days since filter, bed or settler was cleaned"), 0),
        ("cycling_day", gettext_lazy("Day of the filter's growth"), 0),
    )
}
OF_THE_SYSTEM = ("days_since_visit", "days_since_clean", "cycling_day")
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
