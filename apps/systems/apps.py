"""Registers the systems app."""

from django.apps import AppConfig


class SystemsConfig(AppConfig):
    """The systems app."""

    name = "apps.systems"
    default_auto_field = "django.db.models.BigAutoField"
