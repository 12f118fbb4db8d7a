"""What the harvest is worth: the firm's prices of what its clients grow."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from apps.accounts.actors import office_of
from apps.accounts.selectors import firm_current
from apps.batches import selectors as reads
from apps.batches.choices import Harvest
from apps.batches.services import harvest_prices_set
from apps.catalogue.selectors import Catalogue, catalogue_current
from apps.core.refusing import attempt
from apps.office.forms.proposals import HarvestPricesForm
from apps.office.views.common import POSTED, form_page, posted
from apps.office.wording import upper_first


@require_http_methods(POSTED)
def harvest_prices(request: HttpRequest) -> HttpResponse:
    """Office: what a kilogram of what clients grow costs in the shops."""
    actor, held = office_of(request), reads.harvest_prices()
    named = _named(catalogue_current(), reads.grown_here() | set(held))
    form = HarvestPricesForm(
        posted(request), named=named, held=held, currency=firm_current().currency
    )
    if request.method == "POST" and form.is_valid():

        def act() -> bool:
            harvest_prices_set(prices=form.prices(), by=actor, at=actor.at)
            return True

        if attempt(form, act):
            messages.success(request, _("The prices are kept; reports from now on name the worth."))
            return redirect("office:harvest_prices")
    return form_page(
        request, form, "office/place_form.html", heading=_("What the harvest is worth"),
        button=_("Keep them"), back=reverse("office:places"), groups=[("", list(form))],
        lead=_("What a household pays for a kilogram in the shops. What has no price is weighed, "
               "and its worth is not named.") if named
        else _("Nothing grows anywhere yet: note plants and fish at a system first."),
    )  # fmt: skip


def _named(catalogue: Catalogue, known: set[tuple[str, str]]) -> list[tuple[str, str, str]]:
    """Return (name, kind, code) of what is eaten, by name."""
    rows = [
        (upper_first(_(catalogue.name(kind, code))), kind, code)
        for kind, code in known
        if kind == Harvest.CROPS or (catalogue.get(kind, code) or {}).get("eaten")
    ]
    return sorted(rows)
