"""Prints a new access token for the API."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from apps.accounts.models import User
from apps.accounts.services import token_issue
from apps.core import clock


class Command(BaseCommand):
    """manage.py token_issue --user NAME."""

    help = "Print a new access token for a member of the staff; it is shown this once."

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare the options."""
        parser.add_argument("--user", required=True, help="user name")
        parser.add_argument("--name", default="command line", help="what the token is for")

    def handle(self, *args: Any, **options: Any) -> None:
        """Make and print the token."""
        user = User.objects.filter(username=options["user"], is_active=True).first()
        if user is None:
            known = ", ".join(User.objects.values_list("username", flat=True)[:20])
            raise CommandError(f"no active user {options['user']!r}; known: {known}")
        self.stdout.write(token_issue(user=user, name=options["name"], at=clock.now()))
