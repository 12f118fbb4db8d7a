"""The shapes of plans of rounds for the OpenAPI document."""

from apps.office.api.schemas import (
    DAY,
    FLAG,
    ID,
    NUMBER,
    TEXT,
    TIME,
    WHOLE,
    Schema,
    many,
    maybe,
    shape,
    taken,
    word,
)
from apps.rounds.choices import Kind, PlanState
from apps.rounds.models import MOST_DAYS
from apps.rounds.planning.plan import REASONS

MOST_SECONDS = 20
MOST_ITERATIONS = 2000
MOST_SEED = 2_000_000_000

BRIEF: dict[str, Schema] = {
    "id": ID, "first": DAY, "days": WHOLE, "state": word(*PlanState.values), "share": NUMBER,
    "value": maybe(NUMBER), "cost": maybe(NUMBER), "rounds": WHOLE, "left_out": WHOLE,
    "made_at": TIME, "made_by": TEXT, "judged_at": maybe(TIME), "ended_at": maybe(TIME),
    "ended_by": TEXT, "revises": maybe(ID), "failed_because": TEXT,
}  # fmt: skip
PLAN_BRIEF = shape(BRIEF)
STOP: dict[str, Schema] = {
    "stop": TEXT, "kind": word(*Kind.values), "visit": maybe(ID), "place": ID, "place_name": TEXT,
    "systems": many(shape({"id": ID, "name": TEXT})), "people": WHOLE,
}  # fmt: skip
PLAN = shape(
    {
        **BRIEF, "stale": FLAG, "estimated": FLAG, "km": NUMBER,
        "change": {"type": ["object", "null"]},
        "notes": many(shape({"code": TEXT, "text": TEXT})),
        "technician_days": many(shape({
            "technician": shape({"id": ID, "name": TEXT}), "day": DAY, "leave": TIME, "back": TIME,
            "lunch": maybe(shape({"start": TIME, "end": TIME})), "km": NUMBER, "cost": NUMBER,
            "calls": many(shape({**STOP, "arrive": TIME, "start": TIME, "end": TIME})),
        })),
        "not_planned": many(shape({**STOP, "reason": word(*REASONS), "text": TEXT})),
    }
)  # fmt: skip
NEW_PLAN = taken(shape(
    {"first": DAY, "days": {**WHOLE, "minimum": 1, "maximum": MOST_DAYS}},
    {
        "seconds": {**NUMBER, "minimum": 1, "maximum": MOST_SECONDS},
        "iterations": {**WHOLE, "minimum": 1, "maximum": MOST_ITERATIONS},
        "seed": {**WHOLE, "minimum": 0, "maximum": MOST_SEED},
    },
    description="either seconds or iterations, which give the same plan for the same seed",
))  # fmt: skip
ACCEPTED = shape({"plan": PLAN, "visits": many(ID)})
PEOPLE = many({**TEXT, "description": "id or user name"}, minItems=1, maxItems=2)
MOVED_STOP = taken(shape(
    {"stop": TEXT, "technicians": PEOPLE, "day": DAY},
    {
        "time": {**TEXT, "pattern": "^[0-2][0-9]:[0-5][05]$", "description": "local, as 09:05"},
        "position": {**WHOLE, "minimum": 0, "maximum": 100},
    },
))  # fmt: skip
AWAY = taken(shape(
    {"technician": {**TEXT, "description": "id or user name"}, "first": DAY, "last": DAY},
    {"reason": {**TEXT, "maxLength": 200}},
))  # fmt: skip
