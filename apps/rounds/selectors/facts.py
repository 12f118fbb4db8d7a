"""What the database holds of the days to plan: visits, due systems, and what is known of both."""

import datetime as dt
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from uuid import UUID

from django.db.models import Exists, OuterRef, Prefetch, Q, QuerySet, Sum
from django.utils import timezone

from apps.accounts.models import Firm
from apps.accounts.selectors import firm_current
from apps.advice.choices import Decision
from apps.advice.models import Advice
from apps.batches.models import FishBatch, Treatment
from apps.care.choices import Urgency
from apps.care.models import CareTask, Standing
from apps.care.selectors import FIRM_TASKS, ranked
from apps.catalogue.selectors import Catalogue, catalogue_current
from apps.clients.models import Place
from apps.core.scoping import system
from apps.rounds.choices import Kind, OfferState
from apps.rounds.models import Hold, PlanningSettings, TimesOffered
from apps.rounds.selectors.people import Staff, staff_between
from apps.systems.models import System
from apps.visits.choices import HOLDING, Answer, State
from apps.visits.models import Assignment, Visit

SICK = ("disease_signs", "deaths")
"""Rules whose open advice says that disease is suspected."""
WEIGHED = (
    "system_id", "code", "mode", "next_open", "next_due", "next_late", "minutes", "skill",
    "criticality",
)  # fmt: skip
"""What planning reads of a task: its rule stays in the database."""
WITHIN = dt.timedelta(days=3)
UNTOLD = (Answer.NOT_ASKED, Answer.OTHER_TIME)
"""Answers with which a pencilled visit may still be moved: nobody was asked, or they want another."""
NO_VISIT = UUID(int=0)
"""Asked for instead of a visit: nothing is looked for, and all stands as it is."""


@dataclass(frozen=True)
class Facts:
    """All that is read, once; nothing is worked out yet.

    ``held``: what is held for clients who may still pick it. ``asked``: the one visit that times are
    looked for; all others stand then.
    """

    first: dt.date
    days: int
    on: dt.date
    firm: Firm
    settings: PlanningSettings
    staff: Staff
    visits: list[Visit]
    due: Mapping[UUID, list[System]]
    places: Mapping[UUID, Place]
    tasks: Mapping[UUID, list[CareTask]]
    ranks: Mapping[UUID, int]
    soon: Mapping[UUID, dt.date]
    sick: frozenset[UUID]
    fish: Mapping[UUID, dt.date]
    settled: frozenset[UUID]
    now: dt.datetime | None
    catalogue: Catalogue
    held: list[Hold]
    asked: UUID | None = None

    @property
    def frozen(self) -> frozenset[int]:
        """The days of the horizon on which all stays as it is."""
        until = (self.on - self.first).days + self.settings.frozen_days
        return frozenset(range(max(0, min(until, self.days))))

    def kind(self, visit: Visit) -> str:
        """Return whether a visit stands where it is, or may be moved.

        On a frozen day one that may be moved stays as long as those who go are at work.
        """
        if self.asked is not None:
            return Kind.MOVABLE if visit.pk == self.asked else Kind.FIXED
        stays = (
            visit.state != State.PENCILLED
            or visit.client_answer not in UNTOLD
            or visit.pk in self.settled
            # its client may pick another time any moment
            or getattr(visit, "offered", False)
            or len(visit.assignments.all()) > 2
            # its hour has come: somebody may be there
            or (self.now is not None and visit.start < self.now)
        )
        # a day that has gone by holds nobody's time any more
        return Kind.FIXED if stays and not self.overdue(visit) else Kind.MOVABLE

    def holds_on(self, visit: Visit) -> int | None:
        """Return the frozen day of the horizon that a visit stands on, None where there is none."""
        day = (timezone.localdate(visit.start) - self.first).days
        return day if day in self.frozen and not self.overdue(visit) else None

    def overdue(self, visit: Visit) -> bool:
        """Whether a visit was pencilled in for a day that has gone by."""
        return visit.state == State.PENCILLED and timezone.localdate(visit.start) < self.on


def settings_current() -> PlanningSettings:
    """Return how the firm plans; the defaults where nobody has saved anything."""
    return PlanningSettings.objects.first() or PlanningSettings()


def midnight(on: dt.date) -> dt.datetime:
    """Return the moment at which a local day begins."""
    return timezone.make_aware(dt.datetime.combine(on, dt.time()))


def visits_concerned(
    first: dt.date, days: int, on: dt.date, asked: UUID | None = None
) -> QuerySet[Visit]:
    """Return the visits that a plan has to do with, oldest first.

    Those that hold somebody's time in the days planned, and those pencilled in for a day gone by
    whose clients are not choosing; or, where times are looked for one, that one instead.
    """
    begin, end = midnight(first), midnight(first + dt.timedelta(days=days))
    within = Q(state__in=HOLDING, start__gte=begin, start__lt=end)
    people = Assignment.objects.select_related("user").order_by("user_id")
    offers = TimesOffered.objects.filter(visit=OuterRef("pk"), state=OfferState.OPEN)
    missed = Q(state=State.PENCILLED, start__lt=midnight(on)) & ~Exists(offers)
    return (
        Visit.objects.filter(within | (missed if asked is None else Q(pk=asked)))
        .annotate(minutes_planned=Sum("sheets__lines__minutes_planned"), offered=Exists(offers))
        .prefetch_related(Prefetch("assignments", people), "sheets")
        .order_by("start", "id")
    )


def facts_of(
    first: dt.date,
    days: int,
    on: dt.date,
    settled: Collection[UUID] = frozenset(),
    now: dt.datetime | None = None,
    asked: UUID | None = None,
) -> Facts:
    """Read what a plan of the days from ``first`` on needs, as of the day ``on``.

    ``settled``: visits that stay where they are; ``now``: before it nothing new begins; ``asked``:
    the one visit that times are looked for. A fixed number of queries, however many visits.
    Raises DomainError where no firm is set up.
    """
    last = first + dt.timedelta(days=days - 1)
    visits, held = list(visits_concerned(first, days, on, asked)), held_between(first, days)
    due = due_without_visit(last, on) if asked is None else {}
    offered = [row.time.offer.visit for row in held]
    systems = {sheet.system_id for visit in [*visits, *offered] for sheet in visit.sheets.all()}
    systems |= {row.pk for rows in due.values() for row in rows}
    places = Place.objects.filter(pk__in={*due, *(visit.place_id for visit in [*visits, *offered])})
    return Facts(
        first, days, on, firm_current(), settings_current(), staff_between(first, last), visits,
        due, {place.pk: place for place in places.prefetch_related("hours", "times_away")},
        _tasks(systems), *_standings(systems), _sick(systems, first, last), _fish(systems, on, last), frozenset(settled), now,
        catalogue_current(), held, asked,
    )  # fmt: skip


def held_between(first: dt.date, days: int) -> list[Hold]:
    """Return what is held in these days for clients who may still pick it: two queries."""
    begin, end = midnight(first), midnight(first + dt.timedelta(days=days))
    rows = Hold.objects.filter(holds=True, start__gte=begin, start__lt=end)
    return list(
        rows.select_related("time__offer__visit")
        .prefetch_related("time__offer__visit__sheets")
        .order_by("start", "user_id")
    )


def due_without_visit(last: dt.date, on: dt.date) -> dict[UUID, list[System]]:
    """Return by place the systems that need somebody until ``last`` and have no visit yet."""
    actor = system("planning of rounds", midnight(on))
    planned = Visit.objects.filter(state__in=HOLDING).values("sheets__system_id")
    rows = (
        ranked(actor, last)
        .filter(system__place__client__active=True)
        .exclude(system_id__in=planned.filter(sheets__isnull=False))
    )
    found: dict[UUID, list[System]] = {}
    for standing in rows.select_related("system"):
        found.setdefault(standing.system.place_id, []).append(standing.system)
    return found


def _tasks(systems: Iterable[UUID]) -> dict[UUID, list[CareTask]]:
    found: dict[UUID, list[CareTask]] = {}
    rows = CareTask.objects.filter(system_id__in=systems, active=True, who__in=FIRM_TASKS)
    for task in rows.only(*WEIGHED).order_by("next_due", "code", "id"):
        found.setdefault(task.system_id, []).append(task)
    return found


def _standings(systems: Iterable[UUID]) -> tuple[dict[UUID, int], dict[UUID, dt.date]]:
    """Return systems' ranks, and by when those want somebody whose advice says within three days.

    One query.
    """
    rows = list(
        Standing.objects.filter(pk__in=systems).values_list(
            "system_id", "fixed_class", "advice_urgency", "advice_since"
        )
    )
    soon = {
        pk: timezone.localdate(since) + WITHIN
        for pk, _rank, urgency, since in rows
        if urgency == Urgency.WITHIN_3_DAYS and since is not None
    }
    return {pk: rank for pk, rank, _urgency, _since in rows}, soon


def _sick(systems: Iterable[UUID], first: dt.date, last: dt.date) -> frozenset[UUID]:
    """Return the systems under a treatment, or under advice about disease that is open."""
    treated = Treatment.objects.filter(
        Q(ended_on__isnull=True) | Q(ended_on__gte=first),
        loop__system_id__in=systems, began_on__lte=last,
    ).values_list("loop__system_id", flat=True)  # fmt: skip
    advised = (
        Advice.objects.filter(system_id__in=systems, rule__in=SICK, closed_at__isnull=True)
        .exclude(decision=Decision.STRIKE)
        .values_list("system_id", flat=True)
    )
    return frozenset([*treated, *advised])


def _fish(systems: Iterable[UUID], on: dt.date, last: dt.date) -> dict[UUID, dt.date]:
    """Return the day on which live fish come to a system, where some are to come."""
    rows = FishBatch.objects.filter(
        loop__system_id__in=systems, stocked_on__gt=on, stocked_on__lte=last, ended_on__isnull=True
    ).order_by("-stocked_on")  # fmt: skip
    return dict(rows.values_list("loop__system_id", "stocked_on"))
