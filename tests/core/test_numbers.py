"""One way of writing numbers: half-up on decimal text, in the reader's locale."""

from decimal import Decimal

import pytest

from apps.core.numbers import format_figure, format_plain, round_half_up, with_unit


class TestFormatFigure:
    @pytest.mark.parametrize(
        ("value", "decimals", "expected"),
        [
            (2.675, 2, "2.68"),
            (0.125, 2, "0.13"),
            (-2.5, 0, "−3"),
            (1449.95, 1, "1,450.0"),
            (0.04, 1, "0.0"),
            (-0.04, 1, "0.0"),
            ("6.430", 2, "6.43"),
            (Decimal("0.005"), 2, "0.01"),
        ],
    )
    def test_rounds_half_up_on_the_decimal_text(self, value, decimals, expected):
        assert format_figure(value, decimals, "en") == expected

    @pytest.mark.parametrize(
        ("locale", "expected"), [("en", "1,234.50"), ("de", "1.234,50"), ("zz", "1,234.50")]
    )
    def test_points_and_groups_as_the_locale_does(self, locale, expected):
        assert format_figure(1234.5, 2, locale) == expected

    @pytest.mark.parametrize("value", [float("nan"), float("inf"), Decimal("NaN")])
    def test_refuses_what_is_not_finite(self, value):
        with pytest.raises(ValueError, match="finite"):
            format_figure(value, 1, "en")

    def test_refuses_decimals_out_of_range(self):
        with pytest.raises(ValueError, match="decimals"):
            round_half_up(1.0, 10)


def test_a_plain_number_keeps_its_own_decimals():
    assert [format_plain(v, "en") for v in (0.5, 20.0, 1000, 0.1 + 0.2)] == [
        "0.5",
        "20",
        "1,000",
        "0.3",
    ]


def test_a_unit_never_leaves_its_figure():
    assert with_unit("6.4", "mg/L") == "6.4\u00a0mg/L"
    assert with_unit("6.4", "") == "6.4"
