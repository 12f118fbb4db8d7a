"""Addresses that get no letters: why, and what to do about each."""

from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from apps.accounts.actors import office_of
from apps.core.refusing import attempt
from apps.office.forms.base import EmptyForm
from apps.office.views.common import POSTED, form_page, found, page_of, posted
from apps.reports.models import BlockedAddress
from apps.reports.services.returned import address_free, address_seen


@require_safe
def addresses(request: HttpRequest) -> HttpResponse:
    """Office: the addresses that get no letters, newest first."""
    actor = office_of(request)
    rows = (
        BlockedAddress.objects.visible_to(actor)
        .select_related("letter__contact__client")
        .order_by("-since", "id")
    )
    return render(request, "office/addresses.html", {"page": page_of(request, rows)})


@require_POST
def address_noted(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: say that it is known; nothing more is sent there."""
    actor = office_of(request)
    address_seen(row=found(BlockedAddress.objects.visible_to(actor), pk), by=actor, at=actor.at)
    messages.success(request, _("Noted. Nothing is sent there."))
    return redirect("office:addresses")


@require_http_methods(POSTED)
def address_again(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: ask once, then send letters to an address again."""
    actor = office_of(request)
    row = found(BlockedAddress.objects.visible_to(actor), pk)
    form = EmptyForm(posted(request))
    if request.method == "POST" and form.is_valid():

        def act() -> bool:
            address_free(row=row, by=actor, at=actor.at)
            return True

        if attempt(form, act):
            messages.success(request, _("Letters go there again, from the next one on."))
            return redirect("office:addresses")
    return form_page(
        request, form, "office/confirm.html", heading=_("Send letters there again?"),
        text=_("Only where %(address)s is right, and its reader wants them.")
        % {"address": row.address},
        button=_("Send letters there again"), back=reverse("office:addresses"),
    )  # fmt: skip
