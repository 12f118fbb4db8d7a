"""Clients, contacts, places, their hours and their water."""

import datetime as dt
from collections.abc import Callable, Mapping
from typing import Any

from django import forms
from django.conf import settings
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from apps.clients.choices import ClientKind, ReportsAs, Units, Weekday
from apps.clients.models import Place, zone_check
from apps.core.fields import LongWordsField, WordsField
from apps.core.texting import number_of
from apps.office.forms.base import ClockField, DayField, DoneDayField, NumberField, RevForm
from apps.office.forms.coordinates import HELP_IN_TOWN, position_typed
from apps.rounds.planning.coordinates import Position

# windows a day that the form begins with, and the most that it takes
SPANS, MOST_SPANS = 2, 6


class ClientForm(forms.Form):
    """Who the firm works for."""

    client_name = WordsField(label=_("Client"), max_length=120)
    kind = forms.ChoiceField(label=_("Kind"), choices=ClientKind.choices)


class ClientEditForm(ClientForm, RevForm):
    """A client based on a version."""

    since = DayField(label=_("Client since"), required=False)
    notes = LongWordsField(label=_("Notes"), max_length=4000, required=False)
    just_tell = forms.BooleanField(
        label=_("Just tell them"), required=False,
        help_text=_("Appointments are told, not asked: nobody waits for an answer."),
    )  # fmt: skip
    active = forms.BooleanField(label=_("We work for them"), required=False)


class ContactForm(forms.Form):
    """A person at the client's."""

    name = WordsField(label=_("Contact"), max_length=120)
    email = forms.EmailField(label=_("E-mail"), required=False, max_length=254)
    phone = WordsField(label=_("Telephone"), max_length=40, required=False)
    language = forms.ChoiceField(label=_("Language"), choices=settings.LANGUAGES)
    units = forms.ChoiceField(label=_("Units"), choices=Units.choices)
    gets_letters = forms.BooleanField(label=_("Gets letters"), required=False, initial=True)
    reports_as = forms.ChoiceField(
        label=_("Reports come"), choices=ReportsAs.choices, required=False,
        initial=ReportsAs.ATTACHED,
        help_text=_("They may choose so themselves, by a link in each of these letters."),
    )  # fmt: skip
    gets_notices = forms.BooleanField(
        label=_("Gets notices"), required=False, initial=True,
        help_text=_("Besides appointments and reports: what is past its day, what runs out, and "
                    "how it goes."),
    )  # fmt: skip
    gets_texts = forms.BooleanField(
        label=_("Gets text messages"), required=False,
        help_text=_("Before a visit, when somebody is on the way, and when we come later."),
    )  # fmt: skip
    time_zone = WordsField(
        label=_("Time zone"), max_length=64, required=False, validators=[zone_check],
        help_text=_("Such as Europe/Brussels, where it is another than ours: letters wait for the "
                    "morning there. Empty: ours."),
    )  # fmt: skip

    def clean(self) -> dict[str, Any]:
        """Refuse letters without an address to send them to."""
        data = super().clean() or {}
        if data.get("gets_letters") and not data.get("email") and "email" not in self.errors:
            self.add_error("email", _now("Letters need an e-mail address."))
        if data.get("gets_texts") and not number_of(str(data.get("phone", ""))):
            message = _now(
                "Text messages need a number with its country, such as +32 470 12 34 56."
            )
            self.add_error("phone", message)
        return data

    def clean_reports_as(self) -> str:
        """Return how reports come; attached where nothing was said."""
        return self.cleaned_data["reports_as"] or ReportsAs.ATTACHED


class PlaceForm(forms.Form):
    """Where systems stand."""

    place_name = WordsField(label=_("Place"), max_length=120, help_text=_("such as: back garden"))
    street = WordsField(label=_("Street and number"), max_length=160)
    town = WordsField(label=_("Town"), max_length=80)
    area = WordsField(
        label=_("Area"), max_length=60, required=False,
        help_text=_("For a technician's standing day."),
    )  # fmt: skip
    where = forms.CharField(
        label=_("Coordinates"), max_length=120, required=False,
        help_text=HELP_IN_TOWN,
    )  # fmt: skip
    altitude_m = NumberField(
        label=_("Height above the sea"), low=-450, high=6000, required=False, unit="m",
        help_text=_("Water holds less oxygen higher up."),
    )  # fmt: skip
    access_notes = LongWordsField(label=_("Getting in"), max_length=2000, required=False)
    gate_code = WordsField(label=_("Gate code"), max_length=40, required=False)
    dog = forms.BooleanField(label=_("There is a dog"), required=False)

    def __init__(
        self, *args: Any, near: Callable[[str], Position | None] = lambda _town: None, **more: Any
    ) -> None:
        """Keep what gives a position near a town, from which short codes count."""
        super().__init__(*args, **more)
        self.near = near

    def clean(self) -> dict[str, Any]:
        """Find the coordinates, and refuse what names no place on earth."""
        data = super().clean() or {}
        data["latitude"] = data["longitude"] = None
        try:
            where = data.get("where", "").strip()
            found = position_typed(where, self.near(data.get("town", "")) if where else None)
        except ValidationError as error:
            self.add_error("where", error)
        else:
            if found is not None:
                data["latitude"], data["longitude"] = found
                data["where"] = Place(latitude=found.lat, longitude=found.lon).where
        if "altitude_m" in data and data["altitude_m"] is None:
            data["altitude_m"] = 0.0
        return data


class PlaceEditForm(PlaceForm, RevForm):
    """A place based on a version."""


class PinForm(RevForm):
    """Where a place lies, from the map."""

    where = forms.CharField(label=_("Coordinates"), max_length=120)

    def clean_where(self) -> str:
        """Find the coordinates; refuse what names no place on earth."""
        found = position_typed(self.cleaned_data["where"])
        if found is None:
            raise ValidationError(_now("Set the pin first."))
        self.at = found
        return Place(latitude=found.lat, longitude=found.lon).where


class PlaceNewForm(ClientForm, ContactForm, PlaceForm):
    """A new client with a first contact and a first place."""

    field_order = [
        "client_name", "kind", "name", "email", "phone", "language", "units", "gets_letters",
        "reports_as", "gets_notices", "gets_texts", "time_zone", *PlaceForm.base_fields,
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
    """The hours at which somebody may come, several windows a day; none at all means any time.

    A window whose two fields are emptied is taken away; `spans` says how many a day has room for.
    """

    spans = forms.CharField(required=False, widget=forms.HiddenInput)

    def __init__(self, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        self.room = self._room()
        self.fields["spans"].initial = str(self.room)
        for day in Weekday:
            for span in range(self.room):
                for end, label in (("opens", _now("from")), ("closes", _now("to"))):
                    self.fields[f"d{day.value}_{span}_{end}"] = ClockField(
                        label=f"{day.label}, {label}", required=False
                    )

    def _room(self) -> int:
        held = [int(name.split("_")[1]) + 1 for name in self.initial if name.startswith("d")]
        sent = str(self.data.get("spans", "")) if self.is_bound else ""
        asked = int(sent) if sent.isascii() and sent.isdigit() and len(sent) < 3 else 0
        return min(MOST_SPANS, max(SPANS, asked, *held, 0))

    @classmethod
    def longer(cls, data: Mapping[str, Any]) -> "HoursForm":
        """Return the form with what was typed so far and room for one more window a day."""
        room = min(MOST_SPANS, cls(data).room + 1)
        return cls(initial={**{name: data[name] for name in data}, f"d1_{room - 1}_": ""})

    @property
    def may_grow(self) -> bool:
        """Whether there may be one more window a day."""
        return self.room < MOST_SPANS

    def rows(self) -> list[dict[str, Any]]:
        """Return the days with their pairs of fields, for a table."""
        return [
            {
                "day": day.label,
                "spans": [
                    (self[f"d{day.value}_{span}_opens"], self[f"d{day.value}_{span}_closes"])
                    for span in range(self.room)
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

    def _typed(self, day: Weekday) -> list[tuple[str, dt.time | None, dt.time | None]]:
        """Return a day's windows with the name of the field at which each is refused."""
        data = self.cleaned_data
        names = [f"d{day.value}_{span}" for span in range(self.room)]
        found = [(name, data.get(f"{name}_opens"), data.get(f"{name}_closes")) for name in names]
        return [
            (f"{name}_opens", opens, closes) for name, opens, closes in found if opens or closes
        ]

    def windows(self) -> list[tuple[int, dt.time, dt.time]]:
        """Return the windows of a valid form as (weekday, opens, closes)."""
        return [
            (int(day.value), opens, closes)
            for day in Weekday
            for _name, opens, closes in self._typed(day)
            if opens and closes
        ]

    def clean(self) -> dict[str, Any]:
        """Refuse half a window, one that ends before it begins, and two that overlap."""
        data = super().clean() or {}
        for day in Weekday:
            held: list[tuple[dt.time, dt.time]] = []
            for name, opens, closes in self._typed(day):
                problem = _span_problem(opens, closes, held)
                if problem:
                    self.add_error(name, ValidationError(problem))
                elif opens and closes:
                    held.append((opens, closes))
        return data


def _span_problem(
    opens: dt.time | None, closes: dt.time | None, held: list[tuple[dt.time, dt.time]]
) -> str:
    if not opens or not closes:
        return _now("Both from and to are needed.")
    if closes <= opens:
        return _now("'To' must come after 'from'.")
    for first, last in held:
        if opens < last and first < closes:
            gaps = {"first": f"{first:%H:%M}", "last": f"{last:%H:%M}"}
            return _now("Overlaps %(first)s to %(last)s; make one of both.") % gaps
    return ""
