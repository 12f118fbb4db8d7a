"""What is to be done: each piece of advice, its doses by date, and the three lines of the week."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from apps.advice.selectors import advice_text
from apps.calc.advice.cautions import CAUTIONS
from apps.calc.advice.substances import SUBSTANCE_WORDS
from apps.core.measures import measured, weighed
from apps.core.numbers import format_figure
from apps.reports.rendering import told
from apps.reports.rendering.deeds import ask
from apps.reports.rendering.reader import Reader

MAX_ACTIONS = 5
WEEK_LINES = 3
WEEK_DAYS = 7
URGENT = ("now", "today", "within_3_days")
# asked by advice alone, with its bags and days
BY_ADVICE = ("water_dose", "iron_dose")
LATER = ("next_visit", "good_to_know")
# never a client's to give, whatever a row says
NEVER_BY_CLIENTS = ("KOH", "Ca(OH)2", "HCl", "HCl 37 %", "H3PO4", "K2CO3")


@dataclass(frozen=True)
class Action:
    """One thing to do: its sentence, who does it, by when; its doses as (day, what).

    `lines`: the same with its doses, a line each, where a reader has it without the paper.
    """

    text: str
    who: str
    when: str
    urgency: str
    doses: tuple[tuple[str, str], ...] = ()
    own: bool = False
    lines: tuple[str, ...] = ()


@dataclass(frozen=True)
class WeekLine:
    """A line of the week: the day first."""

    day: str
    text: str
    own: bool


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


def whose(row: Mapping[str, Any]) -> str:
    """Return who does it; what no client may give is the technician's, whatever the row says."""
    steps = row["parameters"].get("steps") or ()
    given = {row["parameters"].get("substance", ""), *(step["substance"] for step in steps)}
    if row["who"] == "client" and given.intersection(NEVER_BY_CLIENTS):
        return "technician"
    return str(row["who"])


def actions(reader: Reader) -> list[Action]:
    """Return what to do, most urgent first."""
    return [
        Action(
            text=" ".join([what_words(row), *_change(row)]),
            who=who_words(whose(row)),
            when=when_words(reader, row),
            urgency=row["urgency"],
            doses=_doses(reader, row),
            own=whose(row) == "client",
        )
        for row in reader.snapshot["advice"]
    ]


def what_words(row: Mapping[str, Any]) -> str:
    """Return what to do, in the client's words where there are some."""
    if row["text"]:
        return str(row["text"])
    kept = told.TOLD.get(row["rule"])
    return _(kept) if kept else advice_text(row["rule"], row["parameters"])


def _change(row: Mapping[str, Any]) -> list[str]:
    """Return the water change that goes with it."""
    given = row["parameters"].get("params") or {}
    if row["text"] or row["parameters"].get("change_fraction") is None or "litres" not in given:
        return []
    said = [_("Change %(litres)s of the water.") % {"litres": measured(given["litres"], "L", 0)}]
    if given.get("parts", 1) > 1:
        said.append(
            _("In %(parts)s parts, an hour apart.") % {"parts": format_figure(given["parts"], 0)}
        )
    return said


def dose_words(amount: float, unit: str) -> str:
    """Return a dose as it is weighed: whole from 20 on, one decimal from 2, else two."""
    decimals = 0 if amount >= 20 else 1 if amount >= 2 else 2
    return weighed(amount, unit, decimals)


def _doses(reader: Reader, row: Mapping[str, Any]) -> tuple[tuple[str, str], ...]:
    """Return one dated line a dose: the client's from labelled bags, unless it is needed at once."""
    if row["dose"] is None or row["unit"] == "L" or row["text"]:
        return ()
    kept = row["parameters"]
    steps = kept.get("steps") or [
        {"after_hours": 0.0, "dose": row["dose"], "unit": row["unit"],
         "substance": kept.get("substance", "")}
    ]  # fmt: skip
    began = reader.moment(row.get("made") or reader.snapshot["visit"]["finished"])
    bags = whose(row) == "client" and row["urgency"] != "now"
    lines = []
    for number, step in enumerate(steps, 1):
        what = _(SUBSTANCE_WORDS.get(step["substance"], step["substance"]))
        values = {"number": number, "dose": dose_words(step["dose"], step["unit"]), "what": what}
        text = _("bag %(number)s: %(dose)s of %(what)s") if bags else _("%(dose)s of %(what)s")
        day = began + dt.timedelta(hours=step["after_hours"])
        lines.append((reader.day(day.isoformat()), text % values))
    return tuple(lines)


def stop_and_call(reader: Reader) -> str:
    """Return when a client stops a dose and calls; empty where they have none to give."""
    own = [row for row in actions(reader) if row.doses and row.own]
    return _(CAUTIONS["stop_and_call"]) if own else ""


def bags_left(reader: Reader) -> list[str]:
    """Return the bags that stay with the client: how many, of what."""
    counts: dict[tuple[str, str], int] = {}
    for row in reader.snapshot["advice"]:
        if whose(row) != "client" or row["urgency"] == "now" or row["unit"] == "L" or row["text"]:
            continue
        kept = row["parameters"]
        steps = kept.get("steps") or (
            [{"dose": row["dose"], "unit": row["unit"], "substance": kept.get("substance", "")}]
            if row["dose"] is not None
            else []
        )
        for step in steps:
            key = (dose_words(step["dose"], step["unit"]), step["substance"])
            counts[key] = counts.get(key, 0) + 1
    return [
        ngettext("%(count)s bag, %(dose)s of %(what)s", "%(count)s bags, %(dose)s each of %(what)s",
                 count)
        % {"count": count, "dose": dose, "what": _(SUBSTANCE_WORDS.get(code, code))}
        for (dose, code), count in counts.items()
    ]  # fmt: skip


def this_week(reader: Reader) -> list[WeekLine]:
    """Return the three lines of the week: what the client does first, then what we do soon."""
    rows = actions(reader)
    lines = [_own_line(reader, row) for row in rows if row.own]
    lines += [
        WeekLine(row.when, f"{upper_who(row.who)}: {row.text}", own=False)
        for row in rows
        if not row.own and row.urgency in URGENT
    ]
    return [*lines, *_asked_lines(reader)][:WEEK_LINES]


def _asked_lines(reader: Reader) -> list[WeekLine]:
    """Return what a client is asked each week: the daily in one line, then what falls due.

    Of what has no day, each visit names others, in turn, so that all of it comes round.
    """
    past = reader.snapshot.get("past") or {}
    turn = past.get("count") or 0
    rows = [row for row in reader.snapshot.get("asks", []) if row["code"] not in BY_ADVICE]
    daily = [row for row in rows if _is_daily(row)]
    named = sorted((row for row in rows if not _is_daily(row) and row["due"]), key=_due)
    rest = [row for row in rows if not _is_daily(row) and not row["due"]]
    said = [ask(row["code"], row["name"]) for row in (*daily[:1], *_turned(daily[1:], turn)[:1])]
    lines = [WeekLine(_("every day"), " ".join(said), own=True)] if said else []
    if past.get("deaths"):
        lines.insert(0, WeekLine(_("every day"), _("Watch the fish. Call if one dies."), own=True))
    return lines + [
        WeekLine(_asked_when(reader, row), ask(row["code"], row["name"]), own=True)
        for row in (*named, *_turned(rest, turn * (WEEK_LINES - 1)))
    ]


def _turned(rows: list[Any], turn: int) -> list[Any]:
    """Return rows that begin with another one each turn."""
    first = turn % len(rows) if rows else 0
    return rows[first:] + rows[:first]


def _due(row: Mapping[str, Any]) -> str:
    return str(row["due"])


def _is_daily(row: Mapping[str, Any]) -> bool:
    return bool(row["rhythmic"]) and (row["every_n"], row["unit"]) == (1, "day")


def _own_line(reader: Reader, row: Action) -> WeekLine:
    """Return what a client does; of doses in bags, on which day the first and that there are bags."""
    if not row.doses or row.urgency == "now":
        by = row.urgency not in LATER
        return WeekLine(row.when if by else _("this week"), row.text, own=True)
    count, first = len(row.doses), row.doses[0][0]
    bags = ngettext("One bag, see below.", "%(count)s bags, dated below.", count)
    day = first if count == 1 else _("from %(day)s") % {"day": first}
    return WeekLine(day, f"{row.text} " + bags % {"count": count}, own=True)


def promised(reader: Reader) -> tuple[dt.date, str] | None:
    """Return the first day by which we said that we do something, and what; None where we did not."""
    rows = [
        (reader.date(row["by"]), what_words(row))
        for row in reader.snapshot["advice"]
        if row["by"] and row["urgency"] in URGENT and who_words(whose(row)) == _("us")
    ]
    return min(rows, default=None)


def upper_who(who: str) -> str:
    """Return who does it at the head of a line."""
    return who[:1].upper() + who[1:]


def asked_rows(reader: Reader) -> list[tuple[str, str]]:
    """Return what a client does in turn for a card on the wall: (what, how often), the daily first.

    Feeding stands apart there.
    """
    rows = [row for row in reader.snapshot.get("asks", []) if row["code"] != "fish_feed"]
    rows.sort(key=lambda row: not _is_daily(row))
    return [
        (ask(row["code"], row["name"]), _every(row) if row["rhythmic"] else _("when due"))
        for row in rows
    ]


def _asked_when(reader: Reader, row: Mapping[str, Any]) -> str:
    if row["rhythmic"] and row["every_n"] == 1 and (row["unit"] == "day" or not row["due"]):
        return _every(row)
    if row["due"]:
        return reader.day(row["due"])
    return _every(row) if row["rhythmic"] else _("when due")


def _every(row: Mapping[str, Any]) -> str:
    """Return how often a task comes round: "every day", "every 2 weeks"."""
    if row["every_n"] == 1:
        return {"day": _("every day"), "week": _("every week"), "month": _("every month")}[
            row["unit"]
        ]
    if row["unit"] == "day" and row["every_n"] == WEEK_DAYS:
        return _("every week")
    every = {
        "day": ngettext("every %(count)s day", "every %(count)s days", row["every_n"]),
        "week": ngettext("every %(count)s week", "every %(count)s weeks", row["every_n"]),
        "month": ngettext("every %(count)s month", "every %(count)s months", row["every_n"]),
    }
    return every[row["unit"]] % {"count": row["every_n"]}
