"""The shapes of proposals for the OpenAPI document."""

from apps.batches.choices import Harvest, Per
from apps.office.api.schemas import (
    DAY,
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
from apps.office.forms.design import BED_KINDS, BY, GROUPS
from apps.office.forms.proposals import EXTRAS, MOST
from apps.proposals.choices import Answer, Said, Stand

AMOUNT: Schema = {**NUMBER, "minimum": 0, "maximum": MOST}
SHORT: Schema = {**TEXT, "minLength": 1, "maxLength": 120}
PRICES: Schema = {"type": "object", "additionalProperties": {"type": ["number", "null"]}}
EXTRA = shape({"text": {**TEXT, "minLength": 1, "maxLength": 160}, "amount": AMOUNT})
WISH: dict[str, Schema] = {
    "by": word(*(code for code, _label in BY)), "amount": {**NUMBER, "minimum": 0.5, "maximum": 5000},
    "crop_group": word(*(code for code, _label in GROUPS)),
    "bed_kind": word(*(code for code, _label in BED_KINDS)),
    "species": {**TEXT, "description": "a code of the catalogue"},
    "winter_c": {**NUMBER, "minimum": -2, "maximum": 45},
    "summer_c": {**NUMBER, "minimum": -2, "maximum": 45},
}  # fmt: skip
SITE: dict[str, Schema] = {
    "crop": {**TEXT, "description": "a leafy crop of the catalogue, for the heads a week"},
    "lift_m": {**NUMBER, "minimum": 0.1, "maximum": 10},
    "pipe_m": {**NUMBER, "minimum": 1, "maximum": 200},
    "floor_kg_m2": {"type": ["number", "null"], "minimum": 10, "maximum": 100_000},
}  # fmt: skip
NEW_PROPOSAL = taken(shape({"place": ID, "name": SHORT, **WISH}, SITE))
TERMS: dict[str, Schema] = {
    "name": SHORT, "words": {**TEXT, "maxLength": 2000}, "valid_until": DAY,
    "left_out": {**TEXT, "maxLength": 2000},
    "prices": {**PRICES, "description": "without tax, a unit; null takes one away"},
    "margin": {**NUMBER, "minimum": 0, "maximum": 500, "description": "per cent"},
    "hours": {**NUMBER, "minimum": 0, "maximum": 10_000}, "rate": AMOUNT,
    "tax": {"type": ["number", "null"], "minimum": 0, "maximum": 100,
            "description": "per cent; null: not in the price"},
    "extras": many(EXTRA, maxItems=EXTRAS),
}  # fmt: skip
PROPOSAL_CHANGE = taken(shape({}, TERMS))
PRICE_LIST = shape({
    "currency": TEXT,
    "prices": many(shape({"code": TEXT, "unit": TEXT, "amount": maybe(NUMBER)})),
})  # fmt: skip
HARVEST_PRICE = {"kind": word(*Harvest.values), "code": TEXT, "per": word(*Per.values)}
HARVEST_PRICE_LIST = shape({
    "currency": TEXT, "prices": many(shape({**HARVEST_PRICE, "amount": maybe(NUMBER)})),
})  # fmt: skip
HARVEST_PRICE_CHANGE = taken(shape({
    "prices": many(shape({
        **HARVEST_PRICE, "amount": {"type": ["number", "null"], "minimum": 0, "maximum": MOST},
    }), minItems=1),
}))  # fmt: skip
PRICE_CHANGE = taken(shape({
    "prices": {
        "type": "object", "description": "by code; null takes one away", "minProperties": 1,
        "additionalProperties": {"type": ["number", "null"], "minimum": 0, "maximum": MOST},
    },
}))  # fmt: skip
LINE = shape({
    "group": TEXT, "code": TEXT, "quantity": NUMBER, "unit": TEXT, "total": maybe(NUMBER),
})  # fmt: skip
SUM = shape({
    "currency": TEXT, "lines": many(LINE), "work": NUMBER, "net": NUMBER, "tax": maybe(NUMBER),
    "gross": NUMBER, "unpriced": many(TEXT),
})  # fmt: skip
PROPOSAL = shape({
    "id": ID, "number": WHOLE, "place": ID, "survey": maybe(ID), "name": TEXT,
    "wish": {"type": "object"}, "site": {"type": "object"}, "crop": TEXT, "words": TEXT,
    "left_out": TEXT, "valid_until": DAY, "prices": PRICES, "margin": NUMBER, "hours": NUMBER,
    "rate": NUMBER, "tax": maybe(NUMBER), "extras": many(EXTRA), "sum": SUM,
    "stand": word(*Stand.values), "sent_at": maybe(TIME), "answer": word(*Answer.values),
    "answered_on": maybe(DAY), "answered_by": TEXT, "answer_words": TEXT, "accepted": maybe(ID),
    "system": maybe(ID), "rev": WHOLE, "made_at": TIME, "made_by": TEXT,
})  # fmt: skip
WORD = shape({
    "id": ID, "kind": word(*Said.values), "words": TEXT, "at": TIME, "contact": maybe(ID),
    "seen_at": maybe(TIME),
})  # fmt: skip
VERSION = shape({
    "id": ID, "number": WHOLE, "proposal": ID, "language": TEXT, "pdf_size": WHOLE, "sha256": TEXT,
    "made_at": TIME, "made_by": TEXT, "sent_at": maybe(TIME), "sent_by": TEXT,
    "words": many(WORD),
})  # fmt: skip
SENDING = taken(shape({}, {"words": {**TEXT, "maxLength": 1000}}))
SENT = shape({"letters": WHOLE, "version": VERSION})
ANSWER = taken(shape(
    {"answer": word(*Answer.values)},
    {"on": DAY, "version": ID, "said_by": {**TEXT, "maxLength": 160},
     "words": {**TEXT, "maxLength": 1000}},
    description="an acceptance names the version, and who of the client's people said so",
))  # fmt: skip
BUILD = taken(shape({"name": SHORT}))
