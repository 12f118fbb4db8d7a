"""Erases clients again who came back with a copy of the database that was set back."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from apps.core import clock
from apps.core.exceptions import DomainError
from apps.core.scoping import system
from apps.flows.erasing import client_erase, erased_before


class Command(BaseCommand):
    """Run it after each restore, before anybody works with what was set back."""

    help = "Erase again whoever was erased before, after a copy of the database was set back."

    def add_arguments(self, parser: CommandParser) -> None:
        """Ask for the one thing that it does."""
        parser.add_argument(
            "--again", action="store_true", required=True,
            help="erase everybody who is on the list of the erased and is here again",
        )  # fmt: skip

    def handle(self, *_args: Any, **_options: Any) -> None:
        """Erase each of them; say whom something stands in the way of."""
        at, gone, held = clock.now(), 0, []
        for client in erased_before():
            by = system("a copy was set back", at)
            try:
                client_erase(client=client, name=client.name, by=by, at=at)
            except DomainError as error:
                held.append(f"client {client.pk}: {error.message}")
            else:
                gone += 1
        self.stdout.write(f"{gone} erased again")
        if held:
            raise CommandError("\n".join(held))
