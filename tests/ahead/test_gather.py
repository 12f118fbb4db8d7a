"""What a forecast starts from: the rows of a loop as days, grams and litres."""

import datetime as dt
import math
from dataclasses import replace
from typing import Any
from uuid import uuid4

import pytest

from apps.advice.models import Advice
from apps.ahead.engine import outlook
from apps.ahead.selectors import gather
from apps.batches.models import Weighing
from apps.calc import growth
from apps.calc.ahead.facts import FishGroup
from apps.calc.species import species_named
from apps.care.models import CareTask, Completion
from apps.catalogue.selectors import catalogue_current
from apps.visits.models import Sheet, Visit
from tests import factories
from tests.ahead.conftest import decoupled, read
from tests.ahead.outlooks import found
from tests.factories import NOW, TODAY, Built

pytestmark = pytest.mark.django_db


def test_sizes_stock_and_water(built: Built) -> None:
    Weighing.objects.create(batch=built.loop.fish_batches.get(), on=TODAY, mean_g=210)
    (one,) = found(built)
    facts = one.facts
    assert (facts.kind, facts.volume_l, facts.fish_volume_l) == ("coupled", 1500, 1000)
    # 40 L of moving bed at 500 m2 a cubic metre
    assert facts.media_area_m2 == 20
    assert facts.plant_area_m2 == 2.0
    assert facts.fish == (FishGroup("nile_tilapia", 40, 210),)
    assert dict(facts.make_up.values) == {"ph": 7.2, "alk": 90, "tan": 0, "temp": 24}
    assert len(facts.weather) == 43
    assert set(one.assumed) == {"feed", "protein", "climate", "covered", "area", "sludge", "unread"}


def test_fish_that_were_weighed_long_ago_have_grown(built: Built) -> None:
    (one,) = found(built)
    assert one.facts.fish[0].weight_g > 250
    assert "weight" in one.assumed


def weigh(built: Built, tgc: float, *ago: int) -> float:
    """Weigh a batch that grows by a coefficient at 27 °C; return its weight today."""
    batch = built.loop.fish_batches.get()
    for day in ago:
        weight = growth.weight_after_g(60.0, 27.0, max(ago) - day, tgc)
        Weighing.objects.create(batch=batch, on=TODAY - dt.timedelta(days=day), mean_g=weight)
        read(built, "temp", 27.0, day)
    read(built, "temp", 27.0, 1)
    return growth.weight_after_g(60.0, 27.0, max(ago), tgc)


@pytest.mark.parametrize("tgc", [0.6, 1.3])
def test_the_forecast_weight_follows_what_was_weighed(built: Built, tgc: float) -> None:
    """Forty days after the last of four weighings, by their own coefficient and not the species'."""
    today = weigh(built, tgc, 130, 100, 70, 40)
    (fish,) = found(built)[0].facts.fish
    usual = growth.weight_after_g(
        growth.weight_after_g(60.0, 27.0, 90, tgc), 27.0, 40, species_named("nile_tilapia").tgc
    )
    assert fish.weight_g == pytest.approx(today, rel=0.03)
    assert abs(fish.weight_g - today) < 0.35 * abs(usual - today)
    # and it goes on so
    assert (fish.growth > 1.0) == (tgc > 1.0)


def test_the_outlook_goes_on_at_the_pace_that_was_weighed(built: Built) -> None:
    weigh(built, 0.6, 130, 100, 70, 40)
    facts = found(built)[0].facts
    (fish,) = facts.fish
    stock = outlook(facts).stock
    gained = stock[14].weight_g - stock[0].weight_g
    temp = facts.weather[7].temp_c
    expected = growth.weight_after_g(fish.weight_g, temp, 14, 0.6) - fish.weight_g
    assert gained == pytest.approx(expected, rel=0.2)
    # without weighings the same fish would have gained half as much again
    usual = outlook(replace(facts, fish=(replace(fish, growth=1.0),))).stock
    assert usual[14].weight_g - usual[0].weight_g > 1.4 * gained


def test_one_weighing_leaves_the_species_growth(built: Built) -> None:
    Weighing.objects.create(
        batch=built.loop.fish_batches.get(), on=TODAY - dt.timedelta(days=40), mean_g=150
    )
    (fish,) = found(built)[0].facts.fish
    assert fish.growth == 1.0


def test_days_too_cold_to_feed_count_for_nothing(built: Built) -> None:
    batch = built.loop.fish_batches.get()
    for ago, weight in ((120, 80.0), (60, 80.0), (20, 110.0)):
        Weighing.objects.create(batch=batch, on=TODAY - dt.timedelta(days=ago), mean_g=weight)
    for ago in (110, 90, 70):
        read(built, "temp", 14.0, ago)
    for ago in (50, 30, 10):
        read(built, "temp", 27.0, ago)
    (fish,) = found(built)[0].facts.fish
    # 80 to 110 g in 40 days at 27 °C is a coefficient of 0.45; over all 100 days it would be 0.18
    expected = growth.weight_after_g(110.0, 27.0, 20, 0.47)
    assert fish.weight_g == pytest.approx(expected, rel=0.04)


def test_readings_are_days_before_the_start_with_what_their_kit_leaves_open(built: Built) -> None:
    for ago, value in ((30, 0.05), (25, 0.1), (20, 0.1), (15, 0.25), (10, 0.3), (5, 0.35)):
        read(built, "no2", value, ago)
    read(built, "no2", 9, 3, trusted=False)
    read(built, "ph", 6.9, 3)
    read(built, "feed", 130, 4)
    (one,) = found(built)
    by_code = {row.measurand: row for row in one.facts.observed}
    # seen in steps of 0.05, so half of that to either side
    assert (by_code["no2"].low, by_code["no2"].high) == pytest.approx((0.325, 0.375))
    # one reading shows no step: the kit's widest holds
    assert (by_code["ph"].low, by_code["ph"].high) == pytest.approx((6.65, 7.15))
    hour = NOW.astimezone(dt.timezone(dt.timedelta(hours=2))).hour / 24
    assert by_code["ph"].day == pytest.approx(-3 + hour, abs=0.1)
    assert all(row.value != 9 for row in one.facts.observed)
    assert one.facts.feed_g_day == 130
    assert [row.grams for row in one.facts.fed] == [130]
    assert "feed" not in one.assumed


def test_a_reading_at_the_end_of_a_colour_card_is_at_least_that(built: Built) -> None:
    for ago, value in ((30, 10.0), (20, 20.0), (10, 36.144), (5, 36.144)):
        read(built, "no3", value, ago, method="drops")
    read(built, "no3", 36.1, 3, method="photometer")
    read(built, "no3", 33.7, 2, method="photometer")
    seen = found(built)[0].facts.observed
    ends = {round(-row.day): row.high for row in seen}
    assert math.isinf(ends[10])
    assert math.isinf(ends[5])
    assert all(math.isfinite(ends[ago]) for ago in (30, 20, 3, 2))


def test_when_fish_were_fed_is_known_of_the_ammonia_read_then(built: Built) -> None:
    read(built, "fed_ago", 3.0, 5)
    read(built, "tan", 0.5, 5 - 1 / 24)
    read(built, "ph", 7.0, 5)
    read(built, "tan", 0.5, 2)
    told = {
        (row.measurand, round(-row.day)): row.fed_ago_h for row in found(built)[0].facts.observed
    }
    assert told[("tan", 5)] == pytest.approx(4.0)
    assert told[("tan", 2)] is None
    assert told[("ph", 5)] is None


def test_limits_are_where_somebody_must_act(built: Built) -> None:
    (one,) = found(built)
    limits = {(code, side): level for code, side, level in one.facts.limits}
    assert limits[("no3", "above")] == 100
    assert all(math.isfinite(level) for level in limits.values())


def test_a_limit_beside_a_task_s_own_days_counts(built: Built) -> None:
    row = CareTask.objects.filter(system=built.system, mode="after_done").first()
    row.condition = {"measurand": "alk", "below": 33.0}
    row.save()
    (one,) = found(built)
    assert ("alk", "below", 33.0) in one.facts.limits


def _advice(built: Built, unit: str, dose: float, **parameters: Any) -> Advice:
    start = NOW - dt.timedelta(days=6)
    visit = Visit.objects.create(
        place=built.system.place, start=start, end=start + dt.timedelta(hours=1), made_at=start,
        state="written_up",
    )  # fmt: skip
    sheet = Sheet.objects.create(visit=visit, system=built.system)
    return Advice.objects.create(
        sheet=sheet, system=built.system, loop=built.loop, rule="alkalinity_low", urgency="today",
        who="client", dose=dose, unit=unit, parameters=parameters, made_at=start, decision="keep",
    )  # fmt: skip


def test_doses_count_as_what_they_bring_and_only_until_they_were_replaced(built: Built) -> None:
    steps = [{"after_hours": 24 * n, "dose": 20.0, "unit": "g", "substance": "KHCO3"}
             for n in range(3)]  # fmt: skip
    row = _advice(built, "g", 60, substance="KHCO3", steps=steps)
    (one,) = found(built)
    alk = [dose for dose in one.facts.dosed if dose.measurand == "alk"]
    # 100.115 g of KHCO3 bring 50.04 g as CaCO3 and 39.098 g of potassium
    assert [dose.grams for dose in alk] == pytest.approx([20 * 50.04 / 100.115] * 3, rel=1e-3)
    assert [round(dose.day - alk[0].day) for dose in alk] == [0, 1, 2]
    potassium = [dose.grams for dose in one.facts.dosed if dose.measurand == "k"]
    assert potassium == pytest.approx([20 * 39.098 / 100.115] * 3, rel=1e-3)
    row.closed_at, row.closed_as = NOW - dt.timedelta(days=5.5), "replaced"
    row.save()
    assert len(found(built)[0].facts.dosed) == 2


def test_water_changes_by_advice_and_by_the_plan(built: Built) -> None:
    _advice(built, "L", 200)
    task = CareTask.objects.get(system=built.system, code="water_change")
    Completion.objects.create(
        pk=uuid4(), task=task, done_on=TODAY - dt.timedelta(days=20), made_at=NOW
    )
    renewed = found(built)[0].facts.renewed
    assert [row.litres for row in renewed] == [300, 200]
    assert [row.day // 1 for row in renewed] == [-20, -6]


def test_a_plant_loop_is_fed_by_the_fish_loop(built: Built) -> None:
    decoupled(built)
    read(built, "no3", 88, 2)
    by_kind = {one.facts.kind: one.facts for one in found(built)}
    assert by_kind["fish"].flow_out_l_day == 45
    fed_by = {one.facts.kind: one.fed_by for one in found(built)}
    assert fed_by == {"fish": None, "plants": built.loop.pk}
    assert by_kind["plants"].flow_in_l_day == 45
    assert dict(by_kind["plants"].inflow.values) == {"no3": 88}
    assert by_kind["plants"].plant_area_m2 == 2.0


def test_a_system_that_ended_has_no_forecast(built: Built) -> None:
    built.system.active = False
    built.system.save()
    assert found(built) == []


def test_many_systems_take_no_more_queries(built: Built, same_queries: Any) -> None:
    ids = [built.system.pk]

    def grow() -> None:
        for number in range(4):
            more = factories.system(built.system.place, f"More {number}")
            read(more, "no2", 0.1, 3)
            ids.append(more.system.pk)

    def call() -> None:
        assert len(gather(ids, catalogue_current(), TODAY, NOW)) == len(ids)

    assert same_queries(call, grow) <= 15
