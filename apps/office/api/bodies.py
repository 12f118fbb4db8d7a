"""Bodies of the API that the office's own forms judge: the same limits, the same words."""

import datetime as dt
import math
from collections.abc import Callable, Mapping
from decimal import Decimal
from typing import Any, TypeVar

from django import forms
from django.utils.translation import gettext as _

from apps.core.exceptions import Invalid
from apps.office.forms.base import NumberField

F = TypeVar("F", bound=forms.Form)
NOT_FINITE = (math.inf, -math.inf)


def fault(pointer: str, message: str, value: Any = None) -> Invalid:
    """Return the error for one field."""
    name = pointer.strip("/")
    # JSON has no word for what is not finite, which a body may hold as 1e999
    shown = value if isinstance(value, str | int | float) and value not in NOT_FINITE else None
    said = f"{name}: {message}" if name else message
    return Invalid([{"pointer": pointer, "value": shown, "message": said}])


def as_typed(fields: Mapping[str, forms.Field], body: Mapping[str, Any]) -> dict[str, str]:
    """Return the values of a body as a form has them. Raises Invalid for another JSON type."""
    return {
        name: _typed(fields[name], f"/{name}", value)
        for name, value in body.items()
        if name in fields and value is not False
    }


def _typed(field: forms.Field, pointer: str, value: Any) -> str:
    if value is None:
        return ""
    if isinstance(field, NumberField):
        return number_typed(pointer, value)
    if isinstance(field, forms.BooleanField):
        if isinstance(value, bool):
            return "on"
        raise fault(pointer, _("true or false is needed"), value)
    if not isinstance(value, str) or "\x00" in value:
        raise fault(pointer, _("text is needed"))
    return value


def number_typed(pointer: str, value: Any) -> str:
    """Return a number of a body as it is typed. Raises Invalid for what is none."""
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise fault(pointer, _("a number is needed"), value)
    return f"{Decimal(repr(value)):f}"


def held_typed(values: Mapping[str, Any]) -> dict[str, str]:
    """Return what is kept as the values of a form, to be changed in part."""
    return {name: _held(value) for name, value in values.items() if value is not False}


def _held(value: Any) -> str:
    if value is None:
        return ""
    if value is True:
        return "on"
    if isinstance(value, dt.date):
        return value.isoformat()
    if isinstance(value, float):
        return number_typed("", value)
    return f"{value:f}" if isinstance(value, Decimal) else str(value)


def judged(form: F, place_of: Callable[[str], str] = lambda name: f"/{name}") -> F:
    """Return a form that holds. Raises Invalid with each field's pointer, as `place_of` gives it."""
    if form.is_valid():
        return form
    errors = []
    for name, messages in form.errors.items():
        pointer = "/" if name == "__all__" else place_of(name)
        said = pointer.strip("/")
        errors += [
            {"pointer": pointer, "value": None,
             "message": f"{said}: {message}" if said else str(message)}
            for message in messages
        ]  # fmt: skip
    raise Invalid(errors)
