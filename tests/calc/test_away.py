"""Fish without their keeper: the days without feed at their edge, and the card."""

import pytest

from apps.calc.away import CARD, CARER_SHARE, days_without_feed
from apps.calc.sources import SOURCES


@pytest.mark.parametrize(
    ("weight_g", "days"), [(0.5, 1), (49.9, 1), (50.0, 1), (50.1, 7), (600.0, 7)]
)
def test_only_grown_fish_go_without_feed_for_a_week(weight_g: float, days: int) -> None:
    assert days_without_feed(weight_g) == days


@pytest.mark.parametrize("weight_g", [0.0, -1.0, 31_000.0])
def test_a_weight_that_no_fish_has_is_refused(weight_g: float) -> None:
    with pytest.raises(ValueError, match="weight_g"):
        days_without_feed(weight_g)


def test_the_card_doses_nothing_and_names_its_source() -> None:
    texts = [*CARD.look, *CARD.leave, CARD.backup, *CARD.handing_over, *CARD.after]
    assert not [text for text in texts if any(unit in text for unit in (" g ", " mL", "mg/L"))]
    assert all(SOURCES[key] for key in CARD.sources)
    assert CARER_SHARE == 0.5
