"""What is written beside a loop: its litres, and how often an hour they go round."""

import pytest

from apps.core.drawing.sketch_model import SketchLoop, loop_caption


@pytest.mark.parametrize(
    ("turnover", "words"),
    [
        (1.0, "turns over once an hour"),
        (1.04, "turns over once an hour"),
        (0.96, "turns over once an hour"),
        (0.9, "turns over 0.9 times an hour"),
        (1.06, "turns over 1.1 times an hour"),
        (2.0, "turns over 2 times an hour"),
    ],
)
def test_a_rate_is_said_as_it_is_rounded(turnover: float, words: str) -> None:
    loop = SketchLoop(id="a", name="Loop", litres=1450, turnover=turnover)
    assert loop_caption(loop) == f"1,450 L · {words}"
