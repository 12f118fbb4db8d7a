"""The forecast on arrays, for the worker: learns each loop from its readings and carries it on.

Loads numpy; the web process uses ``apps.calc.ahead`` alone.
"""

from apps.ahead.engine.outlooks import Forecast, forecasts, outlook

__all__ = ["Forecast", "forecasts", "outlook"]
