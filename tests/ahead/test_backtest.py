"""Forecasts against invented water that they were never tuned on."""

import pytest

from apps.ahead.engine.backtest import CHOSEN, HORIZONS, Case, backtest, lines, nearest_horizon
from apps.calc.ahead.scores import total
from demo.water.judging import JUDGING, TUNING, cases
from demo.water.records import facts_at, origins, record_of


@pytest.fixture(scope="module")
def table():
    return backtest(cases(list(JUDGING)[:12]))


def pooled(table, measurand, method):
    return total(table[measurand, horizon, method] for horizon in HORIZONS)


def test_seeds_never_meet():
    assert not set(TUNING) & set(JUDGING)


def test_a_record_knows_nothing_of_later():
    record = record_of(7)
    facts = facts_at(record, origins(record)[0])
    for rows in (facts.observed, facts.fed, facts.dosed, facts.renewed):
        assert all(row.day < 0 for row in rows)


@pytest.mark.parametrize("measurand", ["tan", "no2", "no3", "alk", "ph", "do", "ec"])
def test_range_holds_about_four_in_five(table, measurand):
    """36 origins at four horizons: a looser bound than that of the whole table, 75 to 85 %."""
    for method in ("balance", CHOSEN):
        assert 0.65 <= pooled(table, measurand, method).hit_rate <= 0.95


@pytest.mark.parametrize("measurand", ["no3", "ph"])
def test_the_balance_earns_its_place(table, measurand):
    ours, plain = pooled(table, measurand, "balance"), pooled(table, measurand, "steady")
    assert ours.error < 0.85 * plain.error


def test_what_is_chosen_is_no_worse_than_the_last_reading(table):
    ratios = [
        pooled(table, name, CHOSEN).error / pooled(table, name, "steady").error
        for name in dict.fromkeys(key[0] for key in table)
    ]
    assert sum(ratios) / len(ratios) < 0.95


def test_table_says_all(table):
    text = "\n".join(lines(table))
    assert "no3" in text
    assert "skill against 'steady'" in text


@pytest.mark.parametrize(
    ("day", "horizon"), [(3.5, 3), (7.5, 7), (10, 14), (13, 14), (28, 28), (42, None), (0.5, None)]
)
def test_each_reading_counts_for_one_horizon(day, horizon):
    assert nearest_horizon(day) == horizon


def test_a_loop_never_read_is_left_out():
    record = record_of(7)
    facts = facts_at(record, origins(record)[0])
    from dataclasses import replace

    assert backtest([Case(replace(facts, observed=()), ())]) == {}
