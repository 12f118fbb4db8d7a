"""The reader of one report: their language and zone, and the names that they know."""

import datetime as dt
from collections.abc import Callable, Mapping, Sequence
from typing import Any
from zoneinfo import ZoneInfo

from babel.dates import format_time
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from apps.core.dates import day_text
from apps.core.numbers import babel_locale
from apps.systems.choices import ComponentKind
from apps.visits.choices import WORST_FIRST
from apps.visits.shown import Shown, loop_name, shown

# measurands in a client's words; what has none here keeps the catalogue's name
PLAIN: Mapping[str, str] = {
    "temp": gettext_noop("warmth"), "do": gettext_noop("oxygen"), "ph": gettext_noop("pH"),
    "alk": gettext_noop("alkalinity"), "tan": gettext_noop("ammonia"),
    "nh3": gettext_noop("harmful ammonia"), "no2": gettext_noop("nitrite"),
    "no3": gettext_noop("nitrate"), "ec": gettext_noop("dissolved salts"),
    "gh": gettext_noop("hardness"), "po4": gettext_noop("phosphate"),
    "chlorine": gettext_noop("chlorine"), "feed": gettext_noop("feed given"),
    "batt": gettext_noop("backup battery"),
}  # fmt: skip
# nitrogen or phosphorus, as which a reading is given whatever the kit prints
ELEMENTS: Mapping[str, str] = {"tan": "N", "no2": "N", "no3": "N", "po4": "P"}
# parts as firms mostly call them; the kinds' own names are in the catalogue already
PARTS = (
    gettext_noop("Fish tank"),
    gettext_noop("Raft bed"), gettext_noop("Gravel bed"), gettext_noop("Return valve"),
    gettext_noop("Bell siphon"), gettext_noop("Low sump"),
)  # fmt: skip
# why we come where nobody wrote another reason
USUAL = gettext_noop("planned care")
# what the fish feel at once, as against what feeds plants and filter
FISH_FEEL = ("do", "temp", "tan", "nh3", "no2", "chlorine", "ph")


class Reader:
    """The reader of one report: their language, dates in the firm's zone."""

    def __init__(self, snapshot: Mapping[str, Any]) -> None:
        self.snapshot = snapshot
        self.zone = ZoneInfo(snapshot["time_zone"])
        self.locale = babel_locale()

    def moment(self, text: str) -> dt.datetime:
        """Return a kept time in the firm's zone."""
        return dt.datetime.fromisoformat(text).astimezone(self.zone)

    def date(self, text: str) -> dt.date:
        """Return the day of a kept date or time."""
        return self.moment(text).date() if "T" in text else dt.date.fromisoformat(text)

    def day(self, text: str, *, year: bool = False) -> str:
        """Return a kept date or time as 'Thu 11 June'."""
        return day_text(self.date(text), "year" if year else "short")

    def bare(self, text: str) -> str:
        """Return a kept date or time as '11 June'."""
        return day_text(self.date(text), "bare")

    def clock(self, text: str) -> str:
        """Return a kept time as '08:05'."""
        return format_time(self.moment(text).time(), "HH:mm", locale=self.locale)

    def readings(self) -> list[Shown]:
        """Return the readings in words and figures."""
        return [shown(row) for row in self.snapshot["readings"]]

    def judged(self) -> list[Shown]:
        """Return the readings that are trusted and have a band."""
        return [item for item in self.readings() if item.data["trusted"] and item.judged]

    @property
    def on(self) -> dt.date:
        """The day of the visit."""
        return self.date(self.snapshot["visit"]["finished"])


def plain_name(item: Shown) -> str:
    """Return what a client calls a measurand, in the middle of a sentence."""
    kept = PLAIN.get(item.data["measurand"])
    name = _(kept) if kept else item.name
    return name if name.startswith("pH") or kept else name[:1].lower() + name[1:]


def head_name(item: Shown) -> str:
    """Return what a client calls a measurand, at the head of a sentence or a row."""
    return upper_first(plain_name(item))


def upper_first(text: str) -> str:
    """Return a text that begins with a capital; 'pH' stays."""
    return text if text.startswith("pH") else text[:1].upper() + text[1:]


def counts_as(item: Shown) -> str:
    """Return as what a reading is given: "CaCO₃", "N"; empty where it is the thing itself."""
    salt = item.data["unit"].partition(" ")[2] if item.data["unit"].startswith("mg/L ") else ""
    return salt.replace("CaCO3", "CaCO₃") or ELEMENTS.get(item.data["measurand"], "")


def part_name(name: str) -> str:
    """Return a part by its usual name in the reader's language; one of the firm's own as it stands."""
    if name in PARTS:
        return _(name)
    kind = name.casefold().replace(" ", "_")
    return upper_first(str(ComponentKind(kind).label)) if kind in ComponentKind.values else name


def said_name(item: Shown) -> str:
    """Return what is said to be low or high: of a temperature, the water itself."""
    return _("the water") if item.data["measurand"] == "temp" else plain_name(item)


def names_of(items: Sequence[Shown], name: Callable[[Shown], str] = said_name) -> str:
    """Return the names of readings as one: "iron, zinc and copper", each once."""
    return listed(list(dict.fromkeys(name(item) for item in items)))


def listed(names: Sequence[str]) -> str:
    """Return names as one, one or more of them: "iron", "iron, zinc and copper"."""
    if len(names) == 1:
        return names[0]
    return _("%(first)s and %(last)s") % {"first": ", ".join(names[:-1]), "last": names[-1]}


def bare_unit(unit: str) -> str:
    """Return a unit without what it counts as: 'mg/L' of 'mg/L CaCO3'."""
    return unit.split(" ")[0] if unit.startswith("mg/L") else unit


def side_of(item: Shown) -> str:
    """Return on which side a reading has left its good band."""
    if item.today is None:
        return ""
    if item.band.good_low is not None and item.today < item.band.good_low:
        return "low"
    return "high" if item.band.good_high is not None and item.today > item.band.good_high else ""


def worst_items(items: Sequence[Shown]) -> tuple[str, list[Shown]]:
    """Return the worst word among readings and those that have it; nothing where none is judged."""
    for word in WORST_FIRST:
        found = [item for item in items if item.word == word]
        if found:
            return word, found
    return "", []


def loops_of(reader: Reader) -> list[tuple[str, list[Shown]]]:
    """Return the readings by loop, with the loop's name."""
    kinds = {loop["id"]: loop["kind"] for loop in reader.snapshot["sketch"]}
    found: dict[str, list[Shown]] = {}
    for item in reader.readings():
        found.setdefault(item.data["loop"], []).append(item)
    return [(loop_name(kinds[pk]), items) for pk, items in found.items()]
