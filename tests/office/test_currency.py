"""The firm's currency: chosen among ISO 4217's of today, and said plainly that nothing is converted."""

import datetime as dt
import re

import pytest
from babel.numbers import list_currencies

from apps.accounts.models import AuditEntry, Firm
from apps.accounts.services import currency_set
from apps.batches.services import harvest_prices_set
from apps.core.exceptions import Invalid
from apps.core.money import currencies, decimals_of, money_words
from apps.core.numbers import NO_BREAK
from apps.proposals.models import Price, Proposal
from apps.proposals.services import prices_set
from tests import factories
from tests.office.conftest import Desk

pytestmark = pytest.mark.django_db


def held() -> str:
    return Firm.objects.get().currency


def test_what_is_paid_in_today_can_be_chosen() -> None:
    found = currencies(factories.TODAY)
    assert found <= list_currencies()
    assert 140 < len(found) < 180
    assert all(re.fullmatch("[A-Z]{3}", code) and decimals_of(code) <= 4 for code in found)
    assert {"EUR", "USD", "JPY", "KWD", "XOF"} <= found
    # gone since the euro, a metal, the codes for tests and for none (ISO 4217)
    assert not {"DEM", "HRK", "XAU", "XTS", "XXX"} & found
    assert "DEM" in currencies(dt.date(1999, 1, 1))


def test_chosen_where_nothing_is_priced(desk: Desk) -> None:
    page = desk.get("currency").content.decode()
    assert '<option value="EUR" selected>EUR · Euro</option>' in page
    assert "No amount is converted" in " ".join(page.split())
    assert 'name="same"' not in page
    assert desk.post("currency", currency="JPY").status_code == 302
    assert held() == "JPY"
    assert AuditEntry.objects.get(verb="set the currency").change == {"currency": ["EUR", "JPY"]}
    assert "JPY" in desk.get("prices").content.decode()


def test_where_prices_stand_it_takes_a_tick(desk: Desk) -> None:
    prices_set(prices={"tank": 1_000_000}, by=factories.actor(desk.office), at=factories.NOW)
    answer = desk.post("currency", currency="USD")
    assert answer.status_code == 422
    assert "Amounts are not converted: tick this" in answer.content.decode()
    assert held() == "EUR"
    assert desk.post("currency", currency="USD", same="on").status_code == 302
    assert held() == "USD"
    assert Price.objects.get(code="tank").amount == 1_000_000


def test_what_a_harvest_is_worth_takes_one_too(desk: Desk) -> None:
    by = factories.actor(desk.office)
    harvest_prices_set(prices={("crops", "basil", "kg"): 90_000}, by=by, at=factories.NOW)
    assert desk.post("currency", currency="USD").status_code == 422
    assert held() == "EUR"


def test_a_proposal_takes_one_too(desk: Desk) -> None:
    """Its lines are priced by hand, where the list of prices is empty."""
    Proposal.objects.create(
        place=desk.built.system.place, number=1, name="Pond", wish={}, site={}, rules={},
        valid_until=factories.TODAY, made_at=factories.NOW,
    )  # fmt: skip
    assert desk.post("currency", currency="USD").status_code == 422
    assert held() == "EUR"


def test_the_same_again_asks_and_notes_nothing(desk: Desk) -> None:
    prices_set(prices={"tank": 1_000_000}, by=factories.actor(desk.office), at=factories.NOW)
    assert desk.post("currency", currency="EUR").status_code == 302
    assert not AuditEntry.objects.filter(verb="set the currency").exists()


@pytest.mark.parametrize("code", ["DEM", "eur", "EURO", "XAU", ""])
def test_another_code_is_refused(desk: Desk, code: str) -> None:
    answer = desk.post("currency", currency=code)
    assert answer.status_code == 422
    with pytest.raises(Invalid, match="no currency that is paid in today"):
        currency_set(currency=code, by=factories.actor(desk.office), at=factories.NOW)
    assert held() == "EUR"


def test_one_that_has_gone_stays_until_another_is_chosen(desk: Desk) -> None:
    Firm.objects.update(currency="HRK")
    assert '<option value="HRK" selected>' in desk.get("currency").content.decode()
    assert desk.post("currency", currency="EUR").status_code == 302


@pytest.mark.parametrize(
    ("currency", "language", "words"),
    [
        ("EUR", "en", "1,234.50 EUR"), ("EUR", "es", "1.234,50 EUR"), ("JPY", "en", "1,235 JPY"),
        ("KWD", "en", "1,234.500 KWD"), ("EUR", "de", "1.234,50 EUR"),
    ],
)  # fmt: skip
def test_papers_write_amounts_as_their_reader_does(
    currency: str, language: str, words: str
) -> None:
    """Marks and grouping: CLDR through Babel."""
    assert money_words(12_345_000, currency, language) == words.replace(" ", NO_BREAK)
