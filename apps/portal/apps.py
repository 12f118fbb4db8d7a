"""Registers the portal app."""

from django.apps import AppConfig


class PortalConfig(AppConfig):
    """The portal app."""

    name = "apps.portal"
    default_auto_field = "django.db.models.BigAutoField"
