"""Pasted positions: what is understood, what is refused and how, and codes against their own tables."""

import contextlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apps.rounds.planning.coordinates import Position, code_of, position_of
from tests.effort import cases

HERE = Position(47.4, 8.6)
TABLES = "Open Location Code, its published test tables (decoding, encoding, short codes)"


@pytest.mark.parametrize(
    ("typed", "lat", "lon"),
    [
        ("50.8503, 4.3517", 50.8503, 4.3517),
        ("50.8503,4.3517", 50.8503, 4.3517),
        ("50.8503 4.3517", 50.8503, 4.3517),
        ("  50.8503 ;\t4.3517 \n", 50.8503, 4.3517),
        ("-33.860, 151.210", -33.86, 151.21),
        ("\u221233.860,\u00a0+151.210", -33.86, 151.21),
        ("50,8503; 4,3517", 50.8503, 4.3517),
        ("50,8503 4,3517", 50.8503, 4.3517),
        ("50,8503, 4,3517", 50.8503, 4.3517),
        ("90.000, -180.000", 90, -180),
    ],
)
def test_decimal_degrees(typed: str, lat: float, lon: float) -> None:
    assert position_of(typed) == (lat, lon)


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("", "nothing was given"),
        (" \n", "nothing was given"),
        ("x" * 101, "101 characters are too many"),
        ("50 51 0 N 4 21 0 E", "without letters or degree signs"),
        ("50\u00b051'0\"N 4\u00b021'0\"E", "without letters or degree signs"),
        ("50.8503\u00b0, 4.3517\u00b0", "without letters or degree signs"),
        ("N 50.8503 E 4.3517", "without letters"),
        ("nan, inf", "without letters"),
        ("5e1, 4.3517", "without letters"),
        ("\u0665\u0660.8503, 4.3517", "without letters"),
        ("50,8503,4,3517", "write latitude and longitude as in"),
        ("50.8503", "write latitude and longitude as in"),
        ("50,850", "write latitude and longitude as in"),
        ("50, 4", "write latitude and longitude as in"),
        ("50.8503, 4.3517, 12.000", "write latitude and longitude as in"),
        ("50.8503, 4,3517", "write latitude and longitude as in"),
        ("--50.8503, 4.3517", "write latitude and longitude as in"),
        ("151.210, -33.860", "latitude 151.210 must lie from -90 to 90; latitude comes first"),
        ("50.8503, 180.001", "longitude 180.001 must lie from -180 to 180"),
        ("50.85, 4.3517", "latitude 50.85 is too coarse; give at least 3 decimals"),
        ("0.000, 0.000", "the value is missing"),
        ("9G8F+6W", "is short; give the full code"),
        ("8FVC0000+", "names too wide an area"),
        ("8FVC2222+", "names too wide an area"),
        ("8FVC2222+2", "is not valid"),
        ("9G8F+6W Winterthur", "or a plus code alone"),
    ],
)
def test_what_is_refused(typed: str, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        position_of(typed)


@pytest.mark.outside(source=TABLES, kind="read", tolerance=1e-7, absolute=True)
@pytest.mark.parametrize(
    ("code", "low", "high"),
    [
        ("7FG49QCJ+2V", (20.37, 2.782125), (20.370125, 2.78225)),
        ("7FG49QCJ+2VX", (20.3701, 2.78221875), (20.370125, 2.78225)),
        ("8FVC2222+22", (47.0, 8.0), (47.000125, 8.000125)),
        ("4VCPPQGP+Q9", (-41.273125, 174.785875), (-41.273, 174.786)),
        ("22222222+22", (-90.0, -180.0), (-89.999875, -179.999875)),
        ("6FH32222+222", (1, 1), (1.000025, 1.00003125)),
        ("CFX3X2X2+X2", (89.999875, 1), (90, 1.000125)),
    ],
)
def test_full_codes(outside, code: str, low, high) -> None:
    found = position_of(code)
    outside(found.lat, (low[0] + high[0]) / 2)
    outside(found.lon, (low[1] + high[1]) / 2)
    assert position_of(code.lower()) == found


@pytest.mark.outside(source=TABLES, kind="read", tolerance=1e-7, absolute=True)
@pytest.mark.parametrize(
    ("full", "near", "short"),
    [
        ("9C3W9QCJ+2VX", (51.3701125, -1.217765625), "+2VX"),
        ("9C3W9QCJ+2VX", (51.3708675, -1.217765625), "CJ+2VX"),
        ("9C3W9QCJ+2VX", (51.3852125, -1.217765625), "9QCJ+2VX"),
        ("8FJFW222+22", (42.899, 9.012), "22+22"),
        ("8FRCXGRF+PM", (47.00, 8.55), "XGRF+PM"),
    ],
)
def test_short_codes_count_from_a_place(outside, full: str, near, short: str) -> None:
    found, whole = position_of(short, Position(*near)), position_of(full)
    outside(found.lat, whole.lat)
    outside(found.lon, whole.lon)


@pytest.mark.outside(source=TABLES, kind="read", tolerance=0, absolute=True)
@pytest.mark.parametrize(
    ("lat", "lon", "code"),
    [(20.3700625, 2.7821875, "7FG49QCJ+2V"), (47.0000625, 8.0000625, "8FVC2222+22")],
)
def test_codes_of_positions(outside, lat: float, lon: float, code: str) -> None:
    outside(float(code_of(Position(lat, lon)) == code), 1.0)


@cases(300)
@given(st.floats(-89.9, 89.9), st.floats(-180, 179.9))
def test_there_and_back(lat: float, lon: float) -> None:
    found = position_of(code_of(Position(lat, lon)))
    assert found.lat == pytest.approx(lat, abs=0.0001)
    assert found.lon == pytest.approx(lon, abs=0.0001)
    if abs(lat) > 0.01 or abs(lon) > 0.01:
        assert position_of(f"{lat:.6f}, {lon:.6f}") == (
            pytest.approx(lat, abs=1e-6),
            pytest.approx(lon, abs=1e-6),
        )


@cases(500)
@given(st.text(st.sampled_from("0123456789.,;+- NSEW\u00b0'\"23CFGX\u0665"), max_size=30))
def test_whatever_is_pasted_is_a_place_on_earth_or_refused(typed: str) -> None:
    with contextlib.suppress(ValueError):
        found = position_of(typed, HERE)
        assert -90 <= found.lat <= 90
        assert -180 <= found.lon <= 180
