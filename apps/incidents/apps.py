"""Registers the incidents app."""

from django.apps import AppConfig


class IncidentsConfig(AppConfig):
    """The incidents app."""

    name = "apps.incidents"
    default_auto_field = "django.db.models.BigAutoField"
