"""Registers the advice app."""

from django.apps import AppConfig


class AdviceConfig(AppConfig):
    """The advice app."""

    name = "apps.advice"
    default_auto_field = "django.db.models.BigAutoField"
