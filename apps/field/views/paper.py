"""The printed checklist of a day."""

import datetime as dt
from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from apps.accounts.actors import actor_of
from apps.accounts.selectors import firm_current, technicians
from apps.core.asked import day_of
from apps.core.exceptions import DomainError
from apps.core.templatetags.look import weekday_date
from apps.field.paper import html_of, paper_of
from apps.flows.middleware import visits_seen
from apps.reports.rendering.child import CHILD
from apps.reports.rendering.pdf import DAY


@require_safe
def day_pdf(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Technician: one's own day as a PDF to print; office: anybody's. `?on=` names another day."""
    actor = actor_of(request)
    if not actor.is_office and actor.user_id != pk:
        raise Http404
    person = technicians(actor).filter(pk=pk).first()
    if person is None:
        raise Http404
    on = day_of(request, "on") or timezone.localdate(actor.at)
    found = paper_of(actor, person, on)
    if found is None:
        said = _("%(who)s has no visit to do on %(day)s: there is nothing to print.")
        return _instead(request, on, said % {"who": person, "day": weekday_date(on)})
    visits_seen(request, [row.visit.pk for row in found.visits])
    try:
        pdf = CHILD.draw(html_of(found), DAY, firm_current().paper)
    except DomainError as error:
        return _instead(request, on, error.message)
    answer = HttpResponse(pdf, content_type="application/pdf")
    answer["Content-Disposition"] = f'inline; filename="day-{on.isoformat()}.pdf"'
    answer["X-Content-Type-Options"] = "nosniff"
    return answer


def _instead(request: HttpRequest, on: dt.date, said: str) -> HttpResponse:
    """Say why there is no paper, on the page that led to it."""
    messages.error(request, said)
    if actor_of(request).is_office:
        return redirect(f"{reverse('office:rounds')}?from={on.isoformat()}")
    return redirect("field:round")
