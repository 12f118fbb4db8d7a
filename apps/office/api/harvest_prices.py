"""What the firm takes a harvest to be worth: read, and changed in part."""

from typing import Any

from django.utils.translation import gettext as _
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from apps.accounts.selectors import firm_current
from apps.batches.selectors import PriceKey, harvest_prices
from apps.batches.services import harvest_prices_set
from apps.core.money import MONEY
from apps.flows.operation import Operation, body_of, only
from apps.office.api.bodies import fault, judged, number_typed
from apps.office.api.proposal_schemas import HARVEST_PRICE_CHANGE, HARVEST_PRICE_LIST
from apps.office.forms.proposals import HarvestPricesForm
from apps.office.selectors.harvest import priced_names

ROW = ("kind", "code", "per", "amount")


def _list() -> dict[str, Any]:
    held = harvest_prices()
    return {
        "currency": firm_current().currency,
        "prices": [
            {"kind": key[0], "code": key[1], "per": key[2],
             "amount": held[key] / MONEY if key in held else None}
            for _name, key in priced_names(held)
        ],
    }  # fmt: skip


def _typed(given: Any, known: dict[PriceKey, str]) -> dict[PriceKey, tuple[str, str]]:
    """Return key -> (where it stands, as its form has it), null as an empty box. Raises Invalid."""
    if not isinstance(given, list) or not given:
        raise fault("/prices", _("name at least one price to change"))
    found: dict[PriceKey, tuple[str, str]] = {}
    for number, row in enumerate(given):
        place = f"/prices/{number}"
        if not isinstance(row, dict):
            raise fault(place, _("an object is needed"))
        only(row, ROW, ROW, place)
        key = (str(row["kind"]), str(row["code"]), str(row["per"]))
        if key not in known:
            raise fault(place, _("none of the prices that the list names"))
        if key in found:
            raise fault(place, _("this price is named twice"))
        amount = row["amount"]
        typed = "" if amount is None else number_typed(f"{place}/amount", amount)
        found[key] = (f"{place}/amount", typed)
    return found


class HarvestPrices(Operation):
    """What what clients grow costs in the shops."""

    @extend_schema(
        operation_id="harvest_prices", summary="What a harvest is worth, a kilogram or a piece",
        responses={200: HARVEST_PRICE_LIST},
    )  # fmt: skip
    def get(self, request: Request) -> Response:
        """Office: all that clients grow to eat; amount null where it has no price."""
        self.office_only()
        return Response(_list())

    @extend_schema(
        operation_id="harvest_prices_change", summary="Change some of what a harvest is worth",
        request=HARVEST_PRICE_CHANGE, responses={200: HARVEST_PRICE_LIST},
    )  # fmt: skip
    def patch(self, request: Request) -> Response:
        """Office: all that is named or nothing; null takes one away, reports keep theirs."""
        actor, body = self.office_only(), body_of(request)
        only(body, ("prices",), ("prices",))
        held = harvest_prices()
        known = {key: name for name, key in priced_names(held)}
        typed = _typed(body["prices"], known)
        places = {HarvestPricesForm.box(key): where for key, (where, _text) in typed.items()}
        form = HarvestPricesForm(
            {HarvestPricesForm.box(key): text for key, (_where, text) in typed.items()},
            named=[(known[key], key) for key in typed], held=held,
            currency=firm_current().currency,
        )  # fmt: skip
        harvest_prices_set(
            prices=judged(form, lambda name: places.get(name, "/prices")).prices(), by=actor,
            at=actor.at,
        )  # fmt: skip
        return Response(_list())
