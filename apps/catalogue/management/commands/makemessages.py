"""`manage.py makemessages`: also the words that stand in data, which xgettext cannot see."""

import os
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.commands import makemessages

from apps.calc.quantities import MEASURANDS, PARAMETERS
from apps.catalogue.choices import EntryKind
from apps.catalogue.files import rows
from apps.core.languages import CLIENT_WORDS, client_languages, for_clients
from apps.core.measures import NAMES

# what pages say of an entry through gettext; all else of it is shown as the figure that it is
SAID = (
    "name", "rule", "ask", "say", "send", "cause", "if", "note", "about", "preparation", "tools",
    "misread", "done_when", "caution",
)  # fmt: skip
# of times that advice is said in (calc/advice/sentences.py, readable_hours)
# units of no catalogue row: times, and ways on a map
PLAIN_UNITS = ("min", "h", "days", "m", "km", "W", "kWh/day", "m²", "kg/m²")
WORDS_FILE = "words.py"
# what our modules call gettext beside the names that xgettext is told of by Django
ALIASES = ("_now", "_later", "_noop")


def words_of(row: dict[str, Any], fields: Sequence[str] = SAID) -> Iterator[str]:
    """Yield the words of an entry."""
    for field in fields:
        value = row.get(field) or ""
        yield from map(str, value) if isinstance(value, list) else [str(value)]
    yield str(row.get("context") or "").replace("_", " ")


def lines(*, client: bool = False) -> list[str]:
    """Return calls of gettext for the catalogue's words and for the names and units of quantities.

    `client` leaves out what no client reads.
    """
    words: dict[str, None] = {}
    units: dict[str, None] = dict.fromkeys((*PLAIN_UNITS, *NAMES))
    for kind in EntryKind.values:
        fields = CLIENT_WORDS.get(kind, ()) if client else SAID
        for row in rows(kind):
            words |= dict.fromkeys(filter(None, words_of(row, fields))) if fields else {}
            units |= dict.fromkeys(map(str, filter(None, [row.get("unit"), *row.get("units", [])])))
    for quantity in (*MEASURANDS.values(), *(() if client else PARAMETERS.values())):
        words[quantity.title] = None
        units |= {quantity.unit: None} if quantity.unit else {}
    return [f"_({word!r})" for word in words] + [f"pgettext('unit', {unit!r})" for unit in units]


class Command(makemessages.Command):
    """Writes the words to a file beside the locales, reads it with the others, takes it away.

    For a language of clients it searches what clients read, and nothing else.
    """

    xgettext_options = [
        *makemessages.Command.xgettext_options,
        *(f"--keyword={name}" for name in ALIASES),
    ]
    client = False

    def find_files(self, root: str) -> list[Any]:
        """Return the files to search."""
        # as the others are named: from where it is run, so that every copy writes the same
        place = os.path.relpath(settings.LOCALE_PATHS[0])
        found: list[Any] = super().find_files(root)
        if self.client:
            found = [file for file in found if for_clients(file.path)]
        if self.domain == "django":
            found.append(self.translatable_file_class(place, WORDS_FILE, place))
        return found

    def handle(self, *args: Any, **options: Any) -> None:
        """Make or bring up to date the files of translators."""
        asked = options["locale"] or []
        self.client = bool(asked) and set(asked) <= set(client_languages())
        if self.client:
            # no line numbers: they change with every commit
            options |= {"add_location": "file", "no_wrap": True, "no_obsolete": True}
        path = Path(settings.LOCALE_PATHS[0]) / WORDS_FILE
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text("\n".join(lines(client=self.client)) + "\n", encoding="utf-8")
        try:
            super().handle(*args, **options)
        finally:
            path.unlink()
