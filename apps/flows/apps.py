"""Registers the flows app and what the outbox and a mail provider may set off."""

from django.apps import AppConfig


class FlowsConfig(AppConfig):
    """The flows app: one module a story, no models."""

    name = "apps.flows"

    def ready(self) -> None:
        """Make every effect known to the outbox; hear what a mail provider reports."""
        from apps.flows import effects  # noqa: F401
        from apps.flows.provider_events import events_heard

        events_heard()
