"""Standing appointments of a place."""

from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from apps.accounts.actors import office_of
from apps.accounts.selectors import technicians
from apps.care.models import StandingAppointment
from apps.care.services import standing_add, standing_remove
from apps.clients.models import Place
from apps.core import clock
from apps.core.refusing import attempt
from apps.office.forms.base import EmptyForm
from apps.office.forms.standing import StandingForm
from apps.office.views.common import POSTED, form_page, found, posted


@require_http_methods(POSTED)
def standing_new(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: keep what was agreed with a client, such as every second Tuesday morning."""
    actor = office_of(request)
    place = found(Place.objects.visible_to(actor).select_related("client"), pk)
    form = StandingForm(
        posted(request), people=technicians(actor),
        initial={"first": clock.today(), "rrule": "FREQ=WEEKLY;INTERVAL=2;BYDAY=TU"},
    )  # fmt: skip
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        if attempt(form, lambda: standing_add(place=place, **data, by=actor, at=actor.at)):
            messages.success(request, _("Kept; visit days go by it from now on."))
            return redirect("office:place", place.pk)
    return form_page(
        request, form, heading=_("Agree on standing days"), button=_("Keep it"),
        lead=_("Visits fall on these days wherever the tasks allow it; each is still booked."),
        back=reverse("office:place", args=[place.pk]),
        trail=[(place.name, reverse("office:place", args=[place.pk]))],
    )  # fmt: skip


@require_http_methods(POSTED)
def standing_end(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: let go of a standing appointment; visits that are booked stay."""
    actor = office_of(request)
    row = found(StandingAppointment.objects.visible_to(actor).select_related("place"), pk)
    back = reverse("office:place", args=[row.place_id])
    form = EmptyForm(posted(request))
    if request.method == "POST" and form.is_valid():
        standing_remove(row=row, by=actor, at=actor.at)
        messages.success(request, _("Removed."))
        return redirect(back)
    context = {
        "form": form, "heading": _("Let the standing appointment go?"), "button": _("Let it go"),
        "text": _("Visit days are found without it from then on. Visits that are booked stay."),
        "back": back,
    }  # fmt: skip
    return render(request, "office/confirm.html", context)
