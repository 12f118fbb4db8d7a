"""Forecasts are kept once a loop, judged by later readings, and hand their dates on."""

import datetime as dt
import json
from typing import Any

import pytest

from apps.ahead.codec import outlook_kept, outlook_read
from apps.ahead.models import LoopForecast, PastForecast
from apps.ahead.selectors.kept import Later, inside_of
from apps.ahead.services import keeping
from apps.calc.ahead.next_visit import next_visit_day
from apps.calc.ahead.outlook import Crossing
from apps.care.models import CareTask, Standing
from tests.ahead.conftest import read
from tests.ahead.outlooks import fan, keep, outlook
from tests.factories import NOW, TODAY, Built

pytestmark = pytest.mark.django_db


def day(number: int) -> dt.date:
    return TODAY + dt.timedelta(days=number)


def test_a_forecast_survives_its_json() -> None:
    kept = json.loads(json.dumps(outlook_kept(outlook())))
    back = outlook_read(kept)
    assert back.crossings == outlook().crossings
    assert back.fans[0].middle == pytest.approx(outlook().fans[0].middle, rel=1e-5)


def test_what_is_not_finite_is_refused_whole(built: Built) -> None:
    read(built, "no2", 0.2, 1)
    broken = fan("no2", 0.2, 0.0, low=(float("nan"),) * 7)
    with pytest.raises(ValueError, match=r"outlook\.fans\.low: a finite number"):
        keep(built, fans=(broken,))
    assert not LoopForecast.objects.exists()


def test_the_newest_takes_the_place_of_the_last(built: Built) -> None:
    read(built, "no2", 0.2, 1)
    keep(built)
    keep(built)
    keep(built, on=day(1), at=NOW + dt.timedelta(days=1))
    row = LoopForecast.objects.get()
    # soonest on day 20: 16 days, a fifth in hand
    assert (row.from_day, row.next_visit) == (day(1), day(17))
    # no reading came in between, so there is nothing new to be judged
    assert [kept.from_day for kept in PastForecast.objects.all()] == [TODAY]


def test_dates_go_to_tasks_and_to_the_due_list(built: Built) -> None:
    keep(built)
    task = CareTask.objects.get(system=built.system, code="water_change")
    assert (task.next_open, task.next_due, task.next_late) == (day(28), day(36), day(42))
    standing = Standing.objects.get(system=built.system)
    assert standing.ahead["measurand"] == "no2"
    assert standing.ahead["middle"] == day(25).isoformat()
    assert standing.ahead_from == day(13)
    keep(built, crossings=())
    standing.refresh_from_db()
    assert (standing.ahead, standing.ahead_from) == ({}, None)


def test_a_forecast_that_has_not_earned_it_moves_nothing(built: Built) -> None:
    for rate, judged in ((None, 0), (1.0, 4), (0.5, 40)):
        keep(built, fans=tuple(
            fan(code, 1.0, 0.1, hit_rate=rate, judged=judged) for code in ("no2", "no3")
        ))  # fmt: skip
        assert Standing.objects.get(system=built.system).ahead_from is None
        assert LoopForecast.objects.get().next_visit is None
        assert CareTask.objects.get(system=built.system, code="water_change").next_due is None


def test_what_is_past_already_is_left_to_the_readings(built: Built) -> None:
    past = Crossing("no3", "above", 100.0, 0.0, 0.0, 0.0)
    keep(built, crossings=(past, Crossing("no2", "above", 0.5, 20.0, 25.5, 36.0)))
    standing = Standing.objects.get(system=built.system)
    assert standing.ahead["measurand"] == "no2"
    # but somebody should come soon all the same
    assert LoopForecast.objects.get().next_visit == day(3)


def test_what_is_more_likely_kept_than_passed_sends_nobody_yet(built: Built) -> None:
    keep(built, crossings=(Crossing("no2", "above", 0.5, 2.0, None, None),))
    assert Standing.objects.get(system=built.system).ahead_from is None
    assert LoopForecast.objects.get().next_visit == day(3)


def test_a_day_more_or_less_is_not_told(built: Built) -> None:
    keep(built)
    moved = (Crossing("no2", "above", 0.5, 20.0, 26.5, 36.0),)
    keep(built, crossings=moved)
    assert Standing.objects.get(system=built.system).ahead["middle"] == day(25).isoformat()
    keep(built, crossings=(Crossing("no2", "above", 0.5, 10.0, 12.0, 15.0),))
    assert Standing.objects.get(system=built.system).ahead["middle"] == day(12).isoformat()


@pytest.mark.parametrize(
    ("soonest", "wanted"), [(None, None), (0.0, 3), (10.0, 8), (40.0, 32), (90.0, 42)]
)
def test_when_somebody_should_come(soonest: float | None, wanted: int | None) -> None:
    assert next_visit_day([Crossing("no2", "above", 0.5, soonest, None, None)]) == wanted


def test_later_readings_judge_what_was_said(built: Built) -> None:
    read(built, "no2", 0.2, 60)
    for ago in (60, 45):
        keep(built, on=day(-ago), at=NOW - dt.timedelta(days=ago))
        read(built, "no2", 0.2, ago - 1)
    past = list(PastForecast.objects.order_by("from_day"))
    assert len(past) == 2
    seen = [
        Later(day(-60), "no2", 0.2),  # on the day of the first: nothing was said of it yet
        Later(day(-50), "no2", 0.32),  # 0.2 + 10 x 0.012, well inside
        Later(day(-40), "no2", 0.9),  # by the second, far outside
        Later(day(-40), "ph", 7.0),  # no fan
    ]
    assert inside_of(past, seen) == {"no2": (1, 2)}


def test_a_reading_at_the_end_of_its_scale_lies_inside_what_reaches_there(built: Built) -> None:
    read(built, "no2", 0.2, 60)
    keep(built, on=day(-60), at=NOW - dt.timedelta(days=60))
    past = list(PastForecast.objects.all())
    # ten days on: 0.32, and as high as 0.36
    for value, inside in ((0.3, 1), (0.2, 1), (0.4, 0)):
        assert inside_of(past, [Later(day(-50), "no2", value, at_least=True)]) == {
            "no2": (inside, 1)
        }
    assert inside_of(past, [Later(day(-50), "no2", 0.2)]) == {"no2": (0, 1)}


def test_our_own_record_is_shown_once_it_is_long_enough(built: Built) -> None:
    read(built, "no2", 0.2, 61)
    keep(built, on=day(-60), at=NOW - dt.timedelta(days=60))
    for ago in range(59, 51, -1):
        read(built, "no2", 0.2 + 0.012 * (60 - ago), ago)
    fans: dict[str, Any] = {}
    for row in keep(built):
        fans |= {item["measurand"]: item for item in row.outlook["fans"]}
    assert (fans["no2"]["hit_rate"], fans["no2"]["judged"]) == (1.0, 8)
    # of nitrate nothing was read: the trial on earlier readings stands
    assert fans["no3"]["judged"] == 38


@pytest.mark.parametrize(("count", "judged"), [(4, 38), (5, 5)])
def test_few_later_readings_leave_the_trial_its_place(
    built: Built, count: int, judged: int
) -> None:
    read(built, "no2", 0.2, 61)
    keep(built, on=day(-60), at=NOW - dt.timedelta(days=60))
    for ago in range(59, 59 - count, -1):
        read(built, "no2", 0.2 + 0.012 * (60 - ago), ago)
    fans = {item["measurand"]: item for row in keep(built) for item in row.outlook["fans"]}
    assert fans["no2"]["judged"] == judged


def test_a_reading_of_the_day_of_the_last_forecast_is_nothing_new(built: Built) -> None:
    read(built, "no2", 0.2, 0)
    keep(built)
    keep(built, on=day(1), at=NOW + dt.timedelta(days=1))
    assert [row.from_day for row in PastForecast.objects.all()] == [TODAY]


def test_only_so_many_are_kept_to_be_judged(built: Built, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(keeping, "MOST_PAST", 3)
    for ago in (40, 30, 20, 10, 5):
        read(built, "no2", 0.2, ago)
        keep(built, on=day(-ago), at=NOW - dt.timedelta(days=ago))
    kept = PastForecast.objects.order_by("from_day").values_list("from_day", flat=True)
    assert list(kept) == [day(-20), day(-10), day(-5)]
