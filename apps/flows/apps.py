"""Registers the flows app and the effects that the outbox may run."""

from django.apps import AppConfig


class FlowsConfig(AppConfig):
    """The flows app: one module a story, no models."""

    name = "apps.flows"

    def ready(self) -> None:
        """Make every effect known to the outbox."""
        from apps.flows import effects  # noqa: F401
