"""The fan: what was read, then where it is heading, with the range in which it lies.

Read values are a solid line with hollow marks, the most likely course is dashed, its range a
wedge. On the limit that may be passed a pen bar with end ticks spans the days on which that may
happen, and a dashed drop names the most likely one.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from django.utils.safestring import SafeString

from apps.core.drawing.chart import ChartPoint, Frame
from apps.core.drawing.ink import Ink, Palette, number
from apps.core.drawing.measure import text_width
from apps.core.drawing.scale import BandLike
from apps.core.drawing.shapes import check_word, judgement_shape
from apps.core.drawing.sparkline import broken_line, value_range
from apps.core.numbers import format_plain

_TOP, _RIGHT, _GAP_DAYS = 14.0, 10.0, 45
_MARKERS_UP_TO = 40


@dataclass(frozen=True, slots=True)
class Course:
    """A forecast: days, the middle and, where it is drawn, the range. `second`: set beside another."""

    days: Sequence[date]
    middle: Sequence[float]
    low: Sequence[float] = ()
    high: Sequence[float] = ()
    second: bool = False


@dataclass(frozen=True, slots=True)
class Passing:
    """A limit that may be passed: soonest, most likely and latest day, None beyond the picture."""

    level: float
    first: date
    likely: date | None
    last: date | None


@dataclass(frozen=True, slots=True)
class _Frame(Frame):
    size: float
    marked: tuple[float, ...]


def fan_chart(
    *,
    points: Sequence[ChartPoint],
    courses: Sequence[Course],
    band: BandLike,
    first: date,
    today: date,
    final: date,
    title: str,
    date_text: Callable[[date], str],
    today_word: str,
    passing: Passing | None = None,
    width: float = 640,
    height: float = 236,
    size: float = 12.5,
    palette: Palette | None = None,
    locale: str | None = None,
) -> SafeString:
    """Readings up to `today` and what is forecast until `final`.

    `size`: of its figures [px]. Raises ValueError unless first < today < final, for an unknown
    judgement, or a value that is not finite.
    """
    if not first < today < final:
        raise ValueError("the chart must begin before today and end after it")
    read = [p for p in sorted(points, key=lambda p: p.on) if first <= p.on <= today]
    for point in read:
        check_word(point.word)
    frame = _frame(read, courses, band, passing, (first, final), (width, height, size), locale)
    ink = Ink(palette)
    body = _ground(ink, frame, band, locale)
    body += "".join(_wedge(ink, frame, course) for course in courses)
    body += _axis(ink, frame, today, date_text, today_word)
    body += "".join(_middle(ink, frame, course) for course in courses)
    body += _read(ink, frame, read)
    body += _passing(ink, frame, passing, date_text, locale) if passing else ""
    return SafeString(ink.svg(width, height, body, title=title, kind="fan"))


def _frame(
    read: Sequence[ChartPoint],
    courses: Sequence[Course],
    band: BandLike,
    passing: Passing | None,
    span: tuple[date, date],
    sizes: tuple[float, float, float],
    locale: str | None,
) -> _Frame:
    width, height, size = sizes
    drawn = [value for c in courses for part in (c.middle, c.low, c.high) for value in part]
    limits = [*_good(band), passing.level if passing else None]
    low, high = value_range([*(p.value for p in read), *drawn], limits)
    if min([v for v in (*drawn, *(p.value for p in read)) if v is not None], default=0) >= 0:
        low = max(low, 0.0) if low > -(high - low) / 4 else low
    held = (band.good_low, band.good_high, band.harmful_low, band.harmful_high)
    marked = tuple(v for v in held if v is not None and low <= v <= high)
    texts = [format_plain(v, locale) for v in limits if v is not None]
    left = 14 + max((text_width(text, size) for text in texts), default=20.0)
    foot = height - size - 22
    return _Frame(left, width - _RIGHT, _TOP, foot, *span, low, high, size, marked)


def _good(band: BandLike) -> tuple[float | None, float | None]:
    return band.good_low, band.good_high


def _ground(ink: Ink, frame: _Frame, band: BandLike, locale: str | None) -> str:
    out = ""
    if band.good_low is not None or band.good_high is not None:
        top = frame.y(band.good_high) if band.good_high is not None else frame.top
        bottom = frame.y(band.good_low) if band.good_low is not None else frame.bottom
        out += ink.rect("band", frame.left, top, frame.right - frame.left, bottom - top)
    named = (
        (band.harmful_high, "pen-dash"), (band.good_high, "thin"), (band.good_low, "thin"),
        (band.harmful_low, "pen-dash"),
    )  # fmt: skip
    taken: list[float] = []
    for value, role in named:
        if value is None or not frame.low <= value <= frame.high:
            continue
        y = frame.y(value)
        out += ink.line(role, frame.left, y, frame.right, y)
        if all(abs(y - other) >= frame.size + 1.5 for other in taken):
            taken.append(y)
            text_role = "text-pen" if role == "pen-dash" else "text2"
            out += ink.text(
                text_role, frame.left - 6, y + frame.size * 0.36, format_plain(value, locale),
                size=frame.size, anchor="end",
            )  # fmt: skip
    return out


def _wedge(ink: Ink, frame: _Frame, course: Course) -> str:
    if not course.low or not course.high:
        return ""
    over = [(frame.x(on), frame.y(v)) for on, v in zip(course.days, course.high, strict=True)]
    under = [(frame.x(on), frame.y(v)) for on, v in zip(course.days, course.low, strict=True)]
    path = "L".join(f"{number(x)} {number(y)}" for x, y in (*over, *reversed(under)))
    return ink.path("fan-nine", f"M{path}Z")


def _middle(ink: Ink, frame: _Frame, course: Course) -> str:
    line = broken_line(
        [(frame.x(on), frame.y(v)) for on, v in zip(course.days, course.middle, strict=True)]
    )
    return ink.path("line" if course.second else "likely", line) if line else ""


def _axis(
    ink: Ink, frame: _Frame, today: date, date_text: Callable[[date], str], today_word: str
) -> str:
    """The days: today by its word, the first and the last, and one between if there is room."""
    axis = frame.bottom + 6
    out = ink.line("thin2", frame.left, axis, frame.right, axis)
    out += ink.line("edge-dash", frame.x(today), frame.top, frame.x(today), axis)
    halfway = today + timedelta(days=(frame.final - today).days // 2)
    wanted = [
        (today, today_word), (frame.final, date_text(frame.final)),
        (frame.first, date_text(frame.first)), (halfway, date_text(halfway)),
    ]  # fmt: skip
    spans: list[tuple[float, float]] = []
    for on, text in wanted:
        half = text_width(text, frame.size) / 2
        centre = min(max(frame.x(on), half + 1), frame.right + _RIGHT - half - 4)
        if any(centre - half < right + 8 and centre + half > left - 8 for left, right in spans):
            continue
        spans.append((centre - half, centre + half))
        out += ink.line("thin2", frame.x(on), axis, frame.x(on), axis + 5)
        out += ink.text("text2", centre, axis + 5 + frame.size, text, size=frame.size,
                        anchor="middle")  # fmt: skip
    return out


def _read(ink: Ink, frame: _Frame, read: Sequence[ChartPoint]) -> str:
    places: list[tuple[float, float] | None] = []
    before: date | None = None
    known = [point for point in read if point.value is not None]
    for point in known:
        if before is not None and (point.on - before).days > _GAP_DAYS:
            places.append(None)
        places.append((frame.x(point.on), frame.y(point.value or 0.0)))
        before = point.on
    data = broken_line(places)
    out = ink.path("line", data) if data else ""
    few = len(known) <= _MARKERS_UP_TO
    for point in known[:-1] if few else ():
        at = frame.x(point.on), frame.y(point.value or 0.0)
        out += judgement_shape(ink, point.word, *at, hollow=True, size=0.75)
    for point in known[-1:]:
        out += judgement_shape(ink, point.word, frame.x(point.on), frame.y(point.value or 0.0))
    return out


def _passing(
    ink: Ink,
    frame: _Frame,
    passing: Passing,
    date_text: Callable[[date], str],
    locale: str | None,
) -> str:
    """The pen bar on the limit, its figure where there is room, and the day that is most likely."""
    y, last = frame.y(passing.level), passing.last or frame.final
    begin, end = frame.x(passing.first), frame.x(min(last, frame.final))
    bar = (
        f"M{number(begin)} {number(y)}L{number(end)} {number(y)}M{number(begin)} {number(y - 5)}v10"
    )
    if passing.last is not None:
        bar += f"M{number(end)} {number(y - 5)}v10"
    out = ink.path("run-pen", bar)
    if all(abs(y - frame.y(v)) >= frame.size + 1.5 for v in frame.marked):
        out += ink.text(
            "text-pen", frame.left - 6, y + frame.size * 0.36, format_plain(passing.level, locale),
            size=frame.size, anchor="end",
        )  # fmt: skip
    if passing.likely is None or not passing.first < passing.likely <= frame.final:
        return out
    x = frame.x(passing.likely)
    out += ink.line("pen-dash", x, y, x, frame.bottom + 6)
    text = date_text(passing.likely)
    half = text_width(text, frame.size, weight=600) / 2
    # beside the drop, on the side with more room, just above the axis
    right = x + 6 + 2 * half <= frame.right
    return out + ink.text(
        "text-pen", x + 6 if right else x - 6, frame.bottom - 3, text, size=frame.size,
        anchor="start" if right else "end", weight=600,
    )  # fmt: skip
