"""Registers the accounts app."""

from django.apps import AppConfig


class AccountsConfig(AppConfig):
    """The accounts app."""

    name = "apps.accounts"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Tell the schema how one signs in."""
        from apps.accounts import schema  # noqa: F401
