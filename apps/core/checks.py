"""System checks: every model says who may see it; the PDF engine is there."""

from typing import Any
from urllib.parse import urlsplit

from django.apps import apps
from django.conf import settings
from django.core.checks import Error, Warning, register
from django.core.exceptions import ImproperlyConfigured, ValidationError
from django.core.validators import validate_email

from apps.core.mail_provider import event_addresses
from apps.core.mailbox import PORTS
from apps.core.scoping import Scope
from apps.core.texting import texts
from apps.core.verp import LONGEST_NAME


def models_have_scope(**_kwargs: Any) -> list[Error]:
    """Refuse a model of ours that does not say who may see its rows."""
    return [
        Error(
            f"{model._meta.label} has no scope",
            hint="add scope = Scope(client=..., visits=...) to the model",
            id="backyard.E001",
        )
        for model in apps.get_models()
        if model.__module__.startswith("apps.")
        and not isinstance(getattr(model, "scope", None), Scope)
    ]


def pdf_engine_loads(**_kwargs: Any) -> list[Warning]:
    """Warn where the system libraries of the PDF engine are missing."""
    from ctypes.util import find_library

    if find_library("pango-1.0") and find_library("pangoft2-1.0"):
        return []
    return [
        Warning(
            "the PDF engine's system libraries are missing",
            hint="apt-get install libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0",
            id="backyard.W001",
        )
    ]


def mail_settings(**_kwargs: Any) -> list[Error]:
    """Refuse addresses of returned mail and of text messages that cannot work."""
    found = []
    if settings.BOUNCE_ADDRESS:
        try:
            validate_email(settings.BOUNCE_ADDRESS)
            fits = len(settings.BOUNCE_ADDRESS.partition("@")[0]) <= LONGEST_NAME
        except ValidationError:
            fits = False
        if not fits:
            hint = f"write an address with at most {LONGEST_NAME} signs before its @"
            found.append(_wrong("BOUNCE_ADDRESS", settings.BOUNCE_ADDRESS, hint, 2))
    if settings.BOUNCE_MAILBOX and urlsplit(settings.BOUNCE_MAILBOX).scheme not in PORTS:
        hint = "write imaps://host/folder"
        found.append(_wrong("BOUNCE_MAILBOX", settings.BOUNCE_MAILBOX, hint, 3))
    found += _provider_faults()
    try:
        texts()
    except ImproperlyConfigured as error:
        found.append(Error(str(error), id="backyard.E004"))
    return found


def _provider_faults() -> list[Error]:
    """Refuse a provider that is not known, or whose reports anybody could write."""
    name = settings.MAIL_PROVIDER
    if not name:
        return []
    if not event_addresses(name):
        return [_wrong("MAIL_PROVIDER", name, "write the name of a backend of django-anymail", 5)]
    if not settings.ANYMAIL.get("WEBHOOK_SECRET"):
        hint = 'add {"WEBHOOK_SECRET": "user:password"}, as the provider is told to send it'
        return [_wrong("MAIL_PROVIDER_OPTIONS", "…", hint, 6)]
    return []


def _wrong(name: str, value: str, hint: str, number: int) -> Error:
    return Error(f"{name}={value!r} cannot work", hint=hint, id=f"backyard.E{number:03d}")


def register_all() -> None:
    """Register the checks."""
    register()(models_have_scope)
    register()(pdf_engine_loads)
    register()(mail_settings)
