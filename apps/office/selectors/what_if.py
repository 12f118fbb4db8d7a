"""A what-if as it is shown: two courses beside each other, and the minutes without a pump."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any
from uuid import UUID

from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from apps.ahead.codec import learnt_read
from apps.ahead.selectors import Gathered, Kept, gather
from apps.calc.ahead.next_visit import first_crossing
from apps.calc.ahead.outlook import Fan, Outlook
from apps.calc.ahead.what_if import Future, daily, future, leaning, minutes_without_pump
from apps.calc.ahead.wishes import Wishes, wished
from apps.calc.judgement import NOISE
from apps.catalogue.selectors import Catalogue
from apps.core.drawing.fan import Course
from apps.core.numbers import format_figure, with_unit
from apps.flows.wording import crossing_text
from apps.office.selectors.ahead_page import band_of, crossing_days, picture
from apps.office.wording import upper_first
from apps.systems.models import Loop
from apps.visits.models import Reading
from apps.visits.selectors import LoopLife
from apps.visits.shown import loop_name, order_of

# a course counts as changed where it leaves the other by this share of what a kit tells apart
TELLS = 0.5


@dataclass(frozen=True)
class Compared:
    """One measurand as it is, and with the change."""

    code: str
    name: str
    wide: SafeString
    narrow: SafeString
    before: str
    after: str


@dataclass(frozen=True)
class LoopCompared:
    """One loop: what changes, and the names of what does not."""

    name: str
    changed: list[Compared]
    same: list[str]


def known_of(
    system_id: UUID, kept: dict[UUID, Kept], catalogue: Catalogue, on: dt.date, at: dt.datetime
) -> list[Gathered]:
    """Return the loops of a system that a what-if can be asked of: fourteen queries."""
    return [
        item for item in gather([system_id], catalogue, on, at)
        if item.loop.pk in kept and kept[item.loop.pk].row.learnt
    ]  # fmt: skip


def compared(
    known: Sequence[Gathered],
    kept: dict[UUID, Kept],
    lives: dict[UUID, LoopLife],
    seen: dict[tuple[UUID, str], list[Reading]],
    wishes: Wishes,
    catalogue: Catalogue,
) -> list[LoopCompared]:
    """Return the futures of the loops beside each other, a change carried along by what flows.

    As it is, is what Ahead says; the balance tells how far the change moves that.
    Asks no database.
    """
    found: dict[UUID, LoopCompared] = {}
    sent: dict[UUID, tuple[Future, Future]] = {}
    # what flows one way from a loop is known once its own future is
    for item in sorted(known, key=lambda item: item.fed_by is not None):
        one = kept[item.loop.pk]
        learnt = learnt_read(one.row.learnt)
        before, after = sent.get(item.fed_by, (None, None)) if item.fed_by else (None, None)
        plain = future(
            item.facts, learnt, inflow=before.sends if before else None, usual=item.facts
        )
        changed = future(
            wished(item.facts, wishes), learnt, inflow=after.sends if after else None,
            usual=item.facts, leans=leaning(plain.outlook, one.outlook),
        )  # fmt: skip
        sent[item.loop.pk] = plain, changed
        rows = {code: held for (pk, code), held in seen.items() if pk == item.loop.pk}
        outlooks = _as_it_is(plain.outlook, one.outlook), changed.outlook
        life = lives[item.loop.pk]
        found[item.loop.pk] = _loop(item.loop, one, life, outlooks, rows, catalogue)
    return [found[item.loop.pk] for item in known]


def _as_it_is(balance: Outlook, forecast: Outlook) -> Outlook:
    """Return the forecast that stands, by the balance where it says nothing."""
    shown = {fan.measurand: daily(fan) for fan in forecast.fans}
    other = [row for row in balance.crossings if row.measurand not in shown]
    return replace(
        balance, fans=tuple(shown.get(fan.measurand, fan) for fan in balance.fans),
        crossings=(*forecast.crossings, *other),
    )  # fmt: skip


def _loop(
    loop: Loop,
    kept: Kept,
    life: LoopLife,
    both: tuple[Outlook, Outlook],
    rows: dict[str, list[Reading]],
    catalogue: Catalogue,
) -> LoopCompared:
    later = {fan.measurand: fan for fan in both[1].fans}
    changed, same = [], []
    for fan in sorted(both[0].fans, key=lambda fan: order_of(fan.measurand)):
        name = upper_first(_(catalogue.name("measurands", fan.measurand)))
        other = later.get(fan.measurand)
        if other is None or not _differs(fan, other):
            same.append(name)
            continue
        passing = first_crossing(row for row in both[1].crossings if row.measurand == fan.measurand)
        words = [_said(kept, outlook, fan.measurand, catalogue) for outlook in both]
        title = _("%(name)s. As it is: %(before)s With the change: %(after)s") % {
            "name": name, "before": words[0], "after": words[1],
        }  # fmt: skip
        courses = [
            Course([kept.day(day) for day in fan.days], fan.middle),
            Course([kept.day(day) for day in other.days], other.middle, other.low, other.high,
                   second=True),
        ]  # fmt: skip
        drawn = picture(
            kept, courses, rows.get(fan.measurand, []), band_of(catalogue, fan.measurand, life),
            passing, title,
        )  # fmt: skip
        changed.append(Compared(fan.measurand, name, *drawn, *words))
    return LoopCompared(loop_name(loop.kind), changed, same)


def _differs(one: Fan, other: Fan) -> bool:
    usual = NOISE.get(one.measurand, 0.05 * max(map(abs, one.middle), default=0.0))
    return any(abs(a - b) > TELLS * usual for a, b in zip(one.middle, other.middle, strict=True))


def _said(kept: Kept, outlook: Outlook, measurand: str, catalogue: Catalogue) -> str:
    """Return what passes which limit, or what it most likely comes to."""
    crossings = [
        row for row in outlook.crossings if row.measurand == measurand and row.middle is not None
    ]
    if crossings:
        return " ".join(crossing_text(crossing_days(kept, row), catalogue) for row in crossings)
    fan = next(fan for fan in outlook.fans if fan.measurand == measurand)
    entry = catalogue.measurand(measurand) or {}
    figure = format_figure(fan.middle[-1], int(entry.get("decimals") or 0))
    return _("%(figure)s after six weeks, and no limit more likely passed than kept.") % {
        "figure": with_unit(figure, str(entry.get("unit") or ""))
    }


def without_pump(
    known: Sequence[Gathered], hours: float, temp_c: float | None
) -> list[dict[str, Any]]:
    """Return for each loop with fish how long its oxygen lasts without pump and air."""
    found = []
    for item in known:
        facts = item.facts
        if not facts.fish:
            continue
        warmth = temp_c if temp_c is not None else facts.weather[0].temp_c
        read = [row.value for row in facts.observed if row.measurand == "do"]
        row: dict[str, Any] = {"loop": loop_name(item.loop.kind), "text": "", "inputs": []}
        found.append(row)
        if not read:
            row["text"] = _("Oxygen was never measured here, so no time can be given.")
            continue
        try:
            minutes, short = minutes_without_pump(facts, read[-1], warmth, hours)
        except ValueError:
            row["text"] = _("These figures lie outside what the formula holds for.")
            continue
        kg = sum(group.count * group.weight_g for group in facts.fish) / 1000
        words = {"minutes": round(minutes), "short": round(short), "hours": f"{hours:g}"}
        row["short"] = short > 0
        row["text"] = (
            _("The oxygen lasts about %(minutes)s min: %(short)s min less than the %(hours)s h.")
            if short > 0
            else _("The oxygen lasts about %(minutes)s min: longer than the %(hours)s h.")
        ) % words
        row["inputs"] = [
            (_("Last oxygen read"), with_unit(format_figure(read[-1], 1), "mg/L")),
            (_("Water"), with_unit(format_figure(warmth, 1), "°C")),
            (_("Fish"), with_unit(format_figure(kg, 1), "kg")),
            (_("Tank"), with_unit(format_figure(facts.fish_volume_l or facts.volume_l, 0), "L")),
        ]
    return found
