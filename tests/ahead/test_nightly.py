"""Forecasts made in the worker: at night for all, after a visit for one, the same again the same."""

import datetime as dt
from typing import Any

import pytest

from apps.ahead.codec import learnt_read, outlook_read, record_kept
from apps.ahead.models import LoopForecast
from apps.calc.ahead.earned import HORIZONS
from apps.calc.ahead.scores import Score
from apps.calc.ahead.what_if import what_if
from apps.core import outbox
from apps.core.models import Job
from apps.flows import ahead, nightly
from tests import factories
from tests.ahead.conftest import decoupled, read
from tests.ahead.outlooks import found
from tests.factories import NOW, TODAY, Built

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def no_broker(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(outbox, "poke", lambda *_args: None)


@pytest.fixture
def watched(built: Built) -> Built:
    """A system that was read every week for two months."""
    for ago in range(56, 0, -7):
        for code, value in (("temp", 25.0), ("ph", 7.0), ("alk", 75.0), ("tan", 0.25),
                            ("no2", 0.1), ("no3", 40 + (56 - ago) / 3), ("do", 6.5)):  # fmt: skip
            read(built, code, value, ago)
        read(built, "feed", 120, ago)
    return built


def test_at_night_every_active_system_gets_its_forecast(watched: Built) -> None:
    more = factories.system(watched.system.place, "Other")
    gone = factories.system(watched.system.place, "Gone", active=False)
    nightly.nightly(TODAY, NOW)
    nightly.nightly(TODAY, NOW)
    jobs = Job.objects.filter(kind="ahead.make")
    assert [len(job.args["system_ids"]) for job in jobs] == [2]
    assert outbox.carry_out(jobs[0].pk, NOW)
    kept = {row.loop_id for row in LoopForecast.objects.all()}
    assert kept == {watched.loop.pk, more.loop.pk}
    assert gone.loop.pk not in kept


def test_the_same_again_is_the_same(watched: Built) -> None:
    def made() -> Any:
        ahead.forecasts_make(system_ids=[watched.system.pk], at=NOW)
        row = LoopForecast.objects.get()
        return row.outlook, row.learnt, row.next_visit

    first = made()
    assert made() == first
    outlook = outlook_read(first[0])
    assert {"no3", "alk", "no2", "ph", "do"} <= {fan.measurand for fan in outlook.fans}
    for fan in outlook.fans:
        assert all(low <= high for low, high in zip(fan.low, fan.high, strict=True))


def test_what_was_learnt_comes_back_for_a_what_if(watched: Built) -> None:
    ahead.forecasts_make(system_ids=[watched.system.pk], at=NOW)
    row = LoopForecast.objects.get()
    (one,) = found(watched)
    again = what_if(one.facts, learnt_read(row.learnt))
    kept = {fan.measurand: fan for fan in outlook_read(row.outlook).fans}
    for fan in again.fans:
        if fan.measurand in kept:
            assert fan.days == kept[fan.measurand].days


def test_a_loop_of_no_known_litres_has_none(watched: Built) -> None:
    bare = factories.system(watched.system.place, "Bare")
    bare.loop.components.update(litres=None)
    assert ahead.forecasts_make(system_ids=[bare.system.pk, watched.system.pk], at=NOW) == 1


def test_one_that_cannot_be_worked_out_leaves_the_others_theirs(
    watched: Built, monkeypatch: pytest.MonkeyPatch
) -> None:
    from apps.ahead import engine

    other = factories.system(watched.system.place, "Other")
    real = engine.forecasts

    def picky(facts: Any, **more: Any) -> Any:
        if any(not one.observed for one in facts):
            message = "nothing was read"
            raise ValueError(message)
        return real(facts, **more)

    monkeypatch.setattr(engine, "forecasts", picky)
    assert ahead.forecasts_make(system_ids=[watched.system.pk, other.system.pk], at=NOW) == 1
    assert [row.loop_id for row in LoopForecast.objects.all()] == [watched.loop.pk]


def test_what_the_firms_other_loops_taught_turns_the_choice(watched: Built) -> None:
    other = factories.system(watched.system.place, "Other")

    def method() -> str:
        ahead.forecasts_make(system_ids=[watched.system.pk], at=NOW)
        outlook = outlook_read(LoopForecast.objects.get(loop=watched.loop).outlook)
        return next(fan.method for fan in outlook.fans if fan.measurand == "no3")

    assert method() == "balance"
    own = LoopForecast.objects.get().record
    assert set(own["no3"]) <= {"3", "7", "14", "28"}
    scores = {name: Score(3000, 3000.0 * error, 2400.0)
              for name, error in (("balance", 9.0), ("trend", 9.0), ("steady", 1.0))}  # fmt: skip
    record = record_kept({"no3": dict.fromkeys(HORIZONS, scores)})
    LoopForecast.objects.create(
        loop=other.loop, from_day=TODAY, made_at=NOW, version=1, record=record,
        outlook={"fans": [], "crossings": [], "stock": [], "needs": []},
    )  # fmt: skip
    assert method() == "steady"
    # of systems that ended nothing is learnt
    other.system.active = False
    other.system.save()
    assert method() == "balance"


def test_a_plant_loop_goes_by_the_forecast_of_its_fish_loop(
    watched: Built, monkeypatch: pytest.MonkeyPatch
) -> None:
    plants = decoupled(watched)
    for ago in (21, 14, 7):
        read(watched, "no3", 60.0, ago, loop=plants)
    from apps.ahead import engine

    real, seen = engine.forecasts, []

    def told(facts: Any, **more: Any) -> Any:
        made = real(facts, **more)
        seen.append((facts, more["inflows"], made))
        return made

    monkeypatch.setattr(engine, "forecasts", told)
    assert ahead.forecasts_make(system_ids=[watched.system.pk], at=NOW) == 2
    (first, none, fish), (second, comes, _made) = seen
    assert [one.kind for one in first] == ["fish"]
    assert none == [None]
    assert [one.kind for one in second] == ["plants"]
    nitrate = next(fan for fan in fish[0].outlook.fans if fan.measurand == "no3")
    assert [dict(day.values)["no3"] for day in comes[0]] == list(nitrate.middle)


def test_asked_for_twice_in_a_minute_is_made_once(built: Built) -> None:
    ahead.forecast_ask([built.system.pk], NOW)
    ahead.forecast_ask([built.system.pk], NOW + dt.timedelta(seconds=20))
    assert Job.objects.filter(kind="ahead.make").count() == 1
    ahead.forecast_ask([built.system.pk], NOW + dt.timedelta(minutes=2))
    assert Job.objects.filter(kind="ahead.make").count() == 2
