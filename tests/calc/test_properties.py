"""What must hold for any input: conservation, direction, mixing between the ends."""

import json

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from apps.calc import ammonia, carbonate, dosing, feed, growth, oxygen, statistics, water
from apps.calc.calculators import CALCULATORS, CalculatorError
from tests.effort import cases

quick = cases(60)
ph = st.floats(5.5, 8.5)
temp = st.floats(2, 38)
alkalinity = st.floats(5, 300)
concentration = st.floats(0, 500)


@quick
@given(ph, temp, st.floats(0.01, 0.5))
def test_ammonia_is_more_harmful_at_higher_ph_and_warmth(ph, temp, more):
    share = ammonia.unionised_fraction(ph, temp)
    assert 0 < share < ammonia.unionised_fraction(ph + more, temp) < 1
    assert share < ammonia.unionised_fraction(ph, temp + more)


@quick
@given(st.floats(0, 39), st.floats(0.1, 1), st.floats(0, 2000))
def test_oxygen_falls_with_warmth_altitude_and_salt(temp, more, altitude):
    full = oxygen.saturation_mg_l(temp, altitude)
    assert full > oxygen.saturation_mg_l(temp + more, altitude)
    assert full > oxygen.saturation_mg_l(temp, altitude + 100 * more)
    assert full > oxygen.saturation_mg_l(temp, altitude, more)


@quick
@given(alkalinity, ph, temp)
def test_carbon_dioxide_falls_with_ph_and_rises_with_alkalinity(alkalinity, ph, temp):
    here = carbonate.co2_mg_l(alkalinity, ph, temp)
    assert carbonate.co2_mg_l(alkalinity, ph + 0.1, temp) < here
    assert carbonate.co2_mg_l(alkalinity + 5, ph, temp) > here


@quick
@given(
    alkalinity,
    st.floats(5.8, 7.5),
    temp,
    st.floats(0.01, 0.4),
    st.sampled_from(list(carbonate.SALTS)),
)
def test_a_dose_brings_the_ph_it_was_counted_for(alkalinity, ph, temp, rise, salt):
    held = carbonate.base_for_ph_held(alkalinity, ph, temp, ph + rise, salt)
    assume(held < 5000)
    assert carbonate.ph_after_base_held(alkalinity, ph, temp, salt, held) == pytest.approx(
        ph + rise, abs=1e-6
    )
    closed = carbonate.base_for_ph_closed(alkalinity, ph, temp, ph + rise, salt)
    assume(closed < 5000)
    assert carbonate.ph_after_base_closed(alkalinity, ph, temp, salt, closed) == pytest.approx(
        ph + rise, abs=1e-6
    )


@quick
@given(alkalinity, ph, temp, alkalinity, ph, temp, st.floats(0, 1))
def test_a_mix_lies_between_its_ends(alk, ph, temp, alk2, ph2, temp2, share):
    tank, source = carbonate.Chemistry(ph, alk, temp, 1), carbonate.Chemistry(ph2, alk2, temp2, 3)
    mixed = carbonate.mix(tank, source, share)
    assert min(alk, alk2) - 1e-9 <= mixed.alkalinity_mg_l_caco3 <= max(alk, alk2) + 1e-9
    assert min(temp, temp2) - 1e-9 <= mixed.temp_c <= max(temp, temp2) + 1e-9
    assert 1 <= mixed.tan_mg_l <= 3
    # Constants shift with temperature, so that pH may leave the ends by that much.
    room = 0.02 * abs(temp - temp2) + 0.05
    assert min(ph, ph2) - room <= mixed.ph_minutes <= max(ph, ph2) + room


@quick
@given(
    alkalinity,
    st.floats(5.6, 7.6),
    temp,
    st.floats(0.05, 0.9),
    st.sampled_from(list(carbonate.SALTS)),
)
def test_steps_add_up_and_never_pass_their_cap(alkalinity, ph, temp, rise, salt):
    target = min(8.0, ph + rise)
    plan = dosing.base_plan(alkalinity, ph, temp, target, salt)
    assert sum(step.dose_mg_l for step in plan.steps) == pytest.approx(plan.dose_mg_l)
    last = ph
    for step in plan.steps:
        assert max(step.ph_minutes, step.ph_hours) - last <= 0.2 + 1e-9
        last = step.ph_hours
    assert last == pytest.approx(target, abs=1e-5)


@quick
@given(concentration, concentration, concentration)
def test_a_water_change_lands_on_its_target(now, target, source):
    assume(source < target - 1e-6)
    share = water.change_fraction(now, target, source)
    assert 0 <= share < 1
    assert water.after_changes(now, source, share) == pytest.approx(min(now, target), abs=1e-9)


@quick
@given(concentration, st.floats(0, 1), st.integers(1, 10))
def test_changes_conserve_what_was_dissolved(now, share, times):
    left = water.after_changes(now, 0, share, times)
    removed = sum(share * water.after_changes(now, 0, share, i) for i in range(times))
    assert left + removed == pytest.approx(now, abs=1e-9)


@quick
@given(st.lists(st.floats(1, 500), min_size=2, max_size=30), st.integers(0, 1000))
def test_the_interval_holds_its_middle(weights, others):
    found = growth.biomass(weights, len(weights) + others)
    assert 0 <= found.kg_low <= found.kg + 1e-9
    assert found.kg <= found.kg_high + 1e-9


@quick
@given(st.integers(1, 2000), st.data())
def test_wilson_holds_the_rate(sown, data):
    came_up = data.draw(st.integers(0, sown))
    found = statistics.wilson(came_up, sown)
    assert 0 <= found.low <= found.rate <= found.high <= 1


@quick
@given(st.floats(1, 1500), st.floats(0.5, 100))
def test_larger_fish_eat_a_smaller_share_and_more(weight, more):
    small = feed.ration_percent("nile_tilapia", weight, 28)
    large = feed.ration_percent("nile_tilapia", weight + more, 28)
    assert large <= small
    if weight > 5:
        assert large * (weight + more) >= small * weight * 0.9


@quick
@given(
    st.sampled_from(list(CALCULATORS)),
    st.dictionaries(
        st.sampled_from(sorted({f.name for c in CALCULATORS.values() for f in c.fields})),
        st.one_of(
            st.none(),
            st.booleans(),
            st.integers(),
            st.floats(),
            st.text(max_size=8),
            st.lists(st.floats(), max_size=3),
        ),
        max_size=12,
    ),
)
def test_any_input_is_answered_or_refused(name, payload):
    errors = []
    try:
        answer = CALCULATORS[name].run(payload)
    except CalculatorError as refused:
        answer, errors = None, refused.errors
    assert answer or errors
    assert all({"pointer", "value", "message"} <= set(error) for error in errors)
    json.dumps([answer, errors], allow_nan=False)
