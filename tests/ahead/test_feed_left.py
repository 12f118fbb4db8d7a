"""Until when the feed at a place lasts, from what was counted, noted and forecast: worked by hand."""

import datetime as dt
import threading
import time
from typing import Any

import pytest

from apps.ahead.services import feed_left_refresh
from apps.batches.models import Deaths, FishBatch
from apps.care.models import FeedCount, Standing
from apps.care.services import feed_counts as counting
from apps.clients.models import TimeAway
from apps.core import clock, outbox
from apps.core.exceptions import Invalid
from apps.core.scoping import Actor
from apps.flows.ahead import forecasts_make
from apps.flows.feed_counting import feed_count
from apps.systems.models import System
from tests import factories
from tests.ahead.conftest import decoupled, read
from tests.ahead.outlooks import keep
from tests.factories import NOW, TODAY, Built
from tests.racing import at_once

OFFICE = Actor(role="office", at=NOW)


def count(built: Built, grams: float, days_ago: float = 0, **more: Any) -> FeedCount:
    """Count the feed, so many days ago."""
    when = NOW - dt.timedelta(days=days_ago)
    more = {"sure": True, "by": OFFICE, "at": NOW} | more
    return feed_count(system=built.system, amount_g=grams, counted_at=when, **more)


def day(number: int) -> dt.date:
    return TODAY + dt.timedelta(days=number)


def until(built: Built) -> dt.date | None:
    return Standing.objects.get(system=built.system).feed_until


def span(built: Built) -> tuple[str, str]:
    feed = Standing.objects.get(system=built.system).feed
    return feed["soonest"], feed["latest"]


@pytest.fixture(autouse=True)
def quiet(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(clock, "now", lambda: NOW)
    monkeypatch.setattr(outbox, "poke", lambda *_args: None)


@pytest.mark.django_db
class TestWorkedByHand:
    def test_by_what_is_noted(self, built: Built) -> None:
        """40, 40 and 50 g noted: 40 in the middle. 1,000 g are 25 days; 20 at 48 g, 31 at 32 g."""
        for ago, grams in ((5, 40.0), (3, 40.0), (1, 50.0), (31, 900.0)):
            read(built, "feed", grams, ago)
        read(built, "feed", 900.0, 2, trusted=False)
        row = count(built, 1000)
        assert until(built) == day(25)
        assert span(built) == (day(20).isoformat(), day(31).isoformat())
        held = Standing.objects.get(system=built.system)
        assert (held.feed_count, held.feed["amount_g"]) == (str(row.pk), 1000)

    def test_by_the_forecast(self, built: Built) -> None:
        """120 g a day from today on: 8 days are 960 g; 6 at 144 g, 10 at 96 g."""
        keep(built)
        read(built, "feed", 40.0, 3)
        count(built, 1000)
        assert until(built) == day(8)
        assert span(built) == (day(6).isoformat(), day(10).isoformat())
        count(built, 120 * 60, at=NOW + dt.timedelta(seconds=1))
        assert until(built) == day(60), "beyond the forecast its mean goes on"

    def test_what_was_noted_since_the_count_has_gone(self, built: Built) -> None:
        """Ten days ago 1,000 g; on nine days 50 g: 550 are left yesterday, eleven days from today on.

        At 60 g they are nine, at 40 g thirteen: what was noted is sure.
        """
        for ago in range(1, 10):
            read(built, "feed", 50.0, ago)
        count(built, 1000, days_ago=10)
        assert until(built) == day(10)
        assert span(built) == (day(8).isoformat(), day(12).isoformat())

    def test_the_day_of_the_count_takes_nothing(self, built: Built) -> None:
        read(built, "feed", 50.0, 0)
        count(built, 100)
        assert until(built) == day(2)

    def test_nobody_feeds_while_nobody_is_there(self, built: Built) -> None:
        """40 g a day, 200 g: five days, and five more of a time away; half of it with a carer.

        With a carer three days take 120 g, four at 20 g the rest.
        """
        read(built, "feed", 40.0, 1)
        count(built, 200)
        assert until(built) == day(5)
        away = TimeAway.objects.create(
            place=built.system.place, first=day(4), last=day(8), made_at=NOW, backup="yes"
        )
        feed_left_refresh([built.system.pk], NOW)
        assert until(built) == day(10)
        TimeAway.objects.filter(pk=away.pk).update(carer_name="Robin", carer_phone="0555 0171")
        feed_left_refresh([built.system.pk], NOW)
        assert until(built) == day(7)

    def test_two_waters_eat_from_one_bag(self, built: Built) -> None:
        other = decoupled(built)
        FishBatch.objects.create(
            loop=other, species_code="nile_tilapia", count=9, stocked_on=day(-30),
            mean_weight_g=90,
        )  # fmt: skip
        read(built, "feed", 40.0, 1)
        read(built, "feed", 10.0, 1, loop=other)
        count(built, 500)
        assert until(built) == day(10)


@pytest.mark.django_db
class TestWithoutADay:
    def test_nobody_knows_what_is_fed(self, built: Built) -> None:
        count(built, 1000)
        held = Standing.objects.get(system=built.system)
        assert held.feed_until is None
        assert held.feed["amount_g"] == 1000

    @pytest.mark.parametrize("gone", [{"ended_on": TODAY}, {"count": 1}])
    def test_the_fish_are_gone(self, built: Built, gone: dict[str, Any]) -> None:
        read(built, "feed", 40.0, 1)
        FishBatch.objects.update(**gone)
        Deaths.objects.create(batch=FishBatch.objects.get(), on=day(-2), count=1)
        count(built, 1000)
        assert until(built) is None

    def test_nothing_is_fed(self, built: Built) -> None:
        read(built, "feed", 0.0, 1)
        count(built, 1000)
        assert until(built) is None


@pytest.mark.django_db
class TestWhichCounts:
    def test_the_later_one_whenever_it_was_noted(self, built: Built) -> None:
        read(built, "feed", 40.0, 1)
        later = count(built, 400, days_ago=1)
        count(built, 4000, days_ago=9)
        assert Standing.objects.get(system=built.system).feed_count == str(later.pk)
        assert FeedCount.objects.count() == 2

    def test_of_the_same_time_the_one_noted_later_else_the_smaller(self, built: Built) -> None:
        read(built, "feed", 40.0, 1)
        count(built, 400)
        count(built, 800)
        assert until(built) == day(10), "noted at once: nobody runs out unheard"
        count(built, 800, at=NOW + dt.timedelta(seconds=1))
        assert until(built) == day(20)

    def test_the_night_brings_it_up_to_date(self, built: Built) -> None:
        count(built, 1000)
        read(built, "feed", 40.0, 0.5)
        assert until(built) is None
        forecasts_make(system_ids=[built.system.pk], at=NOW)
        assert until(built) is not None


@pytest.mark.django_db
class TestRefused:
    @pytest.mark.parametrize(
        ("grams", "more", "field"),
        [
            (-1.0, {}, "amount_g"), (float("nan"), {}, "amount_g"), (1e7, {}, "amount_g"),
            (10.0, {"days_ago": -1}, "counted_at"), (10.0, {"days_ago": 61}, "counted_at"),
        ],
    )  # fmt: skip
    def test_what_cannot_be(
        self, built: Built, grams: float, more: dict[str, Any], field: str
    ) -> None:
        with pytest.raises(Invalid) as refused:
            count(built, grams, **more)
        assert refused.value.errors[0]["pointer"] == f"/{field}"
        assert not FeedCount.objects.exists()

    def test_before_there_was_a_system(self, built: Built) -> None:
        System.objects.update(started_on=day(-3))
        with pytest.raises(Invalid, match="began on"):
            count(built, 10, days_ago=5)

    def test_what_is_odd_is_looked_at_twice(self, built: Built) -> None:
        read(built, "feed", 40.0, 1)
        with pytest.raises(Invalid, match=r"about 0\.1 days") as doubted:
            count(built, 2, sure=False)
        assert doubted.value.errors[0]["look_again"]
        assert not FeedCount.objects.exists()
        count(built, 2)
        count(built, 2000, sure=False)


@pytest.mark.django_db
def test_a_fixed_number_of_queries(built: Built, same_queries: Any) -> None:
    systems = [built]

    def more() -> None:
        for name in ("A", "B", "C"):
            systems.append(factories.system(built.system.place, name))
            read(systems[-1], "feed", 40.0, 1)
            count(systems[-1], 1000)

    read(built, "feed", 40.0, 1)
    count(built, 1000)
    same_queries(lambda: feed_left_refresh([row.system.pk for row in systems], NOW), more)


def test_two_counts_at_once(committed_db: None, monkeypatch: pytest.MonkeyPatch) -> None:
    """The second waits for the first, and what is kept follows from both."""
    factories.firm()
    built = factories.system(factories.place(factories.client("Osei")))
    read(built, "feed", 40.0, 1)
    check, inside = counting._check, threading.Event()

    def slow(row: FeedCount) -> None:
        check(row)
        inside.set()
        time.sleep(0.5)

    def second() -> float:
        inside.wait(5)
        return count(built, 400).amount_g

    monkeypatch.setattr(counting, "_check", slow)
    assert at_once(lambda: count(built, 800).amount_g, second) == [800, 400]
    assert FeedCount.objects.count() == 2
    assert until(built) == day(10)
