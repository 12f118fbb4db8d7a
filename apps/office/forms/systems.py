"""Systems, loops, components, flows."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.db.models import QuerySet
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from apps.calc import filtration
from apps.core.fields import LongWordsField, WordsField
from apps.office.forms.base import DayField, DoneDayField, NumberField, RevForm
from apps.systems.choices import ComponentKind, FlowKind, SystemKind
from apps.systems.models import Component, Loop

MEDIA = {
    "gravel": _("gravel"), "coarse_gravel": _("coarse gravel"), "pea_gravel": _("pea gravel"),
    "volcanic_rock": _("volcanic rock"), "pumice": _("pumice"),
    "expanded_clay": _("expanded clay"), "moving_bed": _("moving-bed carriers"),
    "bioballs": _("plastic balls"), "brushes": _("brushes"), "scrub_pads": _("scouring pads"),
}  # fmt: skip
MEALS = 2
# sizes of these kinds of media are known, so a filter's capacity can be worked out
MEDIA_CHOICES = [("", _("none"))] + [(code, MEDIA.get(code, code)) for code in filtration.MEDIA]


class SystemForm(forms.Form):
    """One connected installation at a place."""

    name = WordsField(label=_("Name"), max_length=120, help_text=_("such as: Okafor, back garden"))
    kind = forms.ChoiceField(
        label=_("Kind"), choices=SystemKind.choices,
        help_text=_("Coupled: one water for fish and plants. Decoupled: water goes one way."),
    )  # fmt: skip
    started_on = DayField(label=_("Running since"), required=False)
    notes = LongWordsField(label=_("Notes"), max_length=4000, required=False)


class SystemEditForm(RevForm):
    """A system based on a version. Its kind stays: its loops hang on it."""

    name = SystemForm.base_fields["name"]
    started_on = SystemForm.base_fields["started_on"]
    ended_on = DayField(label=_("Ended on"), required=False)
    notes = SystemForm.base_fields["notes"]
    active = forms.BooleanField(label=_("We look after it"), required=False)
    scoop_g = NumberField(
        label=_("The client's scoop holds"), low=0.5, high=2000, unit="g", required=False,
        help_text=_("Level, of the feed that they give: weigh ten and take a tenth. The report "
                    "then says the feed in scoops a meal."),
    )  # fmt: skip
    meals_a_day = NumberField(
        label=_("Meals a day"), low=1, high=12, whole=True, required=False,
        help_text=_("Left empty: two."),
    )  # fmt: skip

    def clean(self) -> dict[str, Any]:
        """Refuse an end before the beginning."""
        data = super().clean() or {}
        if "meals_a_day" not in self.errors:
            data["meals_a_day"] = data.get("meals_a_day") or MEALS
        began, ended = data.get("started_on"), data.get("ended_on")
        if began and ended and ended < began:
            self.add_error("ended_on", _now("It cannot end before it began."))
        return data


class LoopForm(forms.Form):
    """How much water mixes in a loop, where it was measured, and how much of it is rained on."""

    measured_litres = NumberField(
        label=_("Measured"), low=1, high=1_000_000, unit="L", required=False,
        help_text=_("Left empty, the sum of the parts stands."),
    )  # fmt: skip
    volume_known_within_pct = NumberField(
        label=_("Known within"), low=0.5, high=100, unit="%",
        help_text=_("Over 10 % no dose is worked out."),
    )  # fmt: skip
    rain_area_m2 = NumberField(
        label=_("Open to rain"), low=0, high=10_000, unit="m²", required=False,
        help_text=_("Water that rain falls into, with what runs into it; 0 under a roof. Left "
                    "empty, forecasts count with no rain."),
    )  # fmt: skip


class ComponentForm(forms.Form):
    """A thing in a loop with its sizes; what a kind does not have stays empty."""

    loop = forms.ModelChoiceField(queryset=Loop.objects.none(), label=_("Loop"), empty_label="–")
    kind = forms.ChoiceField(label=_("What it is"), choices=ComponentKind.choices)
    name = WordsField(label=_("Name"), max_length=80)
    place_in_flow = NumberField(
        label=_("Place in the flow"), low=0, high=999, whole=True,
        help_text=_("1 is where the water starts."),
    )  # fmt: skip
    litres = NumberField(label=_("Water"), low=0.1, high=1_000_000, unit="L", required=False)
    area_m2 = NumberField(label=_("Plant area"), low=0.01, high=10_000, unit="m²", required=False)
    depth_m = NumberField(label=_("Depth"), low=0.01, high=20, unit="m", required=False)
    media = forms.ChoiceField(  # type: ignore[assignment]
        label=_("Media"), choices=MEDIA_CHOICES, required=False,
        help_text=_("What the bacteria sit on."),
    )  # fmt: skip
    media_litres = NumberField(
        label=_("Litres of media"), low=0.1, high=100_000, unit="L", required=False
    )
    flow_l_h = NumberField(label=_("Flow"), low=1, high=1_000_000, unit="L/h", required=False)
    lift_m = NumberField(label=_("Lift"), low=0, high=50, unit="m", required=False)
    watts = NumberField(label=_("Power"), low=0, high=50_000, unit="W", required=False)
    make = WordsField(label=_("Make"), max_length=80, required=False)
    serial = WordsField(label=_("Serial number"), max_length=80, required=False)
    fitted_on = DayField(label=_("Fitted on"), required=False)
    warranty_until = DayField(label=_("Warranty until"), required=False)

    def __init__(self, *args: Any, loops: QuerySet[Loop], **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["loop"].queryset = loops
        if loops.count() == 1:
            self.fields["loop"].initial = loops[0].pk
            self.fields["loop"].empty_label = None

    def clean(self) -> dict[str, Any]:
        """Refuse media without litres and litres without media."""
        data = super().clean() or {}
        if data.get("media") and data.get("media_litres") is None:
            if "media_litres" not in self.errors:
                self.add_error("media_litres", _now("How many litres of it?"))
        elif data.get("media_litres") is not None and not data.get("media"):
            self.add_error("media", _now("Which media?"))
        return data


class SwapForm(forms.Form):
    """A new thing in the place of an old one of the same kind."""

    on = DoneDayField(label=_("Swapped on"))
    name = ComponentForm.base_fields["name"]
    litres = ComponentForm.base_fields["litres"]
    media_litres = ComponentForm.base_fields["media_litres"]
    flow_l_h = ComponentForm.base_fields["flow_l_h"]
    watts = ComponentForm.base_fields["watts"]
    make = ComponentForm.base_fields["make"]
    serial = ComponentForm.base_fields["serial"]
    warranty_until = ComponentForm.base_fields["warranty_until"]


class RemoveForm(forms.Form):
    """On which day a component was taken off."""

    on = DoneDayField(label=_("Taken off on"))


class FlowForm(forms.Form):
    """Water going from one component to another."""

    source = forms.ModelChoiceField(
        queryset=Component.objects.none(), label=_("From"), empty_label="–"
    )
    target = forms.ModelChoiceField(
        queryset=Component.objects.none(), label=_("To"), empty_label="–"
    )
    kind = forms.ChoiceField(label=_("How"), choices=FlowKind.choices)
    litres_per_hour = NumberField(
        label=_("Litres an hour"), low=0.1, high=1_000_000, unit="L/h", required=False
    )
    litres_per_day = NumberField(
        label=_("Litres a day"), low=0.1, high=1_000_000, unit="L", required=False
    )
    one_way = forms.BooleanField(label=_("One way: the water does not come back"), required=False)

    def __init__(self, *args: Any, parts: QuerySet[Component], **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["source"].queryset = parts
        self.fields["target"].queryset = parts

    def clean(self) -> dict[str, Any]:
        """Refuse a flow to itself."""
        data = super().clean() or {}
        if data.get("source") and data.get("source") == data.get("target"):
            self.add_error("target", ValidationError(_now("Choose another component.")))
        return data
