"""The entry of a reading, judged at once, and the list of all that can be measured."""

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_http_methods, require_safe

from apps.accounts.actors import actor_of
from apps.catalogue.choices import EntryKind
from apps.core.exceptions import DomainError, Invalid
from apps.core.templatetags.look import weekday_date
from apps.field.answers import bases_of, save
from apps.field.entry import (
    LEAVES,
    METHODS,
    answers_of,
    chosen,
    fixes_of,
    method_name,
    when_allowed,
)
from apps.field.meaning import (
    advised_all,
    advised_for,
    assessed,
    sentences_for,
    unread,
)
from apps.field.steps import (
    Step,
    asked,
    measurand_name,
    next_open,
    reading_name,
    reading_url,
    steps_of,
)
from apps.field.views.clashes import clash_page
from apps.field.views.common import POSTED, page, sheet_context, words_of
from apps.field.work import Row, Work, past_of, work_of
from apps.visits.choices import Outcome, When, Word
from apps.visits.labels import basis_name, doubt_words, unit_label
from apps.visits.models import Reading
from apps.visits.services.answers import BadAnswer
from apps.visits.shown import Shown, loop_name, reading_data, shown


class Entry:
    """One place where a reading is entered."""

    def __init__(self, work: Work, loop: UUID, measurand: str, when: str, turn: int) -> None:
        entry = work.catalogue.measurand(measurand)
        held = work.ground.loops.get(loop)
        if held is None or entry is None or entry.get("derived") or not when_allowed(when):
            raise Http404
        self.work, self.loop, self.measurand, self.when, self.turn = (
            work, held, measurand, when, turn,
        )  # fmt: skip
        if not 1 <= turn <= len(work.place_rows(held, measurand, when)) + 1:
            raise Http404
        self.entry: Mapping[str, Any] = entry
        self.key = work.place_key(held, measurand, when, turn)
        self.row: Row = work.row("readings", self.key)
        self.past = past_of(work, held, measurand)
        self.last: Reading | None = self.past[-1] if self.past else None
        self.reading = work.readings.get(self.key)
        self.refused = work.refused.get(self.key)

    @property
    def not_measured(self) -> bool:
        """It was said that this was not measured."""
        given = "value" in self.row.leaves and not self.row.get("gone")
        return given and self.row.get("value") is None

    def step(self, steps: list[Step]) -> Step:
        """Return its step; a reading that nobody asked for comes after the tests."""
        for step in steps:
            if step.kind == "reading" and (step.loop, step.measurand, step.when, step.turn) == (
                self.loop, self.measurand, self.when, self.turn,
            ):  # fmt: skip
                return step
        name = reading_name(self.work, self.loop, self.measurand, self.when)
        url = reading_url(self.work, self.loop, self.measurand, self.when, self.turn)
        tests = [s.number for s in steps if s.kind == "reading"]
        return Step("reading", name, url, "more", "open", "", number=max(tests, default=0))

    def item(self) -> Shown:
        """Return what is drawn: today's reading, or last time's alone."""
        if self.reading is not None:
            return shown(reading_data(self.reading, self.last, self.past, self.work.catalogue))
        return unread(self.work, self.loop, self.measurand)


@require_http_methods(POSTED)
def reading(
    request: HttpRequest, pk: UUID, sheet: UUID, loop: UUID, measurand: str, when: str, turn: int
) -> HttpResponse:
    """Technician of the visit, or the office: one reading; POST gives it, GET says what it means."""
    work = work_of(actor_of(request), pk, sheet)
    place = Entry(work, loop, measurand, when, turn)
    if request.method == "POST":
        return _answer(request, place)
    return _page(request, place)


def _page(
    request: HttpRequest, place: Entry, fault: str = "", typed: Mapping[str, Any] | None = None
) -> HttpResponse:
    work, row = place.work, place.row
    steps = steps_of(work)
    here = place.step(steps)
    now = chosen(row, place.last, place.entry)
    if typed is not None:
        now |= {name: str(typed.get(name, now[name])) for name in now}
    value = str(row.get("as_typed") or "")
    if not value and row.get("value") is not None and not row.get("gone"):
        value = f"{row.get('value'):g}"
    held = "" if row.get("gone") else value
    after = next_open([s for s in steps if s is not here], here.number)
    context = {
        **sheet_context(work, steps, here),
        "title": reading_name(work, place.loop, place.measurand, place.when),
        "entry": place.entry,
        "place_key": place.key,
        "typed": str(typed.get("value", "")) if typed is not None else held,
        "bases": {leaf: row.rev(leaf) for leaf in LEAVES},
        "can_be_minus": (place.entry.get("hard_low") or 0) < 0,
        "last_reading": place.last,
        "not_measured": place.not_measured,
        "checked": bool(row.get("checked_twice")),
        "fault": fault,
        "next": after,
        "completes": _completes(work, here),
        "server_now": work.now.isoformat(),
        "turn": place.turn,
        "when_after": place.when == When.AFTER,
        "after_url": reading_url(work, place.loop, place.measurand, When.AFTER),
        "again_url": reading_url(
            work, place.loop, place.measurand, place.when, place.turn + 1
        ) if place.reading else "",
        **_choices(place, now),
        **_meaning(place),
    }  # fmt: skip
    if fault:
        # what was kept before says nothing about what was typed now
        context |= {"reading": None, "fixes": [], "doubts": [], "advice": [], "harmful": False}
    return page(request, "reading.html", context, status=422 if fault else 200)


def _choices(place: Entry, now: dict[str, str]) -> dict[str, Any]:
    units = [str(name) for name in place.entry.get("units", [])]
    methods = [*METHODS] if now["method"] in ("", *METHODS) else [*METHODS, now["method"]]
    basis = [str(code) for code in place.entry.get("basis_choices", [])]
    return {
        "units": [(u, unit_label(u, place.measurand), u == now["unit"]) for u in units],
        "basis": [(b, basis_name(b, place.measurand), b == now["basis"]) for b in basis],
        "methods": [(m, method_name(m), m == now["method"]) for m in methods],
        "instrument": now["instrument"],
        "more_open": bool(place.row.get("method") or place.row.get("instrument")),
    }


def _meaning(place: Entry) -> dict[str, Any]:
    item = place.item()
    row = place.reading
    last_day = weekday_date(place.last.taken_at) if place.last else ""
    about: dict[str, Any] = {
        "item": item,
        "last_day": last_day,
        "refused": place.refused,
        "fixes": fixes_of(place.work, place.measurand, place.row, row, place.refused),
        "reading": row,
        "harmful": bool(row and row.word == Word.HARMFUL),
    }
    if row is None:
        return about
    about["sentences"] = sentences_for(item, row, last_day)
    about["doubts"] = [
        doubt_words(str(doubt["code"]), dict(doubt["parameters"])) for doubt in row.doubts
    ]
    about["fish"] = bool(place.work.ground.lives[place.loop.pk].fish)
    # once it is written up, what was advised stands with the visit
    if row.word != Word.IN_BAND and place.work.open:
        items = advised_all(place.work, assessed(place.work))
        about["advice"] = advised_for(items, place.loop, place.measurand)
    about["hold"] = row.word != Word.IN_BAND or bool(row.doubts)
    return about


def _completes(work: Work, here: Step) -> str:
    """Return the line that this reading would complete, if it is the last one open."""
    line = here.line
    if line is None or work.row("lines", line.pk).get("outcome"):
        return ""
    for loop, code in asked(line, work):
        rows = work.place_rows(loop, code, When.BEFORE)
        if not rows and (loop, code) != (here.loop, here.measurand):
            return ""
    return str(line.pk)


def _answer(request: HttpRequest, place: Entry) -> HttpResponse:
    work = place.work
    posted: Mapping[str, Any] = request.POST
    given = place.row.leaves and not place.row.get("gone")
    steps = steps_of(work)
    here = place.step(steps)
    after = next_open([s for s in steps if s is not here], here.number)
    onward = (
        redirect(after.url)
        if after
        else redirect("field:sheet", pk=work.visit.pk, sheet=work.sheet.pk)
    )
    if not str(posted.get("value", "")).strip() and not posted.get("not_measured"):
        if not given or place.not_measured:
            return onward
        posted = {"gone": "1"}
    try:
        answers = _leaves(place, posted)
        if answers.get(f"readings/{place.key}/value") is not None:
            line = _completes(work, here)
            if line:
                answers[f"lines/{line}/outcome"] = Outcome.DONE.value
        clashes = save(work, answers, bases_of(request.POST, f"readings/{place.key}"))
    except BadAnswer as error:
        return _page(request, place, _sentence(str(error)), request.POST)
    except Invalid as error:
        return _page(request, place, words_of(error), request.POST)
    except DomainError as error:
        messages.error(request, words_of(error))
        return redirect("field:sheet", pk=work.visit.pk, sheet=work.sheet.pk)
    if clashes:
        return clash_page(request, work, clashes, here.name)
    return _after(request, place, answers, onward)


def _leaves(place: Entry, posted: Mapping[str, Any]) -> dict[str, Any]:
    if posted.get("gone"):
        return {f"readings/{place.key}/gone": True}
    return answers_of(
        place.work, place.loop, place.measurand, place.when, place.row, posted
    )  # fmt: skip


def _after(
    request: HttpRequest, place: Entry, answers: Mapping[str, Any], onward: HttpResponse
) -> HttpResponse:
    """Go on where there is nothing to say; else stay and say what the new value means."""
    here = redirect(
        reading_url(place.work, place.loop, place.measurand, place.when, place.turn) + "#meaning"
    )
    if request.POST.get("not_measured") or not answers:
        return onward
    if request.POST.get("stay"):
        return here
    fresh = work_of(place.work.actor, place.work.visit.pk, place.work.sheet.pk)
    row = fresh.readings.get(place.key)
    calm = row is not None and row.word == Word.IN_BAND and (row.checked_twice or not row.doubts)
    return onward if calm else here


def _sentence(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}."


@require_safe
def measure(request: HttpRequest, pk: UUID, sheet: UUID) -> HttpResponse:
    """Technician of the visit, or the office: every measurand, for a reading besides the list."""
    work = work_of(actor_of(request), pk, sheet)
    rows = work.catalogue.of(EntryKind.MEASURAND)
    several = len(work.loops) > 1
    loops = [
        {
            "name": loop_name(loop.kind) if several else "",
            "rows": [
                {"name": measurand_name(code, work),
                 "url": reading_url(work, loop, code),
                 "after": reading_url(work, loop, code, When.AFTER) if work.place_rows(
                     loop, code, When.BEFORE) else ""}
                for code, row in rows.items() if not row.get("derived")
            ],
        }
        for loop in work.loops
    ]  # fmt: skip
    return page(request, "measure.html", {**sheet_context(work, steps_of(work)), "loops": loops})
