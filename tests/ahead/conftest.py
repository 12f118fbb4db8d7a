"""A firm with one system whose water was read a few times."""

import datetime as dt
from typing import Any
from uuid import uuid4

import pytest

from apps.systems.models import Flow, Loop
from apps.visits.models import Reading
from tests import factories
from tests.factories import NOW, Built


@pytest.fixture
def built() -> Built:
    """A coupled system that nothing is due at."""
    factories.firm()
    place = factories.place(factories.client("Osei"), latitude=50.9, longitude=4.4)
    row = factories.system(place)
    factories.quiet(row)
    return row


def read(built: Built, measurand: str, value: float, days_ago: float, **more: Any) -> Reading:
    """A reading of a system, so many days ago."""
    at = NOW - dt.timedelta(days=days_ago)
    values = {
        "loop": built.loop, "method": "drops", "word": "in_band", "taken_at": at, "received_at": at,
    }  # fmt: skip
    return Reading.objects.create(pk=uuid4(), measurand=measurand, value=value, **(values | more))


def decoupled(built: Built) -> Loop:
    """Part a system in two: 45 L a day flow one way to a plant loop of 400 L, which is returned."""
    built.system.kind = "decoupled"
    built.system.save()
    built.loop.kind = "fish"
    built.loop.save()
    plants = Loop.objects.create(system=built.system, kind="plant", measured_litres=400)
    built.raft.loop = plants
    built.raft.save()
    Flow.objects.filter(source=built.raft).delete()
    Flow.objects.filter(target=built.raft).update(one_way=True, litres_per_day=45, kind="by_hand")
    return plants
