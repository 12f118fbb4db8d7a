"""The report as HTML: everything that the template prints."""

import datetime as dt
from collections.abc import Mapping
from typing import Any

from django.template.loader import render_to_string
from django.utils import translation
from django.utils.html import escape
from django.utils.safestring import SafeString
from django.utils.translation import get_language_bidi, gettext
from django.utils.translation import gettext as _

from apps.catalogue.files import rows as data_rows
from apps.core.drawing.chart import ChartPoint, line_chart
from apps.core.drawing.ink import PRINT
from apps.core.drawing.marks import judgement_mark
from apps.core.drawing.signature import signature
from apps.core.numbers import unit_word
from apps.reports.rendering import wording
from apps.visits.shown import Shown, sketch

EPOCH = dt.date(1970, 1, 1)
MAX_CHARTS = 3


def _reasons() -> dict[str, str]:
    return {row["code"]: row["name"] for row in data_rows("reasons")}


def _titled(svg: SafeString, words: str) -> SafeString:
    """Return an ornament with words: in a tagged file every figure needs an alternative."""
    head, rest = svg.split(">", 1)
    return SafeString(f"{head}><title>{escape(words)}</title>{rest}")


def _table(items: list[Shown]) -> list[dict[str, Any]]:
    return [
        {
            "name": item.name,
            "figure": item.figure,
            "unit": unit_word(item.unit),
            "last": item.last,
            "good": item.good,
            "line": item.line(178, 25, PRINT) if item.judged else "",
            "mark": _titled(judgement_mark(item.word, palette=PRINT), item.word_text)
            if item.judged
            else "",
            "word": item.word_text if item.judged else _("noted"),
            "state": item.word,
        }
        for item in items
    ]


def _chart(item: Shown, reader: wording.Reader) -> dict[str, Any] | None:
    series = item.data["series"]
    points = [ChartPoint(EPOCH + dt.timedelta(days=int(day)), value) for day, value in series]
    if len({point.on for point in points}) < 3 or item.unit != item.data["unit"]:
        return None
    first, final = points[0].on, points[-1].on
    svg = line_chart(
        points=points, band=item.band, first=first, final=final, title=item.sentence,
        date_text=lambda day: f"{day.day}.{day.month}.", width=300, height=150,
        band_word=_("good"), palette=PRINT,
    )  # fmt: skip
    return {"name": item.name, "svg": svg, "sentence": item.sentence}


def _charts(reader: wording.Reader) -> list[dict[str, Any]]:
    wanted = [
        item
        for item in reader.readings()
        if item.data["trusted"] and item.word not in ("in_band", "measure_again")
    ]
    charts = [_chart(item, reader) for item in wanted]
    return [chart for chart in charts if chart][:MAX_CHARTS]


def _sketch(snapshot: Mapping[str, Any]) -> str:
    """Draw all loops in one picture, so that what passes from one to another is seen."""
    loops = [loop for loop in snapshot["sketch"] if loop["components"]]
    if not loops:
        return ""
    return sketch(loops, layout="rows", palette=PRINT, units=snapshot["units"])


def _signature(reader: wording.Reader) -> str:
    row = reader.snapshot.get("signature")
    if not row or not row["strokes"]:
        return ""
    title = _("Signature of %(name)s") % {"name": row["name"]}
    return signature(strokes=row["strokes"], title=title, palette=PRINT)


def context_of(snapshot: Mapping[str, Any], photos: Mapping[str, str]) -> dict[str, Any]:
    """Return what the template prints; `photos` maps a stored photo to its address in the file."""
    reader = wording.Reader(snapshot)
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
        "verdict": wording.verdict(reader),
        "why": wording.why(reader),
        "actions": wording.actions(reader)[: wording.MAX_ACTIONS],
        "more_actions": wording.actions(reader)[wording.MAX_ACTIONS :],
        "eat": wording.eat_lines(reader),
        "tables": [
            {"name": name, "rows": _table(items)} for name, items in wording.loops_of(reader)
        ],
        "not_trusted": [item for item in reader.readings() if not item.data["trusted"]],
        "derived": wording.derived_rows(reader),
        "charts": _charts(reader),
        "sketch": _sketch(snapshot),
        "work": wording.work_lines(reader, _reasons()),
        "swaps": wording.swap_rows(reader),
        "supplies": wording.supply_lines(reader),
        "signed": wording.signed_words(reader),
        "signature": _signature(reader),
        "findings": [
            {**row, "name": _(row["name"]) if row["name"] else "",
             "photos": [p | {"src": photos[p["file"]]} for p in row["photos"] if p["file"] in photos]}
            for row in snapshot["findings"]
        ],
        "life": wording.life_rows(reader),
        "next": wording.next_lines(reader),
        "cautions": wording.cautions(reader),
        "night": wording.night_lines(reader),
    }  # fmt: skip


def html_of(snapshot: Mapping[str, Any], photos: Mapping[str, str] | None = None) -> str:
    """Return the report as one HTML page in the reader's language."""
    with translation.override(snapshot["language"]):
        return render_to_string("pdf/visit.html", context_of(snapshot, photos or {}))
