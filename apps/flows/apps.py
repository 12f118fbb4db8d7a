"""Registers the flows app."""

from django.apps import AppConfig


class FlowsConfig(AppConfig):
    """The flows app."""

    name = "apps.flows"
