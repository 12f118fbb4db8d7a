"""Registers the visits app."""

from django.apps import AppConfig


class VisitsConfig(AppConfig):
    """The visits app."""

    name = "apps.visits"
    default_auto_field = "django.db.models.BigAutoField"
