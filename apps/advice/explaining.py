"""How a figure came about, in words: formulas and assumptions by code."""

from collections.abc import Iterable, Mapping
from typing import Any

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from apps.catalogue.selectors import Catalogue

FORMULAS: dict[str, Promise] = {
    "nh3": _("Un-ionised share = 1 / (1 + 10^(pKa - pH)), pKa = 0.09018 + 2729.92 / (T + 273.15); "
             "times the total ammonia N"),
    "nh3_highest": _("As un-ionised ammonia, at the day's highest pH, taken 0.2 above the reading"),
    "do_saturation": _("Oxygen in air-saturated fresh water by temperature and altitude"),
    "do_pct": _("Oxygen read, divided by what the water can hold, times 100"),
    "co2": _("Carbonate balance of alkalinity, pH and temperature with ionic strength"),
    "biomass": _("Number of fish times the mean weight; range by Student's t with finite correction"),
    "density": _("Fish mass divided by the tank's water"),
    "ration": _("Share of body weight by species, size and temperature, times the fish mass"),
    "tan_load": _("Feed times protein times 0.092"),
    "alkalinity_use": _("7.14 g CaCO3 for each gram of nitrogen that the filter oxidises"),
    "oxygen_demand": _("Feed times 0.65: fish, filter and solids"),
    "filter_capacity": _("Media surface times the areal rate at this temperature"),
    "filter_share": _("Ammonia made a day divided by what the filter takes"),
    "feed_area": _("Feed a day divided by the planted area"),
    "minutes_without_air": _("Oxygen above the limit times volume, divided by what fish and bacteria "
                             "breathe; a cautious lower bound"),
    "days_since_visit": _("Days since the last visit"),
    "days_since_clean": _("Days since a filter, bed or settler was cleaned"),
    "cycling_day": _("Days since the filter was first dosed or fed"),
    "chloride": _("Chloride wanted = 10 times the nitrite ion (3.28 times nitrite N), less what is "
                  "there; salt by its chloride share"),
    "element_dose": _("Wanted mg/L times litres, divided by the salt's share of the element"),
    "base_step": _("Alkalinity wanted times litres, divided by the salt's strength; each step held "
                   "to +0.2 pH in closed water and +0.2 a day"),
    "air_supply": _("Air times what it brings in, against feed times 0.65"),
    "acid_source": _("Alkalinity to remove times litres, divided by the acid's equivalents"),
    "dechlorinate": _("Litres times total chlorine times 7.0 mg thiosulfate, plus a tenth"),
    "filter_area": _("Ammonia made a day divided by the areal rate"),
    "water_change": _("Fraction = (now - target) / (now - source), in steps that the fish stand"),
}  # fmt: skip
ASSUMPTIONS: dict[str, Promise] = {
    "afternoon_ph": _("pH is highest in the late afternoon, about 0.2 above the reading"),
    "plants_give_back_part": _("plants give a part of it back"),
    "surface_ignored": _("no oxygen comes in through the surface"),
    "others_breathe": _("bacteria and sludge breathe half as much as the fish"),
    "chloride_taken_as_zero": _("chloride was not measured and is taken as nought"),
    "sodium_unknown": _("sodium was not measured, so no sodium salt is used"),
    "air_transfer": _("1 L/min of air brings 0.12 g of oxygen an hour"),
    "media_surface": _("the media's surface is that of its kind"),
}


def explanation_words(explanation: Mapping[str, Any], catalogue: Catalogue) -> dict[str, Any]:
    """Return formula, inputs, source, valid range and assumptions in the active language."""
    code = str(explanation.get("formula", ""))
    return {
        "formula": str(FORMULAS.get(code, code)),
        "inputs": dict(explanation.get("inputs", {})),
        "source": "; ".join(source_titles(explanation.get("sources", ()), catalogue)),
        "valid_range": explanation.get("valid_range", ""),
        "assumptions": [
            str(ASSUMPTIONS.get(item, item.replace("_", " ")))
            for item in explanation.get("assumptions", ())
        ],
    }


def source_titles(keys: Iterable[str], catalogue: Catalogue) -> list[str]:
    """Return the titles of sources by key."""
    return [str((catalogue.get("sources", key) or {}).get("title") or key) for key in keys if key]
