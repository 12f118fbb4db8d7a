"""Registers the rounds app."""

from django.apps import AppConfig


class RoundsConfig(AppConfig):
    """The rounds app."""

    name = "apps.rounds"
    default_auto_field = "django.db.models.BigAutoField"
