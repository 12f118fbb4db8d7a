"""What the technician's pages share."""

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _

from apps.core.drawing.words import JUDGEMENT_WORDS
from apps.core.exceptions import DomainError, Invalid
from apps.field.answers import Last, last_of
from apps.field.steps import Step
from apps.field.work import Work
from apps.visits.choices import Outcome

LIGHT, DARK = "light", "dark"
POSTED = ["GET", "HEAD", "POST"]


def page(
    request: HttpRequest, template: str, context: Mapping[str, Any], status: int = 200
) -> HttpResponse:
    """Return a page of the phone, light unless its reader has asked for dark."""
    theme = DARK if request.session.get("look") == DARK else LIGHT
    return render(request, f"field/{template}", {"theme": theme, **context}, status=status)


def words_of(error: DomainError) -> str:
    """Return what a refusal says, without the name of the field before it."""
    message = str(error.errors[0]["message"]) if isinstance(error, Invalid) else error.message
    name = str(error.errors[0]["pointer"]).rsplit("/", 1)[-1] if isinstance(error, Invalid) else ""
    head, mark, rest = message.partition(": ")
    text = rest if mark and head == name else message
    return text[:1].upper() + text[1:]


def sheet_context(work: Work, steps: Sequence[Step], here: Step | None = None) -> dict[str, Any]:
    """Return what every page of a sheet shows: where one is, and one's last answer: one query."""
    last = last_of(work)
    return {
        "work": work,
        "visit": work.visit,
        "sheet": work.sheet,
        "place": work.visit.place,
        "may_answer": work.open,
        "steps": steps,
        "here": here,
        "answered": sum(step.answered for step in steps),
        "before": [s for s in steps if here and here.number - 3 < s.number < here.number],
        "after": [s for s in steps if here and here.number < s.number < here.number + 3],
        "previous": next((s for s in reversed(steps) if here and s.number < here.number), None),
        "last": last,
        "last_at": dt.datetime.fromisoformat(last.at) if last else None,
        "last_words": said_last(work, steps, last) if last and steps else "",
        "values_url": reverse("api:values", kwargs={"pk": work.visit.pk}),
        "list_url": reverse("field:sheet", kwargs={"pk": work.visit.pk, "sheet": work.sheet.pk}),
    }


def said_last(work: Work, steps: Sequence[Step], last: Last) -> str:
    """Return the last answer in words: "Oxygen, 6.4 mg/L"."""
    for step in steps:
        keys = [step.line.pk] if step.kind == "line" and step.line else []
        if step.loop is not None:
            keys = [work.place_key(step.loop, step.measurand, step.when, step.turn)]
        if last.key in keys:
            said = (
                str(Outcome.DONE.label)
                if step.state == Outcome.DONE and not step.loop
                else step.sub
            )
            word = str(JUDGEMENT_WORDS[step.word]) if step.word else ""
            return ", ".join(part for part in (step.name, said, word) if part)
    seen = work.typed.findings.get(last.key, {})
    if seen.get("sign"):
        return _(work.catalogue.name("signs", seen["sign"]))
    words = {"findings": _("what was seen"), "advice": _("a decision on advice")}
    return str(seen.get("text") or "")[:40] or words.get(last.group, _("a reading"))
