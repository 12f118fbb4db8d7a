"""Two people answered the same: both are shown, and the second one chooses."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.utils.translation import gettext as _

from apps.core.numbers import format_plain
from apps.field.answers import Clash, person
from apps.field.views.common import page, sheet_context
from apps.field.work import Work
from apps.visits.choices import Outcome

LEFT_OUT = ("csrfmiddlewaretoken",)


def clash_page(
    request: HttpRequest, work: Work, clashes: list[Clash], heading: str
) -> HttpResponse:
    """Return the page with both answers; one's own is given again on top of theirs."""
    revs = {clash.path.rsplit("/", 1)[-1]: clash.rev for clash in clashes}
    again = [
        (name, revs.get(name[5:], value) if name.startswith("base-") else value)
        for name, values in request.POST.lists()
        for value in values
        if name not in LEFT_OUT
    ]
    rows = [clash for clash in clashes if _worth_showing(clash)] or clashes
    context = {
        **sheet_context(work, []),
        "heading": heading,
        "who": person(work, rows[0].path),
        "rows": [
            {"name": _leaf_name(clash.path), "mine": _shown(clash.mine, work),
             "theirs": _shown(clash.theirs, work)}
            for clash in rows
        ],
        "again": again,
        "address": request.path,
    }  # fmt: skip
    return page(request, "clash.html", context, status=409)


def _worth_showing(clash: Clash) -> bool:
    return clash.path.rsplit("/", 1)[-1] not in ("taken_at", "as_typed", "gone")


def _leaf_name(path: str) -> str:
    leaf = path.rsplit("/", 1)[-1]
    return {
        "value": _("Value"), "unit": _("Unit"), "basis": _("As"), "method": _("Method"),
        "instrument": _("Meter or kit"), "outcome": _("Answer"), "reason": _("Reason"),
        "note": _("Note"), "text": _("Words"), "sign": _("Sign"),
        "decision": _("Decision"), "component": _("Part"), "photo_ids": _("Photos"),
        "checked_twice": _("Checked twice"),
    }.get(leaf, leaf.replace("_", " "))  # fmt: skip


def _shown(value: Any, work: Work) -> str:
    if value is None or value == "" or value == []:
        return _("nothing")
    if isinstance(value, bool):
        return _("yes") if value else _("no")
    if isinstance(value, int | float):
        return format_plain(value)
    if isinstance(value, list):
        return str(len(value))
    text = str(value)
    if text in Outcome.values:
        return str(Outcome(text).label)
    for kind in ("reasons", "signs"):
        if work.catalogue.get(kind, text):
            return _(work.catalogue.name(kind, text))
    return {"keep": _("keep"), "edit": _("edit"), "strike": _("strike"), "n": "N"}.get(text, text)
