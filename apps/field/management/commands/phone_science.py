"""manage.py phone_science: makes the telephone's science from apps/calc."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from apps.field.phone.bundle import TARGET, written


class Command(BaseCommand):
    """Writes science.js; --check only tells whether it is as it should be."""

    help = "Make the telephone's science (science.js) from apps/calc."

    def add_arguments(self, parser: CommandParser) -> None:
        """Add --check."""
        parser.add_argument("--check", action="store_true", help="change nothing; fail if stale")

    def handle(self, *_args: Any, **options: Any) -> None:
        """Write the file, or compare."""
        text = written()
        if not options["check"]:
            TARGET.write_text(text, encoding="utf-8")
            self.stdout.write(f"{TARGET.name}: {len(text):,} characters")
        elif not TARGET.exists() or TARGET.read_text(encoding="utf-8") != text:
            raise CommandError("science.js is older than apps/calc; run manage.py phone_science")
