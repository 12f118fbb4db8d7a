"""What is held on a client, and all of it in one file."""

from uuid import UUID

from django.http import FileResponse, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from apps.accounts.actors import office_of
from apps.accounts.selectors import firm_current
from apps.accounts.services import audit
from apps.clients.models import Client
from apps.core import clock
from apps.flows.client_data import counts_of, export
from apps.office.views.common import found


@require_safe
def client_data(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: what is held on a client, by kind."""
    client = found(Client.objects.visible_to(office_of(request)), pk)
    place = client.places.order_by("name").first()
    back = reverse("office:place", args=[place.pk]) if place else reverse("office:places")
    context = {"client": client, "held": counts_of(client), "back": back}
    return render(request, "office/client_data.html", context)


@require_POST
def client_data_save(request: HttpRequest, pk: UUID) -> FileResponse:
    """Office: all that is held on a client as one file; that it was handed out stands in the record."""
    actor = office_of(request)
    client = found(Client.objects.visible_to(actor), pk)
    day = clock.today().isoformat()
    made = export(client, firm_current().name, day)
    audit(at=actor.at, by=actor, verb="exported all data", kind="client", object_id=client.pk)
    return FileResponse(made, as_attachment=True, filename=f"client-{day}.zip")
