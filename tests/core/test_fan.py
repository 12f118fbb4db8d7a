"""The fan: what was read, what is forecast, the limit that may be passed; the same bytes each time."""

import datetime as dt
import re
from typing import Any

import pytest

from apps.core.dates import day_text
from apps.core.drawing.chart import ChartPoint
from apps.core.drawing.fan import Course, Passing, fan_chart
from apps.core.drawing.ink import PRINT
from apps.core.drawing.scale import Band

TODAY = dt.date(2026, 6, 11)
DAYS = [TODAY + dt.timedelta(days=day) for day in (0, 21, 42)]


def drawn(**more: Any) -> str:
    values: dict[str, Any] = {
        "points": [ChartPoint(TODAY - dt.timedelta(days=ago), 0.1) for ago in (40, 20, 2)],
        "courses": [Course(DAYS, (0.2, 0.4, 0.6), (0.1, 0.2, 0.3), (0.3, 0.7, 1.0))],
        "band": Band(good_high=0.3, harmful_high=0.9), "first": TODAY - dt.timedelta(days=70),
        "today": TODAY, "final": DAYS[-1], "title": "Nitrite may pass", "date_text": day_text,
        "today_word": "today",
        "passing": Passing(0.5, DAYS[1], TODAY + dt.timedelta(days=30), None),
    }  # fmt: skip
    return str(fan_chart(**values | more))


def test_it_says_its_sentence_and_is_the_same_each_time() -> None:
    assert 'aria-label="Nitrite may pass"' in drawn()
    assert drawn() == drawn()


def test_the_limit_has_its_figure_and_its_day() -> None:
    picture = drawn()
    assert ">0.5</text>" in picture
    assert "Sat 11 July</text>" in picture
    # a range that ends beyond the picture has no tick at its end
    assert len(re.findall("v10", picture)) == 1
    assert len(re.findall("v10", drawn(passing=Passing(0.5, DAYS[1], None, DAYS[2])))) == 2


def test_what_is_past_already_names_no_day() -> None:
    picture = drawn(passing=Passing(0.5, TODAY, TODAY, DAYS[1]))
    assert "k-pen-dash" not in picture.replace('<path class="k-pen-dash" d="M', "", 1)


def test_two_courses_are_told_apart_by_their_lines() -> None:
    second = Course(DAYS, (0.2, 0.3, 0.3), second=True)
    assert drawn().count("k-likely") == 1
    both = drawn(courses=[Course(DAYS, (0.2, 0.4, 0.6)), second])
    assert both.count("k-likely") == 1
    assert both.count('class="k-line"') == 2
    assert "k-fan-nine" not in both


def test_words_do_not_leave_the_picture() -> None:
    for size, width in ((12.5, 640.0), (16.0, 284.0)):
        picture = drawn(size=size, width=width)
        for x, anchor in re.findall(
            r'<text[^>]* x="([\d.]+)"[^>]*?(text-anchor="\w+")?[^>]*>', picture
        ):
            assert 0 <= float(x) <= width, anchor


def test_on_paper_it_carries_its_own_colours() -> None:
    assert "class=" not in drawn(palette=PRINT)


@pytest.mark.parametrize(
    "wrong",
    [{"today": TODAY - dt.timedelta(days=70)}, {"final": TODAY},
     {"points": [ChartPoint(TODAY, float("inf"))]}, {"points": [ChartPoint(TODAY, 1.0, "odd")]}],
)  # fmt: skip
def test_what_cannot_be_drawn_is_refused(wrong: dict[str, Any]) -> None:
    with pytest.raises(ValueError):
        drawn(**wrong)
