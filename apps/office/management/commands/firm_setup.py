"""Sets up an empty installation: the firm, the catalogue, the first office user."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import transaction
from django.utils import timezone

from apps.accounts.asking import password_of, password_option
from apps.accounts.choices import Role
from apps.accounts.models import Firm
from apps.accounts.services import user_add
from apps.catalogue.services import catalogue_load
from apps.core import clock


class Command(BaseCommand):
    """manage.py firm_setup --name NAME --email ADDRESS --user NAME [--password-stdin]."""

    help = "Set up the firm, the catalogue and the first office user of an empty installation."

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare the options."""
        parser.add_argument("--name", required=True, help="the firm's name")
        parser.add_argument("--email", required=True, help="the firm's address for letters")
        parser.add_argument("--user", required=True, help="user name of the office")
        password_option(parser)

    def handle(self, *args: Any, **options: Any) -> None:
        """Make the rows."""
        if Firm.objects.exists():
            raise CommandError("a firm is set up already")
        password = password_of(options, "the office user")
        with transaction.atomic():
            zone = timezone.get_default_timezone_name()
            firm = Firm(id=1, name=options["name"], email=options["email"], time_zone=zone)
            firm.full_clean()
            firm.save()
            user_add(username=options["user"], role=Role.OFFICE, password=password, at=clock.now())
            catalogue_load()
        self.stdout.write(f"{firm.name} is set up; {options['user']} can sign in")
