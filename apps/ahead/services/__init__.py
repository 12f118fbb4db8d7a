"""Keeps forecasts, and hands their dates on to care."""

from apps.ahead.services.keeping import forecasts_keep

__all__ = ["forecasts_keep"]
