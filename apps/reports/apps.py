"""Registers the reports app."""

from django.apps import AppConfig


class ReportsConfig(AppConfig):
    """The reports app."""

    name = "apps.reports"
    default_auto_field = "django.db.models.BigAutoField"
