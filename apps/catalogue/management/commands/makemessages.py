"""`manage.py makemessages`: also the words that stand in data, which xgettext cannot see."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.commands import makemessages

from apps.calc.quantities import MEASURANDS, PARAMETERS
from apps.catalogue.choices import EntryKind
from apps.catalogue.files import rows

# what pages say of an entry through gettext; all else of it is shown as the figure that it is
SAID = (
    "name", "rule", "ask", "say", "send", "cause", "if", "note", "about", "preparation", "tools",
    "misread", "done_when", "caution",
)  # fmt: skip
# of times that advice is said in (calc/advice/sentences.py, readable_hours)
# units of no catalogue row: times, and ways on a map
PLAIN_UNITS = ("min", "h", "days", "m", "km")
WORDS_FILE = "words.py"
# what our modules call gettext beside the names that xgettext is told of by Django
ALIASES = ("_now", "_later", "_noop")


def words_of(row: dict[str, Any]) -> Iterator[str]:
    """Yield the words of an entry."""
    for field in SAID:
        value = row.get(field) or ""
        yield from map(str, value) if isinstance(value, list) else [str(value)]
    yield str(row.get("context") or "").replace("_", " ")


def lines() -> list[str]:
    """Return calls of gettext for the catalogue's words and for the names and units of quantities."""
    words: dict[str, None] = {}
    units: dict[str, None] = dict.fromkeys(PLAIN_UNITS)
    for kind in EntryKind.values:
        for row in rows(kind):
            words |= dict.fromkeys(filter(None, words_of(row)))
            units |= dict.fromkeys(map(str, filter(None, [row.get("unit"), *row.get("units", [])])))
    for quantity in (*MEASURANDS.values(), *PARAMETERS.values()):
        words[quantity.title] = None
        units |= {quantity.unit: None} if quantity.unit else {}
    return [f"_({word!r})" for word in words] + [f"pgettext('unit', {unit!r})" for unit in units]


class Command(makemessages.Command):
    """Writes the words to a file beside the locales, reads it with the others, takes it away."""

    xgettext_options = [
        *makemessages.Command.xgettext_options,
        *(f"--keyword={name}" for name in ALIASES),
    ]

    def find_files(self, root: str) -> list[Any]:
        """Return the files to search."""
        place = Path(settings.LOCALE_PATHS[0])
        found: list[Any] = super().find_files(root)
        if self.domain == "django":
            found.append(self.translatable_file_class(str(place), WORDS_FILE, str(place)))
        return found

    def handle(self, *args: Any, **options: Any) -> None:
        """Make or bring up to date the files of translators."""
        path = Path(settings.LOCALE_PATHS[0]) / WORDS_FILE
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text("\n".join(lines()) + "\n", encoding="utf-8")
        try:
            super().handle(*args, **options)
        finally:
            path.unlink()
