"""The sentences of a report, made from its snapshot in the reader's language and units."""

import datetime as dt
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from zoneinfo import ZoneInfo

from babel.dates import format_time
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from apps.advice.selectors import advice_text, caution_texts
from apps.core.dates import day_text
from apps.core.numbers import babel_locale, format_figure, with_unit
from apps.visits.besides import supply_words, swap_words
from apps.visits.choices import WORST_FIRST
from apps.visits.shown import Shown, loop_name, shown

MAX_ACTIONS = 5


@dataclass(frozen=True)
class Action:
    """One thing to do: its sentence, who does it, by when."""

    text: str
    who: str
    when: str
    urgency: str


class Reader:
    """The reader of one report: dates in the firm's zone, figures in the reader's units."""

    def __init__(self, snapshot: Mapping[str, Any]) -> None:
        self.snapshot = snapshot
        self.units: str = snapshot["units"]
        self.zone = ZoneInfo(snapshot["time_zone"])
        self.locale = babel_locale(snapshot["language"])

    def moment(self, text: str) -> dt.datetime:
        """Return a kept time in the firm's zone."""
        return dt.datetime.fromisoformat(text).astimezone(self.zone)

    def day(self, text: str, *, year: bool = False) -> str:
        """Return a kept date or time as 'Thu 11 June'."""
        day = self.moment(text).date() if "T" in text else dt.date.fromisoformat(text)
        return day_text(day, "year" if year else "short", self.snapshot["language"])

    def clock(self, text: str) -> str:
        """Return a kept time as '08:05'."""
        return format_time(self.moment(text).time(), "HH:mm", locale=self.locale)

    def readings(self) -> list[Shown]:
        """Return the readings in words and figures."""
        return [shown(row, self.units) for row in self.snapshot["readings"]]


def meaning(measurand: str, side: str) -> str:
    """Return what it means, in plain words, that a reading has left its band on a side."""
    return meanings().get((measurand, side), "")


def meanings() -> dict[tuple[str, str], str]:
    """Return what leaving a band means, by measurand and side."""
    return {
        ("ph", "low"): _("The water has turned sour; the filter's bacteria slow down."),
        ("ph", "high"): _("The water is hard on the fish and hides iron from the plants."),
        ("alk", "low"): _("Alkalinity keeps pH steady; the filter uses it up, and little is left."),
        ("alk", "high"): _(
            "The water is so well buffered that its pH will not come down by itself."
        ),
        ("tan", "high"): _("Ammonia is the fish's waste; the filter does not keep up with it."),
        ("no2", "high"): _(
            "Nitrite comes between ammonia and nitrate, and keeps fish from breathing."
        ),
        ("no3", "high"): _("Nitrate feeds the plants; there is more of it than they use."),
        ("no3", "low"): _("Nitrate feeds the plants; they want more than there is."),
        ("do", "low"): _("The fish and the filter have too little oxygen."),
        ("temp", "high"): _(
            "The water is warmer than these fish like; warm water holds less oxygen."
        ),
        ("temp", "low"): _("The water is colder than these fish like; they eat less."),
        ("fe", "low"): _("The plants are short of iron."),
        ("k", "low"): _("The plants are short of potassium."),
        ("ca", "low"): _("The plants are short of calcium."),
        ("ec", "high"): _("Salts have gathered in the water."),
        ("ec", "low"): _("The plants have few nutrients to draw on."),
        ("chlorine", "high"): _("Tap water with chlorine has come in; it hurts fish and filter."),
    }


def side_of(item: Shown) -> str:
    """Return on which side a reading has left its good band."""
    if item.today is None:
        return ""
    if item.band.good_low is not None and item.today < item.band.good_low:
        return "low"
    return "high" if item.band.good_high is not None and item.today > item.band.good_high else ""


def _names(items: Sequence[Shown]) -> str:
    names = list(
        dict.fromkeys(
            item.name if item.name.startswith("pH") else item.name[:1].lower() + item.name[1:]
            for item in items
        )
    )
    if len(names) == 1:
        return names[0]
    return _("%(first)s and %(last)s") % {"first": ", ".join(names[:-1]), "last": names[-1]}


def _worst_items(reader: Reader) -> tuple[str, list[Shown]]:
    trusted = [item for item in reader.readings() if item.data["trusted"] and item.judged]
    for word in WORST_FIRST:
        found = [item for item in trusted if item.word == word]
        if found:
            return word, found
    return "", []


def verdict(reader: Reader) -> str:
    """Return how the system is, in one sentence that a reader may stop at."""
    word, items = _worst_items(reader)
    fish = bool(reader.snapshot["fish"])
    if not word:
        return _("We could not judge the water this time; below stands why.")
    names = _names(items)
    count = len({item.data["measurand"] for item in items})
    if word == "harmful":
        if fish:
            return ngettext(
                "Your fish need help: %(names)s is at a harmful level.",
                "Your fish need help: %(names)s are at harmful levels.", count,
            ) % {"names": names}  # fmt: skip
        return ngettext(
            "The system needs help: %(names)s is at a harmful level.",
            "The system needs help: %(names)s are at harmful levels.", count,
        ) % {"names": names}  # fmt: skip
    if word == "out_of_band":
        return ngettext(
            "The system needs a hand: %(names)s is out of its good band.",
            "The system needs a hand: %(names)s are out of their good bands.", count,
        ) % {"names": names}  # fmt: skip
    if word == "near_edge" or word == "near_the_edge":
        return ngettext(
            "All is well. We keep an eye on %(names)s, which is near the edge of its band.",
            "All is well. We keep an eye on %(names)s, which are near the edge of their bands.",
            count,
        ) % {"names": names}  # fmt: skip
    if fish:
        return _("Your fish and the water are well.")
    return _("The water is well.")


def why(reader: Reader) -> list[str]:
    """Return two or three sentences that say why."""
    word, items = _worst_items(reader)
    if word in ("", "in_band"):
        return [_("Everything that we measured lies in its good band.")] if word else []
    sentences = []
    for item in items[:3]:
        was = (
            _("%(name)s stands at %(figure)s; last time it was %(last)s.")
            if item.last
            else _("%(name)s stands at %(figure)s.")
        ) % {"name": item.name, "figure": with_unit(item.figure, item.unit), "last": item.last}
        told = meaning(item.data["measurand"], side_of(item))
        sentences.append(f"{was} {told}".strip())
    return sentences


def who_words(who: str) -> str:
    """Return who does an action, as the client reads it."""
    return {
        "client": _("you"),
        "technician": _("us"),
        "office": _("us"),
        "electrician": _("a licensed electrician"),
        "fish_health": _("a fish-health professional"),
    }.get(who, _("us"))


def when_words(reader: Reader, row: Mapping[str, Any]) -> str:
    """Return by when."""
    if row["urgency"] == "now":
        return _("now")
    if row["urgency"] == "today":
        return _("today")
    if row["by"]:
        return _("by %(day)s") % {"day": reader.day(row["by"])}
    if row["urgency"] == "next_visit":
        return _("next visit")
    return _("good to know")


def actions(reader: Reader) -> list[Action]:
    """Return what to do, most urgent first."""
    return [
        Action(
            text=row["text"] or advice_text(row["rule"], row["parameters"]),
            who=who_words(row["who"]),
            when=when_words(reader, row),
            urgency=row["urgency"],
        )
        for row in reader.snapshot["advice"]
    ]


def eat_lines(reader: Reader) -> list[tuple[str, bool]]:
    """Return what may be eaten: (sentence, wait). The usual hygiene always stands."""
    lines: list[tuple[str, bool]] = []
    held: set[str] = set()
    for hold in reader.snapshot["holds"]:
        touched = {"fish": _("Fish"), "plants": _("Plants"), "both": _("Fish and plants")}
        lines.append(
            (
                _("%(what)s: wait until %(day)s (%(product)s).")
                % {
                    "what": touched[hold["touches"]],
                    "day": reader.day(hold["until"]),
                    "product": hold["product"],
                },
                True,
            )
        )
        held |= {"fish", "plants"} if hold["touches"] == "both" else {hold["touches"]}
    free = [w for w in ("fish", "plants") if w not in held and reader.snapshot[w]]
    if free == ["fish", "plants"]:
        lines.append((_("Fish and greens: fine to eat, washed and cooked as usual."), False))
    elif free == ["plants"]:
        lines.append((_("Greens: fine to eat, washed well."), False))
    elif free == ["fish"]:
        lines.append((_("Fish: fine to eat, cooked through."), False))
    return lines


def work_lines(reader: Reader, reasons: Mapping[str, str]) -> list[dict[str, str]]:
    """Return what was done, what not and why."""
    words = {"done": _("done"), "not_done": _("not done"), "not_here": _("not here")}
    rows = []
    for line in reader.snapshot["lines"]:
        name = _("Left everything running") if line["code"] == "left_running" else _(line["name"])
        reason = _(reasons.get(line["reason"], line["reason"])) if line["reason"] else ""
        rows.append(
            {
                "name": name,
                "outcome": words.get(line["outcome"], _("not due")),
                "note": " · ".join(part for part in (reason, line["note"]) if part),
            }
        )
    return [row for row in rows if row["outcome"] != _("not due")]


def derived_rows(reader: Reader) -> list[dict[str, str]]:
    """Return the worked-out values that a client understands."""
    names = {
        "nh3": (_("Un-ionised ammonia, the harmful part"), 3),
        "do_pct": (_("Oxygen, share of what the water can hold"), 0),
        "co2": (_("Carbon dioxide"), 1),
        "biomass": (_("Fish, together"), 1),
        "density": (_("Fish in the tank"), 1),
        "ration": (_("Feed a day that suits them"), 0),
        "minutes_without_air": (_("Minutes that the fish last without air, at least"), 0),
    }
    rows = []
    shown = [row for row in reader.snapshot["derived"] if row["code"] in names]
    often = Counter(row["code"] for row in shown)
    kinds = {loop["id"]: loop["kind"] for loop in reader.snapshot["sketch"]}
    for row in shown:
        name, decimals = names[row["code"]]
        if often[row["code"]] > 1 and row["loop"] in kinds:
            name = f"{name}, {loop_name(kinds[row['loop']])}"
        least = 10**-decimals
        small = 0 < row["value"] < least / 2
        figure = format_figure(
            least if small else row["value"], decimals, reader.snapshot["language"]
        )
        figure = f"< {figure}" if small else figure
        rows.append({"name": name, "figure": with_unit(figure, row["unit"])})
    return rows


def supply_lines(reader: Reader) -> list[str]:
    """Return what was used here."""
    return [supply_words(row) for row in reader.snapshot.get("supplies", [])]


def swap_rows(reader: Reader) -> list[dict[str, str]]:
    """Return which parts were swapped."""
    return [
        {"name": _("Swapped: %(name)s") % {"name": row["name"]}, "what": swap_words(row)}
        for row in reader.snapshot.get("swaps", [])
    ]


def signed_words(reader: Reader) -> str:
    """Return who signed and when, empty where nobody did."""
    row = reader.snapshot.get("signature")
    if not row:
        return ""
    if not row["at"]:
        return _("Signed by %(name)s") % {"name": row["name"]}
    return _("Signed by %(name)s on %(day)s at %(time)s") % {
        "name": row["name"], "day": reader.day(row["at"]), "time": reader.clock(row["at"]),
    }  # fmt: skip


def life_rows(reader: Reader) -> list[dict[str, str]]:
    """Return fish and plants in words."""
    rows = []
    for row in reader.snapshot["fish"]:
        weight = with_unit(format_figure(row["mean_g"], 0, reader.snapshot["language"]), "g")
        rows.append(
            {
                "name": _(row["name"]),
                "what": _("%(count)s fish, %(weight)s on average on %(day)s")
                % {
                    "count": row["count"], "weight": weight, "day": reader.day(row["weighed_on"]),
                },
            }
        )  # fmt: skip
    for row in reader.snapshot["plants"]:
        picked = (
            _("pick from %(day)s") % {"day": reader.day(row["pick_from"])}
            if row["pick_from"]
            else ""
        )
        place = _("%(count)s in %(where)s") % {"count": row["count"], "where": row["where"]}
        what = " · ".join(part for part in (place, picked) if part)
        rows.append({"name": _(row["name"]).capitalize(), "what": what})
    return rows


def next_lines(reader: Reader) -> list[str]:
    """Return when somebody comes next and why."""
    planned = reader.snapshot["next"]
    lines = []
    if planned["booked"]:
        lines.append(
            _("We come on %(day)s at %(time)s.")
            % {"day": reader.day(planned["booked"]), "time": reader.clock(planned["booked"])}
        )
    elif planned["due"]:
        lines.append(
            _("The next care falls due on %(day)s; we will write with an appointment.")
            % {"day": reader.day(planned["due"])}
        )
    if planned["tasks"]:
        names = "; ".join(_(task["name"]) for task in planned["tasks"][:3])
        lines.append(_("Then: %(tasks)s.") % {"tasks": names})
    return lines


def cautions(reader: Reader) -> list[str]:
    """Return the cautions of the actions, and those that always stand."""
    codes = [c for row in reader.snapshot["advice"] for c in row["parameters"].get("cautions", [])]
    return [
        *caution_texts(codes),
        _("Water and electricity: unplug before you reach in; fixed wiring is for a licensed "
          "electrician."),
        _("Wash what you pick; keep fish water off leaves that are eaten raw; wash your hands."),
        _("Local rules on fish species and on where water may go come first."),
    ]  # fmt: skip


def night_lines(reader: Reader) -> list[str]:
    """Return whom to call at night and the first step."""
    phone = reader.snapshot["firm"]["emergency_phone"] or reader.snapshot["firm"]["phone"]
    return [
        _("Fish at the surface, gasping: air on, no feed, no chemicals, then call."),
        _("Call %(phone)s, day and night.") % {"phone": phone},
    ]


def loops_of(reader: Reader) -> list[tuple[str, list[Shown]]]:
    """Return the readings by loop, with the loop's name."""
    kinds = {loop["id"]: loop["kind"] for loop in reader.snapshot["sketch"]}
    found: dict[str, list[Shown]] = {}
    for item in reader.readings():
        found.setdefault(item.data["loop"], []).append(item)
    return [(loop_name(kinds[pk]), items) for pk, items in found.items()]
