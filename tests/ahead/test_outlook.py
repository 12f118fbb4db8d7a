"""The outlook of loops of every kind, and what changes it."""

import math
import subprocess
import sys
from dataclasses import replace

import pytest

from apps.ahead.engine import forecasts, outlook
from apps.calc.ahead.drive import drive_of, inflow_from
from apps.calc.ahead.facts import Dosed, Fed, FishGroup, MakeUp, Renewed, Weather, as_known
from apps.calc.ahead.outlook import METHODS
from apps.calc.ahead.step import COMING
from apps.calc.ahead.what_if import future, minutes_without_pump, what_if, with_holiday
from tests.ahead.loops import facts, read_from, seen


@pytest.fixture(scope="module")
def loop():
    return read_from({}, seed=4)[0]


@pytest.fixture(scope="module")
def forecast(loop):
    return forecasts([loop])[0]


def fan_of(made, measurand):
    return next(fan for fan in made.fans if fan.measurand == measurand)


class TestOutlook:
    def test_fans_are_in_order(self, forecast):
        for fan in forecast.outlook.fans:
            assert fan.method in METHODS
            assert len(fan.days) == len(fan.low) == len(fan.middle) == len(fan.high) == 43
            for low, middle, high in zip(fan.low, fan.middle, fan.high, strict=True):
                assert 0 <= low <= middle + 1e-9
                assert middle <= high + 1e-9

    def test_what_was_read_is_forecast(self, forecast):
        assert {fan.measurand for fan in forecast.outlook.fans} == {
            "tan", "no2", "no3", "alk", "ph", "do", "nh3",
        }  # fmt: skip

    def test_its_own_record_is_stated(self, forecast):
        judged = [fan for fan in forecast.outlook.fans if fan.judged >= 5]
        assert judged
        for fan in judged:
            assert 0 <= fan.hit_rate <= 1

    def test_its_record_is_kept_by_horizon(self, loop, forecast):
        """Four origins the day after a weekly visit: 6 days on four times, 13 three, 20 two, 27 once."""
        counts = {
            horizon: scores["steady"].judged for horizon, scores in forecast.own["no3"].items()
        }
        assert counts == {7: 4, 14: 3, 28: 3}

    def test_crossings_in_order(self, forecast):
        assert forecast.outlook.crossings
        for one in forecast.outlook.crossings:
            days = [one.soonest, one.middle, one.latest]
            known = [day for day in days if day is not None]
            assert known == sorted(known)
            assert days[: len(known)] == known  # the later ones go missing first

    def test_fish_grow_and_density_follows(self, loop, forecast):
        first, last = forecast.outlook.stock[0], forecast.outlook.stock[-1]
        assert first.weight_g == pytest.approx(60.0)
        assert first.biomass_kg == pytest.approx(9.0)
        assert first.density_kg_m3 == pytest.approx(7.5)
        assert last.weight_g > 1.4 * first.weight_g
        assert last.oxygen_margin_mg_l == pytest.approx(last.oxygen_mg_l - 3.0)

    def test_needs_add_up(self, forecast):
        needs = forecast.outlook.needs
        assert [one.day for one in needs] == list(range(1, 43))
        feed = [day.feed_g_day for day in forecast.outlook.stock]
        assert needs[13].feed_g == pytest.approx(sum(feed[:14]))
        assert needs[-1].topup_l > needs[0].topup_l > 0

    def test_the_same_again(self, loop, forecast):
        assert outlook(loop) == forecast.outlook

    @pytest.mark.parametrize(
        "other",
        [
            {"kind": "plants", "fish": (), "feed_g_day": None},
            {"kind": "fish", "plant_area_m2": 0.0},
            {"observed": ()},
            {"weather": ()},
            {"media_area_m2": 0.0},
            {"fish": (FishGroup("nile_tilapia", 50, 60.0), FishGroup("koi", 20, 300.0))},
            {"fish": (FishGroup("koi", 20, 300.0),), "weather": (Weather(5.0, 1.0, 8.0),)},
            {"rain_area_m2": 3.0, "weather": (Weather(25.0, 2.0, 30.0),)},
            {"feed_g_day": 0.0},
            {"observed": (seen(-3, "tan", 8.0, 0.0),)},
        ],
        ids=lambda other: next(iter(other)),
    )
    def test_of_every_kind_is_finite(self, loop, other):
        made = outlook(replace(loop, **other))
        for fan in made.fans:
            assert all(map(math.isfinite, (*fan.low, *fan.middle, *fan.high))), fan.measurand
        for day in made.stock:
            assert math.isfinite(day.oxygen_mg_l)

    def test_a_loop_that_others_feed(self, loop, forecast):
        plants = facts(kind="plants", fish=(), flow_in_l_day=45.0, volume_l=500.0,
                       observed=(seen(-1, "no3", 60.0, 1.0),))  # fmt: skip
        comes = inflow_from(forecast.outlook)
        fed = fan_of(forecasts([plants], inflows=[comes])[0].outlook, "no3")
        alone = fan_of(forecasts([plants])[0].outlook, "no3")
        assert dict(comes[0].values)["no3"] == fan_of(forecast.outlook, "no3").middle[0]
        assert fed.middle[28] > alone.middle[28]


class TestDrive:
    def test_volume_stays_whatever_comes_and_goes(self):
        wet = facts(rain_area_m2=10.0, weather=(Weather(25.0, 3.0, 40.0),))
        dry = facts()
        assert drive_of(wet).at(3).leaving == pytest.approx((400 - 3 * (1.05 * 3 + 0.7 * 6)) / 2200)
        assert drive_of(dry).at(3).leaving == pytest.approx(20 / 2200)
        assert drive_of(dry).topped_up_l[3] == pytest.approx(20 + 4 * (1.05 * 3 + 0.7 * 6))

    def test_habits_are_carried_on_and_plans_replace_them(self):
        days = (-30, -20, -10)
        kept = facts(dosed=tuple(Dosed(d + 0.5, "alk", 42.0) for d in days),
                     observed=(seen(-60, "alk", 70.0), seen(-1, "alk", 70.0)))  # fmt: skip
        assert drive_of(kept).base_g[-1] == pytest.approx(3.0)
        assert drive_of(kept).steering == (pytest.approx(0.06), 70.0)
        planned = replace(kept, dosed=(*kept.dosed, Dosed(2.0, "alk", 50.0)))
        base = drive_of(planned).base_g[-42:]
        assert base[2] == 50.0
        assert sum(base) == 50.0
        assert drive_of(planned).steering[0] == 0

    def test_once_is_no_habit(self):
        once = facts(dosed=(Dosed(-3.0, "alk", 42.0),), renewed=(Renewed(-3.0, 200.0),))
        assert drive_of(once).base_g[-1] == 0
        assert drive_of(once).at(5).renewed == 0

    def test_feed_follows_the_warmth(self):
        cold = tuple(Weather(27.0 if day < 10 else 18.0, 4.0, 0.0) for day in range(42))
        drive = drive_of(facts(feed_g_day=200.0, weather=cold))
        assert drive.at(5).given == pytest.approx(200.0)
        assert 0 < drive.at(20).given < 60

    def test_known_then_knows_nothing_later(self, loop):
        then = as_known(loop, -21, loop.weather)
        assert max(one.day for one in then.observed) < 0
        assert len(then.observed) < len(loop.observed)


class TestWhatIf:
    def change(self, loop, forecast, **other):
        plain = what_if(loop, forecast.kept)
        return plain, what_if(replace(loop, **other), forecast.kept)

    def test_starts_where_the_forecast_does(self, loop, forecast):
        plain = what_if(loop, forecast.kept)
        balance = {fan.measurand: fan for fan in forecast.balance}
        for name in ("no3", "alk", "do"):
            middle = fan_of(plain, name).middle[0]
            assert middle == pytest.approx(balance[name].middle[0], rel=0.1)

    def test_fewer_fish(self, loop, forecast):
        few = (replace(loop.fish[0], count=60),)
        plain, changed = self.change(loop, forecast, fish=few)
        assert fan_of(changed, "no3").middle[42] < fan_of(plain, "no3").middle[42]
        assert changed.stock[10].oxygen_mg_l > plain.stock[10].oxygen_mg_l
        assert changed.needs[20].feed_g < 0.5 * plain.needs[20].feed_g

    def test_more_beds(self, loop, forecast):
        plain, changed = self.change(loop, forecast, plant_area_m2=20.0)
        assert fan_of(changed, "no3").middle[28] < fan_of(plain, "no3").middle[28]

    def test_richer_feed(self, loop, forecast):
        plain, changed = self.change(loop, forecast, protein_fraction=0.45)
        assert fan_of(changed, "no3").middle[28] > fan_of(plain, "no3").middle[28]

    def test_a_holiday_of_ten_days(self, loop, forecast):
        plain = what_if(loop, forecast.kept)
        away = what_if(with_holiday(loop, 2, 10), forecast.kept)
        assert [day.feed_g_day for day in away.stock[2:12]] == [0.0] * 10
        assert away.stock[13].feed_g_day > 0
        assert fan_of(away, "tan").middle[12] < fan_of(plain, "tan").middle[12]
        assert away.stock[42].weight_g < plain.stock[42].weight_g

    def test_a_heat_wave(self, loop, forecast):
        hot = tuple(replace(day, temp_c=32.0) for day in loop.weather)
        plain, changed = self.change(loop, forecast, weather=hot)
        assert changed.stock[14].oxygen_mg_l < plain.stock[14].oxygen_mg_l

    def test_an_extra_change_of_water(self, loop, forecast):
        plain, changed = self.change(loop, forecast, renewed=(Renewed(3.0, 660.0),))
        drop = fan_of(changed, "no3").middle[4] / fan_of(plain, "no3").middle[4]
        assert drop == pytest.approx(0.7, abs=0.03)

    def test_more_media_carry_more(self, loop, forecast):
        plain, changed = self.change(loop, forecast, media_area_m2=180.0)
        assert fan_of(changed, "tan").middle[14] < fan_of(plain, "tan").middle[14]

    def test_pump_off_at_31_degrees(self, loop):
        minutes, short = minutes_without_pump(loop, 6.5, 31.0, 3.0)
        # 9 kg in 1200 L take 345 mg/kg/h and half as much again: by hand
        used = 345 * 1.5 * 9 / 1200
        assert minutes == pytest.approx(60 * 3.5 / used / 2)
        assert short == pytest.approx(180 - minutes)

    def test_needs_no_numpy(self):
        code = "import apps.calc.ahead.what_if, sys; sys.exit('numpy' in sys.modules)"
        assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


def test_unused_words_are_taken():
    """Feed given on planned days is fed even where the log ends long before."""
    plan = facts(fed=(Fed(-60.0, 100.0), Fed(4.0, 321.0)))
    assert drive_of(plan).at(4).given == 321.0
    assert drive_of(plan).at(5).given == -1.0
    assert MakeUp() == facts().inflow


@pytest.fixture(scope="module")
def both(loop):
    """A fish loop that sends 60 L a day on to a plant loop, and what was learnt of each."""
    fish = replace(loop, kind="fish", plant_area_m2=0.0, flow_out_l_day=60.0)
    plants = facts(
        kind="plants", fish=(), volume_l=500.0, fish_volume_l=0.0, media_area_m2=0.0,
        flow_in_l_day=60.0,
        observed=tuple(seen(float(day), "no3", 60.0, 1.0) for day in range(-28, 0, 7)),
    )  # fmt: skip
    first = forecasts([fish])[0]
    second = forecasts([plants], inflows=[inflow_from(first.outlook)])[0]
    return fish, first.kept, plants, second.kept


class TestOneWay:
    def test_what_is_sent_is_what_stands_in_the_water(self, both):
        fish, kept, *_ = both
        found = future(fish, kept)
        assert len(found.sends) == 43
        for day in (0, 14, 42):
            sent = dict(found.sends[day].values)
            for name in ("tan", "no3", "alk"):
                assert sent[name] == fan_of(found.outlook, name).middle[day]
            # also what nobody has read there
            assert set(sent) >= set(COMING) - {"tds"}
        assert future(replace(fish, flow_out_l_day=0.0), kept).sends == ()

    def test_fewer_fish_mean_less_nitrate_for_the_plants(self, both):
        fish, kept, plants, learnt = both
        few = replace(fish, fish=(replace(fish.fish[0], count=30),))
        now, then = (
            fan_of(what_if(plants, learnt, inflow=future(one, kept).sends), "no3").middle
            for one in (fish, few)
        )
        assert then[0] == now[0]
        assert then[42] < 0.8 * now[42]

    def test_the_flow_brings_what_leaves(self, both):
        """The plant loop gets each day what a day's flow takes out of the fish loop."""
        fish, kept, plants, _learnt = both
        sends = future(fish, kept).sends
        drive = drive_of(plants, 42, sends, first=0)
        fresh = dict(plants.make_up.values)["no3"]
        for day in (0, 20, 41):
            comes = drive.at(day).coming[COMING.index("no3")] * plants.volume_l
            topped = drive.topped_up_l[day] * fresh
            assert comes - topped == pytest.approx(60 * dict(sends[day].values)["no3"])
