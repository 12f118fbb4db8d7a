"""A firm with one system whose water was read a few times."""

import datetime as dt
from typing import Any
from uuid import uuid4

import pytest

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
    values = {"method": "drops", "word": "in_band", "taken_at": at, "received_at": at}
    return Reading.objects.create(
        pk=uuid4(), loop=built.loop, measurand=measurand, value=value, **(values | more)
    )
