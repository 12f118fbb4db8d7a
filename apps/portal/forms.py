"""What a client may write down, and what they may say that they did."""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID, uuid4

from django import forms
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from apps.advice.models import Advice
from apps.core.measures import measured_plain, shift_of
from apps.core.numbers import run, unit_word
from apps.flows.home_log import FEED_LEFT, PHOTO, Entry, Figure
from apps.portal.uploads import OnePhoto
from apps.systems.models import Loop
from apps.visits.labels import basis_option
from apps.visits.services.answers import BadAnswer, value_of

# what a household's kit shows, in the order of a kit's sheet; and what is given
WATER = ("temp", "ph", "tan", "no2", "no3", "alk")
GIVEN = ("feed", "topup")
# what is read from a colour or a display
TUBES = ("ph", "tan", "no2", "no3", "alk")
MOST_KG = 1000.0


DAY_ERRORS = {
    "required": gettext_lazy("Choose the day."),
    "invalid": gettext_lazy("This is no day; write it as 2026-06-15."),
}


def names() -> dict[str, str]:
    """Return what a client calls what is written down."""
    return {
        "temp": _("Water temperature"), "ph": _("pH"), "tan": _("Ammonia"), "no2": _("Nitrite"),
        "no3": _("Nitrate"), "alk": _("Alkalinity"), "feed": _("Feed given on that day"),
        "topup": _("Water added on that day"),
    }  # fmt: skip


@dataclass(frozen=True)
class Home:
    """What a client's system has to write about.

    `entries`: the catalogue's measurands by code; `basis`: as what the client's last one counted;
    `eaten`: some of the fish are of a kind that is eaten.
    """

    loops: Sequence[Loop]
    fish: Sequence[tuple[str, str]]
    plants: Sequence[tuple[str, str]]
    entries: Mapping[str, Mapping[str, Any]]
    basis: Mapping[str, str]
    eaten: bool = True


class LogForm(forms.Form):
    """One entry of a client's; all of it is optional but its time."""

    key = forms.UUIDField(widget=forms.HiddenInput, initial=uuid4)
    day = forms.DateField(
        label=gettext_lazy("Day"), error_messages=DAY_ERRORS,
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
    )  # fmt: skip
    time = forms.TimeField(
        label=gettext_lazy("Time"),
        widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"),
        error_messages={"required": gettext_lazy("Write the time."),
                        "invalid": gettext_lazy("This is no time; write it as 07:30.")},
    )  # fmt: skip

    def __init__(self, data: Any, files: Any = None, *, home: Home, now: dt.datetime) -> None:
        local = timezone.localtime(now)
        super().__init__(data, files, initial={"day": local.date(), "time": local.time()})
        self.home = home
        if len(home.loops) > 1:
            self.fields["loop"] = forms.ChoiceField(
                label=_("Which water"), choices=[(str(row.pk), str(row)) for row in home.loops]
            )
        for code in (*WATER, *GIVEN):
            if code in home.entries:
                self._figure(code, home.entries[code])
        if home.fish:
            self._feed_left()
            self._one_of("batch", _("Which fish"), home.fish)
            self.fields["dead"] = forms.IntegerField(
                label=_("Fish found dead"), required=False, min_value=1, max_value=9999,
                help_text=_("Take them out with gloves or a net, and wash your hands. Several at once: call us."),
            )  # fmt: skip
        if home.fish and home.eaten:
            self.fields["taken"] = forms.IntegerField(
                label=_("Fish taken out to eat"), required=False, min_value=1, max_value=9999
            )
            self.fields["taken_kg"] = _text(_("Their weight together"))
        if home.plants:
            self._one_of("planting", _("Which plants"), home.plants)
            self.fields["heads"] = forms.IntegerField(
                label=_("Heads picked"), required=False, min_value=1, max_value=9999
            )
            self.fields["mass_kg"] = _text(_("Picked, by weight"))

    def _figure(self, code: str, entry: Mapping[str, Any]) -> None:
        self.fields[code] = _text(names()[code])
        units = [str(unit) for unit in entry.get("units", [])]
        first = self.unit_of(code)
        if len(units) > 1:
            self.fields[f"{code}_unit"] = forms.ChoiceField(
                label=_("Unit of %(name)s") % {"name": names()[code]}, initial=first,
                choices=[(unit, run(unit_word(unit))) for unit in units],
            )  # fmt: skip
        if entry.get("basis_choices"):
            self.fields[f"{code}_basis"] = forms.ChoiceField(
                label=_("%(name)s is counted") % {"name": names()[code]},
                initial=self.home.basis.get(code, ""),
                choices=[(str(one), basis_option(str(one), code)) for one in entry["basis_choices"]],
            )  # fmt: skip
        self.fields[f"{code}_sure"] = forms.BooleanField(
            label=_("I have looked again: it is so"), required=False
        )
        if code in TUBES:
            self.fields[f"{code}{PHOTO}"] = forms.Field(
                label=_("Photo of the tube or display, %(name)s") % {"name": names()[code]},
                required=False, widget=OnePhoto,
            )  # fmt: skip

    def _feed_left(self) -> None:
        self.fields[FEED_LEFT] = _text(_("Feed left, all bags together"))
        self.fields[f"{FEED_LEFT}_unit"] = forms.ChoiceField(
            label=_("Unit of %(name)s") % {"name": _("Feed left, all bags together")},
            # whoever sends the line empty need not send a unit with it
            required=False, choices=[(unit, run(unit_word(unit))) for unit in mass_units()],
        )  # fmt: skip
        self.fields[f"{FEED_LEFT}_sure"] = forms.BooleanField(
            label=_("I have looked again: it is so"), required=False
        )

    def unit_of(self, code: str) -> str:
        """Return the unit in which a figure is read: the reader's own for what comes in it."""
        unit = str(self.home.entries[code].get("unit", ""))
        shift = shift_of(unit)
        return shift.name if shift else unit

    def _one_of(self, name: str, label: str, choices: Sequence[tuple[str, str]]) -> None:
        self.fields[name] = forms.ChoiceField(label=label, choices=choices, required=False)

    def clean(self) -> dict[str, Any]:
        """Return the values; each figure is read as a person types it."""
        values = dict(super().clean() or {})
        for code in [*self.codes(), FEED_LEFT, "mass_kg", "taken_kg"]:
            text = str(values.get(code) or "").strip()
            if text:
                try:
                    values[code] = value_of(text)
                except BadAnswer as error:
                    self.add_error(code, str(error)[:1].upper() + str(error)[1:])
        for name in ("mass_kg", "taken_kg"):
            mass = values.get(name)
            if isinstance(mass, float):
                shift = shift_of("kg")
                values[name] = mass = shift.stored(mass) if shift else mass
                if not 0 < mass <= MOST_KG:
                    most = measured_plain(MOST_KG, "kg")
                    self.add_error(
                        name, _("More than 0 and at most %(most)s is needed.") % {"most": most}
                    )
        left = values.get(FEED_LEFT)
        if isinstance(left, float):
            values[FEED_LEFT] = left = (
                left * mass_units()[values.get(f"{FEED_LEFT}_unit") or mass_unit()]
            )
            if not 0 <= left <= MOST_KG * 1000:
                most = measured_plain(MOST_KG, "kg")
                self.add_error(FEED_LEFT, _("From 0 to %(most)s is needed.") % {"most": most})
        if values.get("taken_kg") and "taken" not in self.errors and not values.get("taken"):
            self.add_error("taken", _("How many fish are that? Count them."))
        return values

    def codes(self) -> list[str]:
        """Return what this system's client may write down."""
        return [code for code in (*WATER, *GIVEN) if code in self.fields]

    def entry(self) -> Entry:
        """Return what a valid form says."""
        data = self.cleaned_data
        local = dt.datetime.combine(data["day"], data["time"])
        return Entry(
            key=data["key"], taken_at=timezone.make_aware(local),
            figures={code: self._typed(code) for code in self.codes() if data.get(code) not in ("", None)},
            loop=UUID(data["loop"]) if data.get("loop") else self.home.loops[0].pk,
            dead=(UUID(data["batch"]), data["dead"]) if data.get("dead") else None,
            taken=self._taken(),
            picked=self._picked(),
            photos={code: data[code + PHOTO].read() for code in TUBES if data.get(code + PHOTO)},
            feed_left=self._left(),
        )  # fmt: skip

    def _typed(self, code: str) -> Figure:
        data = self.cleaned_data
        unit = data.get(f"{code}_unit") or self.unit_of(code)
        return Figure(
            float(data[code]), str(self[code].value()).strip()[:40], unit,
            data.get(f"{code}_basis", ""), bool(data.get(f"{code}_sure")),
        )  # fmt: skip

    def _taken(self) -> tuple[UUID, int, float | None] | None:
        data = self.cleaned_data
        if not data.get("taken"):
            return None
        return UUID(data["batch"]), data["taken"], data.get("taken_kg") or None

    def _left(self) -> tuple[float, bool] | None:
        left = self.cleaned_data.get(FEED_LEFT)
        if not isinstance(left, float):
            return None
        return left, bool(self.cleaned_data.get(f"{FEED_LEFT}_sure"))

    def _picked(self) -> tuple[UUID, int | None, float | None] | None:
        data = self.cleaned_data
        heads, mass = data.get("heads"), data.get("mass_kg") or None
        if not heads and mass is None:
            return None
        return UUID(data["planting"]), heads, mass


def mass_unit() -> str:
    """Return the unit in which a mass is typed."""
    shift = shift_of("kg")
    return shift.name if shift else "kg"


def mass_units() -> dict[str, float]:
    """Return the units in which a store of feed is weighed, the usual one first, with their grams."""
    found = {}
    for unit, grams in (("kg", 1000.0), ("g", 1.0)):
        shift = shift_of(unit)
        found[shift.name if shift else unit] = grams * (shift.per if shift else 1.0)
    return found


def _text(label: str) -> forms.CharField:
    box = forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"})
    return forms.CharField(label=label, required=False, max_length=20, widget=box)


class DoneForm(forms.Form):
    """Which of the client's things to do are done, and on which day."""

    day = forms.DateField(
        label=gettext_lazy("Day"), error_messages=DAY_ERRORS,
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
    )  # fmt: skip
    done = forms.ModelMultipleChoiceField(
        Advice.objects.none(), widget=forms.CheckboxSelectMultiple,
        error_messages={"required": gettext_lazy("Tick what is done.")},
    )  # fmt: skip

    def __init__(self, data: Any, *, rows: Any, today: dt.date) -> None:
        super().__init__(data, initial={"day": today})
        self.today = today
        self.fields["done"].queryset = rows  # type: ignore[attr-defined]

    def clean_day(self) -> dt.date:
        """Return the day. Raises ValidationError for one that has not come."""
        day: dt.date = self.cleaned_data["day"]
        if day > self.today:
            raise forms.ValidationError(_("This day has not come yet."))
        return day
