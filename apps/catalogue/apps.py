"""Registers the catalogue app."""

from django.apps import AppConfig


class CatalogueConfig(AppConfig):
    """The catalogue app."""

    name = "apps.catalogue"
    default_auto_field = "django.db.models.BigAutoField"
