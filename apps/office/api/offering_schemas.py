"""The shapes of times offered to clients for the OpenAPI document."""

from apps.office.api.schemas import (
    FLAG,
    ID,
    NUMBER,
    TEXT,
    TIME,
    Schema,
    many,
    maybe,
    shape,
    taken,
    word,
)
from apps.rounds.choices import OfferState, TimeState
from apps.rounds.services.offers import MOST_TIMES

MOMENTS: dict[str, Schema] = {
    "start": TIME, "end": TIME, "told": shape({"from": TIME, "until": TIME}),
    "technicians": many(ID), "cost": NUMBER, "km": NUMBER,
}  # fmt: skip
TIMES = shape({
    "times": many(shape({"key": TEXT, **MOMENTS, "late": FLAG})),
    "until": maybe(TIME), "latest": maybe(TIME),
    "refusal": maybe(shape({"code": TEXT, "text": TEXT})), "notes": many(TEXT),
})  # fmt: skip
OFFER = shape({
    "id": ID, "visit": ID, "state": word(*OfferState.values), "until": TIME, "words": TEXT,
    "made_at": TIME, "made_by": TEXT, "ended_at": maybe(TIME), "ended_by": TEXT,
    "times": many(shape({"id": ID, "state": word(*TimeState.values), **MOMENTS})),
})  # fmt: skip
NEW_OFFER = taken(shape(
    {},
    {
        "id": {**ID, "description": "of the offer; the same again is the same offer"},
        "times": many({**TEXT, "description": "keys of /times"}, minItems=2, maxItems=MOST_TIMES),
        "until": TIME,
    },
    description="without times all that are found; without until 48 hours, or as long as may be",
))  # fmt: skip
PICK = taken(shape({"time": ID}))
