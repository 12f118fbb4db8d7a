"""Alkalinity in a what-if keeps the balance of what is put in against acid, and starts as Ahead does."""

from dataclasses import replace
from typing import Any

import pytest

from apps.ahead.engine import forecasts
from apps.calc.ahead.drive import drive_of
from apps.calc.ahead.facts import Dosed, Fed, LoopFacts, MakeUp
from apps.calc.ahead.what_if import future, leaning
from apps.calc.ahead.wishes import Wishes, wished
from tests.ahead.loops import facts, read_from, seen


@pytest.fixture(scope="module")
def loop() -> LoopFacts:
    """Fish alone, no beds; what leaves and what comes are too little to be seen in six weeks."""
    one = read_from({}, seed=4)[0]
    return replace(one, plant_area_m2=0.0, open_area_m2=0.0, drawn_off_l_day=0.0, make_up=MakeUp())


@pytest.fixture(scope="module")
def made(loop: LoopFacts) -> Any:
    return forecasts([loop])[0]


def alkalinity(outlook: Any) -> tuple[float, ...]:
    middle: tuple[float, ...] = next(f.middle for f in outlook.fans if f.measurand == "alk")
    return middle


def test_without_fish_nothing_is_put_in_against_their_acid(loop: LoopFacts, made: Any) -> None:
    # what nobody wrote down holds it as it is: more than a gram a day and cubic metre
    assert made.kept.middle.base > 1.0
    out = future(wished(loop, Wishes(fewer=150)), made.kept, usual=loop).outlook
    level = alkalinity(out)
    # the last ammonia takes a little; the water wanders by some 3 % a day about that
    assert level[42] == pytest.approx(level[0], rel=0.12)
    assert max(level) < 1.12 * level[0]


def test_half_the_fish_take_half_of_it_along(loop: LoopFacts) -> None:
    half = wished(loop, Wishes(fewer=75))
    drive = drive_of(half, first=0, usual=loop)
    assert [day.acid for day in drive.days] == pytest.approx([0.5] * 42)
    richer = drive_of(replace(loop, protein_fraction=0.48), first=0, usual=loop)
    assert richer.at(9).acid == pytest.approx(1.5)


def test_a_base_given_by_habit_goes_with_the_feed() -> None:
    days = (-30, -20, -10)
    dosed = tuple(Dosed(d + 0.5, "alk", 42.0) for d in days)
    usual = facts(dosed=dosed, observed=(seen(-60, "alk", 70.0), seen(-1, "alk", 70.0)))
    out = drive_of(wished(usual, Wishes(fewer=150)), usual=usual)
    assert out.base_g[-1] == 0
    # nobody takes alkalinity out again either
    assert out.steering[0] == 0
    assert drive_of(usual, usual=usual).base_g[-1] == pytest.approx(3.0)


def test_days_on_which_nobody_feeds_need_no_base() -> None:
    away = facts(feed_g_day=100.0, fed=tuple(Fed(float(day), 0.0) for day in range(3, 10)))
    acid = [drive_of(away).at(day).acid for day in range(-1, 12)]
    assert acid == pytest.approx([1.0] * 4 + [0.0] * 7 + [1.0] * 2)


def test_as_it_is_is_what_the_forecast_says(loop: LoopFacts, made: Any) -> None:
    plain = future(loop, made.kept, usual=loop)
    leans = leaning(plain.outlook, made.outlook)
    same = future(loop, made.kept, usual=loop, leans=leans).outlook
    shown = {fan.measurand: fan.middle for fan in made.outlook.fans}
    for fan in same.fans:
        assert fan.middle == pytest.approx(shown[fan.measurand], abs=1e-9), fan.measurand


def test_a_change_moves_the_forecast_by_as_much_as_the_balance(loop: LoopFacts, made: Any) -> None:
    few = wished(loop, Wishes(fewer=100))
    plain, changed = (future(one, made.kept, usual=loop).outlook for one in (loop, few))
    leant = future(few, made.kept, usual=loop, leans=leaning(plain, made.outlook)).outlook
    rows = zip(plain.fans, changed.fans, made.outlook.fans, leant.fans, strict=True)
    for was, now, shown, after in rows:
        assert was.measurand == shown.measurand
        if was.measurand in ("tan", "no2", "nh3"):
            wanted = shown.middle[20] * now.middle[20] / was.middle[20]
        else:
            wanted = max(0.0, shown.middle[20] + now.middle[20] - was.middle[20])
        assert after.middle[20] == pytest.approx(wanted, rel=1e-6), was.measurand
