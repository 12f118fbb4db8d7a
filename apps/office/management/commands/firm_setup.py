"""Sets up an empty installation: the firm, the catalogue, the first office user."""

import getpass
from typing import Any

from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import transaction

from apps.accounts.models import Firm, User
from apps.catalogue.services import catalogue_load


class Command(BaseCommand):
    """manage.py firm_setup --name NAME --email ADDRESS --user NAME [--password-stdin]."""

    help = "Set up the firm, the catalogue and the first office user of an empty installation."

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare the options."""
        parser.add_argument("--name", required=True, help="the firm's name")
        parser.add_argument("--email", required=True, help="the firm's address for letters")
        parser.add_argument("--user", required=True, help="user name of the office")
        parser.add_argument(
            "--password-stdin", action="store_true", help="read the password from standard input"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Make the rows."""
        if Firm.objects.exists():
            raise CommandError("a firm is set up already")
        if options["password_stdin"]:
            password = input()
        else:
            password = getpass.getpass("Password of the office user: ")
        try:
            validate_password(password)
        except ValidationError as error:
            raise CommandError("; ".join(error.messages)) from error
        with transaction.atomic():
            firm = Firm(id=1, name=options["name"], email=options["email"])
            firm.full_clean()
            firm.save()
            User.objects.create_user(options["user"], password=password, role="office")
            catalogue_load()
        self.stdout.write(f"{firm.name} is set up; {options['user']} can sign in")
