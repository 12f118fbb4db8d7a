"""A demo's clock runs as the real one does, only elsewhere: its midnight is one, too."""

import datetime as dt

import pytest
from django.core.exceptions import ImproperlyConfigured
from django.utils import timezone

from apps.core import clock
from backyard.settings import env
from demo.run import ahead


def at(monkeypatch: pytest.MonkeyPatch, text: str) -> dt.datetime:
    """Return what the clock says when the real one shows `text`."""
    monkeypatch.setattr(timezone, "now", lambda: dt.datetime.fromisoformat(text))
    return clock.now()


def test_the_day_of_a_demo_passes_at_midnight(
    settings: object, monkeypatch: pytest.MonkeyPatch
) -> None:
    settings.BACKYARD_CLOCK_AHEAD = -170 * 86400  # type: ignore[attr-defined]
    before = at(monkeypatch, "2026-11-28T23:59:58+00:00")
    after = at(monkeypatch, "2026-11-29T00:00:03+00:00")
    assert before == dt.datetime(2026, 6, 11, 23, 59, 58, tzinfo=dt.UTC)
    assert after - before == dt.timedelta(seconds=5)


@pytest.mark.parametrize(
    ("on", "shows"),
    [
        ("2026-06-11", "2026-06-11T23:59:58+00:00"),
        ("2026-06-11T09:00", "2026-06-11T09:00:00+00:00"),
        ("2026-12-11T09:00:30+02:00", "2026-12-11T07:00:30+00:00"),
    ],
)
def test_a_demo_is_set_to_a_day_or_to_a_minute(on: str, shows: str) -> None:
    real = dt.datetime(2026, 11, 28, 23, 59, 58, tzinfo=dt.UTC)
    assert (real + dt.timedelta(seconds=ahead(on, real))).isoformat() == shows


@pytest.mark.parametrize("on", ["yesterday", "2026-02-30", "11.06.2026", "2026-06-11T9"])
def test_a_day_that_is_none_is_refused(on: str) -> None:
    with pytest.raises(ValueError, match=r"\S"):
        ahead(on)


def test_seconds_that_are_none_are_refused_by_name(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("BACKYARD_CLOCK_AHEAD", "a day")
    with pytest.raises(ImproperlyConfigured, match="BACKYARD_CLOCK_AHEAD='a day': write whole"):
        env.seconds("BACKYARD_CLOCK_AHEAD")
