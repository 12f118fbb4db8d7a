"""The shapes of the phone's requests and answers for the OpenAPI document."""

from typing import Any

Schema = dict[str, Any]

TEXT: Schema = {"type": "string"}
FLAG: Schema = {"type": "boolean"}
WHOLE: Schema = {"type": "integer"}
ANY: Schema = {}
ID: Schema = {"type": "string", "format": "uuid"}


def shape(needed: dict[str, Schema], extra: dict[str, Schema] | None = None) -> Schema:
    """Return the schema of an object."""
    return {
        "type": "object",
        "properties": {**needed, **(extra or {})},
        "required": list(needed),
    }


def taken(schema: Schema) -> dict[str, Schema]:
    """Return a request of JSON."""
    return {"application/json": {**schema, "additionalProperties": False}}


WHO = {"type": ["object", "null"], "properties": {"id": ID, "name": TEXT, "role": TEXT}}
SESSION = shape({"user": WHO, "csrf": TEXT, "version": TEXT, "min_version": WHOLE, "cut_off": FLAG})
SIGN_IN = taken(shape({"username": TEXT, "password": TEXT}))
DAY = shape(
    {
        "made_at": {"type": "string", "format": "date-time"},
        "day": {"type": "string", "format": "date"},
        "visits": {"type": "array", "items": {"type": "object"}},
    }
)
OPERATION = {"type": "object"}
OPERATIONS = taken(
    shape({"device": ID, "ops": {"type": "array", "items": OPERATION, "maxItems": 100}})
)
REPLIES = shape(
    {
        "results": {
            "type": "array",
            "items": shape(
                {
                    "id": TEXT,
                    "status": {"type": "string", "enum": ["ok", "rejected"]},
                    "outcome": TEXT,
                    "rev": WHOLE,
                    "theirs": ANY,
                    "theirs_by": TEXT,
                    "why": {"type": "array", "items": {"type": "object"}},
                }
            ),
        }
    }
)
CONTACT = taken(
    shape(
        {"device": ID},
        {
            "pending_ops": WHOLE, "pending_photos": WHOLE, "last_seq": WHOLE,
            "oldest_at": {"type": ["string", "null"]}, "version": TEXT, "persisted": FLAG,
            "standalone": FLAG, "clock": TEXT, "zone": TEXT,
        },
    )
)  # fmt: skip
HEARD = shape({"cut_off": FLAG, "min_version": WHOLE})
UPLOAD = shape({"offset": WHOLE, "done": FLAG})
COPY = shape({"copy": {"type": "string", "format": "binary"}})
TAKEN = shape(
    {
        "taken": WHOLE, "again": WHOLE, "late": WHOLE, "photos": WHOLE,
        "refused": {"type": "array", "items": {"type": "object"}},
        "met": {"type": "array", "items": {"type": "object"}},
    }
)  # fmt: skip
