"""Money in whole numbers: what lines come to, rounded once each to what the currency can pay.

Amounts of money are ten-thousandths of a currency; quantities thousandths of their unit; hours
hundredths; shares hundredths of a per cent.
"""

from collections.abc import Iterable

MONEY, QUANTITY, HOURS, WHOLE = 10_000, 1_000, 100, 10_000


def payable(numerator: int, denominator: int, decimals: int) -> int:
    """Return a fraction of ten-thousandths rounded half up to ``decimals`` of the currency.

    ValueError below zero, or for decimals outside 0 to 4. References: geometry.

    >>> payable(12_345_50, 100, 2), payable(12_350_00, 100, 2)
    (12300, 12400)
    """
    if numerator < 0 or denominator <= 0:
        message = f"amount must not be negative ({numerator}/{denominator})"
        raise ValueError(message)
    if not 0 <= decimals <= 4:
        message = f"decimals must be from 0 to 4, not {decimals}"
        raise ValueError(message)
    step = int(10 ** (4 - decimals))
    return (2 * numerator + denominator * step) // (2 * denominator * step) * step


def line_total(quantity: int, price: int, margin: int, decimals: int) -> int:
    """Return what a quantity [1/1000] comes to at a price [1/10,000 a unit] with a margin [%/100].

    >>> line_total(800_000, 4_500, 2_500, 2)  # 800 L at 0.45 and 25 %
    4500000
    """
    return payable(quantity * price * (WHOLE + margin), QUANTITY * WHOLE, decimals)


def labour_total(hours: int, rate: int, decimals: int) -> int:
    """Return what hours [1/100] come to at a rate [1/10,000 an hour].

    >>> labour_total(1_250, 480_000, 2)  # 12.5 h at 48
    6000000
    """
    return payable(hours * rate, HOURS, decimals)


def tax_on(amounts: Iterable[int], share: int, decimals: int) -> int:
    """Return the tax on all amounts together at a share [%/100].

    >>> tax_on([4_500_000, 6_000_000], 2_100, 2)
    2205000
    """
    return payable(sum(amounts) * share, WHOLE, decimals)
