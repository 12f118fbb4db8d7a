"""What stands in a report by its kind and beside its readings: cause, hand-over, words, history."""

from collections.abc import Mapping
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop, ngettext

from apps.core.drawing.ink import PRINT
from apps.core.drawing.valve import valve
from apps.core.measures import measured, measured_plain
from apps.core.money import money_words
from apps.core.numbers import format_figure, run, unit_word
from apps.incidents.choices import Cause, Said
from apps.reports.rendering.acting import asked_rows
from apps.reports.rendering.deeds import skill
from apps.reports.rendering.reader import (
    PLAIN,
    Reader,
    bare_unit,
    part_name,
    upper_first,
    worst_items,
)
from apps.systems.choices import ComponentKind

MAX_WORDS = 4
# a word of the trade -> what it means to a client, in fewer than eight words
WORDS = {
    "alk": gettext_noop("what keeps the pH from falling"),
    "tan": gettext_noop("the fishes' waste in the water"),
    "no2": gettext_noop("ammonia, half turned by the filter"),
    "no3": gettext_noop("plant food that the filter makes"),
    "ph": gettext_noop("how sour the water is"),
    "do": gettext_noop("air that is dissolved in water"),
    "ec": gettext_noop("all salts and plant food together"),
    "gh": gettext_noop("lime in the water"),
    "chlorine": gettext_noop("what cleans tap water, and hurts fish"),
}
KIND_TITLES = {
    "visit": gettext_noop("Visit"), "call_out": gettext_noop("Call-out"),
    "hand_over": gettext_noop("Hand-over"), "summary": gettext_noop("Summary"),
}  # fmt: skip
WALL_CARD = (
    gettext_noop("Do all the fish swim and eat?"),
    gettext_noop("See the level, flow and bubbles."),
    gettext_noop("Feed by the scoop. Stop when they stop."),
)
SAFETY_CARD = (
    gettext_noop("Unplug before hands go into the water."),
    gettext_noop("A tingle from water: switch off, stay away."),
    gettext_noop("No spray, soap or medicine near the water."),
    gettext_noop("Tap water holds chlorine: treat it first."),
    gettext_noop("Wash hands and harvest. Children never alone."),
    gettext_noop("Fixed wiring is for a licensed electrician."),
)


def kind_title(reader: Reader) -> str:
    """Return what kind of report it is, as it stands beside the number."""
    return _(KIND_TITLES[reader.snapshot.get("kind", "visit")])


def incident_lines(reader: Reader) -> list[tuple[str, str]]:
    """Return what a call-out was about: (what, words)."""
    row = reader.snapshot.get("incident")
    if not row:
        return []
    cause = str(Cause(row["cause"]).label) if row["cause"] else _("not known yet")
    lines = [
        (
            _("You called"),
            _("%(day)s at %(time)s: %(what)s")
            % {
                "day": reader.day(row["opened"]), "time": reader.clock(row["opened"]),
                "what": Said(row["kind"]).label,
            },
        ),
        (_("The cause"), ": ".join(part for part in (cause, row["cause_words"]) if part)),
    ]  # fmt: skip
    if row["fish_lost"]:
        lines.append((_("Fish lost"), format_figure(row["fish_lost"], 0)))
    if row["outcome"]:
        lines.append((_("How it ended"), row["outcome"]))
    elif not row["closed"]:
        lines.append((_("How it stands"), _("We keep watching it.")))
    return lines


def hand_over(reader: Reader) -> dict[str, Any] | None:
    """Return the papers of a hand-over: valves, parts, who can do what, cards for the wall."""
    kept = reader.snapshot.get("hand_over")
    if not kept:
        return None
    kinds = {code: str(label) for code, label in ComponentKind.choices}
    parts = [
        {
            "name": part_name(row["name"]),
            # a pump that is called a pump needs no more words
            "kind": "" if _same(row["name"], row["kind"]) else kinds.get(row["kind"], row["kind"]),
            "size": measured_plain(round(row["litres"]), "L") if row["litres"] else "",
            "make": " ".join(part for part in (row["make"], row["serial"]) if part),
            "warranty": reader.day(row["warranty"], year=True) if row["warranty"] else "",
        }
        for row in kept["parts"]
    ]  # fmt: skip
    return {
        "valves": _valves(kept),
        "parts": parts,
        "learnt": [skill(code) for code in kept["learnt"]],
        "to_learn": [skill(code) for code in kept["to_learn"]],
        "daily": [_(text) for text in WALL_CARD],
        "asks": asked_rows(reader),
        "safety": [_(text) for text in SAFETY_CARD],
    }


def _same(name: str, kind: str) -> bool:
    return name.casefold().replace(" ", "_") == kind


def _valves(kept: Mapping[str, Any]) -> list[dict[str, str]]:
    """Return the valves, each on its pipe; of one whose pipe is not on record the name alone."""
    names = [row["name"] for row in kept["parts"] if row["kind"] == "valve"]
    rows = kept.get("valves") or [{"name": name, "from": [], "to": []} for name in names]
    found = []
    for row in rows:
        ends = {
            "name": part_name(row["name"]), "from": ", ".join(map(part_name, row["from"])),
            "to": ", ".join(map(part_name, row["to"])),
        }  # fmt: skip
        title = _("%(name)s, between %(from)s and %(to)s") % ends
        drawn = valve(title=title, palette=PRINT) if ends["from"] and ends["to"] else ""
        found.append(ends | {"drawn": drawn})
    return found


def words(reader: Reader) -> list[tuple[str, str]]:
    """Return the words that a reader may not know, those of the verdict first."""
    _word, worst = worst_items(reader.judged())
    codes = [item.data["measurand"] for item in (*worst, *reader.judged())]
    known = [code for code in dict.fromkeys(codes) if code in WORDS][:MAX_WORDS]
    return [(upper_first(_(PLAIN[code])), _(WORDS[code])) for code in known]


def corrections(reader: Reader) -> list[str]:
    """Return what this version says otherwise than the one before, and why."""
    lines = []
    for row in reader.snapshot.get("corrections", []):
        name = upper_first(_(PLAIN.get(row["measurand"], row["name"])))
        values = {
            "name": name, "reason": row["reason"],
            "was": "–" if row["was"] is None else _corrected(row, row["was"]),
            "now": _corrected(row, row["now"]),
        }  # fmt: skip
        lines.append(_("%(name)s: %(now)s, not %(was)s. Why: %(reason)s") % values)
    return lines


def _corrected(row: Mapping[str, Any], value: float) -> str:
    return measured(value, bare_unit(row["unit"]), row["decimals"])


def history(reader: Reader) -> list[str]:
    """Return the versions of this report, this one last."""
    rows = [*reader.snapshot.get("versions", [])]
    if not rows:
        return []
    lines = [
        _("Version %(number)s, %(day)s.")
        % {"number": row["number"], "day": reader.day(row["made"], year=True)}
        for row in rows
    ]
    return [*lines, _("Version %(number)s is this one.") % {"number": reader.snapshot["version"]}]


def harvest_rows(reader: Reader) -> list[tuple[str, str]]:
    """Return what was harvested this year so far, by crop and fish, with its worth if priced."""
    return harvest_lines(reader.snapshot.get("harvest") or {})


def harvest_lines(kept: Mapping[str, Any]) -> list[tuple[str, str]]:
    """Return (name, how much) of what was harvested."""
    rows = []
    for row in kept.get("rows", []):
        parts = []
        if row["kg"]:
            parts.append(measured(row["kg"], "kg", 1))
        if row["heads"]:
            words = (
                ngettext("%(count)d fish", "%(count)d fish", row["heads"])
                if row.get("kind") == "species"
                else ngettext("%(count)d head", "%(count)d heads", row["heads"])
            )
            parts.append(words % {"count": row["heads"]})
        if row.get("worth"):
            parts.append(money_words(row["worth"], kept["currency"]))
        if parts:
            rows.append((upper_first(_(row["name"])).split(",")[0], " · ".join(parts)))
    return rows


def harvest_sum(reader: Reader) -> str:
    """Return the year's mass so far, and its worth; empty where nothing was weighed or priced."""
    return harvest_total(reader.snapshot.get("harvest") or {})


def harvest_total(kept: Mapping[str, Any]) -> str:
    """Return what was harvested together: kilograms, and what all of it costs in the shops."""
    rows = kept.get("rows", [])
    kg = sum(row["kg"] for row in rows)
    mass = measured(kg, "kg", 1) if kg else ""
    worth = sum(row.get("worth") or 0 for row in rows)
    if not worth:
        return mass
    words = {"mass": mass, "worth": money_words(worth, kept["currency"])}
    if not kg:
        return _("worth about %(worth)s") % words
    return _("%(mass)s, worth about %(worth)s") % words


def unit_text(unit: str) -> str:
    """Return a unit as it stands in the table of readings."""
    return run(unit_word(bare_unit(unit)))
