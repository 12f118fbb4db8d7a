"""Registers the office app."""

from django.apps import AppConfig


class OfficeConfig(AppConfig):
    """The office app."""

    name = "apps.office"
    default_auto_field = "django.db.models.BigAutoField"
