"""Distances against the ellipsoid, and times that rise with them."""

import pytest
from geographiclib.geodesic import Geodesic
from hypothesis import given
from hypothesis import strategies as st

from apps.rounds.planning.problem import Place
from apps.rounds.planning.travel import Speeds, estimate, great_circle_m
from tests.effort import cases

ANYWHERE = st.tuples(st.floats(-89, 89), st.floats(-180, 180))


@pytest.mark.outside(
    source="GeographicLib, geodesics on WGS 84 (Karney 2013)", kind="computed", tolerance=0.0061
)
def test_great_circle_is_near_the_geodesic(outside) -> None:
    for a, b in [
        ((50.8503, 4.3517), (50.6326, 5.5797)),
        ((40.64, -73.78), (51.47, -0.45)),
        ((-41.29, 174.78), (1.35, 103.82)),
        ((0.0, 0.0), (0.0, 1.0)),
        ((0.0, 0.0), (1.0, 0.0)),
        ((60.0, 10.0), (60.1, 10.0)),
        ((50.0, 4.0), (50.01, 4.01)),
    ]:
        outside(great_circle_m(a, b), Geodesic.WGS84.Inverse(*a, *b)["s12"])


@cases(300)
@given(ANYWHERE, ANYWHERE)
def test_great_circle_is_near_the_geodesic_anywhere(a, b) -> None:
    exact = Geodesic.WGS84.Inverse(*a, *b)["s12"]
    # near the other end of the world a great circle and a geodesic part ways a little more
    assert great_circle_m(a, b) == pytest.approx(exact, rel=0.0061, abs=0.01)


def test_times_by_hand() -> None:
    """3 km at 25, 12 km at 40, 10 km at 70, and two minutes for parking."""
    speeds = Speeds()
    assert speeds.seconds(0) == 0
    assert speeds.seconds(3000) == 432 + 120
    assert speeds.seconds(15_000) == 432 + 1080 + 120
    assert speeds.seconds(25_000) == round(432 + 1080 + 10 / 70 * 3600) + 120


@cases(200)
@given(st.floats(1, 200_000), st.floats(1, 200_000))
def test_further_takes_longer_and_a_way_in_two_pieces_never_less(a: float, b: float) -> None:
    speeds = Speeds()
    assert speeds.seconds(a + b) >= speeds.seconds(a)
    assert speeds.seconds(a) + speeds.seconds(b) >= speeds.seconds(a + b)


def test_estimates_leave_out_what_is_not_on_the_map() -> None:
    places = [Place("a", 50.0, 4.0), Place("?", None, None), Place("b", 50.1, 4.0)]
    travel = estimate(places)
    assert travel.places == ("a", "b")
    assert travel.metres[0][1] == travel.metres[1][0] == pytest.approx(1.3 * 11_119.5, abs=1)
    assert travel.seconds[0][0] == travel.metres[1][1] == 0
    assert travel.any_estimated


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"pieces": ((3000, 25),)}, "without end"),
        ({"pieces": ()}, "without end"),
        ({"pieces": ((5000, 25), (3000, 40), (float("inf"), 70))}, "must rise"),
        ({"pieces": ((float("inf"), 0),)}, "from 1 to 150"),
        ({"detour": 0.9}, "detour 0.9"),
        ({"parking": -1}, "parking -1"),
    ],
)
def test_speeds_that_cannot_be_meant(changes: dict, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        Speeds(**changes)
