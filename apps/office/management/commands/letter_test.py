"""Send a letter that only tries the mail, and say what the server answered."""

from argparse import ArgumentParser
from typing import Any
from uuid import uuid4

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError
from django.core.validators import validate_email

from apps.core import clock
from apps.core.exceptions import DomainError
from apps.flows.trial_letter import trial_send


class Command(BaseCommand):
    """manage.py letter_test --to ADDRESS."""

    help = "Send a letter that only tries the mail, and say what the server answered."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the address."""
        parser.add_argument("--to", required=True, help="where it goes, such as you@example.org")

    def handle(self, *_args: Any, **options: Any) -> None:
        """Send it. Raises CommandError where it was not taken."""
        address = options["to"]
        try:
            validate_email(address)
        except ValidationError:
            raise CommandError(
                f"--to {address!r}: write an address such as you@example.org"
            ) from None
        try:
            tried = trial_send(address=address, key=uuid4(), at=clock.now())
        except DomainError as error:
            raise CommandError(error.message) from None
        where = f"{settings.EMAIL_HOST}:{settings.EMAIL_PORT}"
        secured = "STARTTLS" if settings.EMAIL_USE_TLS else "no TLS (SMTP_TLS is 0)"
        self.stdout.write(f"server       {where}, {secured}")
        self.stdout.write(f"sender       {tried.sender}")
        self.stdout.write(f"envelope     {tried.envelope}")
        self.stdout.write(f"Message-ID   {tried.message_id}")
        if not tried.taken:
            raise CommandError(f"not taken by {where}: {tried.words}")
        self.stdout.write(f"taken: look into the inbox of {address}, and among its spam")
