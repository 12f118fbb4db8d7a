"""Amounts of money as text: ten-thousandths of a currency, with the currency's own decimals."""

from decimal import Decimal

from babel.numbers import get_currency_precision

from apps.core.numbers import NO_BREAK, format_figure

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
    return f"{figure}{NO_BREAK}{currency}"
