"""The report as HTML: everything that the template prints."""

import datetime as dt
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from django.template.loader import render_to_string
from django.utils import translation
from django.utils.html import escape
from django.utils.safestring import SafeString
from django.utils.translation import get_language_bidi, gettext
from django.utils.translation import gettext as _

from apps.catalogue.files import rows as data_rows
from apps.core.dates import day_text
from apps.core.drawing.chart import ChartPoint, line_chart
from apps.core.drawing.ink import PRINT
from apps.core.drawing.marks import judgement_mark
from apps.core.drawing.signature import signature
from apps.core.measures import reading_in
from apps.core.numbers import with_unit
from apps.reports.choices import ReportKind
from apps.reports.rendering import acting, household, papers, summary, verdicts, wording
from apps.reports.rendering.reader import (
    PLAIN,
    Reader,
    bare_unit,
    counts_as,
    head_name,
    loops_of,
    part_name,
)
from apps.visits.choices import WORST_FIRST
from apps.visits.shown import Shown, sketch

EPOCH = dt.date(1970, 1, 1)
MAX_CHARTS, MAX_SUMMED = 3, 4
SUMMARY = ReportKind.SUMMARY
MAX_PHOTOS = 6
# what we measure of our own tools
OUR_OWN = ("meter_check",)
Outside = Callable[[Shown], str]


def _reasons() -> dict[str, str]:
    return {row["code"]: row["name"] for row in data_rows("reasons")}


def _titled(svg: SafeString, words: str) -> SafeString:
    """Return an ornament with words: in a tagged file every figure needs an alternative."""
    head, rest = svg.split(">", 1)
    return SafeString(f"{head}><title>{escape(words)}</title>{rest}")


def _table(items: list[Shown]) -> list[dict[str, Any]]:
    return [
        {
            "name": head_name(item),
            "counts_as": counts_as(item),
            "figure": item.figure,
            "unit": papers.unit_text(item.unit),
            "last": item.last,
            "good": item.good,
            "line": item.line(178, 25, PRINT),
            "mark": _titled(judgement_mark(item.word, palette=PRINT), item.word_text),
            "word": item.word_text,
            "state": item.word,
        }
        for item in items
        if item.judged
    ]


def _noted(items: list[Shown]) -> list[dict[str, str]]:
    """Return what was measured and has no band to judge it by."""
    return [
        {"name": head_name(item), "figure": with_unit(item.figure, bare_unit(item.unit))}
        for item in items
        if not item.judged and item.data["measurand"] not in OUR_OWN
    ]


def _tables(reader: Reader) -> list[dict[str, Any]]:
    return [
        {"name": name, "rows": _table(items), "noted": _noted(items)}
        for name, items in loops_of(reader)
    ]


def _chart(item: Shown, outside: Outside) -> dict[str, Any] | None:
    series = item.series
    points = [ChartPoint(EPOCH + dt.timedelta(days=int(day)), value) for day, value in series]
    if len({point.on for point in points}) < 3:
        return None
    first, final = points[0].on, points[-1].on
    svg = line_chart(
        points=points, band=item.band, first=first, final=final, title=item.sentence,
        date_text=lambda day: day_text(day, "axis"), width=300, height=112,
        band_word=_("good"), palette=PRINT,
    )  # fmt: skip
    said = [verdicts.moved_sentence(item), outside(item)]
    return {"name": head_name(item), "svg": svg, "sentence": " ".join(s for s in said if s)}


def _charts(
    items: Sequence[Shown], most: int, outside: Outside = verdicts.outside_sentence
) -> list[dict[str, Any]]:
    """Draw readings, the worst first, at most so many; `outside`: how often they lay outside."""
    order = {str(word): index for index, word in enumerate(WORST_FIRST)}
    charts = [_chart(item, outside) for item in sorted(items, key=lambda item: order[item.word])]
    return [chart for chart in charts if chart][:most]


def _sketch(snapshot: Mapping[str, Any]) -> str:
    """Draw all loops in one picture, so that what passes from one to another is seen."""
    loops = [_told(loop) for loop in snapshot["sketch"] if loop["components"]]
    if not loops:
        return ""
    return sketch(loops, layout="rows", palette=PRINT)


def _told(loop: Mapping[str, Any]) -> dict[str, Any]:
    """Return a loop of the sketch in the words that the client reads elsewhere."""
    parts = [{**part, "name": part_name(part["name"])} for part in loop["components"]]
    values = {
        pk: [{**row, "name": PLAIN.get(row["measurand"], row["name"])} for row in rows]
        for pk, rows in loop["values"].items()
    }
    return {**loop, "components": parts, "values": values}


def _signature(reader: Reader) -> str:
    row = reader.snapshot.get("signature")
    if not row or not row["strokes"]:
        return ""
    title = _("Signature of %(name)s") % {"name": row["name"]}
    return signature(strokes=row["strokes"], title=title, palette=PRINT)


class _Photos:
    """Hands out a report's photos in its order, at most six; what is missing has no address."""

    def __init__(self, addresses: Mapping[str, str]) -> None:
        self.addresses, self.left = addresses, MAX_PHOTOS

    def take(self, row: Mapping[str, Any]) -> dict[str, Any] | None:
        """Return a photo with its address, None where six are shown already."""
        if self.left <= 0:
            return None
        self.left -= 1
        return {**row, "src": self.addresses.get(row["file"], "")}

    def some(self, rows: Any) -> list[dict[str, Any]]:
        """Return as many of these as there is room for."""
        return [photo for photo in (self.take(row) for row in rows) if photo is not None]


def _pictures(reader: Reader, addresses: Mapping[str, str]) -> dict[str, Any]:
    """Return findings with their photos, pairs of before and today, and the rest."""
    photos = _Photos(addresses)
    findings = [
        {**row, "name": _(row["name"]) if row["name"] else "", "photos": photos.some(row["photos"]),
         "component": part_name(row["component"])}
        for row in reader.snapshot["findings"]
    ]  # fmt: skip
    pairs = []
    for row in reader.snapshot.get("pairs", []):
        if photos.left < 1:
            break
        photos.left -= 1
        pairs.append(
            {
                name: {**row[name], "src": addresses.get(row[name]["file"], ""),
                       "day": reader.day(row[name]["on"])}
                for name in ("before", "after")
            }
        )  # fmt: skip
    shown = {row["after"]["file"] for row in reader.snapshot.get("pairs", [])}
    rest = [row for row in reader.snapshot.get("photos", []) if row["file"] not in shown]
    return {"findings": findings, "pairs": pairs, "photos": photos.some(rest)}


def _first(reader: Reader) -> dict[str, Any]:
    """Return what stands in the first third of page one."""
    return {
        "verdict": verdicts.verdict(reader),
        "why": verdicts.why(reader),
        "week": acting.this_week(reader),
        "eat": household.eat_lines(reader),
        "feed": household.feed_lines(reader),
        "pick": household.pick_lines(reader),
        "next": household.next_lines(reader),
        "night": household.night_lines(reader),
    }


def _advised(reader: Reader) -> dict[str, Any]:
    """Return all that is advised, where the week's three lines do not say it all."""
    rows = acting.actions(reader)
    told = {line.text for line in acting.this_week(reader)}
    whole = any(row.doses or row.text not in told for row in rows)
    return {
        "actions": rows if whole else [],
        "stop": acting.stop_and_call(reader),
        "bags": acting.bags_left(reader),
    }


def _beside(reader: Reader) -> dict[str, Any]:
    return {
        "kind": papers.kind_title(reader),
        "changes": verdicts.changes(reader),
        "open_since": verdicts.open_since(reader),
        "incident": papers.incident_lines(reader),
        "hand_over": papers.hand_over(reader),
        "corrections": papers.corrections(reader),
        "history": papers.history(reader),
        "words": papers.words(reader),
        "harvest": papers.harvest_rows(reader),
        "harvest_sum": papers.harvest_sum(reader),
        "note": [line for line in reader.snapshot.get("note", "").splitlines() if line.strip()],
        "next_tasks": household.next_tasks(reader),
    }


def _work(reader: Reader) -> dict[str, Any]:
    rows = wording.work_lines(reader, _reasons())
    return {
        "done": [row for row in rows if row["done"]],
        "not_done": [row for row in rows if not row["done"]],
    }


def context_of(snapshot: Mapping[str, Any], photos: Mapping[str, str]) -> dict[str, Any]:
    """Return what the template prints; `photos` maps a stored photo to its address in the file."""
    reader = Reader(snapshot)
    visit = snapshot["visit"]
    return {
        "snapshot": snapshot,
        "language": snapshot["language"],
        "direction": "rtl" if get_language_bidi() else "ltr",
        "number": f"{snapshot['number']:04d}",
        "day": reader.day(visit["started"], year=True),
        "began": reader.clock(visit["started"]),
        "ended": reader.clock(visit["finished"]),
        "people": ", ".join(visit["technicians"]),
        "reason": gettext(visit["reason"]) if visit["reason"] else "",
        "created": visit["finished"],
        **_first(reader),
        **_advised(reader),
        **_beside(reader),
        **_pictures(reader, photos),
        "tables": _tables(reader),
        "not_trusted": [head_name(i) for i in reader.readings() if not i.data["trusted"]],
        # the feed is said on page one
        "derived": [row for row in wording.derived_rows(reader) if row["code"] != "ration"],
        "charts": _charts([i for i in reader.judged() if i.word != "in_band"], MAX_CHARTS),
        "sketch": _sketch(snapshot),
        **_work(reader),
        "swaps": wording.swap_rows(reader),
        "supplies": wording.supply_lines(reader),
        "signed": wording.signed_words(reader),
        "signature": _signature(reader),
        "life": wording.life_rows(reader),
        "cautions": wording.cautions(reader),
    }


def first_of(snapshot: Mapping[str, Any]) -> dict[str, Any]:
    """Return what a report says first, and what changed, in the active language."""
    reader = Reader(snapshot)
    return {
        "day": reader.day(snapshot["visit"]["started"], year=True),
        "changes": verdicts.changes(reader),
        "open_since": verdicts.open_since(reader),
        **_first(reader),
    }


def html_of(snapshot: Mapping[str, Any], photos: Mapping[str, str] | None = None) -> str:
    """Return the report as one HTML page in the reader's language and units."""
    with translation.override(snapshot["language"]), reading_in(snapshot["units"]):
        if snapshot.get("kind") == SUMMARY:
            reader = Reader(snapshot)
            charts = _charts(reader.judged(), MAX_SUMMED, summary.outside_sentence)
            drawn = {"tables": _tables(reader), "charts": charts}
            return render_to_string("pdf/summary.html", summary.context_of(reader) | drawn)
        return render_to_string("pdf/visit.html", context_of(snapshot, photos or {}))
