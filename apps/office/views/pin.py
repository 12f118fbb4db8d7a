"""A place's pin: looked for on a map by pressing it or by arrows, and kept by one press."""

from typing import Any
from uuid import UUID

from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from apps.accounts.actors import office_of
from apps.clients.models import Place
from apps.clients.services import row_change
from apps.core.drawing.area_map import area_map
from apps.core.scoping import Actor
from apps.office.forms.places import PinForm
from apps.office.selectors.pin import (
    FAR,
    NEAR,
    Look,
    far_words,
    look_of,
    near_words,
    others_on,
    spots_of,
)
from apps.office.views.common import POSTED, attempt_based, form_page, found, posted
from apps.office.views.places import near_of
from apps.rounds.planning.coordinates import Position, code_of
from apps.rounds.selectors import settings_current

# where what was sent names no place, and the firm has none either
SOMEWHERE = Look(Position(0, 0), FAR)


@require_http_methods(POSTED)
def place_pin(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: set where a place lies on a map; nothing is kept until the pin is."""
    actor = office_of(request)
    place = found(Place.objects.visible_to(actor).select_related("client"), pk)
    start = _start(place, actor)
    if start is None and request.method != "POST":
        messages.info(request, _("No place has coordinates yet. Type those of the first one; the "
                                 "others can be pinned beside it."))  # fmt: skip
        return redirect("office:place_edit", place.pk)
    look = look_of(_asked(request), start or SOMEWHERE)
    form = PinForm(posted(request), initial={"rev": place.rev, "where": look.where})
    both: list[Any] = []
    if request.method == "POST" and form.is_valid():
        changes = {"latitude": form.at.lat, "longitude": form.at.lon}
        done, both = attempt_based(
            form, place, {},
            lambda rev: row_change(row=place, changes=changes, rev=rev, by=actor, at=actor.at),
            lambda row: {"where": row.where},
        )  # fmt: skip
        if done:
            messages.success(request, _("The pin is kept."))
            return redirect("office:place", place.pk)
    return form_page(
        request, form, "office/pin.html", place=place, both=both,
        back=reverse("office:place", args=[place.pk]), **_shown(look, place, actor),
    )  # fmt: skip


def _asked(request: HttpRequest) -> dict[str, str]:
    """Return what the map should show: after a refusal, what was sent."""
    if request.method == "POST":
        return {"at": request.POST.get("where", "")}
    return {key: str(value) for key, value in request.GET.items()}


def _start(place: Place, actor: Actor) -> Look | None:
    """Return where the map opens: at the place, else in its town, else at the firm's base."""
    if place.latitude is not None and place.longitude is not None:
        return Look(Position(place.latitude, place.longitude), NEAR)
    town = near_of(actor)(place.town)
    if town is not None:
        return Look(town, FAR)
    base = settings_current()
    if base.base_latitude is None or base.base_longitude is None:
        return None
    return Look(Position(base.base_latitude, base.base_longitude), FAR)


def _shown(look: Look, place: Place, actor: Actor) -> dict[str, Any]:
    spots = spots_of(others_on(look, place, actor))
    near = near_words(look, spots) or far_words(place, actor)
    title = _("Map with the pin at %(where)s.") % {"where": look.where}
    return {
        "look": look,
        "near": near,
        "plus_code": code_of(look.at),
        "streets": settings.MAP_TILES is not None,
        "map": area_map(
            projection=look.projection, spots=spots, title=f"{title} {near}".strip(),
            north=_("north"), tiles=settings.MAP_TILES,
        ),
    }  # fmt: skip
