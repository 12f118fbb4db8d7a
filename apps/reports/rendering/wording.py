"""The sentences of a report, made from its snapshot in the reader's language and units."""

import datetime as dt
import math
from collections import Counter
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from django.utils.translation import gettext as _

from apps.advice.selectors import caution_texts
from apps.core.measures import measured
from apps.core.numbers import run
from apps.reports.rendering.acting import MAX_ACTIONS, Action, stop_and_call, this_week
from apps.reports.rendering.acting import actions as drawn_actions
from apps.reports.rendering.deeds import deed, why_not
from apps.reports.rendering.household import (
    eat_lines,
    feed_lines,
    next_lines,
    night_lines,
    pick_lines,
)
from apps.reports.rendering.reader import Reader, loops_of, part_name, side_of, upper_first
from apps.reports.rendering.verdicts import verdict, why
from apps.visits.besides import supply_words, swap_words
from apps.visits.shown import loop_name

__all__ = [
    "MAX_ACTIONS", "Action", "Reader", "actions", "cautions", "derived_rows", "eat_lines", "feed_lines",
    "life_rows", "loops_of", "meaning", "meanings", "next_lines", "night_lines", "pick_lines",
    "side_of", "signed_words", "supply_lines", "swap_rows", "this_week", "verdict", "why",
    "work_lines",
]  # fmt: skip


def actions(reader: Reader, now: dt.datetime | None = None) -> list[Action]:
    """Return what to do where there is one text for each: the feed first, doses with their days.

    `now`: when it is read, as `feed_lines` has it.
    """
    rows = []
    for row in drawn_actions(reader):
        lines = (
            row.text, *(_("%(day)s: %(dose)s.") % {"day": d, "dose": t} for d, t in row.doses),
            *([stop_and_call(reader)] if row.doses and row.own else []),
        )  # fmt: skip
        rows.append(replace(row, text=" ".join(lines), lines=lines))
    feed = " ".join(feed_lines(reader, now))
    if not feed:
        return rows
    text = _("Feed: %(feed)s") % {"feed": feed}
    return [Action(text, _("you"), _("from today"), "good_to_know", own=True, lines=(text,)), *rows]


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


def work_lines(reader: Reader, reasons: Mapping[str, str]) -> list[dict[str, Any]]:
    """Return what was done, what not and why."""
    words = {"done": _("done"), "not_done": _("not done"), "not_here": _("not here")}
    rows = []
    for line in reader.snapshot["lines"]:
        name = upper_first(deed(line["code"], line["name"]))
        reason = why_not(line["reason"], reasons) if line["reason"] else ""
        rows.append(
            {
                "name": name,
                "done": line["outcome"] == "done",
                "outcome": words.get(line["outcome"], _("not due")),
                "note": " · ".join(part for part in (reason, line["note"]) if part),
            }
        )
    return [row for row in rows if row["outcome"] != _("not due")]


def derived_rows(reader: Reader) -> list[dict[str, str]]:
    """Return the worked-out values that a client understands."""
    names = {
        "nh3": (_("Harmful ammonia"), 3),
        "do_pct": (_("Oxygen, of what water holds"), 0),
        "co2": (_("Carbon dioxide"), 0),
        "biomass": (_("Fish, together"), 1),
        "density": (_("Fish in the tank"), 1),
        "ration": (_("Feed a day that suits them"), 0),
        "minutes_without_air": (_("Minutes without air, at least"), 0),
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
        value = _minutes(row["value"]) if row["code"] == "minutes_without_air" else row["value"]
        figure = measured(least if small else value, row["unit"], decimals)
        rows.append(
            {"code": row["code"], "name": name, "figure": run(f"< {figure}") if small else figure}
        )
    return rows


def _minutes(value: float) -> float:
    """Return minutes at least, without figures that mean nothing: to ten from an hour on."""
    return math.floor(value / 10) * 10.0 if value >= 60 else math.floor(value)


def supply_lines(reader: Reader) -> list[str]:
    """Return what was used here."""
    return [supply_words(row) for row in reader.snapshot.get("supplies", [])]


def swap_rows(reader: Reader) -> list[dict[str, str]]:
    """Return which parts were swapped."""
    return [
        {"name": _("Swapped: %(name)s") % {"name": part_name(row["name"])}, "what": swap_words(row)}
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
    """Return fish and plants in words: name, how many, and since when that is known or ripe."""
    rows = []
    for row in reader.snapshot["fish"]:
        weight = measured(row["mean_g"], "g", 0)
        rows.append(
            {
                "name": _(row["name"]),
                "what": _("%(count)s fish, %(weight)s on average")
                % {"count": row["count"], "weight": weight},
                "when": _("weighed %(day)s") % {"day": reader.day(row["weighed_on"])},
            }
        )
    return rows + [
        {
            "name": _(row["name"]).capitalize(),
            "what": _("%(count)s in %(where)s")
            % {"count": row["count"], "where": part_name(row["where"])},
            "when": _ripe(reader, row["pick_from"]),
        }
        for row in reader.snapshot["plants"]
    ]


def _ripe(reader: Reader, day: str | None) -> str:
    if not day:
        return ""
    if reader.date(day) <= reader.on:
        return _("ready to pick")
    return _("pick from %(day)s") % {"day": reader.day(day)}


def cautions(reader: Reader) -> list[str]:
    """Return the cautions of the actions, and those that always stand; none that stands above."""
    codes = [c for row in reader.snapshot["advice"] for c in row["parameters"].get("cautions", [])]
    if stop_and_call(reader):
        codes = [code for code in codes if code != "stop_and_call"]
    return [
        *caution_texts(codes),
        _("Water and electricity: unplug before you reach in; fixed wiring is for a licensed "
          "electrician."),
        _("Wash what you pick; keep fish water off leaves that are eaten raw; wash your hands."),
        _("Local rules on fish species and on where water may go come first."),
    ]  # fmt: skip
