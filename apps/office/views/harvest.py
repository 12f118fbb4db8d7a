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
from apps.batches.services import harvest_prices_set
from apps.core.refusing import attempt
from apps.office.forms.proposals import HarvestPricesForm
from apps.office.selectors.harvest import priced_names
from apps.office.views.common import POSTED, form_page, posted


@require_http_methods(POSTED)
def harvest_prices(request: HttpRequest) -> HttpResponse:
    """Office: what clients grow costs in the shops, a kilogram or a piece."""
    actor, held = office_of(request), reads.harvest_prices()
    named = priced_names(held)
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
        lead=_("What a household pays in the shops, for a kilogram or for one. With both, what was "
               "weighed counts by the kilogram and the rest by number. What has no price is noted, "
               "and its worth is not named.") if named
        else _("Nothing grows anywhere yet: note plants and fish at a system first."),
    )  # fmt: skip
