"""Registers the clients app."""

from django.apps import AppConfig


class ClientsConfig(AppConfig):
    """The clients app."""

    name = "apps.clients"
    default_auto_field = "django.db.models.BigAutoField"
