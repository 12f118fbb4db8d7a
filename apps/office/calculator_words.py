"""Calculators in words: groups, choices, and what their results are called."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.utils.functional import Promise
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from apps.calc.sources import SOURCES
from apps.calc.wording import Text
from apps.catalogue.choices import Knowledge
from apps.core.numbers import format_plain


@dataclass(frozen=True)
class ResultWords:
    """What a result is called, and its unit."""

    name: Promise
    unit: str = ""


# how a formula is typed, and how it is written
_SIGNS = (
    (r" x ", " × "), (r" - ", " − "), (r"(?<=\w)-(?=[0-9])", "−"), (r"\bsqrt\b ?", "√"),
    (r"\bpi\b", "π"), (r"(?<=m)2(?=/)", "²"),
)  # fmt: skip


def formula_shown(text: str) -> str:
    """Return a formula with the signs of print.

    >>> formula_shown("across = 2 sqrt(surface / pi), g/m2/day, n-1, 3 x 2 - 1")
    'across = 2 √(surface / π), g/m²/day, n−1, 3 × 2 − 1'
    """
    for typed, written in _SIGNS:
        text = re.sub(typed, written, text)
    return text


GROUPS: tuple[tuple[Promise, tuple[str, ...]], ...] = (
    (_("Water chemistry"), ("ammonia", "oxygen", "co2", "raise_ph", "mix", "lime_scale")),
    (_("Changes and salts"),
     ("water_change", "dechlorinate", "nitrite_chloride", "conductivity", "element")),
    (_("Fish and filter"),
     ("feed", "biomass", "sample_size", "growth", "growth_rates", "tan_load", "filter")),
    (_("Air and flow"), ("air", "loop_flow", "settler", "pump_head")),
    (_("Plants and vessels"),
     ("feed_area", "germination", "light", "evapotranspiration", "volume")),
)  # fmt: skip

RESULTS: dict[str, ResultWords] = {
    "nh3_n_mg_l": ResultWords(_("Un-ionised ammonia as N"), "mg/L"),
    "fraction": ResultWords(_("Share")),
    "saturation_mg_l": ResultWords(_("The water can hold"), "mg/L"),
    "percent": ResultWords(_("Saturation"), "%"),
    "co2_mg_l": ResultWords(_("Carbon dioxide"), "mg/L"),
    "dose_g": ResultWords(_("Dose"), "g"),
    "dose_g_after_minutes": ResultWords(_("Dose by what shows after minutes"), "g"),
    "steps": ResultWords(_("Steps")),
    "after_hours": ResultWords(_("After"), "h"),
    "ph_minutes": ResultWords(_("pH after minutes")),
    "ph_hours": ResultWords(_("pH after hours, aired")),
    "temp_c": ResultWords(_("Temperature"), "°C"),
    "tan_mg_l": ResultWords(_("Total ammonia as N"), "mg/L"),
    "allowed": ResultWords(_("May be done")),
    "why": ResultWords(_("Because")),
    "litres": ResultWords(_("Litres"), "L"),
    "sodium_added_mg_l": ResultWords(_("Sodium added"), "mg/L"),
    "ec25_us_cm": ResultWords(_("Conductivity at 25 °C"), "µS/cm"),
    "tds_ppm": ResultWords(_("Dissolved solids"), "ppm"),
    "ration_g_day": ResultWords(_("Ration a day"), "g"),
    "percent_body_weight": ResultWords(_("Of body weight"), "%"),
    "kg": ResultWords(_("Biomass"), "kg"),
    "kg_low": ResultWords(_("At least, 95 of 100 times"), "kg"),
    "kg_high": ResultWords(_("At most, 95 of 100 times"), "kg"),
    "weight_g": ResultWords(_("Weight of one fish"), "g"),
    "tan_g_day": ResultWords(_("Ammonia as N made a day"), "g"),
    "capacity_g_day": ResultWords(_("The filter takes a day"), "g"),
    "share": ResultWords(_("Load, as a share of what it takes")),
    "g_m2_day": ResultWords(_("Feed to the area"), "g/m²/day"),
    "verdict": ResultWords(_("Judged")),
    "head_m": ResultWords(_("Head, static lift included"), "m"),
    "velocity_m_s": ResultWords(_("Speed in the pipe"), "m/s"),
    "watts": ResultWords(_("Electrical power"), "W"),
    "et0_mm_day": ResultWords(_("Reference evapotranspiration"), "mm/day"),
    "method": ResultWords(_("Method")),
    "rate": ResultWords(_("Share that came up")),
    "low": ResultWords(_("At least, 95 of 100 times")),
    "high": ResultWords(_("At most, 95 of 100 times")),
    "wild_water_tan_mg_l": ResultWords(
        _("Wild water may hold for a month, total ammonia as N"), "mg/L"
    ),
    "calcite_index": ResultWords(_("Saturation index of calcite")),
    "as_element": ResultWords(_("That much, as the element")),
    "as_compound": ResultWords(_("That much of the element, as ion or oxide")),
    "sgr_percent_day": ResultWords(_("Specific growth rate (SGR)"), "%/day"),
    "tgc": ResultWords(_("Thermal growth coefficient × 1000 (TGC)")),
    "feed_conversion": ResultWords(_("Feed for a kilogram of gain (FCR)")),
    "to_weigh": ResultWords(_("Fish to weigh")),
    "clean_g_h": ResultWords(_("Oxygen into clean water of 20 °C (SOTR)"), "g/h"),
    "here_share": ResultWords(_("Here, as a share of that")),
    "here_g_h": ResultWords(_("Oxygen into this water (OTR)"), "g/h"),
    "air_l_min": ResultWords(_("Air for what is used in a day"), "L/min"),
    "for_ammonia_l_h": ResultWords(_("Flow for ammonia"), "L/h"),
    "for_oxygen_l_h": ResultWords(_("Flow for oxygen"), "L/h"),
    "for_co2_l_h": ResultWords(_("Flow for carbon dioxide"), "L/h"),
    "flow_l_h": ResultWords(_("Flow, the largest of them"), "L/h"),
    "surface_m2": ResultWords(_("Surface"), "m²"),
    "across_m": ResultWords(_("Across, if round"), "m"),
    "light_mol_m2_day": ResultWords(_("Light of the day (DLI)"), "mol/m²/day"),
}

CHOICES: dict[str, Promise] = {
    "sodium_thiosulfate": _("sodium thiosulfate"), "ascorbic_acid": _("ascorbic acid"),
    "sodium_ascorbate": _("sodium ascorbate"), "leafy": _("leafy"), "fruiting": _("fruiting"),
    "box": _("box"), "upright_cylinder": _("upright cylinder"),
    "horizontal_cylinder": _("cylinder lying down"), "cone_bottom": _("cylinder on a cone"),
    "frustum": _("round, wider at the top"), "gravel_bed": _("gravel bed"),
    "KHCO3": _("potassium bicarbonate, KHCO3"), "NaHCO3": _("sodium bicarbonate, NaHCO3"),
    "K2CO3": _("potassium carbonate, K2CO3"), "Ca(OH)2": _("hydrated lime, Ca(OH)2"),
    "KOH": _("potassium hydroxide, KOH"), "NaCl": _("salt, NaCl"),
    "KCl": _("potassium chloride, KCl"), "CaCl2.2H2O": _("calcium chloride, CaCl2·2H2O"),
    "tilapia": _("tilapias"), "carp": _("carps"), "trout": _("trouts"),
    "bass_perch": _("basses and perches"), "low": _("low"),
    "high": _("high"), "in range": _("in range"), "penman_monteith": _("Penman-Monteith"),
    "hargreaves": _("Hargreaves"), "no3": _("nitrate, NO3"), "no2": _("nitrite, NO2"),
    "nh3": _("ammonia, NH3"), "nh4": _("ammonium, NH4"), "po4": _("phosphate, PO4"),
    "p2o5": _("phosphate of a label, P2O5"), "k2o": _("potash of a label, K2O"),
}  # fmt: skip


def say(text: object, names: Mapping[str, str] | None = None) -> str:
    """Return what a calculator says in the active language; `names`: of fields and choices."""
    if not text:
        return ""
    if not isinstance(text, Text) or not text.params:
        return gettext(str(text))
    shown = {name: _filled(name, value, names or {}) for name, value in text.params.items()}
    return gettext(text.msgid).format(**shown).strip()


def _filled(gap: str, value: object, names: Mapping[str, str]) -> str:
    if isinstance(value, float | int):
        return format_plain(value)
    word = str(value)
    if gap in ("field", "other"):
        # "weights_g/0" is the first of several
        name, _mark, index = word.partition("/")
        label = names.get(name, name)
        return f"{label} {int(index) + 1}" if index.isdigit() else label
    return ", ".join(names.get(code) or str(CHOICES.get(code, code)) for code in word.split(", "))


def sources_said(keys: Sequence[str]) -> str:
    """Return where a calculator's figures come from, and how each is known."""
    known = dict(Knowledge.choices)
    return "; ".join(f"{SOURCES[key].citation} ({known[SOURCES[key].kind]})" for key in keys)


def answer_said(answer: Mapping[str, Any]) -> dict[str, Any]:
    """Return a calculator's answer with its words in the active language; figures stay."""
    how = dict(answer["explanation"])
    how |= {"formula": say(how["formula"]), "valid_range": say(how["valid_range"])}
    how["assumptions"] = [say(text) for text in how["assumptions"]]
    return {**answer, "explanation": how, "cautions": [say(text) for text in answer["cautions"]]}
