"""The shapes of the phone's requests and answers for the OpenAPI document."""

from typing import Any

from drf_spectacular.utils import OpenApiExample

Schema = dict[str, Any]

TEXT: Schema = {"type": "string"}
MAYBE: Schema = {"type": ["string", "null"]}
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
SESSION = shape(
    {"user": WHO, "csrf": TEXT, "version": TEXT, "min_version": WHOLE, "cut_off": FLAG},
    {"held_seq": WHOLE},
)
SIGN_IN = taken(shape({"username": TEXT, "password": TEXT}))
DAY = shape(
    {
        "made_at": {"type": "string", "format": "date-time"},
        "day": {"type": "string", "format": "date"},
        "visits": {"type": "array", "items": {"type": "object"}},
    }
)
OPERATION = {
    # a bad one must stop no other, so each is checked by itself: none of this is asked for here
    "type": "object",
    "description": (
        "id: UUID, the same content each time it is sent · seq: the phone's own count from 1 · "
        "visit: UUID · sheet: UUID, null for the visit itself · path: lines/<row>/outcome, "
        "readings/<row>/value and so on, finish, on_my_way, running_late · value · base_rev: the revision it rests on, "
        "null for none · at: time by the phone's clock"
    ),
}
OPERATIONS = taken(
    shape({"device": ID, "ops": {"type": "array", "items": OPERATION, "maxItems": 100}})
)
OUTCOMES = [
    "applied", "same", "again", "conflict", "late", "waiting", "refused",
    "told", "too_late", "nobody",
]  # fmt: skip
REPLIES = shape(
    {
        "results": {
            "type": "array",
            "items": shape(
                {
                    "id": TEXT,
                    "status": {"type": "string", "enum": ["ok", "rejected"]},
                    "outcome": {"type": "string", "enum": OUTCOMES},
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
            "oldest_at": MAYBE, "version": MAYBE, "persisted": FLAG, "standalone": FLAG,
            "clock": MAYBE, "zone": MAYBE,
        },
    )
)  # fmt: skip
HEARD = shape({"cut_off": FLAG, "min_version": WHOLE})
UPLOAD = shape({"offset": WHOLE, "done": FLAG})
COPY = shape({"copy": {"type": "string", "format": "binary"}})
TAKEN = shape(
    {
        "taken": WHOLE, "again": WHOLE, "late": WHOLE, "waiting": WHOLE, "photos": WHOLE,
        "photos_refused": {"type": "array", "items": {"type": "object"}},
        "refused": {"type": "array", "items": {"type": "object"}},
        "met": {"type": "array", "items": {"type": "object"}},
    }
)  # fmt: skip


_PHONE, _VISIT = "5f0c2d1e-6a4b-4c8d-9e2f-1a2b3c4d5e6f", "0b9d5a1c-3e7f-4d2a-8c6b-7f8e9d0c1b2a"
_SHEET, _ROW = "c3a1e5d7-9b2f-4e6c-8d0a-2f4b6c8e0a1d", "7e5c3a19-4d2b-4f8e-a6c0-9b7d5f3e1c0a"
_OP, _PHOTO = "d1f3b5a7-c9e0-4a2c-8e4d-6b8f0a2c4e6d", "a9c7e5b3-d1f0-4b2d-9f4e-5c7a9e1b3d5f"
OPERATION_EXAMPLES = [
    OpenApiExample(
        "a reading",
        value={
            "device": _PHONE,
            "ops": [
                {
                    "id": _OP, "seq": 41, "visit": _VISIT, "sheet": _SHEET,
                    "path": f"readings/{_ROW}/value", "value": "6.8", "base_rev": 0,
                    "at": "2026-06-11T08:20:00+02:00",
                }
            ],
        },
        request_only=True,
    ),
    OpenApiExample(
        "the end of a visit",
        value={
            "device": _PHONE,
            "ops": [
                {
                    "id": _OP, "seq": 97, "visit": _VISIT, "sheet": None, "path": "finish",
                    "value": {
                        "needs_seq": 96, "photos": [_PHOTO],
                        "worked_out": [[_SHEET, "alkalinity_low", _ROW, 74.5]],
                    },
                    "base_rev": 0, "at": "2026-06-11T09:05:00+02:00",
                }
            ],
        },
        request_only=True,
    ),
    OpenApiExample(
        "it waits for a photo",
        value={
            "results": [
                {
                    "id": _OP, "status": "ok", "outcome": "waiting", "rev": 0, "theirs": None,
                    "theirs_by": "",
                    "why": [
                        {"code": "photos", "photos": [_PHOTO]}
                    ],
                }
            ]
        },
        response_only=True,
        status_codes=["200"],
    ),
]  # fmt: skip
CONTACT_EXAMPLES = [
    OpenApiExample(
        "five answers wait",
        value={
            "device": _PHONE, "pending_ops": 5, "pending_photos": 1, "last_seq": 97,
            "oldest_at": "2026-06-11T12:10:00Z", "version": "3f2a91c07d", "persisted": True,
            "standalone": True, "clock": "2026-06-11T12:40:03Z", "zone": "Europe/Lisbon",
        },
        request_only=True,
    ),
    OpenApiExample(
        "heard", value={"cut_off": False, "min_version": 1}, response_only=True,
        status_codes=["200"],
    ),
]  # fmt: skip
UPLOAD_EXAMPLES = [
    OpenApiExample(
        "a quarter is here", value={"offset": 262144, "done": False}, response_only=True,
        status_codes=["200"],
    )
]  # fmt: skip
COPY_EXAMPLES = [
    OpenApiExample(
        "all of it was here before",
        value={
            "taken": 0, "again": 12, "late": 0, "waiting": 0, "photos": 1, "photos_refused": [],
            "refused": [], "met": [],
        },
        response_only=True,
        status_codes=["200"],
    )
]  # fmt: skip
SIGN_IN_EXAMPLES = [
    OpenApiExample(
        "a technician", value={"username": "ana", "password": "three-words-and-1"},
        request_only=True,
    )
]  # fmt: skip
