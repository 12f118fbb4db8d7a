"""Rounds on the desk: what stands in a week, as lines, rulers and sketches."""

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID

from django.conf import settings
from django.utils import timezone
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from apps.core.dates import day_text
from apps.core.drawing.map_parts import Spot
from apps.core.drawing.round_ruler import Block, round_ruler
from apps.core.drawing.sketch_map import Leg, sketch_map
from apps.core.scoping import Actor
from apps.office.selectors.booking import Taken
from apps.office.selectors.waiting import stop_word
from apps.office.wording import place_label
from apps.rounds.choices import Kind
from apps.rounds.models import Absence, Hold
from apps.visits.choices import State
from apps.visits.models import Assignment, Visit

HOUR = 3600
SHOWN_DAYS = 7
TO_DO = (State.BOOKED, State.UNDER_WAY)


@dataclass(frozen=True)
class StopLine:
    """A stop as a line of a round.

    `key` is its name in a plan that may still put it elsewhere, `was` where it stood before, `why`
    why it is in these hands, `late` how long after its care is late it comes, `longer` why it lasts
    longer than it stood.
    """

    number: int
    place: str
    address: str
    systems: str
    start: str
    end: str
    word: str
    visit: UUID | None = None
    key: str = ""
    was: str = ""
    why: str = ""
    late: str = ""
    longer: str = ""


@dataclass(frozen=True)
class RoundShown:
    """A technician's day: its stops, what it comes to in words, its ruler and its sketch."""

    person: str
    stops: list[StopLine]
    sums: str = ""
    lunch: str = ""
    ruler: SafeString = field(default_factory=SafeString)
    sketch: SafeString = field(default_factory=SafeString)
    who: str = ""
    # whose checklist of the day may be printed: empty where nothing is left to do
    paper: str = ""


@dataclass(frozen=True)
class DayShown:
    """A day and who goes out on it."""

    on: dt.date
    rounds: list[RoundShown]
    away: list[str] = field(default_factory=list)


def week_standing(actor: Actor, first: dt.date, days: int = SHOWN_DAYS) -> list[DayShown]:
    """Return the days from the first on, with each technician's visits, and what is held for
    clients who may still choose it: a fixed number of queries.
    """
    start = timezone.make_aware(dt.datetime.combine(first, dt.time()))
    within = {"start__gte": start, "start__lt": start + dt.timedelta(days=days)}
    booked = (
        Assignment.objects.visible_to(actor)
        .filter(**within)
        .exclude(visit__state=State.CALLED_OFF)
        .select_related("user", "visit__place__client")
        .prefetch_related("visit__sheets__system", "visit__place__hours")
    )
    held = (
        Hold.objects.visible_to(actor)
        .filter(holds=True, **within)
        .select_related("user", "time__offer__visit__place__client")
        .prefetch_related("time__offer__visit__sheets__system", "time__offer__visit__place__hours")
    )
    taken: list[Taken] = [*booked, *held]
    rows = sorted(taken, key=lambda row: (row.start, row.user.first_name))
    away = Absence.objects.visible_to(actor).filter(
        first__lt=first + dt.timedelta(days=days), last__gte=first
    )
    absences = list(away.select_related("user"))
    return [_standing_day(first + dt.timedelta(days=n), rows, absences) for n in range(days)]


def _standing_day(on: dt.date, rows: Sequence[Taken], absences: Iterable[Absence]) -> DayShown:
    mine: dict[Any, list[Taken]] = {}
    for row in rows:
        if timezone.localdate(row.start) == on:
            mine.setdefault(row.user, []).append(row)
    gone = [str(row.user) for row in absences if row.first <= on <= row.last]
    return DayShown(on, [_standing_round(on, user, own) for user, own in mine.items()], gone)


def _standing_round(on: dt.date, user: Any, rows: Sequence[Taken]) -> RoundShown:
    person = str(user)
    to_do = any(not isinstance(row, Hold) and row.visit.state in TO_DO for row in rows)
    lines = [_standing_line(n, row) for n, row in enumerate(rows, 1)]
    blocks = [
        Block(
            row.visit.place.name, line.word, _hour(row.start), _hour(row.end),
            _share_done(row.visit), _open_hours(row.visit, on),
        )
        for row, line in zip(rows, lines, strict=True)
    ]  # fmt: skip
    spots = [
        Spot(visit.place.name, visit.place.latitude, visit.place.longitude, str(n),
             visit.finished_at is not None)
        for n, visit in enumerate((row.visit for row in rows), 1)
        if visit.place.latitude is not None and visit.place.longitude is not None
    ]  # fmt: skip
    legs = [Leg(n, n + 1, "", spots[n].done) for n in range(len(spots) - 1)]
    sums = ngettext("%(count)d visit", "%(count)d visits", len(rows)) % {"count": len(rows)}
    ruler = round_ruler(
        blocks=blocks, leave=blocks[0].start, back=max(block.end for block in blocks),
        title=sentence_of(person, on, lines),
    )  # fmt: skip
    return RoundShown(
        person, lines, sums, ruler=ruler, sketch=sketch_of(spots, legs, person),
        paper=str(user.pk) if to_do else "",
    )  # fmt: skip


def _standing_line(number: int, row: Taken) -> StopLine:
    visit = row.visit
    place, held = visit.place, isinstance(row, Hold)
    systems = ", ".join(sheet.system.name for sheet in visit.sheets.all())
    return StopLine(
        number, place_label(place), place.address, systems, _clock(row.start),
        _clock(row.end), str(Kind.OFFERED.label) if held else stop_word(visit), visit.pk,
    )  # fmt: skip


def _share_done(visit: Visit) -> float:
    if visit.finished_at is not None or visit.state in (State.WRITTEN_UP, State.REPORTED):
        return 1.0
    return 0.5 if visit.started_at is not None else 0.0


def _open_hours(visit: Visit, on: dt.date) -> tuple[tuple[float, float], ...]:
    hours = visit.place.hours.all()
    return tuple(
        (span.opens.hour + span.opens.minute / 60, span.closes.hour + span.closes.minute / 60)
        for span in hours
        if span.weekday == on.isoweekday()
    )


def _hour(moment: dt.datetime) -> float:
    local = timezone.localtime(moment)
    return local.hour + local.minute / 60


def _clock(moment: dt.datetime) -> str:
    return f"{timezone.localtime(moment):%H:%M}"


def sketch_of(spots: Sequence[Spot], legs: Sequence[Leg], person: str) -> SafeString:
    """Return the sketch of a round; nothing for fewer than two places on the map."""
    if len(spots) < 2:
        return SafeString()
    title = _("Sketch of the round of %(person)s: %(places)s. Not a street map.") % {
        "person": person, "places": ", ".join(spot.name for spot in spots),
    }  # fmt: skip
    return sketch_map(
        spots=spots, legs=legs, title=title, north=_("north"), tiles=settings.MAP_TILES
    )


def sentence_of(person: str, on: dt.date, lines: Sequence[StopLine]) -> str:
    """Return a round as a sentence, which stands for its ruler."""
    stops = "; ".join(f"{line.start}–{line.end} {line.place}" for line in lines)
    return _("%(person)s on %(day)s: %(stops)s") % {
        "person": person, "day": day_text(on), "stops": stops,
    }  # fmt: skip
