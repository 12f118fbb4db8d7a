"""Loading and editing the catalogue."""

import datetime as dt
from typing import Any

from django.db import transaction
from django.db.models import F
from django.utils.translation import gettext as _

from apps.accounts.services import audit
from apps.catalogue.choices import EntryKind, Knowledge
from apps.catalogue.files import code_of, rows
from apps.catalogue.limits import out_of_order
from apps.catalogue.models import Edition, Entry
from apps.core.exceptions import DomainError, Invalid
from apps.core.scoping import Actor


def _knowledge(row: dict[str, Any]) -> str:
    word = str(row.get("source_kind") or row.get("kind") or Knowledge.PRACTICE)
    return word if word in Knowledge.values else Knowledge.PRACTICE


def _name(row: dict[str, Any], code: str) -> str:
    for key in ("name", "title", "rule", "ask", "when", "what", "see", "cause"):
        if row.get(key):
            return str(row[key])[:300]
    if "context" in row:
        return f"{row['measurand']}, {row['context'].replace('_', ' ')}"
    return code


def _bump() -> None:
    if not Edition.objects.update(number=F("number") + 1):
        Edition.objects.create(number=1)


@transaction.atomic
def catalogue_load() -> dict[str, int]:
    """Load the data files; rows that the firm has edited keep its figures. Returns counts."""
    counts = {}
    for kind in EntryKind.values:
        held = {entry.code: entry for entry in Entry.objects.filter(kind=kind)}
        fresh = []
        for position, row in enumerate(rows(kind)):
            code = code_of(kind, row)
            values = {
                "name": _name(row, code),
                "position": position,
                "original": row,
                "source_code": str(row.get("source", "")),
                "knowledge": _knowledge(row),
            }
            entry = held.get(code)
            if entry is None:
                fresh.append(Entry(kind=kind, code=code, figures=row, **values))
                continue
            if entry.edited_at is None:
                values["figures"] = row
            Entry.objects.filter(pk=entry.pk).update(**values)
        Entry.objects.bulk_create(fresh)
        counts[kind] = Entry.objects.filter(kind=kind).count()
    _bump()
    return counts


def _same_kind(old: Any, new: Any) -> bool:
    if isinstance(old, bool) or isinstance(new, bool):
        return isinstance(old, bool) and isinstance(new, bool)
    if old is None or new is None:
        return True
    if isinstance(old, int | float):
        return isinstance(new, int | float)
    return isinstance(new, type(old))


def _misplaced(
    low: str, high: str, figures: dict[str, Any], changes: dict[str, Any]
) -> dict[str, Any]:
    """Return the error of two limits in the wrong order, at the one that was changed."""
    if high in changes:
        key, other = high, low
        words = _(
            "%(value)s is on the wrong side of %(other)s; write at least %(limit)s, or change %(other)s too"
        )
    else:
        key, other = low, high
        words = _(
            "%(value)s is on the wrong side of %(other)s; write at most %(limit)s, or change %(other)s too"
        )
    said = words % {"value": figures[key], "other": other, "limit": figures[other]}
    message = f"{key}: {said}"
    return {"pointer": f"/{key}", "value": figures[key], "message": message}


@transaction.atomic
def entry_edit(
    *, entry: Entry, changes: dict[str, Any], rev: int, by: Actor, at: dt.datetime
) -> Entry:
    """Change figures of an entry; the original stays beside them.

    Raises Invalid for a figure that the entry does not have or of another type and for limits
    that do not follow one another, and DomainError where somebody else was quicker.
    """
    errors = [
        {
            "pointer": f"/{key}",
            "value": value,
            "message": f"{key}: " + _("not a figure of this entry"),
        }
        for key, value in changes.items()
        if key not in entry.original or not _same_kind(entry.original[key], value)
    ]
    if errors:
        raise Invalid(errors)
    figures = entry.figures | changes
    errors = [
        _misplaced(low, high, figures, changes)
        for low, high in out_of_order(figures)
        if {low, high} & set(changes)
    ]
    if errors:
        raise Invalid(errors)
    taken = Entry.objects.filter(pk=entry.pk, rev=rev).update(
        figures=figures, edited_at=at, rev=F("rev") + 1
    )
    if not taken:
        raise DomainError(_("Somebody else changed this entry; read it again."), "stale")
    audit(at=at, by=by, verb="edited", kind="catalogue", object_id=entry.code, change=changes)
    _bump()
    entry.refresh_from_db()
    return entry


@transaction.atomic
def entry_restore(*, entry: Entry, by: Actor, at: dt.datetime) -> Entry:
    """Put the original figures back."""
    Entry.objects.filter(pk=entry.pk).update(
        figures=F("original"), edited_at=None, rev=F("rev") + 1
    )
    audit(at=at, by=by, verb="restored", kind="catalogue", object_id=entry.code)
    _bump()
    entry.refresh_from_db()
    return entry
