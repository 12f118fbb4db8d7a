"""Loads the catalogue's data files."""

from typing import Any

from django.core.management.base import BaseCommand

from apps.catalogue.services import catalogue_load


class Command(BaseCommand):
    """manage.py catalogue_load."""

    help = "Load the catalogue's data files; figures that the firm has edited stay."

    def handle(self, *args: Any, **options: Any) -> None:
        """Load and print how many rows of each kind there are."""
        for kind, count in catalogue_load().items():
            self.stdout.write(f"{kind:12} {count:4}")
