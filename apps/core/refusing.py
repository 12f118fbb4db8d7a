"""What a service refused, put beside the field that it names."""

from collections.abc import Callable
from typing import TypeVar

from django import forms
from django.core.exceptions import ValidationError
from django.db import transaction

from apps.core.exceptions import DomainError, Invalid, StaleVersion

T = TypeVar("T")


def _plain(message: str, name: str) -> str:
    """Take the field's name off: the message stands beside its field."""
    head, mark, rest = message.partition(": ")
    text = rest if mark and head == name else message
    return text[:1].upper() + text[1:]


def refuse(form: forms.Form, error: DomainError | ValidationError) -> None:
    """Put what a service refused beside the field that it names, or above the form."""
    if isinstance(error, ValidationError):
        rows = (
            error.message_dict.items()
            if hasattr(error, "error_dict")
            else [("__all__", error.messages)]
        )
        for name, messages in rows:
            form.add_error(name if name in form.fields else None, messages)
    elif isinstance(error, Invalid):
        for item in error.errors:
            name = str(item["pointer"]).strip("/").split("/")[0]
            text = _plain(str(item["message"]), name)
            form.add_error(name if name in form.fields else None, text)
    else:
        form.add_error(None, error.message)


def attempt(form: forms.Form, act: Callable[[], T]) -> T | None:
    """Carry out what a valid form asks for: all of it, or nothing and the reason on the form."""
    try:
        with transaction.atomic():
            return act()
    except StaleVersion:
        raise
    except (DomainError, ValidationError) as error:
        refuse(form, error)
    return None
