"""Where the demo firm's technicians set out from, when they work, and how the firm plans."""

import datetime as dt
from typing import Any

from apps.accounts.models import User
from apps.rounds.models import Crew, PlanningSettings, WorkingHours
from demo.firm.keys import key
from demo.firm.people import KM_EAST, KM_NORTH, LATITUDE, LONGITUDE

# (km east, km north) of the market square
BASE_AT = (0.3, 0.6)
# (name, where from, at, skills, minutes of overtime, working days with hours)
CREWS: tuple[tuple[str, str, tuple[float, float], list[str], int, dict[int, tuple[int, int]]], ...] = (
    ("ana", "home", (-1.2, 0.8), ["fish"], 30, dict.fromkeys(range(1, 6), (8, 17))),
    ("marek", "home", (4.7, 2.2), ["electric", "pumps"], 60,
     {**dict.fromkeys(range(1, 5), (8, 17)), 5: (8, 14)}),
)  # fmt: skip


def spot_at(at: tuple[float, float]) -> tuple[float, float]:
    """Return latitude and longitude of a point of the invented grid."""
    east, north = at
    return round(LATITUDE + north * KM_NORTH, 5), round(LONGITUDE + east * KM_EAST, 5)


def crews(people: dict[str, User]) -> list[list[Any]]:
    """Return the unsaved rows, table by table."""
    base = spot_at(BASE_AT)
    rows, hours = [], []
    for name, starts_from, at, skills, overtime, week in CREWS:
        latitude, longitude = spot_at(at)
        rows.append(
            Crew(
                pk=key("crew", name), user=people[name], skills=skills, starts_from=starts_from,
                latitude=latitude, longitude=longitude, overtime_minutes=overtime,
            )
        )  # fmt: skip
        hours += [
            WorkingHours(
                pk=key("working hours", name, day), user=people[name], weekday=day,
                starts=dt.time(begins), ends=dt.time(ends),
            )
            for day, (begins, ends) in week.items()
        ]  # fmt: skip
    settings = PlanningSettings(pk=1, base_latitude=base[0], base_longitude=base[1], days_ahead=5)
    return [[settings], rows, hours]
