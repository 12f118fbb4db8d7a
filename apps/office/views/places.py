"""Places: the list, a place's page, and new ones."""

from collections.abc import Callable
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.db.models import Avg, Count, Q, QuerySet
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from apps.accounts.actors import office_of
from apps.accounts.selectors import feeds_open, firm_current
from apps.catalogue.selectors import catalogue_current
from apps.clients.choices import ClientKind
from apps.clients.models import Client, Contact, Place, SourceWater, VisitingHours
from apps.clients.services import row_save
from apps.core import clock
from apps.core.csv_text import csv_answer
from apps.core.refusing import attempt
from apps.core.scoping import Actor
from apps.flows.middleware import list_seen
from apps.office.forms.places import PlaceForm, PlaceNewForm
from apps.office.selectors.away import away_at
from apps.office.selectors.due import FilterWord, areas, hours_words
from apps.office.selectors.visit_days import place_days, standing_shown
from apps.office.views.common import POSTED, chosen, form_page, found, page_of, posted
from apps.office.wording import people_by_author
from apps.proposals.models import Proposal, SiteSurvey
from apps.rounds.planning.coordinates import Position, code_of
from apps.systems.models import System
from apps.visits.choices import HOLDING
from apps.visits.models import CallNote, Visit

SORTS = {
    "name": ("name", "id"),
    "client": ("client__name", "name", "id"),
    "area": ("area", "name", "id"),
}
WATERS = 4
CALLS = 12


def _rows(
    request: HttpRequest, actor: Actor
) -> tuple[QuerySet[Place], list[FilterWord], dict[str, Any]]:
    kept, sort = (
        chosen(request, "show", dict(ClientKind.choices)),
        chosen(request, "sort", SORTS, "name"),
    )
    known = areas(actor)
    area = chosen(request, "area", dict.fromkeys(known))
    rows = Place.objects.visible_to(actor)
    rows = rows.filter(area=area) if area else rows
    counts = rows.order_by().aggregate(
        all=Count("pk"),
        **{kind: Count("pk", filter=Q(client__kind=kind)) for kind in ClientKind.values},
    )
    words = [FilterWord("", _("All"), counts["all"], not kept)] + [
        FilterWord(kind, str(label), counts[kind], kind == kept)
        for kind, label in ClientKind.choices
        if counts[kind] or kind == kept
    ]
    rows = rows.filter(client__kind=kept) if kept else rows
    rows = rows.select_related("client").annotate(
        systems_here=Count("systems", filter=Q(systems__active=True))
    )
    return rows.order_by(*SORTS[sort]), words, {"areas": known, "area": area, "sort": sort}


@require_safe
def places(request: HttpRequest) -> HttpResponse:
    """Office: all places, with filters by kind of client and area."""
    rows, words, more = _rows(request, office_of(request))
    page = page_of(request, rows)
    return render(request, "office/places.html", {"page": page, "filters": words, **more})


@require_safe
def places_csv(request: HttpRequest) -> HttpResponseBase:
    """Office: the places under the same filters, for a spreadsheet."""
    rows, _words, _more = _rows(request, office_of(request))
    list_seen(request, rows)
    head = [
        _("place"), _("client"), _("kind"), _("street"), _("town"), _("area"), _("latitude"),
        _("longitude"), _("systems"),
    ]  # fmt: skip
    cells = (
        [
            row.name, row.client.name, row.client.get_kind_display(), row.street, row.town,
            row.area, row.latitude, row.longitude,
            row.systems_here,  # type: ignore[attr-defined]
        ]
        for row in rows.iterator(chunk_size=500)
    )  # fmt: skip
    return csv_answer("places", head, cells)


@require_safe
def place(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: a place with its client, contacts, hours, water, systems, visit days, visits and calls."""
    actor = office_of(request)
    row = found(Place.objects.visible_to(actor).select_related("client"), pk)
    client = row.client
    hours = VisitingHours.objects.visible_to(actor).filter(place=row)
    visits = Visit.objects.visible_to(actor).filter(place=row)
    waters = SourceWater.objects.visible_to(actor).filter(place=row).order_by("-on")
    context = {
        "place": row,
        "plus_code": _plus_code(row),
        "client": client,
        "photos_by": people_by_author([client.photos_by]).get(client.photos_by, "")
        if client.photos_by
        else "",
        "contacts": Contact.objects.visible_to(actor).filter(client=client).order_by("name"),
        "hours": hours_words(list(hours)),
        "waters": waters[:WATERS],
        "systems": System.objects.visible_to(actor).filter(place=row).order_by("-active", "name"),
        "others": Place.objects.visible_to(actor).filter(client=client).exclude(pk=row.pk),
        "away": away_at(actor, row, clock.today()),
        "standing": standing_shown(actor, row, clock.today()),
        "shown": place_days(actor, row, catalogue_current()),
        "coming": visits.filter(state__in=HOLDING).order_by("start"),
        "past": visits.exclude(state__in=HOLDING).order_by("-start")[:CALLS],
        "surveys": SiteSurvey.objects.visible_to(actor).filter(place=row).order_by("-on"),
        "proposals": Proposal.objects.visible_to(actor).filter(place=row).order_by("-number"),
        "feeds": feeds_open(actor).filter(client_id=client.pk),
        "calls": CallNote.objects.visible_to(actor).filter(client=client).order_by("-at")[:CALLS],
    }
    return render(request, "office/place.html", context)


def _plus_code(row: Place) -> str:
    if row.latitude is None or row.longitude is None:
        return ""
    return code_of(Position(row.latitude, row.longitude))


@require_http_methods(POSTED)
def place_new(request: HttpRequest) -> HttpResponse:
    """Office: a new client with contact and place; ?client= adds a place to one that is there."""
    actor = office_of(request)
    client = _client(request, actor)
    kind = PlaceForm if client else PlaceNewForm
    form = kind(posted(request), near=near_of(actor))
    if request.method == "POST" and form.is_valid():
        made = attempt(form, lambda: _make(form.cleaned_data, client, actor))
        if made is not None:
            messages.success(request, _("The place is there. Now draw its system from its parts."))
            found_told(request, form)
            return redirect("office:place", made.pk)
    lead = (
        _("Another place of %(name)s.") % {"name": client.name}
        if client
        else _("An address and who lives there; the system comes after.")
    )
    return form_page(
        request, form, "office/place_form.html", heading=_("Add a place"), lead=lead,
        button=_("Add it"), back=reverse("office:places"), client=client, groups=groups_of(form),
    )  # fmt: skip


def _client(request: HttpRequest, actor: Actor) -> Client | None:
    key = request.GET.get("client", "")
    if not key:
        return None
    try:
        return found(Client.objects.visible_to(actor), UUID(key))
    except ValueError:
        return None


def near_of(actor: Actor) -> Callable[[str], Position | None]:
    """Return what finds a position in a town, by the places there, or else in the firm's town."""

    def near(town: str) -> Position | None:
        rows = Place.objects.visible_to(actor).filter(latitude__isnull=False)
        for name in (town, firm_current().town):
            middle = rows.filter(town__iexact=name).aggregate(
                lat=Avg("latitude"), lon=Avg("longitude")
            )
            if name and middle["lat"] is not None:
                return Position(middle["lat"], middle["lon"])
        return None

    return near


def found_told(request: HttpRequest, form: Any) -> None:
    """Show the coordinates that were found back, where they were typed in another way."""
    where = form.cleaned_data.get("where", "")
    if where and where != form["where"].data.strip():
        messages.info(request, _("It lies at %(where)s.") % {"where": where})


def place_values(data: dict[str, Any]) -> dict[str, Any]:
    """Return a place's fields out of a form."""
    names = (
        "street", "town", "area", "latitude", "longitude", "altitude_m", "access_notes",
        "gate_code", "dog",
    )  # fmt: skip
    return {"name": data["place_name"]} | {name: data[name] for name in names}


def _make(data: dict[str, Any], client: Client | None, actor: Actor) -> Place:
    if client is None:
        client = Client(name=data["client_name"], kind=data["kind"], since=clock.today())
        row_save(row=client, by=actor, at=actor.at)
        names = (
            "name", "email", "phone", "language", "units", "gets_letters", "reports_as",
            "gets_notices", "gets_texts", "time_zone",
        )  # fmt: skip
        contact = Contact(client=client, **{name: data[name] for name in names})
        row_save(row=contact, by=actor, at=actor.at)
    row = Place(client=client, **place_values(data))
    row_save(row=row, by=actor, at=actor.at)
    return row


def groups_of(form: Any) -> list[tuple[str, list[Any]]]:
    """Return a place form's fields in groups with their headings."""
    wanted = (
        (_("Client"), ("client_name", "kind")),
        (
            _("Contact"),
            (
                "name",
                "email",
                "phone",
                "language",
                "units",
                "gets_letters",
                "reports_as",
                "gets_notices",
                "gets_texts",
                "time_zone",
            ),
        ),
        (_("Address"), ("place_name", "street", "town", "area")),
        (_("Where it lies"), ("where", "altitude_m")),
        (_("Getting in"), ("access_notes", "gate_code", "dog")),
    )
    return [
        (heading, [form[name] for name in names if name in form.fields])
        for heading, names in wanted
        if any(name in form.fields for name in names)
    ]
