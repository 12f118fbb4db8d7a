"""Which tasks are done together on which days: visits for one system, or for all of a place.

Three ways, from plain to far-sighted: `fewest` visits for the windows as they stand, `cheapest`
with prices for days early and late and for each day, `ahead` for tasks that come round again.
Each task is in a visit, or among `not_placed` with a reason and the nearest day.
"""

from apps.calc.bundling.ahead import ahead
from apps.calc.bundling.changes import Change, Changes, changes
from apps.calc.bundling.cheapest import cheapest
from apps.calc.bundling.fewest import fewest
from apps.calc.bundling.model import (
    CAN_WAIT,
    CLIENT_DOES_IT,
    KEPT_APART,
    NO_ALLOWED_DAY,
    OVER_THE_LIMIT,
    OVERDUE,
    SKILL_MISSING,
    Apart,
    Day,
    NotPlaced,
    Placed,
    Plan,
    PlanError,
    Task,
    Visit,
)
from apps.calc.bundling.turns import again_of

__all__ = [
    "CAN_WAIT",
    "CLIENT_DOES_IT",
    "KEPT_APART",
    "NO_ALLOWED_DAY",
    "OVERDUE",
    "OVER_THE_LIMIT",
    "SKILL_MISSING",
    "Apart",
    "Change",
    "Changes",
    "Day",
    "NotPlaced",
    "Placed",
    "Plan",
    "PlanError",
    "Task",
    "Visit",
    "again_of",
    "ahead",
    "changes",
    "cheapest",
    "fewest",
]
