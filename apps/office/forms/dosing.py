"""What is asked for a dosing plan of a loop."""

import datetime as dt
from typing import Any

from django import forms
from django.utils import timezone
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from apps.calc.advice.situation import Source
from apps.calc.dosing_plan.acids import ACIDS
from apps.calc.dosing_plan.products import PRODUCTS
from apps.calc.dosing_plan.results import CHLORIDE, GOALS, Request
from apps.calc.quantities import MEASURANDS
from apps.calc.recipe.solve import SCALES_G
from apps.core.numbers import format_plain
from apps.office.dosing_words import (
    ACID_NAMES,
    READING_NAMES,
    READING_UNITS,
    product_name,
)
from apps.office.dosing_words import GOALS as GOAL_NAMES
from apps.office.forms.base import NumberField
from apps.office.selectors.dosing import READINGS, DosingStart
from apps.office.wording import age_words, day_words, upper_first

OWN = ("goal", "target", "every_days", "who", "scale_g", "volume_l", "just_measured")
SOURCE_FIELDS = ("source_alk", "source_ph", "source_temp", "barrel_l", "acid", "acid_pct")
CLIENT, TECHNICIAN = "client", "technician"


class DosingForm(forms.Form):
    """A goal and how far; the loop's readings, the source water, the products at hand."""

    goal = forms.ChoiceField(label=_("What for"), choices=[(g, GOAL_NAMES[g]) for g in GOALS])
    target = NumberField(
        label=_("Up to"), low=0, high=1000, required=False,
        help_text=_("mg/L, or pH; alkalinity as mg/L CaCO3. For the source water: down to. For chloride it follows from the nitrite."),
    )  # fmt: skip
    every_days = NumberField(label=_("Days between steps"), low=1, high=14, whole=True, initial=1)
    who = forms.ChoiceField(
        label=_("Who gives it"), initial=CLIENT,
        choices=[(CLIENT, _("the client what is mild, a technician the rest")),
                 (TECHNICIAN, _("a technician everything"))],
    )  # fmt: skip
    scale_g = forms.ChoiceField(label=_("The scale shows"), initial="0.1")
    volume_l = NumberField(
        label=_("Water in the loop"), low=0, high=999_999, unit="L", required=False
    )
    just_measured = forms.BooleanField(
        label=_("All readings below were taken in the last hours"), required=False,
        help_text=_("Otherwise what you change counts as measured now, and the rest keeps its age."),
    )  # fmt: skip
    source_alk = NumberField(
        label=_("Alkalinity"), low=0, high=600, unit="mg/L CaCO3", required=False
    )
    source_ph = NumberField(label=_("pH"), low=3, high=11, required=False)
    source_temp = NumberField(label=_("Temperature"), low=-2, high=45, unit="°C", required=False)
    barrel_l = NumberField(
        label=_("Water in the barrel"), low=0, high=999_999, unit="L", required=False
    )
    acid = forms.ChoiceField(label=_("Acid"), initial="HCl")
    acid_pct = NumberField(
        label=_("Strength of the acid"), low=0, high=100, unit="%", required=False,
        help_text=_("As its label says, by mass."),
    )  # fmt: skip
    at_hand = forms.MultipleChoiceField(
        label=_("Products at hand"), widget=forms.CheckboxSelectMultiple,
        error_messages={"required": _("Tick at least one product that is at hand.")},
    )  # fmt: skip

    def __init__(self, *args: Any, start: DosingStart, **more: Any) -> None:
        super().__init__(*args, **more)
        self.start = start
        self._choices("scale_g", [
            (f"{step:g}", _now("%(step)s g") % {"step": format_plain(step)}) for step in SCALES_G
        ])  # fmt: skip
        self._choices("acid", [(code, upper_first(str(ACID_NAMES[code]))) for code in ACIDS])
        self._choices("at_hand", [(code, product_name(code)) for code in PRODUCTS])
        self.fields["at_hand"].initial = start.in_catalogue
        self.fields["volume_l"].initial = start.known.volume_l or None
        for code in READINGS:
            self.fields[code] = self._reading_field(code)
        source = start.situation.source
        if source:
            self.fields["source_alk"].initial = source.alkalinity
            self.fields["source_ph"].initial = source.ph
            self.fields["source_temp"].initial = source.temp_c

    def _choices(self, name: str, choices: list[tuple[str, str]]) -> None:
        field = self.fields[name]
        assert isinstance(field, forms.ChoiceField)  # noqa: S101 - for the type
        field.choices = choices

    def _reading_field(self, code: str) -> NumberField:
        limits, held = MEASURANDS[code], self.start.known.readings.get(code)
        taken = self.start.taken_at(code)
        help_text = _now("not read in the last 30 days")
        if taken:
            help_text = _now("%(day)s, %(age)s ago") % {
                "day": day_words(timezone.localdate(taken)), "age": age_words(taken, self.start.now),
            }  # fmt: skip
        return NumberField(
            label=str(READING_NAMES[code]), low=limits.low, high=limits.high,
            unit=READING_UNITS.get(code, "mg/L"), required=False,
            initial=held.value if held else None, help_text=help_text,
        )  # fmt: skip

    def clean(self) -> dict[str, Any]:
        """Ask for both of alkalinity and pH where the source water is written."""
        cleaned = super().clean() or {}
        alk, ph = cleaned.get("source_alk"), cleaned.get("source_ph")
        if (alk is None) != (ph is None) and not {"source_alk", "source_ph"} & set(self.errors):
            missing = "source_alk" if alk is None else "source_ph"
            self.add_error(
                missing,
                _now("Alkalinity and pH of the source water go together: write both, or neither."),
            )
        return cleaned

    def request(self) -> Request:
        """Return what is asked for, as the science takes it."""
        values = self.cleaned_data
        return Request(
            goal=values["goal"],
            target=None if values["goal"] == CHLORIDE else values["target"],
            at_hand=frozenset(values["at_hand"]), scale_g=float(values["scale_g"]),
            every_days=int(values["every_days"]), by_client=values["who"] == CLIENT,
            barrel_l=values["barrel_l"], acid=values["acid"], acid_pct=values["acid_pct"],
            source_age_days=self._source_age(), base_hours_ago=self.start.base_hours_ago,
        )  # fmt: skip

    def readings(self) -> dict[str, float | None]:
        """Return the readings as typed, None where a field was left empty."""
        return {code: self.cleaned_data[code] for code in READINGS}

    def source(self) -> Source | None:
        """Return the source water as typed, what is not asked for as it is on record."""
        values, held = self.cleaned_data, self.start.situation.source
        if values["source_alk"] is None:
            return None
        return Source(
            ph=values["source_ph"], alkalinity=values["source_alk"],
            temp_c=values["source_temp"], tan=held.tan if held else 0.0,
            total_chlorine=held.total_chlorine if held else 0.0,
            chloramine=held.chloramine if held else False,
        )  # fmt: skip

    def _source_age(self) -> float:
        held, on = self.start.situation.source, self.start.source_on
        values = self.cleaned_data
        same = held and (values["source_alk"], values["source_ph"]) == (held.alkalinity, held.ph)
        if not same or on is None or values["just_measured"]:
            return 0.0
        return float((self._today() - on).days)

    def _today(self) -> dt.date:
        return self.start.situation.today

    def groups(self) -> list[tuple[str, list[Any]]]:
        """Return the fields for the page, by group."""
        return [
            ("", [self[name] for name in OWN]),
            (_now("In the loop now"), [self[code] for code in READINGS]),
            (_now("Source water and acid"), [self[name] for name in SOURCE_FIELDS]),
            ("", [self["at_hand"]]),
        ]
