"""Registers the care app."""

from django.apps import AppConfig


class CareConfig(AppConfig):
    """The care app."""

    name = "apps.care"
    default_auto_field = "django.db.models.BigAutoField"
