"""Registers the field app."""

from django.apps import AppConfig


class FieldConfig(AppConfig):
    """The field app."""

    name = "apps.field"
    default_auto_field = "django.db.models.BigAutoField"
