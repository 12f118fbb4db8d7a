"""Registers the batches app."""

from django.apps import AppConfig


class BatchesConfig(AppConfig):
    """The batches app."""

    name = "apps.batches"
    default_auto_field = "django.db.models.BigAutoField"
