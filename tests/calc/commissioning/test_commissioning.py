"""Bringing a system in: the curve, the gate and the stages."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apps.calc.advice.cycling import ready_day
from apps.calc.commissioning import curve as curves
from apps.calc.commissioning.curve import as_expected, curve
from apps.calc.commissioning.gate import (
    CYCLE_TESTS,
    MET,
    SAFETY,
    SKILLS_FIRST,
    UNKNOWN,
    UNMET,
    Read,
    gate,
    open_gate,
)
from apps.calc.commissioning.stocking import crossing, stages
from apps.catalogue.files import rows
from tests.effort import cases

TEMPS = st.floats(10, 32)
GOOD = {
    "chlorine": Read(0.0, 1), "ph": Read(7.1, 1), "alk": Read(90, 1), "tan": Read(0.2, 1),
    "no2": Read(0.1, 1), "do": Read(7.0, 1), "temp": Read(26.0, 1),
}  # fmt: skip
DONE = {*CYCLE_TESTS, *SAFETY, *SKILLS_FIRST}
BAND = (24.0, 30.0)


def first_ready(temp_c: float) -> int:
    """The first day on which a dose of 2 mg/L was eaten within a day, nitrite as well."""
    tan, no2, _no3 = curve(temp_c)
    return next(
        day for day in range(1, curves.DAYS)
        if tan.middle[day] <= 0.5 and no2.middle[day] <= 0.5 and day > 7
    )  # fmt: skip


class TestCurve:
    @pytest.mark.outside(
        source="FAO 589: 25 to 40 days at 25 to 28 °C", kind="memory", tolerance=7.5 / 32.5
    )
    def test_ready_when_the_handbook_says(self, outside):
        outside(first_ready(25.0), 32.5)
        outside(first_ready(26.5), 32.5)

    def test_agrees_with_the_day_that_advice_names(self):
        for temp in (16.0, 20.0, 25.0, 28.0):
            assert first_ready(temp) == pytest.approx(ready_day(temp), rel=curves.WITHIN)

    def test_agrees_with_the_table_of_the_catalogue(self):
        for row in rows("cycling"):
            if row["part"] != "curve":
                continue
            for temp in (25, 20, 28):
                tan, no2, _no3 = curve(float(temp))
                assert as_expected(tan, row["day"], row[f"tan{temp}"], 0.05) == 0
                assert as_expected(no2, row["day"], row[f"no2_{temp}"], 0.05) == 0
            no3 = curve(25.0)[2]
            assert no3.middle[row["day"]] == pytest.approx(row["no3_25"], abs=1)

    @given(TEMPS)
    @cases(15)
    def test_nitrogen_is_what_was_dosed(self, temp_c):
        tan, no2, no3 = (row.middle for row in curve(temp_c))
        for day in range(1, curves.DAYS + 1):
            gained = tan[day] + no2[day] + no3[day] - tan[day - 1] - no2[day - 1] - no3[day - 1]
            # a dose tops ammonia up to 2 from under 0.5; otherwise nothing comes or goes
            assert -1e-9 <= gained <= 2.0 + 1e-9
            assert gained < 1e-9 or tan[day - 1] < 0.5

    @given(TEMPS)
    @cases(15)
    def test_the_middle_lies_in_its_range(self, temp_c):
        for row in curve(temp_c):
            for low, middle, high in zip(row.low, row.middle, row.high, strict=True):
                assert 0 <= low <= middle <= high

    def test_warmer_is_sooner(self):
        assert first_ready(28.0) < first_ready(25.0) < first_ready(20.0) < first_ready(16.0)

    def test_a_reading_outside_what_is_expected(self):
        no2 = curve(25.0)[1]
        assert as_expected(no2, 3, 4.0, 0.25) == 1
        assert as_expected(no2, 19, 4.0, 0.25) == 0
        assert as_expected(curve(25.0)[2], 60, 0.0, 5) == -1

    def test_too_cold_for_it(self):
        with pytest.raises(ValueError, match="temp_c"):
            curve(5.0)


class TestGate:
    def test_opens_when_all_holds(self):
        answers = gate(GOOD, DONE, BAND, nitrate_rose=True)
        assert open_gate(answers)
        assert {answer.state for answer in answers} == {MET}

    @pytest.mark.parametrize(
        ("measurand", "value"),
        [("chlorine", 0.05), ("ph", 6.5), ("ph", 7.9), ("alk", 59), ("tan", 0.6), ("no2", 0.31),
         ("do", 5.9), ("temp", 23.9), ("temp", 30.1)],
    )  # fmt: skip
    def test_each_reading_can_close_it(self, measurand, value):
        answers = gate(GOOD | {measurand: Read(value, 1)}, DONE, BAND, nitrate_rose=True)
        closed = [answer for answer in answers if answer.state != MET]
        assert [answer.need.measurand for answer in closed] == [measurand]
        assert closed[0].state == UNMET

    @pytest.mark.parametrize("measurand", sorted(GOOD))
    def test_old_and_missing_readings_are_not_known(self, measurand):
        old = gate(
            GOOD | {measurand: Read(GOOD[measurand].value, 7.1)}, DONE, BAND, nitrate_rose=True
        )
        assert [answer.state for answer in old if answer.state != MET] == [UNKNOWN]
        rest = {code: read for code, read in GOOD.items() if code != measurand}
        assert not open_gate(gate(rest, DONE, BAND, nitrate_rose=True))

    @pytest.mark.parametrize("task", sorted(DONE))
    def test_each_task_can_close_it(self, task):
        answers = gate(GOOD, DONE - {task}, BAND, nitrate_rose=True)
        assert [answer.missing for answer in answers if answer.state != MET] == [(task,)]

    @pytest.mark.parametrize(("rose", "state"), [(False, UNMET), (None, UNKNOWN)])
    def test_a_filter_that_makes_no_nitrate_did_not_pass(self, rose, state):
        assert gate(GOOD, DONE, BAND, nitrate_rose=rose)[0].state == state


class TestStocking:
    @given(st.floats(0.5, 500), st.floats(0.5, 200), st.floats(50, 2000))
    @cases(60)
    def test_never_more_than_wanted_and_never_fewer_than_before(self, final, weight, market):
        if final * 1000 < market:
            return
        found = stages(final, weight, market)
        counts = [row.count for row in found]
        assert counts == sorted(counts)
        assert counts[-1] == int(final * 1000 / market + 1e-9)
        assert counts[0] <= max(1, 0.2 * counts[-1])
        assert [row.day for row in found] == [0, 14, 28, 42, 56]

    def test_less_than_one_fish(self):
        with pytest.raises(ValueError, match=r"one fish of 600 g at least, not 0\.5 kg"):
            stages(0.5, 20, 600)

    def test_an_open_container_is_mixed_and_far_waters_take_longer(self):
        found = crossing(False, (18.0, 7.0), (26.5, 7.9))
        assert (found.mix_min, found.float_min) == (45 * 5, 0)
        assert (found.temp_apart, found.ph_days) == (8.5, 3)

    def test_waters_alike_take_the_shortest_time(self):
        found = crossing(True, (25.0, 7.0), (25.0, 7.3))
        assert (found.float_min, found.ph_days) == (20, 0)
