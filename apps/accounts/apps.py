"""Registers the accounts app."""

from django.apps import AppConfig


class AccountsConfig(AppConfig):
    """The accounts app."""

    name = "apps.accounts"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Tell the schema how one signs in; take a browser that signs out off the list."""
        from django.contrib.auth.signals import user_logged_out

        from apps.accounts import schema  # noqa: F401
        from apps.accounts.signing import signed_out

        user_logged_out.connect(signed_out)
