"""What is asked for the design of the next system."""

from typing import Any

from django import forms
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from apps.calc.design.wish import BY_ROOM, Site, Wish
from apps.catalogue.selectors import Catalogue
from apps.clients.models import SourceWater
from apps.core.fields import WordsField
from apps.office.forms.base import NumberField
from apps.office.wording import upper_first
from apps.proposals.models import SiteSurvey

BY = [("beds", _("so many m² of beds")), ("fish", _("so many kg of fish a year")),
      ("room", _("what fits on so many m² of floor"))]  # fmt: skip
GROUPS = [("leafy", _("leafy greens and herbs")), ("fruiting", _("fruiting crops"))]
BED_KINDS = [("gravel_bed", _("gravel beds")), ("raft", _("rafts")), ("channel", _("channels"))]


class DesignForm(forms.Form):
    """A wish, and the figures of the site survey that sizes depend on."""

    by = forms.ChoiceField(label=_("The client wants"), choices=BY)
    amount = NumberField(
        label=_("How much"), low=0.5, high=5000, help_text=_("m² or kg a year, as chosen")
    )
    crop_group = forms.ChoiceField(label=_("Plants"), choices=GROUPS)
    crop = forms.ChoiceField(label=_("Leafy crop, for the heads a week"), required=False)
    bed_kind = forms.ChoiceField(label=_("Beds"), choices=BED_KINDS)
    species = forms.ChoiceField(label=_("Fish"))
    winter_c = NumberField(label=_("Water in the coldest month"), low=-2, high=45, unit=_("°C"))
    summer_c = NumberField(label=_("Water in the hottest weeks"), low=-2, high=45, unit=_("°C"))
    lift_m = NumberField(
        label=_("Lift from the sump"), low=0.1, high=10, unit=_("m"), initial="1.5"
    )
    pipe_m = NumberField(label=_("Pressure pipe"), low=1, high=200, unit=_("m"), initial=6)
    floor_kg_m2 = NumberField(
        label=_("The floor carries"), low=10, high=100_000, unit=_("kg/m²"), required=False,
        help_text=_("Left empty: it stands on the ground."),
    )  # fmt: skip

    def __init__(self, *args: Any, catalogue: Catalogue, **more: Any) -> None:
        super().__init__(*args, **more)
        self.catalogue = catalogue
        species = [
            (code, upper_first(_now(str(row["name"]))))
            for code, row in catalogue.of("species").items()
        ]
        crops = [
            (code, upper_first(_now(str(row["name"]))))
            for code, row in catalogue.of("crops").items()
            if row["group"] == "leafy"
        ]
        for name, choices in (("species", species), ("crop", [("", "–"), *crops])):
            field = self.fields[name]
            assert isinstance(field, forms.ChoiceField)  # noqa: S101 - for the type
            field.choices = choices

    @staticmethod
    def surveyed(survey: SiteSurvey) -> dict[str, Any]:
        """Return what a survey says as the values of the boxes."""
        held: dict[str, Any] = {
            name: getattr(survey, name)
            for name in ("winter_c", "summer_c", "floor_kg_m2", "species")
            if getattr(survey, name) not in (None, "")
        }
        if survey.length_m and survey.width_m:
            held |= {"by": BY_ROOM, "amount": round(survey.length_m * survey.width_m, 1)}
        return held

    def wish(self) -> Wish:
        """Return the wish. Raises ValueError where field and amount do not go together."""
        values = self.cleaned_data
        crop = self.catalogue.get("crops", values["crop"]) if values["crop"] else None
        more = {}
        if crop and values["crop_group"] == "leafy":
            more = {
                "heads_per_m2": (float(crop["per_m2_low"]), float(crop["per_m2_high"])),
                "growing_days": (float(crop["harvest_days_low"]), float(crop["harvest_days_high"])),
            }
        return Wish(
            by=values["by"], amount=float(values["amount"]), species=values["species"],
            crop_group=values["crop_group"], bed_kind=values["bed_kind"], **more,
        )  # fmt: skip

    def site(self, altitude_m: float, source: SourceWater | None) -> Site:
        """Return the site with its water. Raises ValueError where figures do not go together."""
        values = self.cleaned_data
        floor = values["floor_kg_m2"]
        return Site(
            winter_c=float(values["winter_c"]), summer_c=float(values["summer_c"]),
            lift_m=float(values["lift_m"]), pipe_m=float(values["pipe_m"]), altitude_m=altitude_m,
            floor_kg_m2=None if floor is None else float(floor),
            source_alkalinity=source.alkalinity_mg_l_caco3 if source else None,
            source_chlorine=source.total_chlorine_mg_l if source else None,
        )  # fmt: skip

    def clean(self) -> dict[str, Any]:
        """Refuse a summer colder than the winter, and more than anybody builds in a backyard."""
        values = super().clean() or {}
        winter, summer = values.get("winter_c"), values.get("summer_c")
        if winter is not None and summer is not None and summer < winter:
            self.add_error("summer_c", _now("The hottest weeks cannot be colder than the coldest month."))  # fmt: skip
        if values.get("by") in ("beds", "room") and (values.get("amount") or 0) > 500:
            self.add_error("amount", _now("500 m² at most; larger systems are designed by hand."))
        return values


class DesignNameForm(forms.Form):
    """What the system that is made of a design is called."""

    name = WordsField(label=_("Name of the system"), max_length=120)
