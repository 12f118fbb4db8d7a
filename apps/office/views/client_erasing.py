"""Erasing a client: what goes, what stays, what stands in the way."""

from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods

from apps.accounts.actors import office_of
from apps.accounts.signing import password_holds
from apps.clients.models import Client
from apps.core.exceptions import DomainError
from apps.core.refusing import refuse
from apps.core.scoping import Actor
from apps.flows.erasing import READINGS_TO, VISITS_TO, client_erase, going, hindrances, name_check
from apps.office.forms.client_data import EraseForm
from apps.office.views.common import POSTED, form_page, found, posted


@sensitive_post_parameters("password")
@require_http_methods(POSTED)
def client_erase_page(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: erase a client for good, by their name and one's own password."""
    actor = office_of(request)
    client = found(Client.objects.visible_to(actor), pk)
    form = EraseForm(posted(request))
    if request.method == "POST" and form.is_valid() and _erased(request, form, client, actor):
        messages.success(request, _("Erased. The files go within minutes."))
        return redirect("office:places")
    ways = [
        (row.words, reverse(row.page, args=[row.of] if row.of else []))
        for row in hindrances(client, actor.at)
    ]
    return form_page(
        request, form, "office/client_erase.html", client=client, ways=ways, going=going(client),
        back=reverse("office:client_data", args=[client.pk]), visits_to=VISITS_TO,
        readings_to=READINGS_TO,
    )  # fmt: skip


def _erased(request: HttpRequest, form: EraseForm, client: Client, actor: Actor) -> bool:
    """Erase, or put what was refused on the form; in no transaction but its own."""
    try:
        name_check(client, form.cleaned_data["name"])
        if not password_holds(request, form.cleaned_data["password"]):
            form.add_error("password", _("This is not the password that you sign in with."))
            return False
        client_erase(client=client, name=form.cleaned_data["name"], by=actor, at=actor.at)
    except DomainError as error:
        refuse(form, error)
        return False
    return True
