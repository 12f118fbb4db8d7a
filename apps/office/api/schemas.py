"""The shapes of requests and answers for the OpenAPI document."""

from typing import Any

from drf_spectacular.utils import OpenApiParameter

from apps.ahead.choices import Assumed
from apps.calc.ahead.outlook import METHODS
from apps.care.choices import WhyThere
from apps.catalogue.choices import EntryKind, Knowledge
from apps.incidents.choices import Cause, Entry, Said, Stand
from apps.reports.choices import Channel, Delivery, LetterKind
from apps.systems.choices import ComponentKind, LoopKind, SystemKind
from apps.visits.choices import Answer, Outcome, State, When, Word

Schema = dict[str, Any]

TEXT: Schema = {"type": "string"}
FLAG: Schema = {"type": "boolean"}
NUMBER: Schema = {"type": "number"}
WHOLE: Schema = {"type": "integer"}
ID: Schema = {"type": "string", "format": "uuid"}
TIME: Schema = {"type": "string", "format": "date-time"}
DAY: Schema = {"type": "string", "format": "date"}
URGENCIES = ["now", "today", "within_3_days", "next_visit", "good_to_know"]


def maybe(schema: Schema) -> Schema:
    """Return a schema that null also meets."""
    return {**schema, "type": [schema["type"], "null"]}


def word(*allowed: str) -> Schema:
    """Return the schema of a word out of a list."""
    return {"type": "string", "enum": list(allowed)}


def many(schema: Schema, **more: Any) -> Schema:
    """Return the schema of a list."""
    return {"type": "array", "items": schema, **more}


def shape(needed: dict[str, Schema], extra: dict[str, Schema] | None = None, **more: Any) -> Schema:
    """Return the schema of an object."""
    return {
        "type": "object",
        "properties": {**needed, **(extra or {})},
        "required": list(needed),
        **more,
    }


def listed(schema: Schema) -> Schema:
    """Return the schema of a page."""
    return shape(
        {"count": WHOLE, "next": maybe(TEXT), "previous": maybe(TEXT), "results": many(schema)}
    )


def taken(schema: Schema) -> dict[str, Schema]:
    """Return a request of JSON."""
    return {"application/json": {**schema, "additionalProperties": False}}


KEY = OpenApiParameter(
    "Idempotency-Key", str, OpenApiParameter.HEADER,
    description="a new UUID for each request; the same again gets the same answer",
)  # fmt: skip
KEY_NEEDED = OpenApiParameter(
    "Idempotency-Key", {"type": "string", "minLength": 8, "maxLength": 200},
    OpenApiParameter.HEADER, required=True,
    description="a new UUID for each request; the same again gets the same answer",
)  # fmt: skip
IF_MATCH = OpenApiParameter(
    "If-Match", str, OpenApiParameter.HEADER, required=True, description="the ETag that was read"
)

DUE = shape(
    {
        "on": DAY, "count": WHOLE, "next": maybe(TEXT), "previous": maybe(TEXT),
        "results": many(shape({
            "rank": WHOLE, "system": ID, "place": ID, "client": ID, "due_by": maybe(DAY),
            "days_late": WHOLE,
            "reasons": many(shape(
                {"code": TEXT, "text": TEXT, "since": maybe(DAY)}, {"value": NUMBER, "unit": TEXT}
            )),
            "tasks": many(shape(
                {"id": ID, "code": TEXT, "open": DAY, "due": DAY, "late": DAY, "minutes": WHOLE},
                {"criticality": word("A", "B", "C")},
            )),
        }, {"system_name": TEXT, "place_name": TEXT, "client_name": TEXT})),
    }
)  # fmt: skip
COMPONENT = shape(
    {"id": ID, "kind": word(*ComponentKind.values), "name": TEXT, "litres": maybe(NUMBER),
     "area_m2": maybe(NUMBER)}
)  # fmt: skip
SYSTEM = shape(
    {
        "id": ID, "name": TEXT, "kind": word(*SystemKind.values), "place": ID, "client": ID,
        "started_on": maybe(DAY), "active": FLAG, "rev": WHOLE,
        "loops": many(shape({
            "id": ID, "kind": word(*LoopKind.values), "litres": NUMBER,
            "components": many(COMPONENT),
        })),
    },
    {"place_name": TEXT},
)  # fmt: skip
PLACE = shape(
    {"id": ID, "name": TEXT, "street": TEXT, "town": TEXT, "area": TEXT, "client": ID,
     "latitude": maybe(NUMBER), "longitude": maybe(NUMBER)}, {"client_name": TEXT},
)  # fmt: skip
TECHNICIAN = shape({"id": ID, "username": TEXT, "name": TEXT})
VISIT_DAY = shape(
    {"place": ID, "on": DAY, "earliest": DAY, "latest": DAY, "minutes": WHOLE, "visit": maybe(ID),
     "tasks": many(shape({"id": ID, "code": TEXT, "system": ID, "due": maybe(DAY),
                          "why": word("", *WhyThere.values)}))}, {"place_name": TEXT},
)  # fmt: skip
AHEAD = shape(
    {
        "system": ID, "next_visit": maybe(DAY),
        "loops": many(shape({
            "loop": ID, "from": DAY, "made_at": TIME, "next_visit": maybe(DAY),
            "fans": many(shape({
                "measurand": TEXT, "unit": TEXT, "method": word(*METHODS), "days": many(NUMBER),
                "turns": many(shape({"day": NUMBER, "method": word(*METHODS)})),
                "low": many(NUMBER), "middle": many(NUMBER), "high": many(NUMBER),
                "hit_rate": maybe(NUMBER), "judged": WHOLE, "moves_dates": FLAG,
            })),
            "crossings": many(shape({
                "measurand": TEXT, "side": word("above", "below"), "level": NUMBER,
                "soonest": DAY, "middle": maybe(DAY), "latest": maybe(DAY), "text": TEXT,
            })),
            "stock": many(shape({
                "day": NUMBER, "weight_g": NUMBER, "biomass_kg": NUMBER, "density_kg_m3": NUMBER,
                "feed_g_day": NUMBER, "oxygen_mg_l": NUMBER, "oxygen_margin_mg_l": NUMBER,
            })),
            "needs": many(shape(
                {"day": NUMBER, "feed_g": NUMBER, "base_g_caco3": NUMBER, "topup_l": NUMBER}
            )),
            "assumed": many(shape({"code": word(*Assumed.values), "text": TEXT})),
        })),
    }
)  # fmt: skip
VISIT = shape(
    {
        "id": ID, "place": ID, "client": ID, "state": word(*State.values), "start": TIME,
        "end": TIME, "reason": TEXT, "client_answer": word(*Answer.values),
        "started_at": maybe(TIME), "finished_at": maybe(TIME), "rev": WHOLE,
        "systems": many(ID), "technicians": many(shape({"id": ID, "name": TEXT})),
        "sheets": many(shape({
            "id": ID, "system": ID, "system_name": TEXT,
            "lines": many(shape({
                "id": ID, "code": TEXT, "name": TEXT, "minutes_planned": WHOLE,
                "outcome": maybe(TEXT), "reason": maybe(TEXT),
            })),
        })),
    },
    {"place_name": TEXT},
)  # fmt: skip
ALL_THE_SAME = many(
    {**TEXT, "description": "codes of doubts about the time that were looked at"}, maxItems=20
)
NEW_VISIT = taken(shape(
    {"place": ID, "systems": many(ID, minItems=1, maxItems=20), "start": TIME, "end": TIME,
     "technicians": many({**TEXT, "description": "id or user name"}, minItems=1, maxItems=6)},
    {"reason": {**TEXT, "maxLength": 400}, "id": ID, "all_the_same": ALL_THE_SAME},
))  # fmt: skip
MOVED_VISIT = taken(shape(
    {}, {"start": TIME, "end": TIME, "technicians": many(TEXT, minItems=1, maxItems=6),
         "all_the_same": ALL_THE_SAME},
))  # fmt: skip
TRANSITION = taken(shape({"to": word(*State.values)}, {"reason": {**TEXT, "maxLength": 400}}))
NUMERIC: Schema = {"anyOf": [NUMBER, {"type": "string", "pattern": r"^-?\d{1,6}([.,]\d{1,4})?$"}]}
VALUES = taken(shape(
    {"values": many(shape(
        {"op_id": ID, "path": {**TEXT, "maxLength": 200}, "value": {}},
        {"sheet": maybe(ID), "base_rev": maybe(WHOLE)},
    ), minItems=1, maxItems=100)},
    {"device": {**TEXT, "maxLength": 60}},
))  # fmt: skip
TAKEN = shape({"values": many(shape({"op_id": ID, "outcome": TEXT, "rev": WHOLE}))})
SUBMISSION = taken(shape(
    {
        "finish": FLAG,
        "sheets": many(shape({"system": ID}, {
            "lines": many(shape(
                {"id": ID, "outcome": word(*Outcome.values)},
                {"reason": TEXT, "minutes": maybe(NUMBER), "note": TEXT},
            )),
            "readings": many(shape(
                {"id": ID, "loop": TEXT, "measurand": TEXT, "value": NUMERIC, "unit": TEXT,
                 "taken_at": TIME},
                {"basis": word("n", "ion"), "when": word(*When.values), "method": TEXT,
                 "instrument": TEXT, "as_typed": TEXT, "checked_twice": FLAG},
            )),
            "findings": many(shape(
                {"id": ID},
                {"sign": TEXT, "text": TEXT, "component": maybe(ID), "photo_ids": many(ID)},
            )),
            "advice": many(shape(
                {"id": ID, "decision": word("keep", "edit", "strike")},
                {"text": TEXT, "reason": TEXT},
            )),
        })),
    },
    {"started_at": maybe(TIME), "finished_at": maybe(TIME)},
))  # fmt: skip
RESULT = shape(
    {
        "visit": ID, "state": word(*State.values),
        "sheets": many(shape({
            "system": ID,
            "derived": many(shape(
                {"code": TEXT, "loop": maybe(TEXT), "value": NUMBER, "unit": TEXT,
                 "explanation": {"type": "object"}},
                {"low": maybe(NUMBER), "high": maybe(NUMBER)},
            )),
            "judgements": many(shape(
                {"reading": ID, "word": word(*Word.values), "band": {"type": "object"}},
                {"loop": ID, "measurand": TEXT, "value": NUMBER, "unit": TEXT,
                 "doubts": many({"type": "object"})},
            )),
            "advice": many(shape(
                {"id": ID, "rule": TEXT, "urgency": word(*URGENCIES), "who": TEXT,
                 "by": maybe(TIME), "dose": maybe(NUMBER), "unit": maybe(TEXT), "text": TEXT,
                 "caution": TEXT, "source": TEXT},
            )),
            "not_trusted": many(shape({"reading": maybe(ID), "why": TEXT})),
        })),
    }
)  # fmt: skip
REPORT = shape(
    {
        "id": ID, "number": WHOLE, "visit": ID, "system": ID, "correction_due": FLAG,
        "versions": many(shape({
            "id": ID, "number": WHOLE, "sha256": TEXT, "size": WHOLE, "language": TEXT,
            "reason": TEXT, "made_at": TIME, "released_at": maybe(TIME),
        })),
    }
)  # fmt: skip
RELEASED = shape(
    {"visit": ID, "state": word(*State.values), "released": many(ID), "reports": many(REPORT)}
)
CORRECTION = taken(shape(
    {"value": NUMERIC, "reason": {**TEXT, "maxLength": 400}},
    {"unit": TEXT, "basis": word("n", "ion"), "method": TEXT, "taken_at": TIME},
))  # fmt: skip
CORRECTED = shape({"id": ID, "corrects": ID, "value": NUMBER, "word": word(*Word.values)})
LETTER = shape(
    {
        "id": ID, "kind": word(*LetterKind.values), "visit": maybe(ID), "contact": maybe(ID),
        "channel": word(*Channel.values), "address": TEXT, "subject": TEXT,
        "state": word(*Delivery.values), "tries": WHOLE,
        "message_id": TEXT, "last_error": TEXT, "made_at": TIME, "sent_at": maybe(TIME),
        "not_before": maybe(TIME), "next_try": maybe(TIME),
        "steps": many(shape({"at": TIME, "state": word(*Delivery.values), "words": TEXT})),
    }
)  # fmt: skip
INCIDENT = shape(
    {
        "id": ID, "system": ID, "place": ID, "kind": word(*Said.values),
        "state": word(*Stand.values), "opened_at": TIME, "caller": TEXT, "said": TEXT,
        "answers": {"type": "object", "additionalProperties": TEXT}, "next": maybe(TEXT),
        "urgency": maybe(TEXT), "who": many(TEXT), "skills": many(TEXT), "visit": maybe(ID),
        "cause": maybe(TEXT), "cause_words": TEXT, "outcome": TEXT, "fish_lost": maybe(WHOLE), "closed_at": maybe(TIME),
        "rev": WHOLE,
    }
)  # fmt: skip
NOTE = shape({"id": ID, "at": TIME, "kind": word(*Entry.values), "text": TEXT,
              "what": {"type": "object"}})  # fmt: skip
INCIDENT_WITH_NOTES = {
    **INCIDENT,
    "properties": {**INCIDENT["properties"], "notes": many(NOTE)},
    "required": [*INCIDENT["required"], "notes"],
}
NEW_INCIDENT = taken(shape(
    {"system": ID, "kind": word(*Said.values)},
    {"said": {**TEXT, "maxLength": 2000}, "caller": {**TEXT, "maxLength": 120}, "id": ID},
))  # fmt: skip
NEW_NOTE = taken(shape({"text": {**TEXT, "minLength": 1, "maxLength": 4000}}, {"id": ID}))
CLOSING = taken(shape(
    {"cause": word(*Cause.values), "outcome": {**TEXT, "minLength": 1, "maxLength": 2000}},
    {"cause_words": {**TEXT, "maxLength": 400}, "fish_lost": maybe(WHOLE)},
))  # fmt: skip
CALCULATORS = listed(shape({"name": TEXT, "title": TEXT, "fields": many({"type": "object"})}))
CALCULATED = shape(
    {
        "result": {"type": "object"},
        "explanation": shape({
            "formula": TEXT, "inputs": {"type": "object"}, "source": TEXT, "valid_range": TEXT,
            "assumptions": many(TEXT),
        }),
        "cautions": many(TEXT),
    }
)  # fmt: skip
ENTRY = shape(
    {"code": TEXT, "name": TEXT, "figures": {"type": "object"}, "original": {"type": "object"},
     "source": TEXT, "knowledge": word(*Knowledge.values), "edited": FLAG},
    description=", ".join(EntryKind.values),
)  # fmt: skip
PHOTO = shape({"id": ID, "width": WHOLE, "height": WHOLE, "sha256": TEXT})
