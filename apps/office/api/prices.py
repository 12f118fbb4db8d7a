"""The firm's price list: read, and changed in part."""

from typing import Any

from django.utils.translation import gettext as _
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from apps.accounts.selectors import firm_current
from apps.calc.design.takeoff import PRICED
from apps.core.money import MONEY
from apps.flows.operation import Operation, body_of, only
from apps.office.api.bodies import fault, judged
from apps.office.api.proposal_schemas import PRICE_CHANGE, PRICE_LIST
from apps.office.api.proposal_shapes import place_of, prices_typed
from apps.office.forms.proposals import PricesForm
from apps.proposals.selectors import prices_now
from apps.proposals.services import prices_set


def _list() -> dict[str, Any]:
    held = prices_now()
    return {
        "currency": firm_current().currency,
        "prices": [
            {"code": code, "unit": str(unit),
             "amount": held[code] / MONEY if code in held else None}
            for code, unit in PRICED.items()
        ],
    }  # fmt: skip


class Prices(Operation):
    """What the firm pays for parts and supplies."""

    @extend_schema(
        operation_id="prices", summary="The firm's prices, without tax", responses={200: PRICE_LIST}
    )
    def get(self, request: Request) -> Response:
        """Office: every item that a design may ask for; amount null where it has no price."""
        self.office_only()
        return Response(_list())

    @extend_schema(
        operation_id="prices_change", summary="Change some of the firm's prices",
        request=PRICE_CHANGE, responses={200: PRICE_LIST},
    )  # fmt: skip
    def patch(self, request: Request) -> Response:
        """Office: all that is named or nothing; null takes one away, proposals keep theirs."""
        actor, body = self.office_only(), body_of(request)
        only(body, ("prices",), ("prices",))
        typed = prices_typed(body["prices"], set(PRICED))
        if not typed:
            raise fault("/prices", _("name at least one price to change"))
        named = [(code, code, unit) for code, unit in PRICED.items() if f"price_{code}" in typed]
        form = PricesForm(typed, named=named, currency=firm_current().currency)
        prices_set(prices=judged(form, place_of).prices(), by=actor, at=actor.at)
        return Response(_list())
