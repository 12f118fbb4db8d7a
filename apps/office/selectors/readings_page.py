"""What the page of a system's readings shows: how each behaves, in a picture, sentences and a table."""

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.utils import timezone
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from apps.calc.ahead.steps import WIDEST, step_of
from apps.calc.behaviour import (
    LEAST_FOR_TREND,
    RECENT,
    SCORES,
    Behaviour,
    behaviour,
    score_behaviour,
)
from apps.calc.control import Arrival, time_to_level
from apps.catalogue.selectors import Catalogue
from apps.core.dates import day_text, span_text
from apps.core.drawing.chart import ChartPoint, line_chart
from apps.core.drawing.scale import Band
from apps.core.numbers import format_figure, format_plain, with_unit
from apps.office.selectors.ahead_page import band_of
from apps.office.wording import people_by_author, upper_first
from apps.systems.models import Loop
from apps.visits.choices import When
from apps.visits.models import Reading, ReadingPhoto
from apps.visits.selectors import LoopLife, history
from apps.visits.shown import loop_name, order_of

# months that the page looks back, and the days that they are
SPANS = {"3": 91, "6": 183, "12": 366, "24": 731}
_WIDE: dict[str, Any] = {"width": 640, "height": 220}
_NARROW: dict[str, Any] = {"width": 284, "height": 220}
_FINE = 4  # a kit whose step is so much finer than the widest is a meter


@dataclass(frozen=True)
class SeriesShown:
    """One measurand of one loop: pictures, what is said of it, what is asked, and its table."""

    code: str
    name: str
    unit: str
    wide: SafeString
    narrow: SafeString
    said: list[str]
    asked: list[str]
    rows: list[dict[str, Any]]


@dataclass(frozen=True)
class LoopReadings:
    """One loop with its series, those that ask for something first."""

    loop: Loop
    name: str
    series: list[SeriesShown]


def readings_since(loops: Sequence[Loop], now: dt.datetime, days: int) -> list[Reading]:
    """Return the counting readings of loops, oldest first: one query."""
    return history([loop.pk for loop in loops], now, now - dt.timedelta(days=days))


def loops_read(
    loops: Sequence[Loop],
    lives: dict[UUID, LoopLife],
    rows: Sequence[Reading],
    catalogue: Catalogue,
    first: dt.date,
    final: dt.date,
) -> list[LoopReadings]:
    """Return loops with how their readings behave: two queries, for names and photos."""
    photos = _photos(loops)
    names = people_by_author([row.by for row in rows if row.by])
    series: dict[tuple[UUID, str], list[Reading]] = {}
    for row in rows:
        series.setdefault((row.loop_id, row.measurand), []).append(row)
    found = []
    for loop in loops:
        codes = sorted((code for pk, code in series if pk == loop.pk), key=order_of)
        shown = [
            _Series(code, series[loop.pk, code], catalogue, first, final).shown(
                band_of(catalogue, code, lives[loop.pk]), names, photos
            )
            for code in codes
        ]
        found.append(
            LoopReadings(loop, loop_name(loop.kind), sorted(shown, key=lambda one: not one.asked))
        )
    return found


def _photos(loops: Sequence[Loop]) -> dict[UUID, UUID]:
    """Return reading -> photo of what it was read from: one query."""
    rows = ReadingPhoto.objects.filter(reading__loop__in=[loop.pk for loop in loops])
    return dict(rows.values_list("reading_id", "pk"))


class _Series:
    """The readings of one measurand in one loop, with how they behave."""

    def __init__(
        self,
        code: str,
        rows: Sequence[Reading],
        catalogue: Catalogue,
        first: dt.date,
        final: dt.date,
    ) -> None:
        entry = catalogue.measurand(code) or {}
        self.code, self.rows, self.first, self.final = code, rows, first, final
        self.name = upper_first(_(catalogue.name("measurands", code)))
        self.unit, self.decimals = str(entry.get("unit") or ""), int(entry.get("decimals") or 0)
        # what was read after the work tells of the work, and what is doubted of nothing
        self.known = [row for row in rows if row.trusted and row.when == When.BEFORE]
        self.days = [row.taken_at.timestamp() / 86400 for row in self.known]
        self.values = [row.value for row in self.known]
        step = step_of(code, self.values, self.decimals)
        meter = step * _FINE <= WIDEST.get(code, 0.0)
        self.score = code in SCORES
        self.found = (
            score_behaviour(self.days, self.values) if self.score
            else behaviour(self.days, self.values, step, meter=meter)
        )  # fmt: skip

    def shown(
        self,
        band: Band,
        names: dict[str, str],
        photos: dict[UUID, UUID],
    ) -> SeriesShown:
        said, asked = list(self._said(band)), list(self._asked())
        years = self.first.year != self.final.year
        shared: dict[str, Any] = {
            "points": [ChartPoint(_day(row), row.value, row.word) for row in self.known],
            "band": band, "first": self.first, "final": self.final, "joined": not self.score,
            "title": " ".join([*asked, *said]),
        }  # fmt: skip
        return SeriesShown(
            self.code, self.name, self.unit,
            line_chart(**shared, **_WIDE, date_text=lambda day: day_text(day, "brief" if years else "short")),
            line_chart(**shared, **_NARROW, date_text=lambda day: day_text(day, "brief" if years else "bare")),
            said, asked, self._table(names, photos),
        )  # fmt: skip

    def figure(self, value: float) -> str:
        """Return a value with its unit."""
        return with_unit(format_figure(value, self.decimals), self.unit)

    def _day_text(self, day: dt.date) -> str:
        """Return a day, with its year where that is not the one in which what is shown ends."""
        return day_text(day, "short" if day.year == self.final.year else "year")

    def _said(self, band: Band) -> Iterator[str]:
        found = self.found
        if found.slope:
            yield self._trend()
            yield from self._arrival(band)
        elif self.score:
            yield from self._scored()
        elif found.count < LEAST_FOR_TREND:
            yield _("Too few readings in this time to say how it behaves.")
        elif not found.drift and not found.last_outside:
            yield _("It goes up and down by chance; no trend shows.")
            if found.usual is not None:
                yield _("Usual here: %(low)s to %(high)s.") % self._usual()

    def _scored(self) -> Iterator[str]:
        last = ", ".join(format_figure(value, 0) for value in self.values[-RECENT:])
        if last:
            yield _("A score, judged by eye. The last: %(scores)s.") % {"scores": last}
        if self.found.count < LEAST_FOR_TREND:
            yield _("Too few readings in this time to say how it behaves.")
        elif not self.found.leads:
            yield _("It goes up and down by chance; no trend shows.")
        else:
            yield (
                _("It goes up: more than chance.") if self.found.leads > 0
                else _("It goes down: more than chance.")
            )  # fmt: skip

    def _trend(self) -> str:
        figure = format_figure(abs(self.found.slope) * 7, self.decimals + 1)
        words = (
            _("It rises by %(rate)s a week: more than chance.")
            if self.found.slope > 0
            else _("It falls by %(rate)s a week: more than chance.")
        )
        return words % {"rate": with_unit(figure, self.unit)}

    def _arrival(self, band: Band) -> Iterator[str]:
        """Yield when the next limit on its way is reached, where the readings reach that far."""
        rising = self.found.slope > 0
        limits = (
            (band.good_high, band.harmful_high) if rising else (band.good_low, band.harmful_low)
        )
        last = self.values[-1]
        ahead = [level for level in limits
                 if level is not None and (level > last if rising else level < last)]  # fmt: skip
        if not ahead:
            return
        level = min(ahead) if rising else max(ahead)
        kept = [n for n in range(len(self.values)) if n not in self.found.apart]
        days = [self.days[n] for n in kept]
        arrival = time_to_level(days, [self.values[n] for n in kept], level)
        if arrival.middle is not None and arrival.middle <= 2 * (days[-1] - days[0]):
            yield from self._arrives(
                arrival, level, timezone.localdate(self.known[kept[-1]].taken_at)
            )

    def _arrives(self, arrival: Arrival, level: float, last: dt.date) -> Iterator[str]:
        middle, soonest, latest = (
            last + dt.timedelta(days=round(days)) if days is not None else None
            for days in (arrival.middle, arrival.soonest, arrival.latest)
        )
        if middle is None or middle < self.final:
            return
        words = {
            "level": with_unit(format_plain(level), self.unit),
            "day": self._day_text(middle),
            "span": span_text(soonest or middle, latest) if latest else "",
        }
        yield (
            _("At that pace it reaches %(level)s around %(day)s (80 %%: %(span)s).")
            if latest
            else _(
                "At that pace it reaches %(level)s around %(day)s; the readings leave open by when."
            )
        ) % words

    def _usual(self) -> dict[str, str]:
        usual = self.found.usual
        if usual is None:
            return {}
        low = usual.low if self.code == "temp" else max(0.0, usual.low)
        return {
            "low": format_figure(low, self.decimals),
            "high": self.figure(usual.high),
            "last": self.figure(self.values[-1]),
            "count": str(RECENT),
        }

    def _asked(self) -> Iterator[str]:
        found: Behaviour = self.found
        if found.stuck:
            yield _(
                "The last %(count)s readings are all %(last)s: the probe may be stuck. Check it "
                "against a kit or a second meter."
            ) % {"count": RECENT, "last": self.figure(self.values[-1])}
        if found.last_outside:
            yield (
                _(
                    "The last reading, %(last)s, lies above what is usual here (%(low)s to %(high)s)."
                )
                if found.last_outside > 0
                else _(
                    "The last reading, %(last)s, lies below what is usual here (%(low)s to %(high)s)."
                )
            ) % self._usual()
        if found.drift:
            yield (
                _("The last %(count)s readings together lie higher than before (usual: %(low)s to "
                  "%(high)s): something has changed.")
                if found.drift > 0
                else _("The last %(count)s readings together lie lower than before (usual: %(low)s "
                       "to %(high)s): something has changed.")
            ) % self._usual()  # fmt: skip
        for row in (self.known[place] for place in found.apart):
            yield _(
                "The reading of %(day)s, %(figure)s, stands apart from the others: a slip, or "
                "something happened then."
            ) % {"day": self._day_text(_day(row)), "figure": self.figure(row.value)}

    def _table(self, names: dict[str, str], photos: dict[UUID, UUID]) -> list[dict[str, Any]]:
        apart = {self.known[place].pk for place in self.found.apart}
        return [
            {
                "row": row, "figure": format_figure(row.value, self.decimals),
                "by": names.get(row.by, ""), "how": row.method, "word": row.word,
                "after": row.when == When.AFTER, "apart": row.pk in apart,
                "photo": photos.get(row.pk),
            }
            for row in reversed(self.rows)
        ]  # fmt: skip


def cells(
    loops: Sequence[Loop], rows: Sequence[Reading], catalogue: Catalogue
) -> Iterator[list[Any]]:
    """Yield the readings as lines for a spreadsheet, newest first: one query, for the names."""
    by_pk = {loop.pk: loop_name(loop.kind) for loop in loops}
    names = people_by_author([row.by for row in rows if row.by])
    for row in reversed(rows):
        yield [
            row.taken_at, by_pk[row.loop_id], _(catalogue.name("measurands", row.measurand)),
            row.value, row.unit, str(row.get_word_display()), str(row.get_when_display()),
            row.method, names.get(row.by, ""), _("yes") if row.trusted else _("no"),
        ]  # fmt: skip


def _day(row: Reading) -> dt.date:
    return timezone.localdate(row.taken_at)
