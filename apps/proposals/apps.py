"""Registers the proposals app."""

from django.apps import AppConfig


class ProposalsConfig(AppConfig):
    """The proposals app."""

    name = "apps.proposals"
    default_auto_field = "django.db.models.BigAutoField"
