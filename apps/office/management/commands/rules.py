"""Prints the advice rules and how many of them are built."""

from typing import Any

from django.core.management.base import BaseCommand

from apps.calc.advice import RULES
from apps.catalogue.files import rows


class Command(BaseCommand):
    """manage.py rules."""

    help = "List the advice rules: built ones, and what the others wait for."

    def handle(self, *args: Any, **options: Any) -> None:
        """Print a line a rule, then the count."""
        table = rows("rules")
        for row in table:
            self.stdout.write(
                f"{row['code']:32} {row['urgency'] or '':14} {row['source']:18} {row['state']}"
            )
        built = [row for row in table if row["state"] == "built"]
        subjects = {row.get("ref") for row in built if row.get("ref")}
        self.stdout.write(
            f"{len(built)} of {len(table)} rules built ({len(subjects)} subjects of the trade's "
            f"table), {len(RULES)} registered"
        )
