"""One visit: where it is, its sheets, and its steps."""

from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from apps.accounts.actors import actor_of
from apps.catalogue.selectors import catalogue_current
from apps.clients.selectors import times_away
from apps.core.exceptions import DomainError
from apps.core.scoping import Actor
from apps.field.selectors import duration_words, geo_uri, sheet_counts, tools_of, visit_of
from apps.field.views.common import POSTED, page, words_of
from apps.flows import visit_booking
from apps.flows.times_away import getting_in_words
from apps.visits.choices import State
from apps.visits.models import Value, Visit
from apps.visits.services.answers import BadAnswer, words
from apps.visits.services.steps import allowed_from

REASON = words(400)


@require_safe
def visit(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Technician of the visit, or the office: the place, the sheets, what may be done now."""
    actor = actor_of(request)
    row = visit_of(actor, pk)
    values = list(Value.objects.visible_to(actor).filter(visit=row, path__startswith="lines/"))
    counts = sheet_counts(row, values)
    catalogue, day = catalogue_current(), timezone.localdate(row.start)
    codes = [line.code for item in counts for line in item.sheet.lines.all()]
    allowed = allowed_from(row.state, actor.role)
    context = {
        "visit": row,
        "place": row.place,
        "access": getting_in_words(row.place, times_away([row.place_id], day, day), day),
        "sheets": counts,
        "load": tools_of(codes, catalogue),
        "duration": duration_words(
            sum(line.minutes_planned for c in counts for line in c.sheet.lines.all())
        ),
        "people": ", ".join(str(a.user) for a in row.assignments.all()),
        "on_the_day": day == timezone.localdate(actor.at),
        "geo": geo_uri(row.place.latitude, row.place.longitude),
        "may_start": row.state == State.BOOKED,
        "may_answer": row.state in (State.BOOKED, State.UNDER_WAY),
        "may_finish": row.state == State.UNDER_WAY,
        "may_leave": row.state != State.PENCILLED and State.PENCILLED in allowed,
        "may_move": row.state == State.UNDER_WAY and State.BOOKED in allowed,
        "written_up": row.state in (State.WRITTEN_UP, State.REPORTED),
    }
    return page(request, "visit.html", context)


def _visible(actor: Actor, pk: UUID) -> Visit:
    row = Visit.objects.visible_to(actor).select_related("place").filter(pk=pk).first()
    if row is None:
        raise Http404
    return row


@require_POST
def start(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Technician of the visit, or the office: begin a booked visit."""
    actor = actor_of(request)
    row = _visible(actor, pk)
    try:
        visit_booking.step(visit=row, to=State.UNDER_WAY, by=actor, at=actor.at)
    except DomainError as error:
        messages.error(request, words_of(error))
    sheets = list(row.sheets.order_by("system__name", "id").values_list("pk", flat=True))
    if len(sheets) == 1:
        return redirect("field:sheet", pk=pk, sheet=sheets[0])
    return redirect("field:visit", pk=pk)


@require_http_methods(POSTED)
def nobody(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Technician of the visit, or the office: nobody was there; it goes back to pencilled."""
    heading = _("Nobody there")
    text = _("The visit goes back to the office, who will find another time with the client.")
    hints = [_("Rang twice, waited ten minutes."), _("The gate is locked.")]
    return _back(request, pk, State.PENCILLED, heading, text, hints)


@require_http_methods(POSTED)
def wrong_place(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Technician of the visit, or the office: begun by mistake; it is booked again."""
    heading = _("Wrong place")
    text = _("The visit is as it was before you started it. What you have answered is kept.")
    hints = [_("Started the wrong visit."), _("Not here yet.")]
    return _back(request, pk, State.BOOKED, heading, text, hints)


def _back(
    request: HttpRequest, pk: UUID, to: State, heading: str, text: str, hints: list[str]
) -> HttpResponse:
    actor = actor_of(request)
    row = _visible(actor, pk)
    reason, fault = str(request.POST.get("reason", "")), ""
    if request.method == "POST":
        reason = str(request.POST.get("hint") or reason)
        try:
            said = REASON(reason)
            visit_booking.step(visit=row, to=to, by=actor, at=actor.at, reason=said)
        except BadAnswer as error:
            fault = str(error)
        except DomainError as error:
            fault = words_of(error)
        else:
            messages.success(
                request, _("%(place)s: %(what)s.") % {"place": row.place, "what": heading.lower()}
            )
            return redirect("field:round")
    context = {
        "visit": row, "heading": heading, "text": text, "hints": hints, "reason": reason,
        "fault": fault,
    }  # fmt: skip
    return page(request, "back.html", context, status=422 if fault else 200)
