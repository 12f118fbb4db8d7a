"""Prints a fingerprint of the demo firm's year, for runs under different hash seeds."""

import datetime as dt
import hashlib
import sys

import django
from django.db.models import Model


def catalogue():
    """The catalogue straight from its files."""
    from apps.catalogue.choices import EntryKind
    from apps.catalogue.files import code_of, rows
    from apps.catalogue.selectors import Catalogue

    return Catalogue(
        1, {kind: {code_of(kind, row): row for row in rows(kind)} for kind in EntryKind.values}
    )


def year(today):
    """All rows of the year up to a day."""
    from demo.firm.year import year_of
    from demo.loading import staff, without_collector

    at = dt.datetime.combine(today, dt.time(0), dt.UTC)
    with without_collector():
        made = year_of(today, at, staff(today), catalogue())
        return [*(row for group in made.first for row in group), *made.advice()]


def row_text(row: Model) -> str:
    """A row as text, field by field."""
    fields = row._meta.concrete_fields
    return f"{row._meta.label} {[(f.attname, getattr(row, f.attname)) for f in fields]}"


def fingerprint(today: dt.date) -> str:
    """The hash of all rows in their order."""
    mark = hashlib.sha256()
    for row in year(today):
        mark.update(row_text(row).encode())
    return mark.hexdigest()


if __name__ == "__main__":
    django.setup()
    sys.stdout.write(fingerprint(dt.date.fromisoformat(sys.argv[1])))
