"""A password asked for on the command line."""

import getpass
from typing import Any

from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.core.management.base import CommandError, CommandParser


def password_option(parser: CommandParser) -> None:
    """Declare where a password may come from."""
    parser.add_argument(
        "--password-stdin", action="store_true", help="read the password from standard input"
    )


def password_of(options: dict[str, Any], whose: str) -> str:
    """Return a password that is good enough. Raises CommandError."""
    stdin = options["password_stdin"]
    password = input() if stdin else getpass.getpass(f"Password of {whose}: ")
    try:
        validate_password(password)
    except ValidationError as error:
        raise CommandError("; ".join(error.messages)) from error
    return password
