"""The summary of a quarter or a year: how it went, what we did, what was harvested."""

from collections import Counter
from typing import Any

from django.utils.translation import get_language_bidi, gettext_noop, ngettext
from django.utils.translation import gettext as _

from apps.core.measures import measured
from apps.core.numbers import run
from apps.incidents.choices import Cause, Said
from apps.reports.rendering import papers, wording
from apps.reports.rendering.household import night_lines
from apps.reports.rendering.reader import USUAL, Reader, head_name, upper_first
from apps.reports.rendering.verdicts import CALM
from apps.visits.shown import Shown

MOSTLY = 0.75
INSIDE = ("in_band", "measure_again")
# the worst reading of a visit -> how it was, as a client reads it
HOW_IT_WAS = {
    "in_band": gettext_noop("all well"), "near_edge": gettext_noop("well, near a limit"),
    "out_of_band": gettext_noop("needed a hand"), "harmful": gettext_noop("some danger"),
}  # fmt: skip


def headline(reader: Reader) -> str:
    """Return how the time went, from the worst reading of each visit."""
    words = [row["word"] for row in reader.snapshot["visits"] if row["word"]]
    calm = sum(word in CALM for word in words)
    if not words:
        return _("No visit was judged in this time.")
    if calm == len(words):
        if reader.snapshot["deaths"]:
            return _("The water was well. Some fish died.")
        return _("A calm time: all was well.")
    if calm >= MOSTLY * len(words):
        return _("A good time, with few troubles.")
    if "harmful" in words:
        return _("A hard time, with some danger.")
    return _("The water often needed a hand.")


def counted(reader: Reader) -> list[str]:
    """Return the time in figures."""
    kept = reader.snapshot
    visits, agreed = len(kept["visits"]), kept["agreed"]
    calm = sum(row["word"] in CALM for row in kept["visits"])
    lines = [ngettext("We came %(count)s time.", "We came %(count)s times.", visits) % {"count": visits}]  # fmt: skip
    if agreed:
        lines.append(_("Agreed: %(count)s visits a year.") % {"count": agreed})
    lines.append(
        ngettext("All was well on %(count)s visit.", "All was well on %(count)s visits.", calm)
        % {"count": calm}
    )
    given = kept["advice"]
    if given["done"]:
        lines.append(
            _("Advice given: %(given)s. Noted as done: %(done)s.")
            % {"given": given["given"], "done": given["done"]}
        )
    if kept["deaths"]:
        lines.append(
            ngettext("%(count)s fish died.", "%(count)s fish died.", kept["deaths"])
            % {"count": kept["deaths"]}
        )
    return lines


def visit_rows(reader: Reader) -> list[tuple[str, str, str]]:
    """Return the visits: (day, how it was, why we came if for more than the usual care)."""
    return [
        (
            reader.day(row["on"], year=True),
            _(HOW_IT_WAS[row["word"]]) if row["word"] in HOW_IT_WAS else _("not judged"),
            _(row["reason"]) if row["reason"] not in ("", USUAL) else "",
        )
        for row in reader.snapshot["visits"]
    ]


def _outside(item: Shown) -> int:
    """Return how many readings lay outside the good band that held on their day."""
    return sum(count for word, count in item.data["words"].items() if word not in INSIDE)


def outside_sentence(item: Shown) -> str:
    """Return how many of all readings lay outside; empty where none did."""
    out, every = _outside(item), item.data["count"]
    if out == every and out:
        return _("All readings here lay outside.")
    words = ngettext(
        "%(count)s of %(all)s readings lay outside.", "%(count)s of %(all)s readings lay outside.",
        out,
    ) % {"count": out, "all": every}  # fmt: skip
    return words if out else ""


def reading_rows(reader: Reader) -> list[tuple[str, str]]:
    """Return how often each reading lay outside its good band, of those that did."""
    return [
        (
            head_name(item),
            _("%(count)s of %(all)s") % {"count": _outside(item), "all": item.data["count"]},
        )
        for item in reader.judged()
        if _outside(item)
    ]


def incident_rows(reader: Reader) -> list[tuple[str, str]]:
    """Return the calls for help: (day, what it was and how it ended)."""
    rows = []
    for row in reader.snapshot["incidents"]:
        cause = str(Cause(row["cause"]).label) if row["cause"] else _("not known yet")
        said = [str(Said(row["kind"]).label), cause, row["cause_words"], row["outcome"]]
        words = " · ".join(run(upper_first(part)) for part in said if part)
        rows.append((reader.day(row["on"], year=True), words))
    return rows


def life_rows(reader: Reader) -> list[tuple[str, str]]:
    """Return what lives there at the end of the time."""
    rows = [
        (
            _(row["name"]),
            _("%(count)s fish, %(weight)s each")
            % {"count": row["count"], "weight": measured(row["mean_g"], "g", 0)},
        )
        for row in reader.snapshot["fish"]
    ]
    plants: Counter[str] = Counter()
    for row in reader.snapshot["plants"]:
        plants[row["name"]] += row["count"]
    return rows + [(upper_first(_(name)), str(count)) for name, count in plants.items()]


def context_of(reader: Reader) -> dict[str, Any]:
    """Return what the template prints besides tables and charts."""
    kept = reader.snapshot
    first, last = kept["period"]["from"], kept["period"]["to"]
    return {
        "snapshot": kept,
        "language": kept["language"],
        "direction": "rtl" if get_language_bidi() else "ltr",
        "number": f"{kept['number']:04d}",
        "created": kept["visit"]["finished"],
        "kind": papers.kind_title(reader),
        "first": reader.day(first, year=True),
        "last": reader.day(last, year=True),
        "made": reader.day(kept["visit"]["finished"], year=True),
        "headline": headline(reader),
        "counted": counted(reader),
        "visits": visit_rows(reader),
        "outside": reading_rows(reader),
        "outside_told": bool(reader.judged()),
        "incidents": incident_rows(reader),
        "life": life_rows(reader),
        "harvest": papers.harvest_rows(reader),
        "harvest_sum": papers.harvest_sum(reader),
        "supplies": wording.supply_lines(reader),
        "note": [line for line in kept["note"].splitlines() if line.strip()],
        "night": night_lines(reader),
    }
