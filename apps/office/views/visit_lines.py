"""Bringing a visit's checklist in line with what its day asks for."""

from uuid import UUID

from django.contrib import messages
from django.core.exceptions import BadRequest
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from apps.accounts.actors import office_of
from apps.catalogue.selectors import catalogue_current
from apps.core.exceptions import DomainError
from apps.flows.visit_lines import lines_bring
from apps.office.forms.base import RevForm
from apps.office.selectors.visit_lines import done_words
from apps.office.views.common import found
from apps.visits.models import Visit


@require_POST
def visit_lines(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: add the lines that a visit lacks, take those that it holds for nothing."""
    actor = office_of(request)
    visit = found(Visit.objects.visible_to(actor), pk)
    form = RevForm(request.POST)
    if not form.is_valid():
        raise BadRequest("rev: " + _("press the button on the visit's page"))
    try:
        done = lines_bring(
            visit=visit, catalogue=catalogue_current(), rev=form.cleaned_data["rev"], by=actor,
            at=actor.at,
        )  # fmt: skip
    except DomainError as error:
        messages.error(request, error.message)
    else:
        messages.success(request, done_words(done))
    return redirect("office:visit", visit.pk)
