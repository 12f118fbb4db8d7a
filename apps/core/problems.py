"""API errors as problem details (RFC 9457)."""

from typing import Any

from django.core.exceptions import PermissionDenied
from django.core.exceptions import ValidationError as ModelValidationError
from django.http import Http404, HttpResponse, JsonResponse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _later
from rest_framework import exceptions
from rest_framework.views import set_rollback

from apps.core.exceptions import DomainError

TITLES = {
    400: _later("The request cannot be read"),
    401: _later("Not signed in"),
    403: _later("This role may not do that"),
    404: _later("Not found"),
    405: _later("This address does not take that method"),
    406: _later("No such form of the answer"),
    409: _later("The state does not allow it now"),
    412: _later("Changed since you read it"),
    413: _later("Too large"),
    415: _later("This kind of content is not taken"),
    422: _later("Some values cannot be taken"),
    428: _later("Say which version you are editing"),
    429: _later("Too often"),
    500: _later("Something broke"),
    503: _later("Not available just now"),
}


def problem(status: int, detail: str, code: str = "", **extra: Any) -> HttpResponse:
    """Return an application/problem+json answer."""
    body = {
        "type": f"urn:backyard:{code}" if code else "about:blank",
        "title": str(TITLES.get(status, _("Error"))),
        "status": status,
        "detail": detail,
        **extra,
    }
    return JsonResponse(body, status=status, content_type="application/problem+json")


def _flatten(detail: Any, pointer: str = "") -> list[dict[str, Any]]:
    if isinstance(detail, dict):
        return [
            item
            for key, value in detail.items()
            for item in _flatten(
                value, pointer if key == "non_field_errors" else f"{pointer}/{key}"
            )
        ]
    if isinstance(detail, list):
        if all(isinstance(item, str) for item in detail):
            return [{"pointer": pointer or "/", "message": str(item)} for item in detail]
        return [
            found
            for index, item in enumerate(detail)
            for found in _flatten(item, f"{pointer}/{index}")
        ]
    return [{"pointer": pointer or "/", "message": str(detail)}]


def _value_at(data: Any, pointer: str) -> Any:
    for part in [piece for piece in pointer.split("/") if piece]:
        if isinstance(data, dict):
            data = data.get(part)
        elif isinstance(data, list) and part.isdigit() and int(part) < len(data):
            data = data[int(part)]
        else:
            return None
    return data if not isinstance(data, dict | list) else None


def _from_serializer(error: exceptions.ValidationError, context: dict[str, Any]) -> HttpResponse:
    errors = _flatten(error.detail)
    request = context.get("request")
    data = getattr(request, "_full_data", None) if request is not None else None
    for item in errors:
        item["value"] = _value_at(data, item["pointer"])
    return problem(422, errors[0]["message"], "invalid", errors=errors)


def from_model(error: ModelValidationError) -> HttpResponse:
    """Return a 422 for a row that its model or a constraint refuses."""
    fields = error.message_dict if hasattr(error, "error_dict") else {"": error.messages}
    errors = [
        {"pointer": f"/{field}" if field not in ("", "__all__") else "/", "message": text}
        for field, texts in fields.items()
        for text in texts
    ]
    return problem(422, errors[0]["message"], "invalid", errors=errors)


def handler(error: Exception, context: dict[str, Any]) -> HttpResponse | None:
    """Turn an exception into problem details; unknown ones stay errors and are logged."""
    set_rollback()
    if isinstance(error, DomainError):
        return problem(error.status, error.message, error.code, **error.extra)
    if isinstance(error, ModelValidationError):
        return from_model(error)
    if isinstance(error, exceptions.ValidationError):
        return _from_serializer(error, context)
    if isinstance(error, Http404 | exceptions.NotFound):
        return problem(404, _("There is no such thing here."), "not_found")
    if isinstance(error, PermissionDenied):
        error = exceptions.PermissionDenied()
    if isinstance(error, exceptions.APIException):
        answer = problem(error.status_code, str(error.detail), str(error.default_code))
        if isinstance(error, exceptions.NotAuthenticated | exceptions.AuthenticationFailed):
            answer.status_code = 401
            answer["WWW-Authenticate"] = 'Bearer realm="backyard"'
        if isinstance(error, exceptions.Throttled) and getattr(error, "wait", None):
            answer["Retry-After"] = str(int(getattr(error, "wait", 0)) + 1)
        return answer
    return None
