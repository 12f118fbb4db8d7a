"""What a site survey asks, in the order in which one walks round, and what its concerns are called."""

from collections.abc import Mapping
from dataclasses import dataclass

from django.db import models
from django.utils.functional import Promise
from django.utils.translation import gettext, pgettext_lazy
from django.utils.translation import gettext_lazy as _

from apps.calc.design.survey import NARROWEST_M, NEEDED, Concern
from apps.core.measures import measured_plain
from apps.proposals.choices import (
    Allowed,
    Consent,
    Drain,
    Ground,
    Known,
    Rcd,
    Source,
    Wind,
)

NUMBER, WHOLE, CHOICE, LINE, TEXT, TICK, SPECIES = (
    "number", "whole", "choice", "line", "text", "tick", "species",
)  # fmt: skip


@dataclass(frozen=True)
class Asked:
    """One question of a survey: its field, label, kind of answer, unit, choices and a hint."""

    name: str
    label: Promise
    kind: str = NUMBER
    unit: Promise | str = ""
    choices: type[models.TextChoices] | None = None
    hint: Promise | str = ""


Group = tuple[str, Promise, tuple[Asked, ...]]
# readings that are kept as the place's source water
WATER = (
    "ph", "alkalinity_mg_l_caco3", "hardness_mg_l_caco3", "total_chlorine_mg_l", "chloramine",
    "temp_c",
)  # fmt: skip
GROUPS: tuple[Group, ...] = (
    ("wants", _("What the client wants"), (
        Asked("wants", _("In their words"), TEXT, hint=_("fish, plants, how much, for whom, budget, what they will do themselves")),
        Asked("species", _("Fish they think of"), SPECIES),
        Asked("allowed", _("May these fish be kept here"), CHOICE, choices=Allowed),
        Asked("allowed_by", _("Who said so, and when"), LINE),
        Asked("consent", _("Whose ground it is"), CHOICE, choices=Consent),
    )),
    ("room", _("Room and ground"), (
        Asked("length_m", _("Length"), unit=pgettext_lazy("unit", "m")),
        Asked("width_m", _("Width"), unit=pgettext_lazy("unit", "m")),
        Asked("height_m", _("Height under a roof"), unit=pgettext_lazy("unit", "m")),
        Asked("ground", _("Ground"), CHOICE, choices=Ground),
        Asked("floor_kg_m2", _("It carries"), unit=pgettext_lazy("unit", "kg/m²"), hint=_("By the engineer's letter or the plan; a tank 0.9 m deep weighs about 900.")),
        Asked("slope_mm_m", _("Out of level"), unit=pgettext_lazy("unit", "mm/m")),
        Asked("narrowest_m", _("Narrowest way in"), unit=pgettext_lazy("unit", "m")),
        Asked("stairs", _("Stairs on the way"), CHOICE, choices=Known),
    )),
    ("climate", _("Sun, wind and cold"), (
        Asked("sun_hours", _("Direct sun in the weakest growing month"), unit=pgettext_lazy("unit", "h/day")),
        Asked("shade", _("What throws shade, from where, when"), TEXT),
        Asked("wind", _("Wind"), CHOICE, choices=Wind),
        Asked("winter_c", _("Water in the coldest month"), unit=pgettext_lazy("unit", "°C"), hint=_("About the mean air temperature of that month where nothing is measured.")),
        Asked("summer_c", _("Water in the hottest weeks"), unit=pgettext_lazy("unit", "°C")),
        Asked("frost_days", _("Days of frost a year"), WHOLE),
    )),
    ("water", _("Source water"), (
        Asked("source", _("It comes from"), CHOICE, choices=Source),
        Asked("ph", _("pH")),
        Asked("alkalinity_mg_l_caco3", _("Alkalinity"), unit=pgettext_lazy("unit", "mg/L CaCO3")),
        Asked("hardness_mg_l_caco3", _("Hardness"), unit=pgettext_lazy("unit", "mg/L CaCO3")),
        Asked("total_chlorine_mg_l", _("Total chlorine"), unit=pgettext_lazy("unit", "mg/L")),
        Asked("chloramine", _("The utility uses chloramine"), TICK),
        Asked("temp_c", _("Temperature"), unit=pgettext_lazy("unit", "°C")),
        Asked("sodium_mg_l", _("Sodium, by a laboratory"), unit=pgettext_lazy("unit", "mg/L")),
        Asked("chloride_mg_l", _("Chloride, by a laboratory"), unit=pgettext_lazy("unit", "mg/L")),
        Asked("copper_mg_l", _("Copper, by a laboratory"), unit=pgettext_lazy("unit", "mg/L")),
        Asked("zinc_mg_l", _("Zinc, by a laboratory"), unit=pgettext_lazy("unit", "mg/L")),
        Asked("iron_mg_l", _("Iron, by a laboratory"), unit=pgettext_lazy("unit", "mg/L")),
    )),
    ("power", _("Power"), (
        Asked("volts", _("Voltage"), unit=pgettext_lazy("unit", "V")),
        Asked("amps", _("Fuse of the circuit"), unit=pgettext_lazy("unit", "A")),
        Asked("socket_m", _("To the nearest outdoor socket"), unit=pgettext_lazy("unit", "m")),
        Asked("earthed", _("Earthed"), CHOICE, choices=Known),
        Asked("rcd", _("Residual-current device (RCD)"), CHOICE, choices=Rcd, hint=_("Press its button only with the client's word; whatever is wrong with it is for a licensed electrician.")),
        Asked("rcd_ma", _("Its rated current"), unit=pgettext_lazy("unit", "mA")),
        Asked("outage_h_month", _("Power cuts"), unit=pgettext_lazy("unit", "h/month")),
        Asked("longest_outage_h", _("Longest one in a year"), unit=pgettext_lazy("unit", "h")),
    )),
    ("around", _("Drains and who lives there"), (
        Asked("drain", _("Drained water can go to"), CHOICE, choices=Drain),
        Asked("soil_m2", _("Soil garden for sludge water"), unit=pgettext_lazy("unit", "m²")),
        Asked("comers", _("Children, pets, herons, cats"), TEXT),
        Asked("neighbour_m", _("To the nearest neighbour's window"), unit=pgettext_lazy("unit", "m")),
        Asked("notes", _("What else was seen"), TEXT, hint=_("phone signal, photos taken and where they lie")),
    )),
)  # fmt: skip
# a measurement of the water is none without these
WATER_NEEDED = ("ph", "alkalinity_mg_l_caco3", "total_chlorine_mg_l")
LABELS: Mapping[str, Promise] = {row.name: row.label for _c, _t, rows in GROUPS for row in rows}

CONCERNS: Mapping[str, Promise] = {
    "sun_hours": _("%(figure)s h of sun in the weakest month: leafy greens want 4 to 6, fruiting crops 6 to 8. Under 3 h nothing grows without lamps."),
    "total_chlorine_mg_l": _("The source water holds %(figure)s mg/L of chlorine: it is taken out before it meets fish or filter."),
    "chloramine": _("The water is treated with chloramine: it takes more than standing or airing to remove, and leaves ammonia behind."),
    "alkalinity_mg_l_caco3": _("The source water has %(figure)s mg/L alkalinity: from 120 the pH stays high for months, from 250 it wants rain water or acid in the barrel by trained people."),
    "hardness_mg_l_caco3": _("The source water is hard (%(figure)s mg/L): scale on heater and pump."),
    "sodium_mg_l": _("The source water holds %(figure)s mg/L of sodium: it gathers, and more water has to be drawn off; over 100 no fruiting crops."),
    "chloride_mg_l": _("The source water holds %(figure)s mg/L of chloride: it gathers in a plant loop."),
    "copper_mg_l": _("The source water holds %(figure)s mg/L of copper, which harms fish in soft water: let it run two minutes first, and have old copper pipe looked at."),
    "zinc_mg_l": _("The source water holds %(figure)s mg/L of zinc: nothing galvanised on its way."),
    "iron_mg_l": _("The source water holds %(figure)s mg/L of iron: it blocks pipes and gills; air it and let it settle first."),
    "ph": _("The source water has a pH of %(figure)s, outside 6.5 to 8: its alkalinity decides what that means."),
    "slope_mm_m": _("The ground is %(figure)s mm/m out of level: packed up to 15, a new base beyond."),
    "socket_m": _("The socket is %(figure)s away: no extension leads; a fixed one by a licensed electrician."),
    "outage_h_month": _("The power is out %(figure)s h a month: battery air at least; over 5 h a generator or air from the sun."),
    "longest_outage_h": _("The power was out %(figure)s h at once: battery air alone does not last; a generator or air from the sun."),
    "narrowest_m": _("The way in is %(figure)s wide: measure each tank against it; under %(least)s it does not pass."),
    "frost_days": _("%(figure)s days of frost a year: pipes drained or covered, and fish for this winter."),
    "wind_open": _("Open to the wind: trellis and covers are tied down."),
    "wind_storms": _("Storms come there: how it is anchored is for an engineer."),
    "source_surface": _("Water of ponds and streams brings disease and poisons in: another source is better."),
    "well_untested": _("A well that no laboratory has seen: sodium, chloride and metals first."),
    "ground_soil": _("On soil a base comes first, or a full tank sinks askew."),
    "ground_roof": _("On a roof or balcony an engineer's letter comes before anything else."),
    "floor_weak": _("The floor carries %(figure)s, less than a full tank weighs: an engineer's letter first."),
    "floor_unknown": _("Nobody knows what the floor carries: an engineer's letter first."),
    "earthed_no": _("The socket is not earthed: a licensed electrician before anything is plugged in."),
    "earthed_unknown": _("Whether the socket is earthed is not known: a licensed electrician looks at it first."),
    "rcd_none": _("There is no residual-current device: a licensed electrician fits one before anything is plugged in."),
    "rcd_fails": _("The residual-current device does not trip: out of use until a licensed electrician has mended it."),
    "rcd_untested": _("The residual-current device was not tested."),
    "stairs_yes": _("Stairs on the way in: two people carry, and the tank has to pass the turn."),
    "drain_shared": _("The drain is shared: ask whose it is, and whether it may be used."),
    "drain_storm": _("A storm drain takes no water of fish: another way for drained water first."),
    "drain_nowhere": _("There is nowhere for drained water yet: a soil garden or a sewer first, as local rules say."),
    "allowed_not_asked": _("Nobody has asked yet whether these fish may be kept here."),
    "allowed_permit": _("These fish want a permit: it comes before they do."),
    "allowed_refused": _("These fish may not be kept here: others, or none."),
    "consent_asked": _("Whoever owns the ground has not agreed in writing yet."),
    "consent_refused": _("Whoever owns the ground does not agree."),
}  # fmt: skip


# in what a concern's figure is measured, where its sentence does not say it
CONCERN_UNITS: Mapping[str, str] = {"socket_m": "m", "narrowest_m": "m", "floor_weak": "kg/m²"}


# what nobody can leave out by not looking: words of the client's own, and remarks
OF_ITSELF = frozenset({"wants", "species", "allowed_by", "shade", "notes"})


def left_empty(seen: Mapping[str, object]) -> tuple[str, ...]:
    """Return what else was not looked at, beside what a design needs, in the order of the walk."""
    return tuple(
        name
        for name in LABELS
        if name not in NEEDED and name not in OF_ITSELF and seen.get(name) in (None, "")
    )


def concern_words(concern: Concern) -> str:
    """Return a concern as a sentence with its figure, in the active language."""
    unit = CONCERN_UNITS.get(concern.code, "")
    figure = "" if concern.figure is None else measured_plain(concern.figure, unit)
    said = {"figure": figure, "least": measured_plain(NARROWEST_M, "m")}
    return gettext(str(CONCERNS[concern.code])) % said
