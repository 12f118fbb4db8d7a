"""Shuts out a member of the staff who leaves."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from apps.accounts.models import User
from apps.accounts.services import user_end
from apps.core import clock


class Command(BaseCommand):
    """manage.py user_end --user NAME."""

    help = "Shut somebody out: no sign-in, no session, no token; what they did stays theirs."

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare the options."""
        parser.add_argument("--user", required=True, help="user name")

    def handle(self, *args: Any, **options: Any) -> None:
        """End it."""
        user = User.objects.filter(username=options["user"], is_active=True).first()
        if user is None:
            known = ", ".join(User.objects.values_list("username", flat=True)[:20])
            raise CommandError(f"no active user {options['user']!r}; known: {known}")
        user_end(user=user, at=clock.now())
        self.stdout.write(f"{options['user']} is shut out")
