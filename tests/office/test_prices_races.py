"""Two who set the same new price at once: the one after the other, and nobody meets a fault."""

from collections.abc import Callable

import pytest

from apps.accounts.models import AuditEntry
from apps.batches.models import HarvestPrice
from apps.batches.services import harvest_prices_set
from apps.calc.design.takeoff import PRICED
from apps.core.scoping import system
from apps.proposals.models import Price
from apps.proposals.services import prices_set
from tests import factories
from tests.racing import Act, at_once

BY, NOW = system("two desks", factories.NOW), factories.NOW
CODES = sorted(PRICED)[:12]


def priced(code: str, amount: int) -> Act:
    return lambda: prices_set(prices={code: amount}, by=BY, at=NOW)


def worth(code: str, amount: int) -> Act:
    return lambda: harvest_prices_set(prices={("crops", code, "kg"): amount}, by=BY, at=NOW)


@pytest.mark.django_db
def test_one_after_the_other() -> None:
    """The same on either database, in one connection."""
    factories.firm()
    for amount in (10_000, 20_000):
        priced("tank", amount)()
        worth("basil", amount)()
    assert Price.objects.get().amount == HarvestPrice.objects.get().amount == 20_000


@pytest.mark.parametrize(("act", "model"), [(priced, Price), (worth, HarvestPrice)])
def test_a_new_price_by_four_at_once(
    committed_db: None, act: Callable[[str, int], Act], model: type[Price] | type[HarvestPrice]
) -> None:
    factories.firm()
    for code in CODES:
        assert at_once(*[act(code, 10_000 * n) for n in range(1, 5)]) == [None] * 4
    assert model.objects.count() == len(CODES)
    # each says what stood before it came
    for code in CODES:
        steps = AuditEntry.objects.filter(verb="priced", object_id=code).order_by("pk")
        changes = [row.change["amount"] for row in steps]
        assert [before for before, _after in changes] == [None, *(after for _b, after in changes[:-1])]  # fmt: skip
