"""Prints the due list."""

import datetime as dt
import json
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from apps.care.selectors import due_rows, ranked
from apps.catalogue.selectors import catalogue_current
from apps.core import clock
from apps.core.scoping import system
from apps.office.api.shapes import due_row


class Command(BaseCommand):
    """manage.py due --on YYYY-MM-DD [--json]."""

    help = "Print which systems need somebody on a day, what hurts most first."

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare the options."""
        parser.add_argument("--on", default="", help="YYYY-MM-DD; today if left out")
        parser.add_argument("--json", action="store_true", help="as the API answers")

    def handle(self, *args: Any, **options: Any) -> None:
        """Print."""
        try:
            on = dt.date.fromisoformat(options["on"]) if options["on"] else clock.today()
        except ValueError:
            raise CommandError(f"--on {options['on']!r}: write a date such as 2026-06-11") from None
        actor = system("due command", clock.now())
        catalogue = catalogue_current()
        rows = [due_row(row, catalogue) for row in due_rows(ranked(actor, on), on)]
        if options["json"]:
            body = {"on": on.isoformat(), "count": len(rows), "results": rows}
            self.stdout.write(json.dumps(body, ensure_ascii=False, indent=2))
            return
        for row in rows:
            why = " ".join(reason["text"] for reason in row["reasons"])
            self.stdout.write(f"{row['rank']:4}  {row['system_name']}, {row['place_name']}: {why}")
        self.stdout.write(f"{len(rows)} systems need somebody on {on:%a %d %b %Y}")
