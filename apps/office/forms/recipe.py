"""What is asked for a recipe of a plant loop."""

from typing import Any

from django import forms
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from apps.calc.recipe.salts import SALTS
from apps.calc.recipe.solve import SCALES_G
from apps.calc.recipe.stock import MOST_FACTOR
from apps.catalogue.selectors import Catalogue
from apps.core.numbers import format_plain
from apps.office.forms.base import NumberField
from apps.office.selectors.recipe import RecipeStart
from apps.office.wording import upper_first

IN_LOOP = ("no3", "p", "k", "ca", "mg", "fe")
IN_SOURCE = ("no3", "ca", "mg")
ELEMENT_NAMES = {
    "n": _("nitrogen"), "no3": _("nitrate as N"), "p": _("phosphorus as P"), "k": _("potassium"),
    "ca": _("calcium"), "mg": _("magnesium"), "s": _("sulfur"), "fe": _("iron"),
    "mn": _("manganese"), "b": _("boron"), "zn": _("zinc"), "cu": _("copper"),
    "mo": _("molybdenum"), "na": _("sodium"), "cl": _("chloride"),
}  # fmt: skip
SCALE_NAMES = [(f"{step:g}", step) for step in SCALES_G]


class RecipeForm(forms.Form):
    """A target, how much fresh water, what the waters hold, which salts and which scale."""

    target = forms.ChoiceField(label=_("For"))
    fresh_l = NumberField(
        label=_("Fresh source water in it"), low=0, unit=_("L"), required=False,
        help_text=_("Left empty: nothing is drawn off or topped up."),
    )  # fmt: skip
    scale_g = forms.ChoiceField(label=_("The scale shows"), initial="0.1")
    factor = NumberField(
        label=_("Stock cans, times as strong"), low=1, high=MOST_FACTOR, initial=100,
        help_text=_("Two cans, A and B, that are added one after the other."),
    )  # fmt: skip
    salts = forms.MultipleChoiceField(
        label=_("Salts at hand"), widget=forms.CheckboxSelectMultiple,
        initial=[code for code, salt in SALTS.items() if salt.common],
        error_messages={"required": _("Tick at least one salt that is at hand.")},
    )  # fmt: skip

    def __init__(self, *args: Any, catalogue: Catalogue, start: RecipeStart, **more: Any) -> None:
        super().__init__(*args, **more)
        self.start = start
        self._choices("target", [
            (code, _now(str(row["name"]))) for code, row in catalogue.of("targets").items()
        ])  # fmt: skip
        self._choices("scale_g", [
            (code, _now("%(step)s g") % {"step": format_plain(step)}) for code, step in SCALE_NAMES
        ])  # fmt: skip
        self._choices("salts", [(code, upper_first(salt_name(code))) for code in SALTS])
        for prefix, elements, known in (
            ("now", IN_LOOP, start.present),
            ("source", IN_SOURCE, start.source),
        ):
            for element in elements:
                self.fields[f"{prefix}_{element}"] = NumberField(
                    label=upper_first(str(ELEMENT_NAMES[element])), low=0, high=1000, unit="mg/L", required=False,
                    initial=known.get(element),
                )  # fmt: skip

    def _choices(self, name: str, choices: list[tuple[str, str]]) -> None:
        field = self.fields[name]
        assert isinstance(field, forms.ChoiceField)  # noqa: S101 - for the type
        field.choices = choices

    def clean_fresh_l(self) -> float:
        """Refuse more fresh water than the loop holds."""
        fresh = self.cleaned_data["fresh_l"] or 0.0
        if fresh > self.start.litres:
            message = _now("The loop holds %(litres)s L: write that or less.")
            raise forms.ValidationError(message % {"litres": format_plain(self.start.litres)})
        return float(fresh)

    def water(self, prefix: str) -> dict[str, float]:
        """Return the mg/L that were given for the loop ('now') or the source water ('source')."""
        found = {}
        for name, value in self.cleaned_data.items():
            head, _mark, element = name.partition("_")
            if head == prefix and value is not None:
                found[element] = float(value)
        return found

    def empty(self, prefix: str) -> list[str]:
        """Return the elements of a water that were left empty."""
        elements = IN_LOOP if prefix == "now" else IN_SOURCE
        return [e for e in elements if self.cleaned_data.get(f"{prefix}_{e}") is None]

    def groups(self) -> list[tuple[str, list[Any]]]:
        """Return the fields for the page, by group."""
        own = ["target", "fresh_l", "scale_g", "factor"]
        return [
            ("", [self[name] for name in own]),
            (_now("In the loop now"), [self[f"now_{e}"] for e in IN_LOOP]),
            (_now("In the source water"), [self[f"source_{e}"] for e in IN_SOURCE]),
            ("", [self["salts"]]),
        ]


def salt_name(code: str) -> str:
    """Return what a salt is called, with its formula where it has one."""
    name = _now(SALTS[code].name)
    return name if "%" in code else f"{name}, {code.replace('.', '·')}"
