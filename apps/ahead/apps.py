"""Registers the ahead app."""

from django.apps import AppConfig


class AheadConfig(AppConfig):
    """The ahead app."""

    name = "apps.ahead"
    default_auto_field = "django.db.models.BigAutoField"
