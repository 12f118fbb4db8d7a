"""Readings and systems as they are shown: the same on the screen, in the PDF and in the mail.

Everything here goes from plain, storable data to words and drawings, so that a report's snapshot
draws the same picture years later.
"""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from apps.calc.judgement import trend
from apps.catalogue.selectors import Catalogue
from apps.core.drawing.scale import Band
from apps.core.drawing.sketch import flow_sketch
from apps.core.drawing.sketch_model import (
    FITTINGS,
    VESSELS,
    SketchComponent,
    SketchFlow,
    SketchLoop,
    SketchValue,
)
from apps.core.drawing.sparkline import sparkline
from apps.core.drawing.waterline import water_line
from apps.core.drawing.words import JUDGEMENT_WORDS, reading_sentence
from apps.core.measures import Shift, bound, digits_beside, measured_plain, shift_of
from apps.core.numbers import format_figure, format_plain, unit_word
from apps.systems.models import Flow, Loop
from apps.systems.selectors import loop_litres, loop_sizes
from apps.visits.models import Reading

ORDER = (
    "temp", "do", "ph", "alk", "tan", "no2", "no3", "ec", "gh", "k", "ca", "mg", "po4", "fe",
    "cl", "na", "chlorine", "feed",
)  # fmt: skip
# where in the sketch a measurand's value stands
PLACES = {
    "temp": ("tank",), "do": ("tank",),
    "tan": ("moving_bed", "static_media", "gravel_bed"),
    "no2": ("moving_bed", "static_media", "gravel_bed"),
    "ph": ("sump", "raft", "channel", "tank"), "alk": ("sump", "raft", "channel", "tank"),
    "no3": ("raft", "channel", "gravel_bed"), "ec": ("raft", "channel"),
}  # fmt: skip


def order_of(measurand: str) -> int:
    """Return a measurand's place in a table."""
    return ORDER.index(measurand) if measurand in ORDER else len(ORDER)


def drawing_band(band: Mapping[str, Any]) -> Band:
    """Return a kept band as the drawings want it."""
    return Band(
        good_low=band.get("t_lo"),
        good_high=band.get("t_hi"),
        harmful_low=band.get("red_lo"),
        harmful_high=band.get("red_hi"),
    )


def reading_data(
    row: Reading,
    before: Reading | None,
    series: Sequence[Reading],
    catalogue: Catalogue,
) -> dict[str, Any]:
    """Return a reading with last time's and its recent series, as it is kept in a snapshot."""
    entry = catalogue.measurand(row.measurand) or {}
    days = [(r.taken_at.timestamp() / 86400, r.value) for r in series if r.trusted]
    return {
        "id": str(row.pk),
        "loop": str(row.loop_id),
        "measurand": row.measurand,
        "name": str(entry.get("name") or row.measurand),
        "value": row.value,
        "unit": row.unit,
        "decimals": int(entry.get("decimals") or 0),
        "word": row.word,
        "trusted": row.trusted,
        "doubts": row.doubts,
        "band": row.band,
        "method": row.method,
        "instrument": row.instrument,
        "when": row.when,
        "at": row.taken_at.isoformat(),
        "last": before.value if before else None,
        "last_word": before.word if before else None,
        "last_at": before.taken_at.isoformat() if before else None,
        "trend": trend(row.measurand, days[-6:]),
        "series": [[round(day, 2), value] for day, value in days[-30:]],
    }


@dataclass(frozen=True)
class Shown:
    """One reading in words and figures of one reader."""

    data: Mapping[str, Any]
    name: str
    figure: str
    unit: str
    last: str
    good: str
    word: str
    word_text: str
    sentence: str
    trend_text: str
    band: Band
    today: float | None
    before: float | None
    series: Sequence[tuple[float, float]]

    @property
    def judged(self) -> bool:
        """Whether there is a band to judge it by; feed, for one, is only noted."""
        return bool(self.data["band"])

    def line(self, width: float, height: float, palette: Any = None, **more: Any) -> SafeString:
        """Return its water line."""
        return water_line(
            band=self.band, today=self.today, last=self.before, word=self.word,
            last_word=self.data.get("last_word"), width=width, height=height,
            title=self.sentence, palette=palette, **more,
        )  # fmt: skip

    def spark(self, palette: Any = None) -> SafeString:
        """Return its last months as a small line."""
        points = list(self.series)
        first = points[0][0] if points else 0.0
        span = (points[-1][0] - first) or 1.0 if points else 1.0
        return sparkline(
            values=[value for _day, value in points],
            positions=[(day - first) / span for day, _value in points],
            band=self.band, word=self.word, title=self.sentence, palette=palette,
        )  # fmt: skip


def _convert(value: float | None, shift: Shift | None) -> float | None:
    return value if value is None or shift is None else shift.shown(value)


def _printed(value: float | None, data: Mapping[str, Any], shift: Shift | None) -> tuple[str, int]:
    """Return a stored value as it is printed beside its band, and with how many decimals."""
    band = data["band"]
    digits = digits_beside(
        value or 0.0, data["decimals"], band.get("t_lo"), band.get("t_hi"), shift
    )
    return ("" if value is None else format_figure(_convert(value, shift) or 0.0, digits)), digits


def _band(data: Mapping[str, Any], shift: Shift | None, digits: int) -> Band:
    """Return the band as it is printed."""
    ends = (("t_lo", False), ("t_hi", True), ("red_lo", False), ("red_hi", True))
    return drawing_band(
        {name: bound(data["band"].get(name), shift, digits, up=up) for name, up in ends}
    )


def shown(data: Mapping[str, Any]) -> Shown:
    """Return a reading for a reader, in the active language and the reader's units.

    The word was decided on the stored value; only what is printed is converted.
    """
    unit = data["unit"]
    name = _(data["name"]) if data["name"] else data["measurand"]
    shift = shift_of(unit, data["value"])
    today = _convert(data["value"], shift)
    before = _convert(data.get("last"), shift)
    shown_unit = shift.name if shift else unit
    figure, digits = _printed(data["value"], data, shift)
    last, _digits = _printed(data.get("last"), data, shift)
    band = _band(data, shift, digits)
    word = data["word"]
    course = data.get("trend")
    trend_code = course if course in ("rising", "falling", "steady") else None
    sentence = reading_sentence(
        name=name, today=figure if today is not None else None, unit=shown_unit,
        last=last or None, trend=trend_code, band=band, word=word,
    )  # fmt: skip
    return Shown(
        data=data,
        name=name if name.startswith("pH") else name[:1].upper() + name[1:],
        figure=figure or "–",
        unit=shown_unit,
        last=last,
        good=_good(band),
        word=word,
        word_text=str(JUDGEMENT_WORDS[word]),
        sentence=sentence,
        trend_text={"rising": _("rising"), "falling": _("falling"), "steady": _("steady")}.get(
            trend_code or "", ""
        ),
        band=band,
        today=today,
        before=before,
        series=[(day, _convert(value, shift) or 0.0) for day, value in data["series"]],
    )


def _good(band: Band) -> str:
    low, high = band.good_low, band.good_high
    if low in (None, 0) and high is not None:
        return _("up to %(high)s") % {"high": format_plain(high)}
    if low is not None and high is None:
        return _("%(low)s or more") % {"low": format_plain(low)}
    if low is None or high is None:
        return ""
    return _("%(low)s to %(high)s") % {"low": format_plain(low), "high": format_plain(high)}


def sketch_data(
    loops: Sequence[Loop], flows: Sequence[Flow], latest: Mapping[tuple[UUID, str], dict[str, Any]]
) -> list[dict[str, Any]]:
    """Return a system as it is kept in a snapshot: loops, components, flows, live values."""
    data = []
    for loop in loops:
        parts = list(loop.fitted)  # type: ignore[attr-defined]
        sizes = loop_sizes(loop)
        tank = sizes.tank_litres
        data.append(
            {
                "id": str(loop.pk),
                "kind": loop.kind,
                "litres": loop_litres(loop),
                "turnover": round(sizes.pump_l_h / tank, 2) if tank and sizes.pump_l_h else None,
                "components": [_component(part) for part in parts],
                "flows": [_flow(flow) for flow in flows if flow.source_id in {p.pk for p in parts}],
                "values": _values(loop, parts, latest),
            }
        )
    return data


def _component(part: Any) -> dict[str, Any]:
    return {
        "id": str(part.pk), "kind": part.kind, "name": part.name, "litres": part.litres,
        "area_m2": part.area_m2,
    }  # fmt: skip


def _flow(flow: Flow) -> dict[str, Any]:
    return {
        "source": str(flow.source_id), "target": str(flow.target_id), "kind": flow.kind,
        "l_h": flow.litres_per_hour, "l_day": flow.litres_per_day, "one_way": flow.one_way,
    }  # fmt: skip


def _values(
    loop: Loop, parts: Sequence[Any], latest: Mapping[tuple[UUID, str], dict[str, Any]]
) -> dict[str, list[dict[str, Any]]]:
    found: dict[str, list[dict[str, Any]]] = {}
    for measurand, kinds in PLACES.items():
        row = latest.get((loop.pk, measurand))
        if row is None:
            continue
        for kind in kinds:
            part = next((p for p in parts if p.kind == kind), None)
            if part is not None and len(found.get(str(part.pk), [])) < 2:
                found.setdefault(str(part.pk), []).append(row)
                break
    return found


def _size_text(part: Mapping[str, Any]) -> str:
    if part.get("area_m2"):
        return measured_plain(round(part["area_m2"], 1), "m²")
    if part.get("litres"):
        return measured_plain(round(part["litres"]), "L")
    return ""


def loop_name(kind: str) -> str:
    """Return what a loop is called."""
    return {"whole": _("Loop"), "fish": _("Fish loop"), "plant": _("Plant loop")}[kind]


def _flow_label(flow: Mapping[str, Any]) -> str:
    if flow.get("l_day"):
        amount = measured_plain(round(flow["l_day"]), "L")
        if flow["kind"] == "by_hand":
            return _("one way, by hand, %(amount)s a day") % {"amount": amount}
        return _("%(amount)s a day") % {"amount": amount}
    if flow.get("l_h"):
        return measured_plain(round(flow["l_h"]), "L/h")
    return ""


def sketch(data: Sequence[Mapping[str, Any]], *, layout: str, palette: Any = None) -> SafeString:
    """Return the flow sketch of kept data."""
    loops = [
        SketchLoop(
            id=loop["id"],
            name=loop_name(loop["kind"]),
            litres=loop["litres"] or None,
            turnover=loop["turnover"],
            components=[
                SketchComponent(
                    id=part["id"], kind=part["kind"], name=part["name"], litres=part["litres"],
                    area_m2=part["area_m2"], size_text=_size_text(part),
                    values=[_value(row) for row in loop["values"].get(part["id"], [])],
                )
                for part in loop["components"]
                if part["kind"] in VESSELS | FITTINGS
            ],
            flows=[
                SketchFlow(flow["source"], flow["target"], _flow_label(flow), flow["kind"],
                           flow["one_way"])
                for flow in loop["flows"]
            ],
        )
        for loop in data
    ]  # fmt: skip
    return flow_sketch(loops, layout=layout, palette=palette)


def _value(row: Mapping[str, Any]) -> SketchValue:
    item = shown(row)
    unit = item.unit.replace(" CaCO3", "")
    return SketchValue(
        label=_(row["name"]), figure=item.figure, unit=unit_word(unit), word=item.word
    )


def moment(text: str | None) -> dt.datetime | None:
    """Return a kept time."""
    return dt.datetime.fromisoformat(text) if text else None
