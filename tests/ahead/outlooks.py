"""Forecasts made by hand: what the pages and the services are tried with."""

import datetime as dt
from typing import Any

from apps.ahead.selectors import Gathered, gather
from apps.ahead.services import Made, forecasts_keep
from apps.calc.ahead.outlook import Crossing, Fan, Needs, Outlook, StockDay
from apps.catalogue.selectors import catalogue_current
from tests.factories import NOW, TODAY, Built

DAYS = tuple(float(day) for day in range(0, 43, 7))


def fan(measurand: str, start: float, slope: float, **more: Any) -> Fan:
    """A straight fan that opens by a tenth of its slope's run a week."""
    middle = tuple(start + slope * day for day in DAYS)
    half = tuple(0.02 * start + 0.3 * abs(slope) * day for day in DAYS)
    values: dict[str, Any] = {
        "method": "balance", "hit_rate": 31 / 38, "judged": 38, "days": DAYS, "middle": middle,
        "low": tuple(m - h for m, h in zip(middle, half, strict=True)),
        "high": tuple(m + h for m, h in zip(middle, half, strict=True)),
    }  # fmt: skip
    return Fan(measurand=measurand, **(values | more))


def outlook(**more: Any) -> Outlook:
    """A coupled loop whose nitrite rises and whose alkalinity falls."""
    values: dict[str, Any] = {
        "fans": (
            fan("no2", 0.2, 0.012),
            fan("alk", 80, -0.7, method="trend", hit_rate=None, judged=2),
            fan("no3", 60, 1.1, method="steady"),
        ),
        "crossings": (
            Crossing("no2", "above", 0.5, 20.0, 25.5, 36.0),
            Crossing("no3", "above", 100.0, 28.0, 36.4, None),
            Crossing("alk", "below", 40.0, None, None, None),
        ),
        "stock": tuple(
            StockDay(day, 200 + day, 8 + day / 25, 8 + day / 25, 120 + day, 6.4, 1.4 - day / 50)
            for day in DAYS
        ),
        "needs": tuple(Needs(day, 120 * day, 9 * day, 22 * day) for day in DAYS[1:]),
    }  # fmt: skip
    return Outlook(**(values | more))


def found(built: Built, on: dt.date = TODAY, at: dt.datetime = NOW) -> list[Gathered]:
    """What is known of a system's loops."""
    return gather([built.system.pk], catalogue_current(), on, at)


def keep(built: Built, on: dt.date = TODAY, at: dt.datetime = NOW, **more: Any) -> list[Any]:
    """Keep a forecast made by hand for each loop of a system."""
    made = [Made(item, outlook(**more), {}) for item in found(built, on, at)]
    return forecasts_keep(made=made, on=on, at=at)
