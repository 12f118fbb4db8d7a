"""A technician's day on paper, for when the phone has failed: the phone's own lines with blanks."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.conf import settings
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone
from django.utils.safestring import SafeString
from django.utils.translation import get_language, get_language_bidi
from django.utils.translation import gettext as _

from apps.accounts.models import User
from apps.accounts.selectors import firm_current
from apps.advice.known import before_of
from apps.advice.selectors import ingredients_of, open_advice
from apps.catalogue.choices import EntryKind
from apps.catalogue.selectors import Catalogue, catalogue_current
from apps.core.drawing.code import square_code
from apps.core.numbers import unit_word, with_unit
from apps.core.scoping import Actor
from apps.core.templatetags.look import weekday_date
from apps.field.meaning import Advised, advised, hold_text, unread
from apps.field.selectors import duration_words, tools_of
from apps.field.steps import Step, grouped, steps_of
from apps.field.views.closing import running_items
from apps.field.work import OPEN_STATES, Work, judged, past_of, works_of
from apps.visits.choices import LEFT_RUNNING, Outcome, State
from apps.visits.labels import basis_name, unit_label
from apps.visits.models import Visit
from apps.visits.selectors import visits_full


@dataclass(frozen=True)
class Row:
    """One line, or one reading with its blank; `said`: what was answered before it was printed."""

    kind: str
    number: int
    name: str
    said: str = ""
    ticked: bool = False
    minutes: str = ""
    caution: str = ""
    done_when: str = ""
    waits: str = ""
    unit: str = ""
    bases: Sequence[SafeString] = ()
    good: str = ""
    last: str = ""
    last_on: str = ""


@dataclass(frozen=True)
class PaperSheet:
    """The checklist of one system."""

    name: str
    groups: list[tuple[str, list[Row]]]
    advice: list[Advised]
    holds: list[str]
    running: list[str]
    without: list[str]


@dataclass(frozen=True)
class PaperVisit:
    """One visit; `gate` is empty on every day but its own, as on the phone."""

    visit: Visit
    number: int
    duration: str
    lines: int
    people: str
    address: str
    code: SafeString
    gate: str
    gate_later: bool
    load: list[str]
    sheets: list[PaperSheet]


@dataclass(frozen=True)
class Paper:
    """A technician's day."""

    person: User
    on: dt.date
    made_at: dt.datetime
    visits: list[PaperVisit]
    load: list[str]
    reasons: list[str]
    duration: str
    gates: bool


def visits_on(actor: Actor, person: UUID, on: dt.date) -> list[Visit]:
    """Return a technician's visits of a day that are still to do, and today those left open."""
    first = timezone.make_aware(dt.datetime.combine(on, dt.time()))
    rows = Visit.objects.visible_to(actor).filter(
        assignments__user_id=person, state__in=OPEN_STATES, start__lt=first + dt.timedelta(days=1)
    )
    today = timezone.localdate(actor.at)
    return [
        visit
        for visit in visits_full(rows).order_by("start", "id")
        if timezone.localdate(visit.start) == on or (on == today and visit.state == State.UNDER_WAY)
    ]


def paper_of(actor: Actor, person: User, on: dt.date) -> Paper | None:
    """Return a technician's day in the order of the round; None where there is nothing to do.

    A fixed number of queries, whatever the number of visits.
    """
    visits = visits_on(actor, person.pk, on)
    if not visits:
        return None
    catalogue = catalogue_current()
    day = _Day(actor, visits, catalogue)
    drawn = [day.visit(visit, number) for number, visit in enumerate(visits, 1)]
    lines = [line for work in day.works.values() for line in work.lines]
    return Paper(
        person=person,
        on=on,
        made_at=actor.at,
        visits=drawn,
        load=tools_of((line.code for line in lines), catalogue),
        reasons=[
            _(str(row["name"]))
            for row in catalogue.of(EntryKind.REASON).values()
            if row.get("always")
        ],
        duration=duration_words(sum(line.minutes_planned for line in lines)),
        gates=any(row.gate for row in drawn),
    )


class _Day:
    """Visits with what each sheet needs, read together."""

    def __init__(self, actor: Actor, visits: Sequence[Visit], catalogue: Catalogue) -> None:
        self.catalogue, self.today = catalogue, timezone.localdate(actor.at)
        self.works, backgrounds = works_of(actor, visits, catalogue)
        sheets = [work.sheet for work in self.works.values()]
        self.known = ingredients_of(sheets, backgrounds, actor.at)
        self.advice = open_advice(list(backgrounds))
        for work in self.works.values():
            work.readings, work.refused = judged(work)

    def visit(self, visit: Visit, number: int) -> PaperVisit:
        """Return one visit with its sheets."""
        works = [self.works[sheet.pk] for sheet in visit.sheets.all()]
        lines = [line for work in works for line in work.lines]
        address = visit_address(visit)
        on_the_day = timezone.localdate(visit.start) == self.today
        return PaperVisit(
            visit=visit,
            number=number,
            duration=duration_words(sum(line.minutes_planned for line in lines)),
            lines=len(lines),
            people=", ".join(str(row.user) for row in visit.assignments.all()),
            address=address,
            code=square_code(
                address, title=_("Code that opens the visit: %(address)s") % {"address": address}
            ),
            gate=visit.place.gate_code if on_the_day else "",
            gate_later=bool(visit.place.gate_code) and not on_the_day,
            load=tools_of((line.code for line in lines), self.catalogue),
            sheets=[self._sheet(work) for work in works],
        )

    def _sheet(self, work: Work) -> PaperSheet:
        steps = [s for s in steps_of(work) if not (s.line and s.line.code == LEFT_RUNNING)]
        running, without = running_items(work)
        return PaperSheet(
            name=work.sheet.system.name,
            groups=[(name, [_row(step, work) for step in own]) for name, own in grouped(steps)],
            advice=[
                advised(row, self.catalogue)
                for row in self.advice
                if row.system_id == work.sheet.system_id and row.sheet_id != work.sheet.pk
            ],
            holds=[hold_text(hold) for hold in before_of(self.known[work.sheet.pk]).holds],
            running=[name for _code, name in running],
            without=without,
        )


def visit_address(visit: Visit) -> str:
    """Return the absolute address of a visit on the phone."""
    path = reverse("field:app", kwargs={"rest": f"visits/{visit.pk}/"})
    return f"{settings.BACKYARD_BASE_URL}{path}"


def _row(step: Step, work: Work) -> Row:
    return _reading(step, work) if step.loop is not None else _line(step, work)


def _line(step: Step, work: Work) -> Row:
    task: Any = (work.catalogue.task(step.line.code) if step.line else None) or {}
    return Row(
        kind="line",
        number=step.number,
        name=step.name,
        said=step.sub if step.answered and step.state != Outcome.DONE else "",
        ticked=step.state == Outcome.DONE,
        minutes=with_unit(str(step.line.minutes_planned), _("min")) if step.line else "",
        caution=_(str(task["caution"])) if task.get("caution") else "",
        done_when=_(str(task["done_when"])) if task.get("done_when") else "",
        waits=with_unit(str(task["waits"]), _("min")) if task.get("waits") else "",
    )


def _reading(step: Step, work: Work) -> Row:
    assert step.loop is not None  # noqa: S101 - a reading has a loop
    entry = work.catalogue.measurand(step.measurand) or {}
    item, past = unread(work, step.loop, step.measurand), past_of(work, step.loop, step.measurand)
    return Row(
        kind="reading",
        number=step.number,
        name=step.name,
        said=step.sub if step.answered else "",
        unit=unit_label(unit_word(item.unit), step.measurand),
        bases=[basis_name(str(code), step.measurand) for code in entry.get("basis_choices") or []],
        good=item.good,
        last=item.last,
        last_on=weekday_date(past[-1].taken_at) if past else "",
    )


def html_of(paper: Paper) -> str:
    """Return the paper as one HTML page in the active language."""
    context = {
        "paper": paper,
        "firm": firm_current(),
        "language": get_language() or settings.LANGUAGE_CODE,
        "direction": "rtl" if get_language_bidi() else "ltr",
    }
    return render_to_string("pdf/day.html", context)
