"""Clients, contacts, places, their hours and their water."""

import datetime as dt
from typing import Any

from django import forms
from django.conf import settings
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from apps.clients.choices import ClientKind, Units, Weekday
from apps.office.forms.base import (
    ClockField,
    DayField,
    DoneDayField,
    LongWordsField,
    NumberField,
    RevForm,
    WordsField,
)

SPANS = 2


class ClientForm(forms.Form):
    """Who the firm works for."""

    client_name = WordsField(label=_("Client"), max_length=120)
    kind = forms.ChoiceField(label=_("Kind"), choices=ClientKind.choices)


class ClientEditForm(ClientForm, RevForm):
    """A client based on a version."""

    since = DayField(label=_("Client since"), required=False)
    notes = LongWordsField(label=_("Notes"), max_length=4000, required=False)
    active = forms.BooleanField(label=_("We work for them"), required=False)


class ContactForm(forms.Form):
    """A person at the client's."""

    name = WordsField(label=_("Contact"), max_length=120)
    email = forms.EmailField(label=_("E-mail"), required=False, max_length=254)
    phone = WordsField(label=_("Telephone"), max_length=40, required=False)
    language = forms.ChoiceField(label=_("Language"), choices=settings.LANGUAGES)
    units = forms.ChoiceField(label=_("Units"), choices=Units.choices)
    gets_letters = forms.BooleanField(label=_("Gets letters"), required=False, initial=True)

    def clean(self) -> dict[str, Any]:
        """Refuse letters without an address to send them to."""
        data = super().clean() or {}
        if data.get("gets_letters") and not data.get("email") and "email" not in self.errors:
            self.add_error("email", _now("Letters need an e-mail address."))
        return data


class PlaceForm(forms.Form):
    """Where systems stand."""

    place_name = WordsField(label=_("Place"), max_length=120, help_text=_("such as: back garden"))
    street = WordsField(label=_("Street and number"), max_length=160)
    town = WordsField(label=_("Town"), max_length=80)
    area = WordsField(
        label=_("Area"), max_length=60, required=False,
        help_text=_("For a technician's standing day."),
    )  # fmt: skip
    latitude = NumberField(label=_("Latitude"), low=-90, high=90, required=False, unit="°")
    longitude = NumberField(label=_("Longitude"), low=-180, high=180, required=False, unit="°")
    altitude_m = NumberField(
        label=_("Height above the sea"), low=-450, high=6000, required=False, unit="m",
        help_text=_("Water holds less oxygen higher up."),
    )  # fmt: skip
    access_notes = LongWordsField(label=_("Getting in"), max_length=2000, required=False)
    gate_code = WordsField(label=_("Gate code"), max_length=40, required=False)
    dog = forms.BooleanField(label=_("There is a dog"), required=False)

    def clean(self) -> dict[str, Any]:
        """Refuse one coordinate without the other."""
        data = super().clean() or {}
        given = [data.get(name) is not None for name in ("latitude", "longitude")]
        if any(given) and not all(given) and not {"latitude", "longitude"} & set(self.errors):
            missing = "longitude" if given[0] else "latitude"
            self.add_error(missing, _now("Both coordinates are needed, or none."))
        if "altitude_m" in data and data["altitude_m"] is None:
            data["altitude_m"] = 0.0
        return data


class PlaceEditForm(PlaceForm, RevForm):
    """A place based on a version."""


class PlaceNewForm(ClientForm, ContactForm, PlaceForm):
    """A new client with a first contact and a first place."""

    field_order = [
        "client_name", "kind", "name", "email", "phone", "language", "units", "gets_letters",
        *PlaceForm.base_fields,
    ]  # fmt: skip

    def clean(self) -> dict[str, Any]:
        """Check the parts one after the other."""
        ContactForm.clean(self)
        return PlaceForm.clean(self)


class SourceForm(forms.Form):
    """A measurement of the water that a place tops up with."""

    on = DoneDayField(label=_("Measured on"))
    ph = NumberField(label=_("pH"), low=3, high=11)
    alkalinity_mg_l_caco3 = NumberField(label=_("Alkalinity"), low=0, high=1000, unit="mg/L CaCO3")
    hardness_mg_l_caco3 = NumberField(
        label=_("Hardness"), low=0, high=2000, unit="mg/L CaCO3", required=False
    )
    temp_c = NumberField(label=_("Temperature"), low=0, high=45, unit="°C", required=False)
    tan_mg_l = NumberField(label=_("Ammonia as N"), low=0, high=20, unit="mg/L", required=False)
    nitrate_n_mg_l = NumberField(
        label=_("Nitrate as N"), low=0, high=300, unit="mg/L", required=False
    )
    total_chlorine_mg_l = NumberField(
        label=_("Total chlorine"), low=0, high=10, unit="mg/L", required=False
    )
    chloramine = forms.BooleanField(
        label=_("The utility uses chloramine"), required=False,
        help_text=_("It leaves ammonia behind when it is taken out."),
    )  # fmt: skip


class HoursForm(forms.Form):
    """The hours at which somebody may come: up to two spans a day; none at all means any time."""

    def __init__(self, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        for day in Weekday:
            for span in range(SPANS):
                for end, label in (("opens", _now("from")), ("closes", _now("to"))):
                    self.fields[f"d{day.value}_{span}_{end}"] = ClockField(
                        label=f"{day.label}, {label}", required=False
                    )

    def rows(self) -> list[dict[str, Any]]:
        """Return the days with their pairs of fields, for a table."""
        return [
            {
                "day": day.label,
                "spans": [
                    (self[f"d{day.value}_{span}_opens"], self[f"d{day.value}_{span}_closes"])
                    for span in range(SPANS)
                ],
            }
            for day in Weekday
        ]

    @staticmethod
    def initial_of(hours: list[Any]) -> dict[str, dt.time]:
        """Return the values for what is stored."""
        values: dict[str, dt.time] = {}
        count: dict[int, int] = {}
        for row in sorted(hours, key=lambda row: (row.weekday, row.opens)):
            span = count.get(row.weekday, 0)
            count[row.weekday] = span + 1
            values[f"d{row.weekday}_{span}_opens"] = row.opens
            values[f"d{row.weekday}_{span}_closes"] = row.closes
        return values

    def spans(self) -> list[tuple[int, dt.time, dt.time]]:
        """Return the spans of a valid form as (weekday, opens, closes)."""
        found = []
        for day in Weekday:
            for span in range(SPANS):
                opens = self.cleaned_data.get(f"d{day.value}_{span}_opens")
                closes = self.cleaned_data.get(f"d{day.value}_{span}_closes")
                if opens and closes:
                    found.append((int(day.value), opens, closes))
        return found

    def clean(self) -> dict[str, Any]:
        """Refuse half a span, one that ends before it begins, and two that overlap."""
        data = super().clean() or {}
        for day in Weekday:
            last: dt.time | None = None
            for span in range(SPANS):
                opens, closes = (
                    data.get(f"d{day.value}_{span}_{end}") for end in ("opens", "closes")
                )
                if not opens and not closes:
                    continue
                problem = _span_problem(opens, closes, last)
                if problem:
                    self.add_error(f"d{day.value}_{span}_opens", ValidationError(problem))
                last = closes or last
        return data


def _span_problem(opens: dt.time | None, closes: dt.time | None, last: dt.time | None) -> str:
    if not opens or not closes:
        return _now("Both from and to are needed.")
    if closes <= opens:
        return _now("'To' must come after 'from'.")
    if last is not None and opens < last:
        return _now("The second span must begin after the first ends.")
    return ""
