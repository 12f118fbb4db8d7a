"""The reader's units: factors, how exact, no contradiction with a band, nothing weighed too much."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apps.calc.plausibility import to_base
from apps.calc.us_sentences import IN_US
from apps.core.measures import (
    METRIC,
    US,
    bound,
    digits_beside,
    measured,
    measured_plain,
    reading_in,
    sentence,
    shift_of,
    weighed,
)
from apps.core.numbers import round_half_up, to_decimal

PER = [
    ("L", 3.785412), ("mL", 29.57353), ("g", 28.34952), ("kg", 0.4535924), ("m", 0.3048),
    ("cm", 2.54), ("mm", 25.4), ("m²", 0.09290304), ("kg/m²", 4.882428),
    ("kg/m³", 119.8264 / 100),
]  # fmt: skip


@pytest.mark.outside(source="NIST SP 811 (2008), B.8", kind="memory", tolerance=1e-6)
@pytest.mark.parametrize(("unit", "factor"), PER)
def test_factors(unit, factor, outside):
    with reading_in(US):
        shift = shift_of(unit)
    assert shift is not None
    outside(shift.stored(1.0), factor)
    assert shift.shown(shift.stored(7.0)) == pytest.approx(7.0)


@pytest.mark.outside(source="NIST SP 811 (2008), B.8", kind="memory", tolerance=1e-12)
@pytest.mark.parametrize(("celsius", "fahrenheit"), [(-40, -40), (0, 32), (25, 77), (100, 212)])
def test_temperatures(celsius, fahrenheit, outside):
    with reading_in(US):
        shift = shift_of("°C")
    assert shift is not None
    outside(shift.shown(celsius), fahrenheit)
    outside(shift.stored(fahrenheit), celsius)


@pytest.mark.outside(source="NIST SP 811 (2008), B.8", kind="memory", tolerance=1e-6)
def test_what_is_typed(outside):
    outside(to_base("feed", 2.0, "oz/day"), 2 * 28.34952)
    outside(to_base("topup", 10.0, "US gal/day"), 10 * 3.785412)


def test_a_metric_reader_sees_what_is_stored():
    assert measured(1450, "L", 0) == "1,450\u00a0L"
    assert shift_of("°C") is None


@pytest.mark.parametrize("unit", ["mg/L", "mS/cm", "", "mg/L CaCO3", "W", "min", "%"])
def test_chemistry_stays(unit):
    with reading_in(US):
        assert shift_of(unit) is None


def test_units_end_with_their_reader():
    with reading_in(US):
        with reading_in(METRIC):
            assert shift_of("L") is None
        assert shift_of("L") is not None
    assert shift_of("L") is None


@pytest.mark.parametrize(
    ("value", "unit", "decimals", "words"),
    [
        (453.0, "g", 0, "16.0\u00a0oz"), (454.0, "g", 0, "1.001\u00a0lb"),
        (0.2, "kg", 1, "7\u00a0oz"), (40.0, "kg", 1, "88.2\u00a0lb"), (1.0, "g", 0, "0.04\u00a0oz"),
        (30.0, "kg/m³", 1, "25.0\u00a0lb per 100 US gal"), (0.0, "L", 0, "0.0\u00a0US gal"),
    ],
)  # fmt: skip
def test_how_exact(value, unit, decimals, words):
    with reading_in(US):
        assert measured(value, unit, decimals) == words


def test_plain_sizes():
    with reading_in(US):
        assert measured_plain(1000, "L") == "264\u00a0US gal"
        assert measured_plain(0.0, "L") == "0\u00a0US gal"


def test_less_than_a_kilogram_is_said_in_grams() -> None:
    assert measured_plain(0.005, "kg") == "5\u00a0g"
    assert measured_plain(0.29, "kg") == "290\u00a0g"
    assert measured_plain(1.3, "kg") == "1.3\u00a0kg"
    assert measured_plain(0.0, "kg") == "0\u00a0kg"
    with reading_in(US):
        assert measured_plain(0.005, "kg") == "0.176\u00a0oz (5\u00a0g)"
        assert measured_plain(0.35, "kg") == "12.3\u00a0oz"


def test_what_no_kitchen_scale_shows_in_ounces_is_weighed_in_grams() -> None:
    with reading_in(US):
        assert weighed(14, "g", 0) == "14\u00a0g"
        assert weighed(15, "g", 0) == "0.5\u00a0oz (15\u00a0g)"
        assert weighed(26, "g", 0) == "0.9\u00a0oz (26\u00a0g)"


@given(st.floats(min_value=14.2, max_value=5000))
def test_what_is_weighed_is_never_more_than_the_grams(grams):
    grams = float(round_half_up(grams, 2))
    with reading_in(US):
        text = weighed(grams, "g", 2)
        figure, _rest = text.split("\u00a0", 1)
        per = shift_of("g", grams)
    assert per is not None
    assert f"({weighed(grams, 'g', 2)})" in text
    assert to_decimal(figure.replace(",", "")) * to_decimal(per.per) <= to_decimal(grams)
    # and by less than a tenth, a step being a twentieth of an ounce
    assert float(figure.replace(",", "")) * per.per > grams * 0.9
    assert to_decimal(figure.replace(",", "")) % to_decimal("0.05") == 0


LIMITS = st.one_of(st.none(), st.floats(min_value=0, max_value=60).map(lambda v: round(v, 1)))


@given(
    st.floats(min_value=-2, max_value=45), LIMITS, LIMITS, st.sampled_from(["°C", "g/day", "L/day"])
)
def test_in_its_band_it_is_printed_in_it_and_outside_never(value, one, other, unit):
    value = round(value, 3)
    low, high = (one, other) if None in (one, other) else sorted((one, other))
    for units in (METRIC, US):
        with reading_in(units):
            shift = shift_of(unit)
        digits = digits_beside(value, 1, low, high, shift)
        printed = round_half_up(shift.shown(value) if shift else value, digits)
        least, most = bound(low, shift, digits, up=False), bound(high, shift, digits, up=True)
        inside = (low is None or value >= low) and (high is None or value <= high)
        told = (least is None or printed >= to_decimal(least)) and (
            most is None or printed <= to_decimal(most)
        )
        assert told == inside


def test_one_more_digit_where_rounding_contradicts():
    with reading_in(US):
        shift = shift_of("°C")
    assert digits_beside(28.02, 1, 20, 28, shift) == 2  # 82.44 over 82.4
    assert digits_beside(28.0, 1, 20, 28, shift) == 1
    assert digits_beside(28.02, 1, 20, 28, None) == 2


@pytest.mark.parametrize("first", list(IN_US))
def test_fixed_sentences(first):
    assert sentence(first) == first
    with reading_in(US):
        assert sentence(first) == IN_US[first] != first
