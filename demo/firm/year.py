"""The whole year put together: rows in the order in which they are stored, and what follows."""

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID

from django.db import models
from django.db.models import Max
from django.utils import timezone

from apps.accounts.models import User
from apps.advice.models import Advice
from apps.advice.services import standing_refresh
from apps.ahead.services import feed_left_refresh
from apps.batches.models import HarvestPrice
from apps.care.choices import Who
from apps.care.models import CarePlan, Completion, FeedCount, Standing
from apps.care.services import dates_set
from apps.catalogue.selectors import Catalogue
from apps.clients.models import TimeAway
from apps.core.scoping import Actor
from apps.reports.models import DeliveryStep, Letter, Report
from apps.visits.choices import HOLDING, State
from apps.visits.models import Assignment, CallNote, Visit, VisitStep
from apps.visits.services.photos import photo_keep
from demo.firm.assessing import Assessor, Sorted
from demo.firm.at_home import away_of, counts_of, prices_of
from demo.firm.care import plan_of, tasks_of
from demo.firm.diary import Appointment, diary
from demo.firm.keys import chance, key
from demo.firm.people import HOMES
from demo.firm.phones import phones
from demo.firm.plants import crops_of
from demo.firm.post import answered, calls_of, letters_of, released_at, steps_of
from demo.firm.rows import Estate, Works, estate_of, life_of, works_of
from demo.firm.sheets import Bench, Made, plan_lines, seen_by_day, sheet_of, work_sheet
from demo.firm.systems import SPECS
from demo.firm.truth import truth_of
from demo.pictures import picture

Rows = list[Any]


@dataclass
class Year:
    """All rows of the demo firm before they are stored."""

    today: dt.date
    people: dict[str, User]
    catalogue: Catalogue
    estates: dict[str, Estate] = field(default_factory=dict)
    works: dict[str, Works] = field(default_factory=dict)
    benches: dict[str, Bench] = field(default_factory=dict)
    plans: list[CarePlan] = field(default_factory=list)
    visits: list[Visit] = field(default_factory=list)
    assignments: list[Assignment] = field(default_factory=list)
    steps: list[VisitStep] = field(default_factory=list)
    letters: list[Letter] = field(default_factory=list)
    deliveries: list[DeliveryStep] = field(default_factory=list)
    reports: list[Report] = field(default_factory=list)
    calls: list[CallNote] = field(default_factory=list)
    away: list[TimeAway] = field(default_factory=list)
    prices: list[HarvestPrice] = field(default_factory=list)
    feed: list[FeedCount] = field(default_factory=list)
    made: Made = field(default_factory=Made)
    waiting: list[Visit] = field(default_factory=list)
    # visit -> the technician who filled its sheets
    authors: dict[UUID, UUID] = field(default_factory=dict)

    @property
    def first(self) -> Iterator[list[models.Model]]:
        """The rows table by table, each after what it names."""
        estates, works = list(self.estates.values()), list(self.works.values())
        parts = [p for w in works for p in (*w.gone, *w.parts.values())]
        groups: list[Rows] = [
            [e.client for e in estates], [c for e in estates for c in e.contacts],
            [e.place for e in estates], [h for e in estates for h in e.hours],
            [s for e in estates for s in e.waters], [w.system for w in works],
            [loop for w in works for loop in w.loops.values()], parts,
            [flow for w in works for flow in w.flows],
            [row for bench in self.benches.values() for row in bench.life.batches],
            [row for bench in self.benches.values() for row in bench.life.deaths],
            [row for bench in self.benches.values() for row in bench.weighings],
            [row for bench in self.benches.values() for row in bench.life.plantings],
            [row for bench in self.benches.values() for row in bench.life.pickings],
            [row for bench in self.benches.values() for row in bench.life.treatments],
            [row for bench in self.benches.values() for row in bench.life.holds], self.plans,
            [task for bench in self.benches.values() for task in bench.tasks],
            [Standing(system=w.system) for w in works], self.visits, self.assignments, self.steps,
            self.made.sheets, self.made.lines, self.made.readings, self.made.findings,
            self.made.completions, self.reports, self.letters, self.deliveries, self.calls,
            self.away, self.prices, self.feed,
            *phones(self.visits, self.authors, self.made, self.people),
        ]  # fmt: skip
        yield from groups

    def after(self, at: dt.datetime) -> int:
        """Photos, advice, dates and standing by the project's own services; then the reports close."""
        for sheet, finding, seen, taken in self.made.pictures:
            name = f"{seen.picture}"
            photo_keep(
                sheet=sheet, pk=UUID(finding.photo_ids[0]),
                data=picture(name, chance(self.today, sheet.system_id, name)),
                caption=seen.caption, by=self._actor(sheet.visit, at), at=taken,
            )  # fmt: skip
        advice = self.advice()
        Advice.objects.bulk_create(advice, batch_size=400)
        self._check_dates()
        systems = [w.system.pk for w in self.works.values()]
        standing_refresh(systems, at)
        feed_left_refresh(systems, at)
        closed = {report.visit_id for report in self.reports if report.visit_id}
        Visit.objects.filter(pk__in=closed).update(state=State.REPORTED)
        return len(advice) + len(self.made.pictures)

    def _check_dates(self) -> None:
        """Hold the tasks' dates to the stored completions. Raises RuntimeError where they differ."""
        stored = dict(Completion.objects.values_list("task_id").annotate(Max("done_on")))
        for bench in self.benches.values():
            for task in bench.tasks:
                if task.last_done != stored.get(task.pk):
                    raise RuntimeError(f"{bench.works.spec.key}: {task.code} is dated wrongly")

    def _actor(self, visit: Visit, at: dt.datetime) -> Actor:
        row = next(a for a in self.assignments if a.visit_id == visit.pk)
        return Actor("technician", at, row.user_id)

    def advice(self) -> list[Advice]:
        """Return what the rules advise at each visit."""
        people = {a.visit_id: f"technician:{a.user_id}" for a in reversed(self.assignments)}
        rows: list[Advice] = []
        made = Sorted(self.made)
        for bench in self.benches.values():
            estate = self.estates[bench.works.spec.home]
            rows += Assessor(bench, estate, made, self.catalogue).advice(people)
        return rows


def year_of(today: dt.date, at: dt.datetime, people: dict[str, User], catalogue: Catalogue) -> Year:
    """Return the year up to a day. Asks no database and stores nothing."""
    zone = timezone.get_current_timezone()
    year = Year(today, people, catalogue)
    rows = diary(today, zone)
    for home in HOMES:
        year.estates[home.key] = estate_of(home, today)
    for spec in SPECS:
        _system(year, spec.key, rows, at)
    office = f"office:{people['office'].pk}"
    for row in rows:
        _visit(year, row, office, at)
    _clients_work(year, at)
    year.calls = calls_of(year.works, office, today, zone)
    year.away, year.prices = away_of(year.works, today, at), prices_of(office, at)
    fed = {name: bench.truth.feed for name, bench in year.benches.items()}
    year.feed = counts_of(year.works, fed, today, at)
    return year


def _system(year: Year, name: str, rows: list[Appointment], at: dt.datetime) -> None:
    spec = next(spec for spec in SPECS if spec.key == name)
    works = works_of(spec, year.estates[spec.home].place, year.today)
    truth = truth_of(spec, year.today, chance(year.today, name, "truth"))
    beds = [
        (key_, part.area_m2) for (_loop, key_), part in works.parts.items() if part.area_m2
    ]  # fmt: skip
    crops = crops_of(
        name, beds, spec.crops, spec.started, year.today, chance(year.today, name, "plants")
    )
    life = life_of(works, truth.batches, crops, year.today)
    days = sorted({row.day for row in rows if row.done and spec in row.specs})
    parts = list(works.parts.values())
    first = days[0] if spec.every != 7 else year.today - dt.timedelta(days=spec.started)
    tasks = tasks_of(spec, works.system, parts, year.catalogue, first, year.today)
    for task in tasks:
        dates_set(task, at)
    bench = Bench(works, truth, tasks, life, days)
    seen_by_day(bench, year.today)
    year.works[name], year.benches[name] = works, bench
    year.plans.append(plan_of(spec, works.system))


def _visit(year: Year, row: Appointment, office: str, at: dt.datetime) -> None:
    lead = 9 if row.number >= 0 else max(2, 10 - (row.day - year.today).days)
    made_at = min(row.start - dt.timedelta(days=lead), at - dt.timedelta(hours=9))
    made_at = made_at.replace(hour=14, minute=int(key(row.key, "made").hex[:2], 16) % 60)
    estate = year.estates[row.home]
    visit = Visit(
        pk=key("visit", row.key), place=estate.place,
        # a reported visit holds still, so its rows come first and the state last
        state=State.WRITTEN_UP if row.done else row.state,
        start=row.start, end=row.end, reason=row.reason, client_answer=row.answer,
        client_words=row.words, answered_at=answered(row, made_at),
        appointment_sequence=0 if row.state == State.PENCILLED else 1, started_at=row.started,
        finished_at=row.finished, written_up_at=row.finished, made_at=made_at,
    )  # fmt: skip
    year.visits.append(visit)
    holds = row.state in HOLDING
    for name in row.people:
        year.assignments.append(
            Assignment(
                pk=key("assignment", row.key, name), visit=visit, user=year.people[name],
                start=row.start, end=row.end, holds=holds,
            )
        )  # fmt: skip
    author = year.people[row.people[0]].pk
    year.authors[visit.pk] = author
    technician = f"technician:{author}"
    year.steps += steps_of(row, visit, office, technician)
    letters, deliveries = letters_of(row, visit, estate, year.today)
    year.letters += letters
    year.deliveries += deliveries
    for spec in row.specs:
        bench = year.benches[spec.key]
        if row.done:
            work_sheet(row, visit, bench, year.catalogue, year.today, technician, year.made)
        else:
            sheet = sheet_of(row, visit, bench)
            year.made.sheets.append(sheet)
            year.made.lines += plan_lines(sheet, bench, row.day, year.catalogue)
        if row.state == State.REPORTED:
            year.reports.append(
                Report(
                    pk=key("report", row.key, spec.key), number=len(year.reports) + 1,
                    system=bench.works.system, visit=visit, made_at=released_at(row),
                )
            )  # fmt: skip
    if row.state == State.WRITTEN_UP:
        year.waiting.append(visit)


def _clients_work(year: Year, at: dt.datetime) -> None:
    """The clients' own tasks, as their logs say: last done within the last days."""
    for bench in year.benches.values():
        for task in bench.tasks:
            if task.who != Who.CLIENT:
                continue
            back = 1 + int(key("log", task.pk).hex[:4], 16) % max(1, task.every_n - 1)
            day = year.today - dt.timedelta(days=back)
            year.made.completions.append(
                Completion(
                    pk=key("done", task.pk), task=task, done_on=day,
                    by=f"client:{bench.works.system.place.client_id}", made_at=at,
                )
            )  # fmt: skip
            task.last_done = day
            dates_set(task, at)
