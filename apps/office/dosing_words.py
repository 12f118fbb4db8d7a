"""What the goals, products and refusals of dosing plans are called."""

from collections.abc import Mapping

from django.utils.functional import Promise
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from apps.calc.advice.substances import SUBSTANCE_WORDS
from apps.calc.dosing_plan.results import (
    ALKALINITY,
    CALCIUM,
    CHLORIDE,
    IRON,
    MAGNESIUM,
    PH,
    PHOSPHORUS,
    POTASSIUM,
    SOURCE,
)
from apps.core.numbers import format_figure
from apps.office.wording import upper_first

GOALS: Mapping[str, Promise] = {
    ALKALINITY: _("Raise alkalinity"), PH: _("Raise the pH"),
    SOURCE: _("Acid into the source water"), CALCIUM: _("Calcium"), POTASSIUM: _("Potassium"),
    MAGNESIUM: _("Magnesium"), IRON: _("Iron"), PHOSPHORUS: _("Phosphorus"),
    CHLORIDE: _("Chloride against nitrite"),
}  # fmt: skip
UNITS: Mapping[str, str] = {
    ALKALINITY: "mg/L CaCO3", PH: "", SOURCE: "mg/L CaCO3",
}  # fmt: skip
DECIMALS: Mapping[str, int] = {ALKALINITY: 0, PH: 2, SOURCE: 0, IRON: 1, PHOSPHORUS: 1}
READING_NAMES: Mapping[str, Promise] = {
    "ph": _("pH"), "alk": _("Alkalinity"), "temp": _("Temperature"), "tan": _("Total ammonia as N"),
    "no2": _("Nitrite as N"), "k": _("Potassium"), "ca": _("Calcium"), "mg": _("Magnesium"),
    "fe": _("Iron"), "po4": _("Phosphate as P"), "na": _("Sodium"), "cl": _("Chloride"),
    "source_alk": _("Alkalinity of the source water"),
}  # fmt: skip
READING_UNITS: Mapping[str, str] = {"alk": "mg/L CaCO3", "ph": "", "temp": "°C", "source_alk": "mg/L CaCO3"}  # fmt: skip
READING_DECIMALS: Mapping[str, int] = {
    "ph": 2, "tan": 2, "no2": 2, "fe": 1, "po4": 1, "temp": 1,
}  # fmt: skip
ELEMENTS: Mapping[str, Promise] = {
    "k": _("potassium"), "ca": _("calcium"), "na": _("sodium"), "mg": _("magnesium"),
    "fe": _("iron"), "p": _("phosphorus"), "s": _("sulfur"), "cl": _("chloride"),
}  # fmt: skip
ACID_NAMES: Mapping[str, Promise] = {
    "HCl": _("hydrochloric acid"), "H3PO4": _("phosphoric acid"), "HNO3": _("nitric acid"),
}  # fmt: skip
# the codes that refusals name as elements
ELEMENT_CODES: Mapping[str, str] = {
    "K": "k", "Ca": "ca", "Na": "na", "Mg": "mg", "Fe": "fe", "P": "p", "S": "s", "Cl": "cl",
}  # fmt: skip


def product_name(code: str) -> str:
    """Return what a product is called, with its formula where it has one."""
    name = str(ACID_NAMES[code]) if code in ACID_NAMES else gettext(SUBSTANCE_WORDS[code])
    if "%" in code:
        return upper_first(name)
    said = {"name": name, "formula": code.replace(".", "·")}
    return upper_first(gettext("%(name)s, %(formula)s") % said)


def reading_figure(code: str, value: float) -> str:
    """Return a reading with the decimals that its kit shows."""
    return format_figure(value, READING_DECIMALS.get(code, 0))


def gap_names() -> dict[str, str]:
    """Return the words for codes in the gaps of a refusal."""
    return {code: str(ELEMENTS[element]) for code, element in ELEMENT_CODES.items()}
