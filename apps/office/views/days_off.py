"""Days off: whose holidays the firm keeps, its closures, and the days on which it works anyway."""

import datetime as dt
from uuid import UUID

from django.contrib import messages
from django.core.exceptions import BadRequest
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from apps.accounts.actors import office_of
from apps.accounts.models import Closure
from apps.accounts.selectors import days_off as days_off_between
from apps.accounts.selectors import firm_current
from apps.core import clock
from apps.core.dates import day_text
from apps.core.refusing import attempt
from apps.flows.days_off import closure_add, closure_remove, country_set
from apps.office.forms.base import EmptyForm
from apps.office.forms.days_off import ClosureForm, CountryForm
from apps.office.views.common import POSTED, form_page, found, posted

SHOWN = dt.timedelta(days=365)


def _trail() -> list[tuple[str, str]]:
    return [(_("Days off"), reverse("office:days_off"))]


@require_safe
def days_off(request: HttpRequest) -> HttpResponse:
    """Office: holidays and closures of the year to come, and whose holidays are kept."""
    actor = office_of(request)
    today = clock.today()
    context = {
        "firm": firm_current(),
        "days": days_off_between(today, today + SHOWN),
        "closures": Closure.objects.visible_to(actor).filter(last__gte=today).order_by("first"),
    }
    return render(request, "office/days_off.html", context)


@require_http_methods(POSTED)
def holidays(request: HttpRequest) -> HttpResponse:
    """Office: say whose holidays the firm keeps."""
    actor = office_of(request)
    firm = firm_current()
    initial = {"country": firm.country, "subdivision": firm.subdivision}
    form = CountryForm(posted(request), initial=initial)
    if request.method == "POST" and form.is_valid():
        codes = form.cleaned_data
        if attempt(form, lambda: country_set(**codes, by=actor, at=actor.at)) is not None:
            messages.success(request, _("Kept."))
            return redirect("office:days_off")
    return form_page(
        request, form, heading=_("Whose holidays?"), button=_("Keep it"), trail=_trail(),
        lead=_("On holidays nobody is sent out. Days that the firm works anyway, and days off that "
               "no list has, are added by hand."),
        back=reverse("office:days_off"),
    )  # fmt: skip


@require_http_methods(POSTED)
def closure_new(request: HttpRequest) -> HttpResponse:
    """Office: add days off, or with ?works=1&day= a holiday on which the firm works."""
    actor = office_of(request)
    form = ClosureForm(posted(request), initial=_initial(request))
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data | {"last": form.cleaned_data["last"] or form.cleaned_data["first"]}
        if attempt(form, lambda: closure_add(**data, by=actor, at=actor.at)) is not None:
            messages.success(request, _("Added."))
            return redirect("office:days_off")
    return form_page(
        request, form, heading=_("Add days off"), button=_("Add"), trail=_trail(),
        lead=_("Nobody is sent out on them; what would fall on one is done before or after."),
        back=reverse("office:days_off"),
    )  # fmt: skip


def _initial(request: HttpRequest) -> dict[str, object]:
    """Return what the address says. Raises BadRequest for a day that is none."""
    text = request.GET.get("day", "")
    try:
        day = dt.date.fromisoformat(text) if text else None
    except ValueError:
        raise BadRequest("day: " + _("Write a day such as 2026-06-11.")) from None
    return {"first": day, "works": request.GET.get("works") == "1"}


@require_http_methods(POSTED)
def closure_end(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: take days off away again."""
    actor = office_of(request)
    row = found(Closure.objects.visible_to(actor), pk)
    form = EmptyForm(posted(request))
    if request.method == "POST" and form.is_valid():
        closure_remove(closure=row, by=actor, at=actor.at)
        messages.success(request, _("Removed."))
        return redirect("office:days_off")
    span = {"first": day_text(row.first, "year"), "last": day_text(row.last, "year")}
    return render(
        request, "office/confirm.html",
        {"form": form, "heading": _("Remove %(name)s?") % {"name": row.name},
         "text": _("%(first)s to %(last)s are days like any other then.") % span,
         "button": _("Remove"), "back": reverse("office:days_off")},
    )  # fmt: skip
