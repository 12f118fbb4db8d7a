"""Errors that a person or a program can act on."""

from typing import Any


class DomainError(Exception):
    """A rule of the job forbids it. `code` is stable; `status` is its HTTP status."""

    status = 422
    code = "not_allowed"

    def __init__(self, message: str, code: str = "", **extra: Any) -> None:
        super().__init__(message)
        self.message = message
        self.code = code or self.code
        self.extra = extra


class Invalid(DomainError):
    """Values that cannot be taken; `errors` are {pointer, value, message} objects."""

    code = "invalid"

    def __init__(self, errors: list[dict[str, Any]], message: str = "") -> None:
        super().__init__(message or str(errors[0]["message"]), errors=errors)
        self.errors = errors


class Conflict(DomainError):
    """The state of the thing does not allow it now."""

    status = 409
    code = "conflict"


class StaleVersion(DomainError):
    """The edit was based on an older version."""

    status = 412
    code = "stale"


class VersionMissing(DomainError):
    """An edit has to say which version it is based on."""

    status = 428
    code = "version_missing"


class Forbidden(DomainError):
    """This role may never do it."""

    status = 403
    code = "role"


class NotFound(DomainError):
    """There is no such thing for this reader."""

    status = 404
    code = "not_found"


class TooMany(DomainError):
    """Asked too often."""

    status = 429
    code = "too_many"
