"""What a design's sizes and doubts are called."""

from collections.abc import Mapping

from django.utils.functional import Promise
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from apps.calc.design.parts import Part
from apps.calc.design.sizing import Doubt, rough
from apps.core.measures import measured_plain
from apps.core.numbers import format_plain, with_unit
from apps.core.phrases import upper_first
from apps.systems.choices import ComponentKind
from apps.systems.models import Component

# in the order in which they are read
GROUPS: tuple[tuple[Promise, tuple[str, ...]], ...] = (
    (_("What lives in it"), ("beds", "feed", "fish", "count", "tank")),
    (_("Water that stays good"), ("tan", "media_area", "moving_bed", "oxygen", "air", "settler",
                                  "settler_water")),
    (_("Water that moves"), ("bed_water", "flow", "pump", "head", "pipe", "pump_watts", "sump",
                             "volume", "heater")),
    (_("What it takes"), ("feed_month", "base", "top_up", "sludge", "energy")),
    (_("What it gives"), ("fish_year", "heads_week", "plants")),
    (_("When the power fails"), ("minutes",)),
)  # fmt: skip
NAMES: Mapping[str, Promise] = {
    "beds": _("Beds"), "feed": _("Feed when full"), "fish": _("Fish when full"),
    "count": _("Number of fish"), "tank": _("Fish tank"), "tan": _("Ammonia nitrogen made"),
    "media_area": _("Filter surface"), "moving_bed": _("Moving-bed carriers"),
    "oxygen": _("Oxygen used"), "air": _("Air"), "settler": _("Settler, across"),
    "settler_water": _("Settler, water"), "bed_water": _("Water in the beds"),
    "flow": _("Flow through the tank"), "pump": _("Pump, at its duty head"),
    "head": _("Duty head"), "pipe": _("Pressure pipe, inside"), "pump_watts": _("Pump, electrical"),
    "sump": _("Sump"), "volume": _("Water in all"), "heater": _("Heater"),
    "feed_month": _("Feed"), "base": _("Potassium bicarbonate"), "top_up": _("Top-up water"),
    "sludge": _("Sludge drained"), "energy": _("Energy, heater not counted"),
    "fish_year": _("Fish to eat"), "heads_week": _("Heads a week"), "plants": _("Plants"),
    "minutes": _("Minutes in the tank without air, fed to rested"),
}  # fmt: skip
UNITS: Mapping[str, Promise] = {
    "kg a month": _("kg a month"), "kg a year": _("kg a year"), "L a week": _("L a week"),
    "lb a month": _("lb a month"), "lb a year": _("lb a year"),
    "oz a month": _("oz a month"), "oz a year": _("oz a year"),
    "US gal a week": _("US gal a week"),
}  # fmt: skip
DOUBTS: Mapping[str, Promise] = {
    "too_hot": _("The water may reach %(summer)s; these fish eat up to %(limit)s: shade, "
                 "other fish, or none in summer."),
    "too_cold": _("The water may fall to %(winter)s and these fish die below %(limit)s."),
    "heated": _("A heater of about %(watts)s W runs for months: cover and insulate first, or "
                "choose fish for this winter."),
    "power_over": _("Pump, air and heater take about %(needed)s W and the circuit gives "
                    "%(supply)s W, of which four fifths for what runs for hours: a licensed "
                    "electrician decides on a circuit of its own before anything is ordered."),
    "power_unknown": _("Pump, air and heater take about %(needed)s W and nobody has looked at "
                       "voltage and fuse: a licensed electrician says what the circuit bears."),
    "floor": _("A full tank or bed weighs about %(load)s and the floor carries %(floor)s: "
               "an engineer's letter before anything is built."),
    "source_unknown": _("The source water is not measured: alkalinity, hardness and chlorine "
                        "before the offer."),
    "source_hard": _("The source water has %(alkalinity)s mg/L alkalinity: the pH will stay high "
                     "for months. Rain water, or acid in the barrel by trained people."),
    "backup_air": _("In the tank alone the air lasts about %(minutes)s minutes after a feed: "
                    "battery air is part of the system, not an extra."),
    "raft_rule": _("Another rule (raft, little water changed) gives %(low)s to %(high)s of beds "
                   "for this feed."),
    "nitrogen_left": _("The fish make %(made)s of nitrogen a day and the plants take about "
                       "%(taken)s: nitrate rises unless water is drawn off."),
}  # fmt: skip
# in what a doubt's figures are measured, where its sentence does not say it
DOUBT_UNITS: Mapping[tuple[str, str], str] = {
    ("too_hot", "summer"): "°C", ("too_hot", "limit"): "°C",
    ("too_cold", "winter"): "°C", ("too_cold", "limit"): "°C",
    ("floor", "load"): "kg/m²", ("floor", "floor"): "kg/m²",
    ("raft_rule", "low"): "m²", ("raft_rule", "high"): "m²",
    ("nitrogen_left", "made"): "g", ("nitrogen_left", "taken"): "g",
}  # fmt: skip
CAUTIONS: tuple[Promise, ...] = (
    _("Electrics beside water: a licensed electrician, a residual-current device on each circuit, "
      "drip loops, sockets above the flood level, as local codes say."),
    _("Ask first whether these fish may be kept, moved and eaten here: many places want a permit. "
      "Fish are never set free."),
    _("Tanks are lidded and fenced where children can come, as local rules say."),
)  # fmt: skip

# parts that are no component of their own
PIECES: Mapping[str, Promise] = {
    "carriers": _("Moving-bed carriers"), "pipe": _("Pressure pipe with its fittings"),
}  # fmt: skip


def doubt_words(doubt: Doubt) -> str:
    """Return a doubt as a sentence with its figures."""
    figures = {
        name: measured_plain(rough(value), DOUBT_UNITS.get((doubt.code, name), ""))
        for name, value in doubt.figures
    }
    return gettext(str(DOUBTS[doubt.code])) % figures


def kind_name(code: str) -> str:
    """Return what a part of a design is called; KeyError for one that no design has."""
    if code in PIECES:
        return gettext(str(PIECES[code]))
    return upper_first(str(ComponentKind(code).label))


def part_size(part: Component | Part) -> str:
    """Return what a part measures, in words; empty where nothing is known."""
    said = []
    if part.litres:
        said.append(measured_plain(part.litres, "L"))
    if part.area_m2:
        said.append(measured_plain(part.area_m2, "m²"))
    if part.flow_l_h:
        said.append(measured_plain(part.flow_l_h, "L/h"))
    if part.lift_m:
        metres = measured_plain(part.lift_m, "m")
        said.append(gettext("%(metres)s of lift") % {"metres": metres})
    if part.watts:
        said.append(with_unit(format_plain(part.watts), "W"))
    return ", ".join(said)
