"""What the page Ahead shows of a system: fans in pictures, sentences and tables; fish; needs."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.utils import timezone
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from apps.ahead.choices import Assumed, Method
from apps.ahead.selectors import Kept
from apps.calc.ahead.next_visit import (
    crossings_that_count,
    first_crossing,
    has_earned,
    still_to_come,
)
from apps.calc.ahead.outlook import Crossing, Fan
from apps.catalogue.selectors import Catalogue
from apps.core.dates import day_text
from apps.core.drawing.chart import ChartPoint
from apps.core.drawing.fan import Course, Passing, fan_chart
from apps.core.drawing.scale import Band
from apps.core.numbers import format_figure, with_unit
from apps.flows.wording import crossing_text
from apps.office.wording import after_that, upper_first
from apps.systems.models import Loop
from apps.visits.choices import HOLDING
from apps.visits.models import Reading, Visit
from apps.visits.selectors import LoopLife, band_as_json, band_for, history
from apps.visits.shown import drawing_band, loop_name, order_of

BACK, FORWARD = dt.timedelta(days=70), dt.timedelta(days=42)
WIDE: dict[str, Any] = {"width": 640, "height": 236, "size": 12.5}
NARROW: dict[str, Any] = {"width": 284, "height": 230, "size": 16}
WEEKS = tuple(range(0, 43, 7))


@dataclass(frozen=True)
class FanShown:
    """One measurand: its picture twice, its sentence, which forecast it is, and its table."""

    code: str
    name: str
    wide: SafeString
    narrow: SafeString
    sentences: list[str]
    crosses: bool
    method: str
    record: str
    unit: str
    rows: list[dict[str, Any]]


@dataclass(frozen=True)
class LoopShown:
    """One loop as the page shows it."""

    loop: Loop
    name: str
    kept: Kept | None
    fans: list[FanShown]
    few: list[str]
    stock: list[dict[str, Any]]
    needs: list[dict[str, Any]]
    assumed: list[str]


def loops_shown(
    loops: Sequence[Loop],
    lives: dict[UUID, LoopLife],
    kept: dict[UUID, Kept],
    catalogue: Catalogue,
    now: dt.datetime,
    visits: Sequence[Visit],
) -> list[LoopShown]:
    """Return the loops with what is forecast of them: one query."""
    seen = readings_by(loops, now)
    return [_loop(loop, lives[loop.pk], kept.get(loop.pk), seen, catalogue, visits)
            for loop in loops]  # fmt: skip


def readings_by(loops: Sequence[Loop], now: dt.datetime) -> dict[tuple[UUID, str], list[Reading]]:
    """Return the readings that the pictures begin with, by loop and measurand: one query."""
    seen: dict[tuple[UUID, str], list[Reading]] = {}
    for row in history([loop.pk for loop in loops], now, now - BACK):
        seen.setdefault((row.loop_id, row.measurand), []).append(row)
    return seen


def _loop(
    loop: Loop,
    life: LoopLife,
    kept: Kept | None,
    seen: dict[tuple[UUID, str], list[Reading]],
    catalogue: Catalogue,
    visits: Sequence[Visit],
) -> LoopShown:
    fans: list[FanShown] = []
    known: set[str] = set()
    if kept is not None:
        for fan in sorted(kept.outlook.fans, key=lambda fan: (not _crosses(kept, fan.measurand),
                                                              order_of(fan.measurand))):  # fmt: skip
            known.add(fan.measurand)
            fans.append(_fan(kept, fan, life, seen.get((loop.pk, fan.measurand), []), catalogue))
    few = sorted((code for pk, code in seen if pk == loop.pk and code not in known
                  and band_for(catalogue, code, life.context)), key=order_of)  # fmt: skip
    return LoopShown(
        loop=loop, name=loop_name(loop.kind), kept=kept, fans=fans,
        few=[_name(catalogue, code) for code in few] if kept else [],
        stock=_stock(kept) if kept else [],
        needs=_needs(kept, visits) if kept else [],
        assumed=[str(Assumed(code).label) for code in kept.row.assumed] if kept else [],
    )  # fmt: skip


def first_shown(
    loops: Sequence[Loop],
    lives: dict[UUID, LoopLife],
    kept: dict[UUID, Kept],
    catalogue: Catalogue,
    now: dt.datetime,
) -> FanShown | None:
    """Return the fan whose limit may be passed first, of those that count: one query, or none."""
    wanted = [
        (first.soonest or 0.0, str(pk), first.measurand, one)
        for pk, one in kept.items()
        if (first := first_crossing(still_to_come(crossings_that_count(one.outlook))))
    ]
    if not wanted:
        return None
    _day, _pk, code, one = min(wanted, key=lambda item: item[:3])
    life = lives.get(one.loop_id)
    fan = next((fan for fan in one.outlook.fans if fan.measurand == code), None)
    if life is None or fan is None:
        return None
    loop = next(loop for loop in loops if loop.pk == one.loop_id)
    rows = readings_by([loop], now).get((loop.pk, code), [])
    return _fan(one, fan, life, rows, catalogue)


def _crosses(kept: Kept, measurand: str) -> bool:
    return first_crossing(_crossings(kept, measurand)) is not None


def _crossings(kept: Kept, measurand: str) -> list[Crossing]:
    return [row for row in kept.outlook.crossings if row.measurand == measurand]


def _name(catalogue: Catalogue, code: str) -> str:
    return _(catalogue.name("measurands", code))


def _fan(
    kept: Kept, fan: Fan, life: LoopLife, rows: Sequence[Reading], catalogue: Catalogue
) -> FanShown:
    entry = catalogue.measurand(fan.measurand) or {}
    unit, decimals = str(entry.get("unit") or ""), int(entry.get("decimals") or 0)
    crossings = [row for row in _crossings(kept, fan.measurand) if row.soonest is not None]
    sentences = [crossing_text(crossing_days(kept, row), catalogue) for row in crossings]
    if not sentences:
        sentences = [_quiet(kept, fan, _name(catalogue, fan.measurand), unit, decimals)]
    passing = first_crossing(crossings)
    drawn = picture(
        kept, [Course(*_course(kept, fan))], rows, band_of(catalogue, fan.measurand, life), passing,
        " ".join(sentences),
    )  # fmt: skip
    return FanShown(
        fan.measurand, upper_first(_name(catalogue, fan.measurand)), *drawn, sentences, bool(crossings),
        _method(kept, fan), _record(fan), unit, _table(kept, fan, decimals),
    )  # fmt: skip


def _method(kept: Kept, fan: Fan) -> str:
    """Return which forecast it is, and from when on another one takes over."""
    if not fan.turns:
        return str(Method(fan.method).label)
    first, *later = [(kept.day(day), str(Method(method).label)) for day, method in fan.turns]
    return "; ".join([first[1]] + [
        _("from %(day)s on more and more: %(method)s") % {"day": day_text(day), "method": label}
        for day, label in later
    ])  # fmt: skip


def band_of(catalogue: Catalogue, measurand: str, life: LoopLife) -> Band:
    """Return the band of a measurand in a loop as drawings want it."""
    return drawing_band(band_as_json(band_for(catalogue, measurand, life.context)))


def crossing_days(kept: Kept, row: Crossing) -> dict[str, Any]:
    """Return a crossing with its days as dates, as sentences are made from it."""
    days = {
        name: kept.day(value).isoformat() if value is not None else None
        for name, value in (
            ("soonest", row.soonest), ("middle", row.middle), ("latest", row.latest)
        )
    }  # fmt: skip
    already = row.middle is not None and row.middle < 1
    return {"measurand": row.measurand, "side": row.side, "level": row.level, "already": already,
            **days}  # fmt: skip


def _course(kept: Kept, fan: Fan) -> tuple[list[dt.date], Any, Any, Any]:
    return [kept.day(day) for day in fan.days], fan.middle, fan.low, fan.high


def picture(
    kept: Kept, courses: Sequence[Course], rows: Sequence[Reading], band: Band,
    passing: Crossing | None, title: str,
) -> tuple[SafeString, SafeString]:  # fmt: skip
    """Return the fan drawn for a wide and for a narrow page."""
    today = kept.row.from_day
    points = [
        ChartPoint(timezone.localdate(row.taken_at), row.value, row.word)
        for row in rows
        if row.trusted
    ]
    shared: dict[str, Any] = {
        "points": points, "courses": courses, "band": band, "first": today - BACK, "today": today,
        "final": today + FORWARD, "title": title, "today_word": _("today"),
        "passing": _passing(kept, passing),
    }  # fmt: skip
    return (
        fan_chart(**shared, **WIDE, date_text=day_text),
        fan_chart(**shared | {"first": today - BACK / 2}, **NARROW,
                  date_text=lambda day: day_text(day, "bare")),
    )  # fmt: skip


def _passing(kept: Kept, row: Crossing | None) -> Passing | None:
    if row is None or row.soonest is None:
        return None
    likely = kept.day(row.middle) if row.middle is not None else None
    last = kept.day(row.latest) if row.latest is not None else None
    return Passing(row.level, kept.day(row.soonest), likely, last)


def _quiet(kept: Kept, fan: Fan, name: str, unit: str, decimals: int) -> str:
    """Return the sentence of a fan that passes no limit."""
    return _(
        "%(name)s is most likely %(figure)s on %(day)s (80 %%: %(low)s to %(high)s); no limit is "
        "in sight."
    ) % {
        "name": upper_first(name),
        "figure": with_unit(format_figure(fan.middle[-1], decimals), unit),
        "day": day_text(kept.day(fan.days[-1])),
        "low": format_figure(fan.low[-1], decimals),
        "high": format_figure(fan.high[-1], decimals),
    }


def _record(fan: Fan) -> str:
    """Return how often later readings lay inside the range."""
    if fan.hit_rate is None or not fan.judged:
        return _("too few readings yet to say how often it is right; it moves no date")
    said = ngettext(
        "%(inside)d of %(count)d later reading lay inside",
        "%(inside)d of %(count)d later readings lay inside", fan.judged,
    ) % {"inside": round(fan.hit_rate * fan.judged), "count": fan.judged}  # fmt: skip
    return said if has_earned(fan) else _("%(said)s; it moves no date") % {"said": said}


def _table(kept: Kept, fan: Fan, decimals: int) -> list[dict[str, Any]]:
    rows = []
    for week in WEEKS:
        values = [between(fan.days, part, week) for part in (fan.low, fan.middle, fan.high)]
        if all(value is not None for value in values):
            low, middle, high = (
                format_figure(value, decimals) for value in values if value is not None
            )
            rows.append({"day": kept.day(week), "low": low, "middle": middle, "high": high})
    return rows


def between(days: Sequence[float], values: Sequence[float], day: float) -> float | None:
    """Return the value on a day, on straight lines between those that are known; None outside."""
    if not days or not days[0] <= day <= days[-1]:
        return None
    for index, after in enumerate(days):
        if after >= day:
            before = max(0, index - 1)
            width = days[index] - days[before]
            share = (day - days[before]) / width if width else 0.0
            return values[before] + share * (values[index] - values[before])
    return values[-1]


def _stock(kept: Kept) -> list[dict[str, Any]]:
    """Return the fish week by week."""
    rows = kept.outlook.stock
    found: list[dict[str, Any]] = []
    for week in WEEKS:
        row = min((row for row in rows if row.day >= week), key=lambda row: row.day, default=None)
        if row is None or (found and found[-1]["day"] == kept.day(row.day)):
            continue
        found.append(
            {
                "day": kept.day(row.day), "weight": format_figure(row.weight_g, 0),
                "biomass": format_figure(row.biomass_kg, 1),
                "density": format_figure(row.density_kg_m3, 1),
                "feed": format_figure(row.feed_g_day, 0),
                "oxygen": format_figure(row.oxygen_mg_l, 1),
                "margin": format_figure(row.oxygen_margin_mg_l, 1),
                "short": row.oxygen_margin_mg_l < 0,
            }
        )  # fmt: skip
    return found


def _needs(kept: Kept, visits: Sequence[Visit]) -> list[dict[str, Any]]:
    """Return feed, base and top-up until the next visit, and until the end of six weeks."""
    wanted: list[tuple[str, dt.date]] = []
    coming = next((row for row in visits if row.state in HOLDING), None)
    first = timezone.localdate(coming.start) if coming else kept.row.next_visit
    if first is not None and first > kept.row.from_day:
        word = (
            _("until the visit on %(day)s")
            if coming
            else _("until %(day)s, when somebody should come")
        )
        wanted.append((word % {"day": day_text(first)}, first))
    rows = kept.outlook.needs
    if rows:
        last = kept.day(rows[-1].day)
        wanted.append((_("until %(day)s") % {"day": day_text(last)}, last))
    found = []
    for words, day in wanted:
        number = float((day - kept.row.from_day).days)
        days = (0.0, *(row.day for row in rows))
        amounts = [
            between(days, (0.0, *values), number)
            for values in zip(*((row.feed_g, row.base_g_caco3, row.topup_l) for row in rows), strict=True)
        ]  # fmt: skip
        if amounts and None not in amounts:
            feed, base, topup = (amount for amount in amounts if amount is not None)
            found.append({"until": words, "feed": _grams(feed), "base": _grams(base),
                          "topup": with_unit(format_figure(topup, 0), "L")})  # fmt: skip
    return found


def _grams(grams: float) -> str:
    if grams >= 1000:
        return with_unit(format_figure(grams / 1000, 1), "kg")
    return with_unit(format_figure(grams, 0), "g")


def _undated(kept: dict[UUID, Kept]) -> list[str]:
    """Return why no day is named: nothing is in sight, or nothing that has earned it."""
    if not kept:
        return []
    seen = any(row.soonest is not None for one in kept.values() for row in one.outlook.crossings)
    if seen:
        return [
            _("Limits are in sight, but no forecast of them has a record that would move a date.")
        ]
    return [_("No limit is in sight within six weeks.")]


def visit_words(kept: dict[UUID, Kept], visits: Sequence[Visit], on: dt.date) -> list[str]:
    """Return when somebody should come, and what a visit that stands has to do with it."""
    days = [row.row.next_visit for row in kept.values() if row.row.next_visit is not None]
    if not days:
        return _undated(kept)
    day = min(days)
    said = [_("Somebody should come by %(day)s.") % {"day": day_text(day)}]
    coming = next((row for row in visits if row.state in HOLDING), None)
    if coming is None:
        return said
    start = timezone.localdate(coming.start)
    if start <= day:
        said.append(_("The visit on %(day)s is in time.") % {"day": day_text(start)})
    else:
        said.append(after_that(coming, day_text(start)))
    return said
