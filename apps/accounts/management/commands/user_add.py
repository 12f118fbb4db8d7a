"""Adds a member of the staff."""

from typing import Any

from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError, CommandParser

from apps.accounts.asking import password_of, password_option
from apps.accounts.choices import Role
from apps.accounts.services import user_add
from apps.core import clock


class Command(BaseCommand):
    """manage.py user_add --user NAME --role ROLE [--first NAME] [--last NAME] [--phone NUMBER]."""

    help = "Add a technician or somebody of the office, who can then sign in."

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare the options."""
        parser.add_argument("--user", required=True, help="user name")
        parser.add_argument("--role", required=True, choices=[*Role.values])
        for name in ("first", "last", "phone"):
            parser.add_argument(f"--{name}", default="")
        password_option(parser)

    def handle(self, *args: Any, **options: Any) -> None:
        """Make the user."""
        name = options["user"]
        try:
            user_add(
                username=name, role=options["role"], password=password_of(options, name),
                first_name=options["first"], last_name=options["last"], phone=options["phone"],
                at=clock.now(),
            )  # fmt: skip
        except ValidationError as error:
            raise CommandError("; ".join(error.messages)) from error
        self.stdout.write(f"{name} can sign in")
