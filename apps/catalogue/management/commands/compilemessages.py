"""`manage.py compilemessages`: compiles the catalogues of translators with Babel, without msgfmt."""

from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand

from apps.core.languages import compile_catalogue


class Command(BaseCommand):
    """Compiles each catalogue; values in a sentence from right to left become runs of their own."""

    help = "Compile the catalogues of translators."

    def handle(self, *args: Any, **options: Any) -> None:
        """Compile."""
        for root in settings.LOCALE_PATHS:
            for path in sorted(Path(root).glob("*/LC_MESSAGES/*.po")):
                made = compile_catalogue(path)
                if options["verbosity"] > 1:
                    self.stdout.write(str(made))
