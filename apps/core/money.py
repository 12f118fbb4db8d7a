"""Amounts of money as text: ten-thousandths of a currency, with the currency's own decimals."""

import datetime as dt
from decimal import Decimal

from babel.core import get_global
from babel.numbers import get_currency_name, get_currency_precision, get_territory_currencies

from apps.core.numbers import NO_BREAK, babel_locale, format_figure, run

MONEY = 10_000


def decimals_of(currency: str) -> int:
    """Return how many decimals a currency is paid in, four at most: CLDR, which has ISO 4217's
    but where nobody pays in them (IQD).

    >>> decimals_of("EUR"), decimals_of("JPY"), decimals_of("TND")
    (2, 0, 3)
    """
    return min(4, int(get_currency_precision(currency)))


def money_words(amount: int, currency: str, locale: str | None = None) -> str:
    """Return an amount with its currency's code: grouped and pointed as the locale does.

    >>> money_words(12_345_600, "EUR", "en").replace(NO_BREAK, " ")
    '1,234.56 EUR'
    """
    figure = format_figure(Decimal(amount) / MONEY, decimals_of(currency), locale)
    return run(f"{figure}{NO_BREAK}{currency}")


def currencies(on: dt.date) -> frozenset[str]:
    """Return the codes (ISO 4217) of what is legal tender somewhere on a day, by CLDR.

    >>> found = currencies(dt.date(2026, 6, 11))
    >>> "EUR" in found, "DEM" in found, "XAU" in found
    (True, False, False)
    """
    return frozenset(
        code
        for land in get_global("territory_currencies")
        for code in get_territory_currencies(land, start_date=on, end_date=on, tender=True)
    )


def currency_name(currency: str, locale: str | None = None) -> str:
    """Return what a currency is called in a reader's language.

    >>> currency_name("EUR", "es")
    'euro'
    """
    return str(get_currency_name(currency, locale=babel_locale(locale)))
