"""Codes of languages and currencies against published lists."""

from collections.abc import Callable

import pytest
from babel import Locale
from babel.numbers import list_currencies
from django.conf import settings
from django.utils.translation import get_language_info

from apps.accounts.models import Firm
from apps.core.money import decimals_of

# minor units of ISO 4217, list one; from memory. IQD, three there, is left out: nobody pays in them,
# and CLDR says none
MINOR = {
    "EUR": 2, "USD": 2, "GBP": 2, "CHF": 2, "MXN": 2, "COP": 2, "CRC": 2, "AED": 2, "MAD": 2,
    "EGP": 2, "SAR": 2, "JPY": 0, "KRW": 0, "VND": 0, "CLP": 0, "PYG": 0, "ISK": 0, "UGX": 0,
    "RWF": 0, "XOF": 0, "XAF": 0, "KWD": 3, "BHD": 3, "OMR": 3, "JOD": 3, "TND": 3, "LYD": 3,
}  # fmt: skip
# the tests' own are no languages of clients
OURS = [(code, name) for code, name in settings.LANGUAGES if code != "xx"]


@pytest.mark.outside(
    source="ISO 639 codes and own names, Unicode CLDR as Babel 2.18 has it",
    kind="computed",
    tolerance=0,
)
@pytest.mark.parametrize(("code", "name"), OURS)
def test_languages(code: str, name: str, outside: Callable[[float, float], None]) -> None:
    assert code in Locale("en").languages, f"{code} is no language of ISO 639"
    own = Locale(code).get_language_name(code)
    assert own is not None
    assert name.casefold() == own.casefold()
    bidi = get_language_info(code)["bidi"]
    outside(float(bidi), float(Locale(code).text_direction == "rtl"))


def test_a_code_that_is_none_shows() -> None:
    assert "xx" not in Locale("en").languages


@pytest.mark.outside(source="ISO 4217, minor units of list one", kind="memory", tolerance=0)
@pytest.mark.parametrize(("code", "digits"), list(MINOR.items()))
def test_decimals(code: str, digits: int, outside: Callable[[float, float], None]) -> None:
    assert code in list_currencies()
    outside(decimals_of(code), digits)


def test_a_firm_begins_with_a_currency_of_the_list() -> None:
    assert Firm._meta.get_field("currency").default in list_currencies()
