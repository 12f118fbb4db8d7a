"""Readings over time: what is said of a series, what is asked, and the sheet for a spreadsheet."""

import csv
import io

import pytest

from tests import factories
from tests.ahead.conftest import read
from tests.office.conftest import Desk

pytestmark = pytest.mark.django_db


def series(desk: Desk, measurand: str, values: list[float], **more: object) -> None:
    """Weekly readings, the last one of today."""
    for n, value in enumerate(values):
        read(desk.built, measurand, value, 7 * (len(values) - 1 - n), unit="", **more)


def page(desk: Desk, **query: str) -> str:
    answer = desk.get("readings", desk.built.system.pk, **query)
    assert answer.status_code == 200
    return str(answer.content.decode())


def test_a_fall_is_said_with_the_day_of_the_next_limit(desk: Desk) -> None:
    # -1.0375 a day, by the median of all slopes
    series(desk, "alk", [120, 113, 105, 97, 92, 84, 76])
    said = page(desk)
    assert "It falls by 7.3\u00a0mg/L CaCO3 a week: more than chance." in said
    assert "At that pace it reaches" in said
    assert "80 %:" in said


def test_what_is_usual_where_no_trend_shows(desk: Desk) -> None:
    steady = [7.0, 7.06, 6.97, 7.03, 7.0, 6.94, 7.04, 7.01, 6.98]
    series(desk, "ph", steady)
    said = page(desk)
    assert "It goes up and down by chance; no trend shows." in said
    # of the eight before the last: mean 7.006, mean range 0.0614, so 7.006 +- 3 x 0.0614 / 1.128
    assert "Usual here: 6.84 to 7.17." in said


def test_a_last_reading_outside_what_is_usual_is_asked_about(desk: Desk) -> None:
    series(desk, "ph", [7.0, 7.06, 6.97, 7.03, 7.0, 6.94, 7.04, 7.01, 6.98, 7.6])
    said = page(desk)
    assert "The last reading, 7.60, lies above what is usual here (6.85 to 7.16)." in said
    assert "no trend shows" not in said


def test_one_that_stands_apart_is_named_with_its_day(desk: Desk) -> None:
    series(desk, "alk", [100, 96, 91, 300, 82, 78, 74])
    said = page(desk)
    assert "The reading of Thu 21 May, 300\u00a0mg/L CaCO3, stands apart" in said
    assert "stands apart</span>" in said


def test_a_probe_that_shows_the_same_may_be_stuck(desk: Desk) -> None:
    series(desk, "ph", [6.9, 7.02, 6.97, 7.0, 7.0, 7.0, 7.0, 7.0])
    assert "The last 5 readings are all 7.00: the probe may be stuck." in page(desk)


def test_what_is_doubted_or_read_after_the_work_tells_nothing(desk: Desk) -> None:
    series(desk, "ph", [6.9, 7.02, 6.97])
    series(desk, "ph", [9.0, 9.0], trusted=False)
    series(desk, "ph", [8.0, 8.0], when="after")
    said = page(desk)
    assert "Too few readings in this time" in said
    assert said.count("doubted</span>") == 2
    assert said.count("after the work</span>") == 2


def test_how_far_back_it_looks(desk: Desk) -> None:
    read(desk.built, "ph", 7.0, 200)
    assert "Nothing was measured in this time" in page(desk)
    assert "pH, 1 reading" in page(desk, months="12")
    assert desk.get("readings", desk.built.system.pk, months="7").status_code == 400


def test_all_of_them_for_a_spreadsheet(desk: Desk) -> None:
    series(desk, "ph", [6.9, 7.02], by=f"office:{desk.office.pk}")
    answer = desk.get("readings_csv", desk.built.system.pk)
    rows = list(csv.DictReader(io.StringIO(b"".join(answer).decode("utf-8-sig"))))
    assert [row["value"] for row in rows] == ["7.02", "6.9"]
    assert rows[0]["taken at"].startswith(factories.TODAY.isoformat())
    assert rows[0]["trusted"] == "yes"


def test_as_many_questions_for_many_readings(
    desk: Desk, django_assert_max_num_queries: object
) -> None:
    series(desk, "ph", [7.0] * 3)
    with django_assert_max_num_queries(24):  # type: ignore[operator]
        page(desk)
    series(desk, "alk", [90.0] * 20, by=f"office:{desk.office.pk}")
    with django_assert_max_num_queries(24):  # type: ignore[operator]
        page(desk)


def test_a_score_is_drawn_in_points_and_has_no_pace(desk: Desk) -> None:
    series(desk, "feed_response", [3, 3, 3, 2, 2, 2, 1, 1])
    said = page(desk)
    assert "A score, judged by eye. The last: 2, 2, 2, 1, 1." in said
    assert "It goes down: more than chance." in said
    assert "a week: more than chance" not in said
    (loop,) = desk.get("readings", desk.built.system.pk).context["loops"]
    (shown,) = loop.series
    assert 'class="k-line"' not in shown.wide
    series(desk, "alk", [100, 96, 91])
    (loop,) = desk.get("readings", desk.built.system.pk).context["loops"]
    assert 'class="k-line"' in next(one for one in loop.series if one.code == "alk").wide


def test_years_are_named_where_there_are_two(desk: Desk) -> None:
    for ago, value in ((365, 300), (330, 82), (300, 84), (200, 83), (100, 84), (50, 82), (7, 83)):
        read(desk.built, "alk", value, ago, unit="")
    said = page(desk, months="24")
    assert "The reading of Wed 11 June 2025, " in said
    # the picture's axis, wide and narrow
    assert said.count(">11 Jun 2026<") == said.count(">10 Jun 2024<") == 2
    assert ">11 Jun 2026<" not in page(desk, months="3")
