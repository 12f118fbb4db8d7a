"""Keeps forecasts, and hands their dates on to care."""

from apps.ahead.services.keeping import Made, forecasts_keep

__all__ = ["Made", "forecasts_keep"]
