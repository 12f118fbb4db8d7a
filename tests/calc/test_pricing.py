"""Money in whole numbers: what lines come to, against exact decimals rounded half up."""

from decimal import ROUND_HALF_UP, Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apps.calc.pricing import labour_total, line_total, payable, tax_on
from tests.effort import cases


@cases(200)
@given(
    quantity=st.integers(0, 10**7), price=st.integers(0, 10**9), margin=st.integers(0, 50_000),
    decimals=st.integers(0, 4),
)  # fmt: skip
def test_a_line_is_the_exact_product_rounded_once(quantity, price, margin, decimals):
    """Beside Python's decimal module, which follows the General Decimal Arithmetic Specification."""
    exact = Decimal(quantity) / 1000 * Decimal(price) / 10_000 * (1 + Decimal(margin) / 10_000)
    paid = exact.quantize(Decimal(1).scaleb(-decimals), rounding=ROUND_HALF_UP)
    assert Decimal(line_total(quantity, price, margin, decimals)) / 10_000 == paid


def test_halves_go_up_and_no_further():
    # 0.005 of a currency with two decimals
    assert payable(50, 1, 2) == 100
    assert payable(49, 1, 2) == 0
    # 1 h at 12.345, and 2.5 without decimals
    assert labour_total(100, 123_450, 2) == 123_500
    assert labour_total(100, 25_000, 0) == 30_000


def test_tax_is_on_the_sum_not_on_each_line():
    # 19 % of 3 x 0.03 is 0.0171: 0.02 on the sum, 0.03 line by line
    assert tax_on([300, 300, 300], 1_900, 2) == 200


@pytest.mark.parametrize(
    ("call", "says"),
    [(lambda: payable(-1, 1, 2), "must not be negative"),
     (lambda: payable(1, 0, 2), "must not be negative"),
     (lambda: payable(1, 1, 5), "decimals must be from 0 to 4, not 5")],
)  # fmt: skip
def test_what_is_no_amount_is_named(call, says):
    with pytest.raises(ValueError, match=says):
        call()
