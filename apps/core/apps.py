"""Registers the core app and its system checks."""

from django.apps import AppConfig


class CoreConfig(AppConfig):
    """The core app."""

    name = "apps.core"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Register the system checks."""
        from apps.core import checks

        checks.register_all()
