"""The schema that drf-spectacular draws, with the problem answers that every operation has."""

from typing import Any

from drf_spectacular.openapi import AutoSchema

PROBLEM = {
    "type": "object",
    "required": ["type", "title", "status"],
    "properties": {
        "type": {"type": "string"},
        "title": {"type": "string"},
        "status": {"type": "integer"},
        "detail": {"type": "string"},
        "errors": {
            "type": "array",
            "items": {
                "type": "object",
                "required": ["pointer", "message"],
                "properties": {
                    "pointer": {"type": "string", "description": "JSON pointer (RFC 6901)"},
                    "value": {},
                    "message": {"type": "string"},
                    "allowed": {"type": "array", "items": {}},
                },
            },
        },
    },
}
EXAMPLE = {
    "type": "urn:backyard:invalid",
    "title": "Some values cannot be taken",
    "status": 422,
    "detail": "pH 71 is outside 3 to 11",
    "errors": [{"pointer": "/ph", "value": 71, "message": "pH 71 is outside 3 to 11"}],
}
MEANING = {
    "400": "The request cannot be read: bad JSON or an unknown filter.",
    "401": "Not signed in.",
    "403": "This role may not do that.",
    "404": "Not found, or not yours.",
    "405": "This address does not take that method.",
    "406": "No such form of the answer.",
    "409": "The state does not allow it now.",
    "412": "Changed since you read it.",
    "413": "Too large.",
    "415": "This kind of content is not taken.",
    "422": "Some values cannot be taken.",
    "428": "Say which version you are editing.",
    "429": "Too often.",
}


class ProblemSchema(AutoSchema):
    """Adds the problem+json answers once, for every operation."""

    def get_operation(self, *args: Any, **kwargs: Any) -> dict[str, Any] | None:
        """Return the operation with its error answers."""
        operation = super().get_operation(*args, **kwargs)
        if operation is None:
            return None
        statuses = ["400", "401", "403", "404", "405", "406", "429"]
        if self.method in ("POST", "PUT", "PATCH", "DELETE"):
            statuses += ["409", "412", "413", "415", "422", "428"]
        for status in statuses:
            operation["responses"].setdefault(
                status,
                {
                    "description": MEANING[status],
                    "content": {
                        "application/problem+json": {"schema": PROBLEM, "example": EXAMPLE}
                    },
                },
            )
        return operation
