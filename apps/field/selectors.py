"""What the round and a visit's page show."""

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID

from django.http import Http404
from django.utils import timezone
from django.utils.translation import gettext as _

from apps.catalogue.selectors import Catalogue
from apps.core.numbers import with_unit
from apps.core.scoping import Actor
from apps.visits.choices import Outcome, State
from apps.visits.models import Line, Sheet, Value, Visit
from apps.visits.selectors import visits_full

OFFICE_DAYS = dt.timedelta(days=3)
TECHNICIAN_DAYS = dt.timedelta(days=15)
SHOWN_LATER = (State.PENCILLED, State.BOOKED)


@dataclass(frozen=True)
class Stop:
    """One visit of a day."""

    visit: Visit
    systems: list[str]
    lines: int
    minutes: int
    people: str
    on_the_day: bool

    @property
    def duration(self) -> str:
        """The planned minutes in words."""
        return duration_words(self.minutes)

    @property
    def geo(self) -> str:
        """The address for the phone's map, empty without coordinates (RFC 5870)."""
        return geo_uri(self.visit.place.latitude, self.visit.place.longitude)


@dataclass(frozen=True)
class Day:
    """One day of the round."""

    on: dt.date
    stops: list[Stop]


@dataclass
class Round:
    """The days that a technician sees ahead."""

    today: list[Stop] = field(default_factory=list)
    left_open: list[Stop] = field(default_factory=list)
    later: list[Day] = field(default_factory=list)
    load: list[str] = field(default_factory=list)


def duration_words(minutes: int) -> str:
    """Return minutes as hours and minutes from two hours on.

    >>> duration_words(45), duration_words(125)
    ('45\xa0min', '2\xa0h 5\xa0min')
    """
    hours, rest = divmod(minutes, 60) if minutes >= 120 else (0, minutes)
    parts = [with_unit(str(hours), _("h"))] if hours else []
    if rest or not hours:
        parts.append(with_unit(str(rest), _("min")))
    return " ".join(parts)


def geo_uri(latitude: float | None, longitude: float | None) -> str:
    """Return a geo URI of a place, empty without coordinates. Source: RFC 5870.

    >>> geo_uri(51.5, -0.12)
    'geo:51.5,-0.12'
    """
    if latitude is None or longitude is None:
        return ""
    return f"geo:{latitude:.6g},{longitude:.6g}"


def round_of(actor: Actor, on: dt.date, catalogue: Catalogue) -> Round:
    """Return an actor's round from a day on: the office sees all for three days; seven queries."""
    first = timezone.make_aware(dt.datetime.combine(on, dt.time()))
    rows = Visit.objects.visible_to(actor)
    if actor.is_office:
        rows = rows.filter(start__gte=first - OFFICE_DAYS, start__lt=first + OFFICE_DAYS)
    else:
        rows = rows.filter(
            assignments__user_id=str(actor.user_id), start__lt=first + TECHNICIAN_DAYS
        )
    visits = list(visits_full(rows).order_by("start", "id"))
    found = Round()
    later: dict[dt.date, list[Stop]] = {}
    for visit in visits:
        day = timezone.localdate(visit.start)
        stop = _stop(visit, day == on)
        if day < on:
            if visit.state == State.UNDER_WAY:
                found.left_open.append(stop)
        elif day == on:
            found.today.append(stop)
        elif visit.state in SHOWN_LATER:
            later.setdefault(day, []).append(stop)
    found.later = [Day(day, stops) for day, stops in later.items()]
    ahead = [s.visit for s in found.today if s.visit.state in (State.BOOKED, State.UNDER_WAY)]
    found.load = tools_of(
        (
            line.code
            for visit in ahead
            for sheet in visit.sheets.all()
            for line in sheet.lines.all()
        ),
        catalogue,
    )
    return found


def _stop(visit: Visit, on_the_day: bool) -> Stop:
    sheets = list(visit.sheets.all())
    lines = [line for sheet in sheets for line in sheet.lines.all()]
    return Stop(
        visit=visit,
        systems=[sheet.system.name for sheet in sheets],
        lines=len(lines),
        minutes=sum(line.minutes_planned for line in lines),
        people=", ".join(str(row.user) for row in visit.assignments.all()),
        on_the_day=on_the_day,
    )


def tools_of(codes: Iterable[str], catalogue: Catalogue) -> list[str]:
    """Return what lines of these tasks need in the van, each once, in words."""
    tools: dict[str, None] = {}
    for code in codes:
        for tool in (catalogue.task(code) or {}).get("tools", []):
            tools.setdefault(_(str(tool)))
    return sorted(tools, key=str.casefold)


def visit_of(actor: Actor, pk: UUID) -> Visit:
    """Return a visit with place, people, sheets and lines. Raises Http404."""
    visit = visits_full(Visit.objects.visible_to(actor)).filter(pk=pk).first()
    if visit is None:
        raise Http404
    return visit


@dataclass(frozen=True)
class SheetCount:
    """How far a sheet is."""

    sheet: Sheet
    done: int
    lines: int


def sheet_counts(visit: Visit, values: Sequence[Value]) -> list[SheetCount]:
    """Return each sheet with how many of its lines are answered."""
    given = {(row.sheet_id, row.path): row.value for row in values if row.path.startswith("lines/")}
    return [
        SheetCount(
            sheet,
            sum(bool(line_outcome(line, given)) for line in sheet.lines.all()),
            len(sheet.lines.all()),
        )
        for sheet in visit.sheets.all()
    ]


def line_outcome(line: Line, given: dict[tuple[UUID | None, str], Any]) -> str:
    """Return a line's outcome: of its row once it is written up, else of its answer so far."""
    outcome = line.outcome or given.get((line.sheet_id, f"lines/{line.pk}/outcome")) or ""
    return outcome if outcome in Outcome.values else ""
