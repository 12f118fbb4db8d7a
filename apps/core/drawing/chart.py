"""The line chart: one measurand over time, its band shaded, its last value in its shape."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from django.utils.safestring import SafeString

from apps.core.drawing.ink import Ink, Palette
from apps.core.drawing.measure import text_width
from apps.core.drawing.scale import BandLike
from apps.core.drawing.shapes import IN_BAND, PENNED, check_word, judgement_shape
from apps.core.drawing.sparkline import broken_line, value_range
from apps.core.numbers import format_plain

_TOP, _FOOT, _RIGHT, _LABEL_SIZE = 12, 30, 12, 12.5
_MARKERS_UP_TO = 40


@dataclass(frozen=True, slots=True)
class ChartPoint:
    """One reading: its day, its value in the band's unit (None: not measured), its judgement."""

    on: date
    value: float | None
    word: str = IN_BAND


@dataclass(frozen=True, slots=True)
class Frame:
    """Where days and values stand in a chart, in its own units."""

    left: float
    right: float
    top: float
    bottom: float
    first: date
    final: date
    low: float
    high: float

    def x(self, on: date) -> float:
        """Return how far along a day stands."""
        days = max((self.final - self.first).days, 1)
        return self.left + (self.right - self.left) * (on - self.first).days / days

    def y(self, value: float) -> float:
        """Return how far down a value stands."""
        return self.bottom - (self.bottom - self.top) * (value - self.low) / (self.high - self.low)


def line_chart(
    *,
    points: Sequence[ChartPoint],
    band: BandLike,
    first: date,
    final: date,
    title: str,
    date_text: Callable[[date], str],
    width: float = 348,
    height: float = 236,
    band_word: str = "",
    gap_days: int = 45,
    joined: bool = True,
    palette: Palette | None = None,
    locale: str | None = None,
) -> SafeString:
    """Readings from `first` to `final`, with the good band, its limits and the harmful limits.

    The line breaks where a reading is missing or the next one is more than `gap_days` away. A
    harmful limit is drawn when the range reaches it. `joined` false: points alone, of what has no
    values between its steps. `date_text` writes a day for the axis;
    `band_word` names the band inside it. Raises ValueError when `final` is not after `first`, for
    an unknown judgement or a value that is not finite.
    """
    if final <= first:
        raise ValueError("the chart must end after it begins")
    shown = [p for p in sorted(points, key=lambda p: p.on) if first <= p.on <= final]
    for point in shown:
        check_word(point.word)
    ink = Ink(palette)
    low, high = value_range([p.value for p in shown], (band.good_low, band.good_high))
    limits = _limits_in(band, low, high)
    left = 8 + max(
        (text_width(format_plain(v, locale), _LABEL_SIZE) for v, _ in limits), default=20.0
    )
    frame = Frame(left + 6, width - _RIGHT, _TOP, height - _FOOT, first, final, low, high)
    body = _ground(ink, frame, band, limits, band_word, _word_y(frame, band, shown), locale)
    body += _days(ink, frame, date_text)
    body += _readings(ink, frame, shown, gap_days if joined else None)
    return SafeString(ink.svg(width, height, body, title=title, kind="ch"))


def _word_y(frame: Frame, band: BandLike, shown: Sequence[ChartPoint]) -> float | None:
    """Return where the band's word stands at its end, clear of the line; None where it can not."""
    top = frame.y(band.good_high) if band.good_high is not None else frame.top
    bottom = frame.y(band.good_low) if band.good_low is not None else frame.bottom
    late = frame.right - (frame.right - frame.left) / 4
    ends = [frame.y(p.value) for p in shown if p.value is not None and frame.x(p.on) >= late]
    places = (top + 16, bottom - 7) if bottom - top > 34 else ()
    return next((y for y in places if all(abs(end - y + 4) > 10 for end in ends)), None)


def _limits_in(band: BandLike, low: float, high: float) -> list[tuple[float, str]]:
    named = (
        (band.harmful_high, "pen-dash"),
        (band.good_high, "thin"),
        (band.good_low, "thin"),
        (band.harmful_low, "pen-dash"),
    )
    return [(v, role) for v, role in named if v is not None and low <= v <= high]


def _ground(
    ink: Ink,
    frame: Frame,
    band: BandLike,
    limits: Sequence[tuple[float, str]],
    band_word: str,
    word_y: float | None,
    locale: str | None,
) -> str:
    out = ""
    if band.good_low is not None or band.good_high is not None:
        top = frame.y(band.good_high) if band.good_high is not None else frame.top
        bottom = frame.y(band.good_low) if band.good_low is not None else frame.bottom
        out += ink.rect("band", frame.left, top, frame.right - frame.left, bottom - top)
        if band_word and word_y is not None:
            x = frame.right - 5
            out += ink.text("text2", x, word_y, band_word, size=_LABEL_SIZE, anchor="end")
    taken: list[float] = []
    for value, role in limits:
        y = frame.y(value)
        out += ink.line(role, frame.left, y, frame.right, y)
        if all(abs(y - other) >= 14 for other in taken):
            taken.append(y)
            role = "text-pen" if role == "pen-dash" else "text2"
            text = format_plain(value, locale)
            out += ink.text(role, frame.left - 6, y + 4.5, text, size=_LABEL_SIZE, anchor="end")
    return out


def _days(ink: Ink, frame: Frame, date_text: Callable[[date], str]) -> str:
    """Two to four days on the axis, the first and the last among them: as many as stand apart."""
    axis = frame.bottom + 6
    out = ink.line("thin2", frame.left, axis, frame.right, axis)
    labels = next(
        (found for parts in (3, 2) if (found := _labels(frame, date_text, parts))),
        _labels(frame, date_text, 1, always=True),
    )
    for text, x, centre in labels:
        out += ink.line("thin2", x, axis, x, axis + 5)
        out += ink.text("text2", centre, axis + 20, text, size=_LABEL_SIZE, anchor="middle")
    return out


def _labels(
    frame: Frame, date_text: Callable[[date], str], parts: int, *, always: bool = False
) -> list[tuple[str, float, float]]:
    """Return text, place and centre of days that part the axis evenly; none where they touch."""
    total = (frame.final - frame.first).days
    found: list[tuple[str, float, float]] = []
    edge = float("-inf")
    for part in range(parts + 1):
        on = frame.first + timedelta(days=round(total * part / parts))
        text, x = date_text(on), frame.x(on)
        half = text_width(text, _LABEL_SIZE) / 2
        centre = min(max(x, half + 1), frame.right + _RIGHT - half - 1)
        if centre - half < edge + 8 and not always:
            return []
        edge = centre + half
        found.append((text, x, centre))
    return found


def _readings(ink: Ink, frame: Frame, shown: Sequence[ChartPoint], gap_days: int | None) -> str:
    places: list[tuple[float, float] | None] = []
    before: date | None = None
    for point in shown:
        if before is not None and (point.on - before).days > (gap_days or 0):
            places.append(None)
        known = point.value is not None
        places.append((frame.x(point.on), frame.y(point.value or 0.0)) if known else None)
        before = point.on
    data = broken_line(places) if gap_days else ""
    out = ink.path("line", data) if data else ""
    known_points = [p for p in shown if p.value is not None]
    for point in known_points[:-1]:
        if len(known_points) <= _MARKERS_UP_TO or point.word in PENNED:
            at = frame.x(point.on), frame.y(point.value or 0.0)
            out += judgement_shape(ink, point.word, *at, hollow=True, size=0.75)
    for point in known_points[-1:]:
        out += judgement_shape(ink, point.word, frame.x(point.on), frame.y(point.value or 0.0))
    return out
