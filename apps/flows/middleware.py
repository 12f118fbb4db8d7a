"""Notes who looks at which client's data: by the row that an address names, or as a view says."""

import datetime as dt
from collections.abc import Callable, Iterable
from typing import Any
from uuid import UUID

from django.apps import apps
from django.conf import settings
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse

from apps.accounts.models import CalendarFeed, ClientLink
from apps.clients.models import Client
from apps.core import clock
from apps.flows.access_log import log, log_list
from apps.flows.client_data import ways_of
from apps.visits.models import Visit

NAMED = {
    "advice": "advice.Advice",
    "call": "systems.System",
    "check-ins": "visits.CheckIn",
    "clients": "clients.Client",
    "climate": "clients.Climate",
    "counters": "care.MeterReading",
    "field/online/visits": "visits.Visit",
    "fish": "batches.FishBatch",
    "flows": "systems.Flow",
    "incidents": "incidents.Incident",
    "incidents/photos": "incidents.IncidentPhoto",
    "letters": "reports.Letter",
    "letters/addresses": "reports.BlockedAddress",
    "loops": "systems.Loop",
    "offers": "rounds.TimesOffered",
    "parts": "systems.Component",
    "photos": "visits.Photo",
    "places": "clients.Place",
    "plants": "batches.Planting",
    "proposals": "proposals.Proposal",
    "proposals/versions": "proposals.ProposalVersion",
    "proposals/words": "proposals.ProposalWord",
    "readings": "visits.Reading",
    "readings/photos": "visits.ReadingPhoto",
    "reports": "reports.Report",
    "standing": "care.StandingAppointment",
    "surveys": "proposals.SiteSurvey",
    "surveys/photos": "proposals.SurveyPhoto",
    "systems": "systems.System",
    "tasks": "care.CareTask",
    "visits": "visits.Visit",
}
"""What an address names by the key that follows: its beginning -> table."""
LISTS = frozenset({
    "office:due_csv", "office:places_csv", "office:systems_csv", "office:letters_csv",
    "office:incidents_csv", "office:proposals_csv", "office:round_plan", "api:due", "api:places",
    "api:systems", "api:visits", "api:visit_days", "api:letters", "api:incidents", "api:surveys",
    "api:proposals", "api:round_plans", "api:round_plan",
})  # fmt: skip
"""Files, lists of the API and plans in which all clients may stand."""
LISTED = frozenset({"office:places", "office:systems", "office:search"})
"""Pages on which names and addresses of everybody are looked through: noted once a day a person."""
UNSEEN = frozenset({304, 401, 403, 404, 405})
ERASE = "office:client_erase"


def visits_seen(request: Any, visits: Iterable[UUID | str]) -> None:
    """Say which visits an answer holds, where the address does not name them."""
    if settings.ACCESS_LOG_DIR is not None:
        rows = Visit.objects.filter(pk__in=list(visits)).values_list("place__client_id", flat=True)
        # a request of the API has the one that the program got inside
        getattr(request, "_request", request).seen_clients = set(rows)


def list_seen(request: Any, rows: QuerySet[Any]) -> None:
    """Say which rows a list holds that is taken as a file: one query for whose they are."""
    if settings.ACCESS_LOG_DIR is None:
        return
    held: dict[Any, set[UUID]] = {}
    model: Any = rows.model
    for pk, *clients in rows.order_by().values_list("pk", *ways_of(model)):
        held.setdefault(pk, set()).update(one for one in clients if one is not None)
    request.seen_list = (len(held), set().union(*held.values()))


def calendar_seen(request: Any, feed: CalendarFeed, visits: Iterable[UUID]) -> None:
    """Say which visits a calendar told with their place, and by whose calendar."""
    visits_seen(request, visits)
    request.seen_by = str(feed.user_id) if feed.user_id else f"feed:{feed.pk}"


def link_seen(request: Any, link: ClientLink) -> None:
    """Say that a client's page was opened, and by which of their links."""
    request.seen_clients, request.seen_by = {link.client_id}, f"link:{link.pk}"


class AccessLogMiddleware:
    """Writes a line for each look at a client's data once it has been answered."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response
        self._today: tuple[dt.date, set[tuple[str, str]]] = (dt.date.min, set())

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer, then note it; nothing is noted where nothing was shown."""
        response = self.get_response(request)
        match = request.resolver_match
        if match is None or settings.ACCESS_LOG_DIR is None or response.status_code in UNSEEN:
            return response
        clients: set[UUID | str] = getattr(request, "seen_clients", set())
        listed = getattr(request, "seen_list", None) or _list_of(match.view_name, response)
        who = getattr(request, "seen_by", "") or (
            str(request.user.pk) if request.user.is_authenticated else ""
        )
        erased = match.view_name == ERASE and response.status_code in range(300, 400)
        if listed is not None and (response.status_code != 200 or listed[0] == 0):
            return response
        if who and listed is not None and not self._again(match.view_name, who):
            log_list(
                at=clock.now(), who=who, page=match.view_name, method=str(request.method),
                rows=listed[0] or 0, clients=listed[1],
            )  # fmt: skip
        elif who and clients and not erased:
            log(
                at=clock.now(), who=who, page=match.view_name, method=str(request.method),
                clients=clients,
            )  # fmt: skip
        return response

    def _again(self, page: str, who: str) -> bool:
        """Tell whether somebody was on a page of everybody today already, as far as this process knows."""
        if page not in LISTED:
            return False
        today, held = clock.today(), self._today
        if held[0] != today:
            held = self._today = (today, set())
        if (who, page) in held[1]:
            return True
        held[1].add((who, page))
        return False

    def process_view(self, request: Any, _view: Any, _args: Any, kwargs: dict[str, Any]) -> None:
        """Find out whose row the address names while it is there: the answer may take it away."""
        match = request.resolver_match
        if settings.ACCESS_LOG_DIR is None:
            return
        if "pk" in kwargs:
            head = match.route.split("<", 1)[0].removeprefix("api/v1/").strip("/")
            if head in NAMED:
                request.seen_clients = clients_of(NAMED[head], kwargs["pk"])


def _list_of(page: str, response: Any) -> tuple[int | None, set[UUID]] | None:
    """Return how many rows a list of everybody holds, None where its answer does not tell."""
    if page not in LISTS | LISTED:
        return None
    data = getattr(response, "data", None)
    rows = data.get("results") if isinstance(data, dict) else None
    return (len(rows) if isinstance(rows, list) else None), set()


def clients_of(label: str, key: Any) -> set[UUID]:
    """Return whose a row of a table is, such as "visits.Visit"; empty where there is none."""
    model: Any = apps.get_model(label)
    if model is Client:
        return {key} if Client.objects.filter(pk=key).exists() else set()
    rows: Any = model._base_manager.filter(pk=key).values_list(*ways_of(model))
    return {pk for row in rows for pk in row if pk is not None}
