"""A batch's line on the system's page says how it grows, against its species, and by what."""

import datetime as dt

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from apps.batches.models import FishBatch, Weighing
from apps.calc import growth
from apps.calc.species import species_named
from apps.calc.weighings import USUAL_C, growth_weighed, warmth_now
from tests.ahead.conftest import read
from tests.factories import TODAY
from tests.office.conftest import Desk

pytestmark = pytest.mark.django_db
KIND = species_named("nile_tilapia")


def weigh(desk: Desk, ago: int, mean_g: float) -> None:
    batch = FishBatch.objects.get(loop=desk.built.loop)
    Weighing.objects.create(
        batch=batch, on=TODAY - dt.timedelta(days=ago), weights_g=[mean_g], mean_g=mean_g,
    )  # fmt: skip


def grown(days: int, tgc: float) -> float:
    return growth.weight_after_g(60.0, 27.0, days, tgc)


def line(desk: Desk) -> str:
    (row,) = desk.get("system", desk.built.system.pk).context["life"].fish
    return str(row["grows"])


def test_without_two_weighings_it_is_as_usual(desk: Desk) -> None:
    usual = f"Growth as usual for these fish, coefficient {KIND.tgc:.2f}"
    assert line(desk) == f"{usual}: weighed on 0 days, in warmth that they feed in two tell more."
    weigh(desk, 30, 60)
    assert line(desk) == f"{usual}: weighed on 1 day, two tell more."


def test_how_it_grows_with_what_is_usual_and_how_many_weighings(desk: Desk) -> None:
    for ago in (90, 60, 30, 0):
        read(desk.built, "temp", 27.0, ago)
        weigh(desk, ago, grown(90 - ago, 0.6 * KIND.tgc))
    said = line(desk)
    assert said.startswith("Growth by 4 weighings: coefficient ")
    assert f"usual for these fish {KIND.tgc:.2f}" in said
    share = int(said.split(": ")[2].split(" %")[0])
    # they grow at six tenths; two months of weighings are believed nearly alone
    assert 58 <= share <= 66
    assert said in desk.get("system", desk.built.system.pk).content.decode()


def test_the_forecast_goes_by_the_same_figure(desk: Desk) -> None:
    days = [TODAY - dt.timedelta(days=ago) for ago in (90, 45, 0)]
    weighed = [(day, grown((day - days[0]).days, 0.6)) for day in days]
    temps = [(day, 27.0) for day in days]
    found = growth_weighed(weighed, temps, KIND)
    assert found is not None
    points = [(27.0 * (day - days[0]).days, mean) for day, mean in weighed]
    assert found == growth.growth_fitted(points, KIND.tgc)


def test_where_it_is_too_cold_to_feed_weighings_tell_nothing() -> None:
    days = [TODAY - dt.timedelta(days=ago) for ago in (60, 0)]
    cold = [(day, KIND.feed_min_c - 2) for day in days]
    assert growth_weighed([(days[0], 60.0), (days[1], 61.0)], cold, KIND) is None
    assert warmth_now([]) == USUAL_C


def test_one_query_more_and_only_where_fish_were_weighed_twice(desk: Desk) -> None:
    def count() -> int:
        with CaptureQueriesContext(connection) as seen:
            desk.get("system", desk.built.system.pk)
        return len(seen)

    count()
    before = count()
    for ago in (30, 0):
        weigh(desk, ago, 60 + ago)
    assert count() == before + 1
