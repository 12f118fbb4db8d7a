"""What the firm counts in."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from apps.accounts.actors import office_of
from apps.accounts.selectors import firm_current
from apps.accounts.services import currency_set
from apps.batches.selectors import harvest_prices
from apps.core import clock
from apps.core.refusing import attempt
from apps.office.forms.firm import CurrencyForm
from apps.office.views.common import POSTED, form_page, posted
from apps.proposals.models import Proposal
from apps.proposals.selectors import prices_now


@require_http_methods(POSTED)
def currency(request: HttpRequest) -> HttpResponse:
    """Office: choose the currency of all amounts; what stands already is not converted."""
    actor, held = office_of(request), firm_current().currency
    there = Proposal.objects.visible_to(actor).exists()
    priced = bool(prices_now() or harvest_prices() or there)
    form = CurrencyForm(posted(request), held=held, priced=priced, on=clock.today())
    if request.method == "POST" and form.is_valid():
        chosen = form.cleaned_data["currency"]

        def act() -> bool:
            if chosen != held:
                currency_set(currency=chosen, by=actor, at=actor.at)
            return True

        if attempt(form, act):
            messages.success(request, _("Kept."))
            return redirect("office:prices")
    return form_page(
        request, form, heading=_("What do you count in?"), button=_("Keep it"),
        back=reverse("office:prices"),
        lead=_("Prices, proposals, the worth of harvests and what rounds cost are all in it. No "
               "amount is converted: prices, the costs of planning and proposals that are not sent "
               "keep their figures and read in the other currency. Papers that went out stay as "
               "they are."),
    )  # fmt: skip
