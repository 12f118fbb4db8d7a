"""The ruler and the sketch of a round: true places, labels that keep apart, words for who hears."""

import re
from itertools import combinations

import pytest
from geographiclib.geodesic import Geodesic

from apps.core.drawing.map_parts import Spot
from apps.core.drawing.measure import text_width
from apps.core.drawing.round_ruler import HOUR_PX, Block, Rest, round_ruler
from apps.core.drawing.sketch_map import Leg, sketch_map

DAY = [
    Block("Osei, terrace", "done", 8.5, 9.5, 1),
    Block("Brandt, garden", "under way", 9.75, 10.75, 0.5, ((9, 12),)),
    Block("A clinic by the lake", "confirmed", 10.9, 11.5),
]


def texts(svg: str) -> list[tuple[float, float, str, float]]:
    """Return the texts of a drawing: x, y, words, size."""
    found = re.findall(
        r'<text [^>]*?x="([\d.-]+)" y="([\d.-]+)" font-size="([\d.]+)"[^>]*>([^<]*)<', svg
    )
    return [(float(x), float(y), words, float(size)) for x, y, size, words in found]


def ruler(**more: object) -> str:
    return str(round_ruler(blocks=DAY, leave=8, back=12, title="Ana's day", **more))  # type: ignore[arg-type]


def test_a_block_is_as_long_as_its_visit() -> None:
    wide = [
        float(width)
        for width in re.findall(r'k-last" x="[\d.]+" y="\d+" width="([\d.]+)"', ruler())
    ]
    assert wide == [HOUR_PX * 1, HOUR_PX * 1, pytest.approx(HOUR_PX * 0.6, abs=0.1)]
    filled = [
        float(width)
        for width in re.findall(r'k-solid" x="[\d.]+" y="\d+" width="([\d.]+)"', ruler())
    ]
    assert filled == [HOUR_PX, HOUR_PX / 2]


def test_names_on_a_ruler_keep_apart() -> None:
    named = [row for row in texts(ruler()) if row[3] == 15]
    assert len(named) == 3
    for (x, y, words, size), (x2, y2, _words, _size) in combinations(sorted(named), 2):
        assert y != y2 or x + text_width(words, size, weight=600, serif=True) <= x2


def test_a_ruler_says_its_sentence_and_marks_lunch_and_now() -> None:
    drawn = ruler(rest=Rest(11.6, 12), now=10.2, now_word="now 10:12")
    assert 'aria-label="Ana&#x27;s day"' in drawn
    assert "now 10:12" in drawn
    assert "k-hollow-still" in drawn
    with pytest.raises(ValueError, match="ends before it begins"):
        round_ruler(blocks=[Block("x", "", 9, 8)], leave=8, back=10, title="x")


SPOTS = [
    Spot("Base", 50.50, 4.50), Spot("Osei", 50.53, 4.52, "1", done=True),
    Spot("Brandt", 50.52, 4.58, "2"), Spot("Adeyemi", 50.48, 4.55, "3"),
]  # fmt: skip
LEGS = [
    Leg(0, 1, "9 min", driven=True),
    Leg(1, 2, "11 min"),
    Leg(2, 3, "12 min"),
    Leg(3, 0, "8 min"),
]


def sketched(spots: list[Spot] = SPOTS, legs: list[Leg] = LEGS) -> str:
    return str(sketch_map(spots=spots, legs=legs, title="The round", north="north"))


@pytest.mark.outside(
    source="geographiclib: geodesics of the WGS 84 ellipsoid", kind="computed", tolerance=0.01
)
def test_places_stand_at_their_true_distance(outside: object) -> None:
    drawn = sketched()
    ways = re.findall(r'k-(?:line|dash)" d="M([\d.-]+) ([\d.-]+)L([\d.-]+) ([\d.-]+)"', drawn)
    pixels = [
        ((float(c) - float(a)) ** 2 + (float(d) - float(b)) ** 2) ** 0.5 for a, b, c, d in ways
    ]
    true = [
        Geodesic.WGS84.Inverse(
            SPOTS[leg.source].latitude, SPOTS[leg.source].longitude,
            SPOTS[leg.target].latitude, SPOTS[leg.target].longitude,
        )["s12"]
        for leg in LEGS
    ]  # fmt: skip
    scale = pixels[0] / true[0]
    for drawn_px, km in zip(pixels, true, strict=True):
        outside(drawn_px / scale, km)  # type: ignore[operator]


def test_labels_of_a_sketch_keep_apart_or_are_left_to_the_number() -> None:
    close = [
        Spot("Base", 50.5, 4.5),
        *(Spot(f"A garden with a name {n}", 50.5 + n / 20000, 4.5, str(n)) for n in range(1, 6)),
    ]
    named = [row for row in texts(sketched(close, [])) if row[3] == 13]
    assert 1 <= len(named) < 6
    assert len([row for row in texts(sketched()) if row[3] == 13]) == 4


def test_a_way_there_and_back_is_labelled_once() -> None:
    drawn = sketched(SPOTS[:2], [Leg(0, 1, "9 min"), Leg(1, 0, "9 min")])
    assert drawn.count("9 min") == 1
    with pytest.raises(ValueError, match="needs a place"):
        sketch_map(spots=[], legs=[], title="x", north="north")


def test_the_same_round_gives_the_same_bytes() -> None:
    assert sketched() == sketched()
    assert ruler() == ruler()
