"""Keeps forecasts, and hands their dates on to care."""

from apps.ahead.services.feed_left import feed_left_refresh
from apps.ahead.services.keeping import Made, forecasts_keep

__all__ = ["Made", "feed_left_refresh", "forecasts_keep"]
