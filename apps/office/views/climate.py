"""Climate: what is usual in each month, for the whole firm and for places that differ."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from apps.accounts.actors import office_of
from apps.clients.models import Climate, Place
from apps.clients.selectors import months_of
from apps.core.dates import month_text
from apps.core.exceptions import StaleVersion
from apps.core.refusing import attempt
from apps.core.scoping import Actor
from apps.flows.climate import climate_remove, climate_set
from apps.office.forms.base import EmptyForm
from apps.office.forms.climate import ClimateForm
from apps.office.views.common import POSTED, attempt_based, form_page, found, posted
from apps.office.wording import place_label


def _of(actor: Actor, place: Place | None) -> Climate | None:
    rows = Climate.objects.visible_to(actor)
    row: Climate | None = rows.filter(
        **({"place": place} if place else {"whole_firm": True})
    ).first()
    return row


@require_safe
def climate(request: HttpRequest) -> HttpResponse:
    """Office: the firm's climate normals, and which places have their own."""
    actor = office_of(request)
    row = _of(actor, None)
    places = Climate.objects.visible_to(actor).filter(whole_firm=False)
    context = {
        "climate": row,
        "months": _named(row) if row else [],
        "places": places.select_related("place__client").order_by("place__name"),
    }
    return render(request, "office/climate.html", context)


def _named(row: Climate) -> list[tuple[str, Any]]:
    return [(month_text(number), month) for number, month in enumerate(months_of(row), start=1)]


@require_http_methods(POSTED)
def climate_edit(request: HttpRequest) -> HttpResponse:
    """Office: enter the firm's climate normals."""
    return _edit(request, office_of(request), None)


@require_http_methods(POSTED)
def climate_place(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: enter climate normals of a place whose weather differs from the firm's."""
    actor = office_of(request)
    return _edit(request, actor, found(Place.objects.visible_to(actor), pk))


def _edit(request: HttpRequest, actor: Actor, place: Place | None) -> HttpResponse:
    row = _of(actor, place)
    form = ClimateForm(posted(request), initial=_initial(row))
    both: list[tuple[str, str, str]] = []
    if request.method == "POST" and form.is_valid():
        if form.cleaned_data["pasted"]:
            form = _filled(form)
            messages.info(request, _("The boxes are filled. Look them over, then keep them."))
        else:
            done, both = _keep(form, row, place, actor)
            if done:
                messages.success(request, _kept(place))
                return redirect("office:climate")
    return form_page(
        request, form, "office/place_form.html", heading=_heading(place), button=_("Keep it"),
        lead=_("Long-term means by month. Forecasts take the warmth of the air, evaporation and "
               "rain from them; with none, the usual year of the latitude and no rain."),
        back=reverse("office:climate"), both=both,
        groups=[("", [form["source"]]), ("", [form["pasted"]]), *form.groups()],
    )  # fmt: skip


def _heading(place: Place | None) -> str:
    if place is None:
        return _("The firm's climate normals")
    return _("Climate normals: %(place)s") % {"place": place_label(place)}


def _kept(place: Place | None) -> str:
    if place is None:
        return _("Kept. Forecasts take it up in the night.")
    return _("Kept. The forecasts of this place are being made anew.")


def _initial(row: Climate | None) -> dict[str, Any]:
    if row is None:
        return {}
    return ClimateForm.initial_of(months_of(row)) | {"source": row.source, "rev": row.rev}


def _filled(form: ClimateForm) -> ClimateForm:
    """Return the form with the pasted table in its boxes, to be looked over."""
    data = form.cleaned_data
    values = ClimateForm.initial_of(data["pasted"])
    return ClimateForm(initial=values | {"source": data["source"], "rev": data["rev"]})


def _keep(
    form: ClimateForm, row: Climate | None, place: Place | None, actor: Actor
) -> tuple[bool, list[tuple[str, str, str]]]:
    def act(rev: int | None) -> Climate:
        return climate_set(
            place=place, months=form.months(), source=form.cleaned_data["source"], rev=rev,
            by=actor, at=actor.at,
        )  # fmt: skip

    if row is not None:
        return attempt_based(form, row, {}, act, _initial)
    try:
        return attempt(form, lambda: act(None)) is not None, []
    except StaleVersion as error:
        form.add_error(None, error.message)
        return False, []


@require_http_methods(POSTED)
def climate_end(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: take climate normals away again."""
    actor = office_of(request)
    row = found(Climate.objects.visible_to(actor).select_related("place"), pk)
    form = EmptyForm(posted(request))
    if request.method == "POST" and form.is_valid():
        climate_remove(climate=row, by=actor, at=actor.at)
        messages.success(request, _("Removed."))
        return redirect("office:climate")
    text = (
        _("Forecasts of %(place)s go by the firm's climate normals then, where there are any.")
        if row.place
        else _("Forecasts go by the usual year of the latitude then, and count with no rain.")
    )
    return render(
        request, "office/confirm.html",
        {"form": form, "heading": _("Remove these climate normals?"),
         "text": text % {"place": place_label(row.place)} if row.place else text,
         "button": _("Remove"), "back": reverse("office:climate"), "pen": True},
    )  # fmt: skip
