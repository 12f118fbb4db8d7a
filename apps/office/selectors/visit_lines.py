"""Where a visit's checklist and what its day asks for disagree, in words."""

import datetime as dt
from dataclasses import dataclass

from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from apps.catalogue.selectors import Catalogue
from apps.core.numbers import with_unit
from apps.flows.visit_lines import apart, stretched_against
from apps.office.selectors.time_doubts import time_doubts
from apps.office.selectors.visit_page import line_name
from apps.visits.models import Line, Visit
from apps.visits.services.mending import NOT_BEGUN, Apart


@dataclass(frozen=True)
class LineShown:
    """A line that is added or taken: what it asks for, of which system, how long, and why."""

    name: str
    system: str
    minutes: int
    why: str = ""


@dataclass(frozen=True)
class ApartShown:
    """What a visit's checklist lacks and holds for nothing, and what that does to its time.

    `length`: a sentence on the time; `against`: what speaks against lasting longer; `until`: when
    it would end, none where the time is enough.
    """

    add: list[LineShown]
    take: list[LineShown]
    length: str
    against: list[str]
    until: dt.datetime | None


def apart_shown(visit: Visit, catalogue: Catalogue) -> ApartShown | None:
    """Return where a visit and its day disagree; None where they agree, or it has begun."""
    if visit.state not in NOT_BEGUN:
        return None
    found = apart(visit, catalogue)
    if not found.differs:
        return None
    several = visit.sheets.count() > 1 or any(line.sheet._state.adding for line in found.add)
    until = visit.start + dt.timedelta(minutes=found.needs) if found.too_short else None
    return ApartShown(
        [_line(line, several, catalogue) for line in found.add],
        [_line(line, several, catalogue, _why(line, visit)) for line in found.take],
        length_words(found, visit), _against(visit, until) if until else [], until,
    )  # fmt: skip


def _line(line: Line, several: bool, catalogue: Catalogue, why: str = "") -> LineShown:
    system = line.sheet.system.name if several else ""
    return LineShown(line_name(line.code, catalogue), system, line.minutes_planned, why)


def _why(line: Line, visit: Visit) -> str:
    """Return why a line is asked for no more."""
    task = line.task
    if task is None:
        return ""
    if not task.active:
        return _("no longer in the care plan")
    if task.last_done is not None and task.last_done >= timezone.localdate(visit.made_at):
        return _("done since")
    return _("not open on that day")


def length_words(found: Apart, visit: Visit) -> str:
    """Return what the work takes once the two are brought together, and whether the time is enough."""
    gaps = {
        "needs": with_unit(str(found.needs), _("min")),
        "booked": with_unit(str(found.booked), _("min")),
        "start": _clock(visit.start), "end": _clock(visit.end),
    }  # fmt: skip
    if not found.too_short:
        text = _("The visit then takes %(needs)s; its time, %(start)s–%(end)s, is enough.")
        return text % gaps
    gaps["until"] = _clock(visit.start + dt.timedelta(minutes=found.needs))
    text = _(
        "The visit then takes %(needs)s, until %(until)s; %(booked)s are booked, "
        "%(start)s–%(end)s. Its time stays until somebody moves it."
    )
    return text % gaps


def _against(visit: Visit, until: dt.datetime) -> list[str]:
    people = [row.user for row in visit.assignments.all()]
    start, end = timezone.localtime(visit.start), timezone.localtime(until)
    if end.date() != start.date():
        return [_("it would not end on its day")]
    doubts = time_doubts(people, start.date(), start.time(), end.time())
    return [*stretched_against(visit, people, until), *doubts]


def done_words(found: Apart) -> str:
    """Return what was done to a checklist."""
    if not found.add and not found.take:
        return _("The checklist was up to date already.")
    parts = []
    if found.add:
        said = ngettext("%(count)d line added", "%(count)d lines added", len(found.add))
        parts.append(said % {"count": len(found.add)})
    if found.take:
        said = ngettext("%(count)d line taken off", "%(count)d lines taken off", len(found.take))
        parts.append(said % {"count": len(found.take)})
    return _("%(what)s; day and hour stay as they were.") % {"what": ", ".join(parts)}


def _clock(moment: dt.datetime) -> str:
    return f"{timezone.localtime(moment):%H:%M}"
