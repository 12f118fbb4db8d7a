"""The catalogue as code reads it: one object, read again only when an edition is out."""

from dataclasses import dataclass
from typing import Any

from apps.catalogue.choices import EntryKind
from apps.catalogue.models import Edition, Entry


@dataclass(frozen=True, eq=False)
class Catalogue:
    """All entries by kind and code; the figures are those that the firm uses.

    One object an edition: what is worked out from it may be kept beside it.
    """

    edition: int
    entries: dict[str, dict[str, dict[str, Any]]]

    def of(self, kind: str) -> dict[str, dict[str, Any]]:
        """Return code -> figures of one kind, in the order of its file."""
        return self.entries.get(kind, {})

    def get(self, kind: str, code: str) -> dict[str, Any] | None:
        """Return the figures of one entry, or None."""
        return self.entries.get(kind, {}).get(code)

    def measurand(self, code: str) -> dict[str, Any] | None:
        """Return a measurand's figures."""
        return self.get(EntryKind.MEASURAND, code)

    def task(self, code: str) -> dict[str, Any] | None:
        """Return a task template's figures."""
        return self.get(EntryKind.TASK, code)

    def name(self, kind: str, code: str) -> str:
        """Return an entry's name, or its code where it is not known."""
        entry = self.get(kind, code)
        return str(entry.get("name") or code) if entry else code


_held: Catalogue | None = None


def catalogue_current() -> Catalogue:
    """Return the catalogue; one small query tells whether the one in memory still counts."""
    global _held  # noqa: PLW0603 - a cache of one process
    number = Edition.objects.values_list("number", flat=True).first() or 0
    if _held is None or _held.edition != number or number == 0:
        entries: dict[str, dict[str, dict[str, Any]]] = {}
        for kind, code, figures in Entry.objects.order_by("kind", "position").values_list(
            "kind", "code", "figures"
        ):
            entries.setdefault(kind, {})[code] = figures
        _held = Catalogue(number, entries)
    return _held
