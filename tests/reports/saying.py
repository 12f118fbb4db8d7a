"""Snapshots made by hand, so that what a report says can be asked without a database."""

from typing import Any

BANDS = {
    "alk": (60.0, 120.0), "tan": (None, 0.5), "no2": (None, 0.2), "do": (5.5, 9.0),
    "ph": (6.4, 7.0), "temp": (27.0, 30.0), "no3": (10.0, 40.0),
}  # fmt: skip
DECIMALS = {"alk": 0, "tan": 2, "no2": 2, "do": 1, "ph": 2, "temp": 1, "no3": 0}
UNITS = {"alk": "mg/L CaCO3", "ph": "", "temp": "°C"}


def reading(code: str, value: float, word: str, last: float | None = None, last_word: str | None = None) -> dict[str, Any]:  # fmt: skip
    """Return a reading as a snapshot keeps it."""
    low, high = BANDS[code]
    return {
        "id": code, "loop": "l", "measurand": code, "name": code, "value": value,
        "unit": UNITS.get(code, "mg/L"), "decimals": DECIMALS[code], "word": word, "trusted": True,
        "doubts": [], "band": {"t_lo": low, "t_hi": high, "red_lo": None, "red_hi": None},
        "method": "", "instrument": "", "when": "before", "at": "2026-06-11T09:00:00+00:00",
        "last": last, "last_word": last_word, "last_at": None, "trend": None,
        "series": [[20000.0, value]],
    }  # fmt: skip


def advice(rule: str, **more: Any) -> dict[str, Any]:
    """Return a piece of advice as a snapshot keeps it."""
    parameters = {
        "steps": [], "substance": "", "params": {}, "cautions": [], "feed_percent": None,
        "feed_hours": None, "change_fraction": None,
    }  # fmt: skip
    row = {
        "id": rule, "rule": rule, "loop": "l", "urgency": "within_3_days", "who": "client",
        "by": "2026-06-14T09:00:00+00:00", "made": "2026-06-11T10:00:00+00:00", "dose": None,
        "unit": "", "parameters": parameters, "text": "",
    }  # fmt: skip
    return row | more | {"parameters": parameters | more.get("parameters", {})}


def snapshot(*readings: dict[str, Any], **more: Any) -> dict[str, Any]:
    """Return what a report says of a system with fish; `more` takes the place of its parts."""
    fish = {"species": "nile_tilapia", "name": "Nile tilapia", "eaten": True, "market_g": 600,
            "count": 40, "mean_g": 180.0, "weighed_on": "2026-06-01", "deaths": 0}  # fmt: skip
    lettuce = {"crop": "lettuce_head", "name": "lettuce, romaine or head", "count": 30,
               "where": "Raft", "pick_from": "2026-06-13"}  # fmt: skip
    kept = {
        "language": "en", "units": "metric", "time_zone": "UTC", "number": 7, "version": 1,
        "reason": "", "kind": "visit",
        "firm": {"phone": "0555 0100", "emergency_phone": "0555 0199"},
        "visit": {"started": "2026-06-11T09:00:00+00:00", "finished": "2026-06-11T10:00:00+00:00"},
        "readings": list(readings), "derived": [], "advice": [], "findings": [], "holds": [],
        "fish": [fish], "plants": [lettuce], "asks": [], "feeding": {"scoop_g": None, "meals": 2},
        "next": {"booked": "2026-06-18T08:30:00+00:00", "due": None, "tasks": []},
        "past": {"last_on": "2026-05-28", "count": 3, "words": ["in_band"], "done": [],
                 "since": {}, "deaths": 0},
    }  # fmt: skip
    return kept | more
