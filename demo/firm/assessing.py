"""Assesses the year's visits with the project's own rules, from rows in memory."""

import datetime as dt
from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Iterator
from uuid import UUID

from django.utils import timezone

from apps.advice.choices import Close, Decision
from apps.advice.known import DOSES_COUNT, STEPS_LAST, Ingredients, situation_of
from apps.advice.models import Advice
from apps.advice.selectors import EVENTS
from apps.advice.services import advice_row
from apps.batches.models import Deaths
from apps.calc.advice import assess
from apps.calc.advice.situation import Event
from apps.catalogue.selectors import Catalogue
from apps.systems.models import Loop
from apps.visits.models import Reading, Sheet
from apps.visits.selectors import HISTORY, bands_of
from demo.firm.lives import lives_on
from demo.firm.rows import Estate
from demo.firm.sheets import Bench, Made


class Sorted:
    """What was made, by system, sheet and task."""

    def __init__(self, made: Made) -> None:
        """Sort it once."""
        self.sheets: dict[UUID, list[Sheet]] = defaultdict(list)
        self.readings: dict[UUID, list[Reading]] = defaultdict(list)
        self.signs: dict[UUID, list[str]] = defaultdict(list)
        self.done: dict[UUID, list[dt.date]] = defaultdict(list)
        for sheet in made.sheets:
            if sheet.visit.finished_at is not None:
                self.sheets[sheet.system_id].append(sheet)
        for rows in self.sheets.values():
            rows.sort(key=lambda row: (row.visit.finished_at, row.pk))
        corrected = {row.corrects_id for row in made.readings if row.corrects_id}
        for reading in made.readings:
            if reading.pk not in corrected and reading.sheet_id is not None:
                self.readings[reading.sheet_id].append(reading)
        for finding in made.findings:
            if finding.sign:
                self.signs[finding.sheet_id].append(finding.sign)
        for row in made.completions:
            self.done[row.task_id].append(row.done_on)


class Assessor:
    """Goes through one system's sheets in the order of time."""

    def __init__(self, bench: Bench, estate: Estate, made: "Sorted", catalogue: Catalogue) -> None:
        """Take what was made for this system."""
        self.bench, self.life = bench, bench.life
        self.estate, self.catalogue, self.made = estate, catalogue, made
        self.bands = bands_of(catalogue)
        self.sheets = made.sheets.get(bench.works.system.pk, [])
        # oldest first, so that what lies within a time is one slice
        self.readings = sorted(
            (row for sheet in self.sheets for row in made.readings[sheet.pk]),
            key=lambda row: (row.taken_at, row.pk),
        )
        self.moments = [row.taken_at for row in self.readings]
        self.done = [
            (EVENTS[task.code], day) for task in bench.tasks if task.code in EVENTS
            for day in made.done[task.pk]
        ]  # fmt: skip
        self.loops = self._fitted()
        self.doses: list[Advice] = []

    def _fitted(self) -> list[Loop]:
        loops = sorted(self.bench.works.loops.values(), key=lambda loop: loop.kind)
        for loop in loops:
            parts = self.bench.works.loop_parts(loop.kind)
            loop.fitted = sorted(parts, key=lambda p: p.place_in_flow)  # type: ignore[attr-defined]
        return loops

    def advice(self, technicians: dict[UUID, str]) -> list[Advice]:
        """Return all advice; what was advised ends where the next visit begins."""
        rows: list[Advice] = []
        standing: list[Advice] = []
        for sheet in self.sheets:
            now, who = sheet.visit.finished_at or sheet.visit.end, technicians[sheet.visit_id]
            found = assess(situation_of(self._ingredients(sheet, now)), self.bands)
            fresh = [advice_row(draft, sheet, i, now) for i, draft in enumerate(found.advice)]
            for old in standing:
                old.closed_at, old.closed_by, old.closed_as = now, who, Close.REPLACED
            for row in fresh:
                row.decision, row.decided_by = Decision.KEEP, who
            standing = fresh
            self.doses += [row for row in fresh if row.dose is not None and row.unit == "g"]
            rows += fresh
        return rows

    def _ingredients(self, sheet: Sheet, now: dt.datetime) -> Ingredients:
        on = timezone.localdate(now)
        within = slice(bisect_left(self.moments, now - HISTORY), bisect_right(self.moments, now))
        current = sorted(self.made.readings[sheet.pk], key=lambda row: (row.taken_at, row.pk))
        past = [row for row in self.readings[within] if row.sheet_id != sheet.pk]
        sources = [water for water in self.estate.waters if water.on <= on]
        return Ingredients(
            sheet.system, self.loops, lives_on(
                self.bench.works, self.bench.life, self.bench.weighings, on, self.catalogue
            ), past, current,
            frozenset(self.made.signs[sheet.pk]), now,
            source=max(sources, key=lambda water: water.on, default=None),
            events=tuple(self._events(on)),
            holds=[
                hold for hold in self.life.holds
                if hold.treatment.began_on <= on < hold.until
            ],
            deaths=self._deaths(on),
            doses=[row for row in self.doses if now - DOSES_COUNT - STEPS_LAST < row.made_at < now],
        )  # fmt: skip

    def _deaths(self, on: dt.date) -> list[Deaths]:
        month = on - dt.timedelta(days=30)
        return sorted((d for d in self.life.deaths if month < d.on <= on), key=lambda d: d.on)

    def _events(self, on: dt.date) -> Iterator[Event]:
        since = on - dt.timedelta(days=60)
        for code, day in self.done:
            if since <= day < on:
                yield Event(code, day)
        for sheet in self.sheets:
            day = timezone.localdate(sheet.visit.start)
            if since <= day < on:
                yield Event("visited", day)
        for treatment in self.life.treatments:
            if since <= treatment.began_on <= on:
                yield Event("medicated", treatment.began_on)
        for batch in self.life.batches:
            if since <= batch.stocked_on <= on:
                yield Event("restocked", batch.stocked_on)
