"""System checks: every model says who may see it; the PDF engine is there."""

from typing import Any

from django.apps import apps
from django.core.checks import Error, Warning, register

from apps.core.scoping import Scope


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


def register_all() -> None:
    """Register the checks."""
    register()(models_have_scope)
    register()(pdf_engine_loads)
