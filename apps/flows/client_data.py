"""All that is held on one client: found by each table's own way to them, so a new table is in it.

A table's ways are its foreign keys to tables that have one; what names a client by id alone has
its own. Nothing is listed by hand but what a person must not get: secrets and their hashes.
"""

import json
import tempfile
import zipfile
from collections.abc import Iterable, Iterator, Sequence
from functools import cache
from typing import IO, Any
from uuid import UUID

from django.apps import apps
from django.core.serializers.json import DjangoJSONEncoder
from django.db import models
from django.db.models import Q, QuerySet
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from apps.accounts.models import AuditEntry
from apps.clients.models import Client
from apps.core.csv_text import Cell, csv_lines
from apps.core.files import read
from apps.reports.models import Letter
from apps.visits.models import Reading, Visit

OWN = "apps."
BY_ID = "client_id"
SECRET = frozenset({"digest", "password", "token"})
"""Columns that open something: whoever holds the file would hold the keys as well."""
FIRM_S_OWN = {
    "proposals.Proposal": frozenset({"prices", "margin", "rate"}),
    "rounds.TimeOffered": frozenset({"extra", "metres"}),
}
"""Columns that say what something costs the firm, by table."""
STAFF_S_OWN = frozenset({"visits.CheckIn"})
"""Tables about who works, though by way of a visit."""
FILES = ("pdf", "screen")
"""Columns that name a stored file; of a photo the larger of its two."""
IN_MEMORY = 8 << 20
KINDS = {
    "clients": _("the client, contacts, places, water"),
    "systems": _("systems and their parts"),
    "batches": _("fish, plants, harvests"),
    "care": _("care plans, what was done and when it is due"),
    "visits": _("visits, readings, photos, calls"),
    "advice": _("advice"),
    "ahead": _("forecasts"),
    "incidents": _("calls for help, weather"),
    "rounds": _("times offered"),
    "proposals": _("surveys and proposals"),
    "reports": _("reports and letters"),
    "accounts": _("links and calendars"),
}
"""What the tables of an app hold, in words."""


@cache
def ways_of(model: type[models.Model]) -> tuple[str, ...]:
    """Return the paths from a table to a client's id; empty for a table that has none.

    Of each foreign key the shortest way on that every row has, or each way on where none is sure:
    so a row which may hang on several things is found by whichever it has.
    """
    return tuple(sorted(_ways(model, frozenset())))


def _ways(model: type[models.Model], seen: frozenset[type[models.Model]]) -> set[str]:
    if model is Client:
        return {"pk"}
    found = set()
    for field in model._meta.concrete_fields:
        target = field.related_model
        if target is Client:
            found.add(field.attname)
        elif isinstance(target, type) and target not in seen | {model}:
            on = _ways(target, seen | {model})
            sure = [way for way in on if _sure(target, way)]
            least = [min(sure, key=lambda way: (way.count("__"), way))] if sure else on
            found |= {f"{field.name}__{way}" for way in least}
        elif field.attname == BY_ID:
            found.add(BY_ID)
    return found


def _sure(model: type[models.Model], way: str) -> bool:
    """Tell whether every row of a table has what a way goes by."""
    for name in way.split("__"):
        field: Any = model._meta.pk if name == "pk" else model._meta.get_field(name)
        if field.null:
            return False
        model = field.related_model or model
    return True


def tables() -> list[type[models.Model]]:
    """Return every table of ours that has a way to a client, in the order of the apps."""
    return [
        model
        for model in apps.get_models()
        if model.__module__.startswith(OWN)
        and ways_of(model)
        and model._meta.label not in STAFF_S_OWN
    ]


def rows_of(model: type[models.Model], client: Client) -> QuerySet[Any]:
    """Return a table's rows of one client, each once, in the order of their keys."""
    wanted = Q()
    for way in ways_of(model):
        wanted |= Q(**{way: client.pk})
    return model._default_manager.filter(
        pk__in=model._default_manager.filter(wanted).values("pk")
    ).order_by("pk")


def counts_of(client: Client) -> list[tuple[str, int]]:
    """Return what is held, as kinds with how many rows there are of each; empty ones are left out."""
    counts: dict[str, int] = dict.fromkeys(KINDS, 0)
    for model in tables():
        counts[model._meta.app_label] += rows_of(model, client).count()
    return [(str(KINDS[app]), count) for app, count in counts.items() if count]


def export(client: Client, firm: str, day: str) -> IO[bytes]:
    """Return a zip of all that is held on a client; a file that is gone is named, not left out."""
    out = tempfile.SpooledTemporaryFile(max_size=IN_MEMORY)  # noqa: SIM115 - the answer closes it
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as zipped:
        ids, files = _data(zipped, client)
        missing = [name for name in sorted(files) if not _file(zipped, name)]
        for name, lines in _sheets(client, ids):
            zipped.writestr(name, "".join(lines))
        zipped.writestr("read me.txt", _words(client, firm, day, missing))
    out.seek(0)
    return out


def _data(zipped: zipfile.ZipFile, client: Client) -> tuple[set[str], set[str]]:
    """Write data.json table by table; return the keys of its rows and the files that they name."""
    ids: set[str] = set()
    files: set[str] = set()
    with zipped.open("data.json", "w") as raw:
        raw.write(b"{")
        for number, model in enumerate(tables()):
            raw.write(f'{"," if number else ""}\n"{model._meta.label}": ['.encode())
            for place, row in enumerate(_values(rows_of(model, client), model)):
                if isinstance(row.get("id"), UUID):
                    # a plain number may be another table's as well
                    ids.add(str(row["id"]))
                files |= {row[name] for name in FILES if row.get(name)}
                raw.write(("," if place else "").encode() + b"\n" + _json(row))
            raw.write(b"]")
        raw.write(b"\n}\n")
    return ids, files


def _values(rows: QuerySet[Any], model: type[models.Model]) -> Iterator[dict[str, Any]]:
    without = SECRET | FIRM_S_OWN.get(model._meta.label, frozenset())
    names = [field.attname for field in model._meta.concrete_fields if field.name not in without]
    return rows.values(*names).iterator(chunk_size=500)


def _json(row: dict[str, Any]) -> bytes:
    return json.dumps(row, cls=DjangoJSONEncoder, ensure_ascii=False).encode()


def _file(zipped: zipfile.ZipFile, name: str) -> bool:
    """Write a stored file under its own name; False where it is gone."""
    try:
        data = read(name)
    except FileNotFoundError:
        return False
    zipped.writestr(zipfile.ZipInfo(f"files/{name}"), data)
    return True


def _sheets(client: Client, ids: set[str]) -> Iterator[tuple[str, Iterable[str]]]:
    """Yield the tables that somebody may want to read in a spreadsheet."""
    readings = rows_of(Reading, client).select_related("loop__system")
    yield "readings.csv", csv_lines(
        [_now("taken"), _now("system"), _now("measurand"), _now("value"), _now("unit"), _now("word"), _now("by")],
        (
            [row.taken_at, row.loop.system.name, row.measurand, row.value, row.unit, row.word, row.by]
            for row in readings.order_by("taken_at", "pk").iterator(chunk_size=500)
        ),
    )  # fmt: skip
    visits = rows_of(Visit, client).select_related("place").order_by("start", "pk")
    yield (
        "visits.csv",
        csv_lines(
            [_now("begins"), _now("ends"), _now("place"), _now("state")],
            (
                [row.start, row.end, row.place.name, row.state]
                for row in visits.iterator(chunk_size=500)
            ),
        ),
    )
    letters = rows_of(Letter, client).order_by("made_at", "pk")
    yield (
        "letters.csv",
        csv_lines(
            [_now("written"), _now("kind"), _now("to"), _now("subject"), _now("state")],
            (
                [row.made_at, row.kind, row.address, row.subject_line, row.state]
                for row in letters.iterator(chunk_size=500)
            ),
        ),
    )
    yield (
        "changes.csv",
        csv_lines([_now("at"), _now("who"), _now("what"), _now("of")], _changes(ids)),
    )


def _changes(ids: set[str]) -> Iterator[Sequence[Cell]]:
    """Yield who did what to a client's rows, the oldest first."""
    for row in AuditEntry.objects.order_by("at", "pk").iterator(chunk_size=2000):
        if row.object_id in ids:
            yield [row.at, row.actor, row.verb, row.kind]


def _words(client: Client, firm: str, day: str, missing: Sequence[str]) -> str:
    lines = [
        _now("All that %(firm)s holds on %(client)s, on %(day)s.")
        % {"firm": firm, "client": client.name, "day": day},
        "",
        _now("data.json: every row as it is stored, by table; times with their zone, readings in the "
          "unit beside them."),
        _now("readings.csv, visits.csv, letters.csv, changes.csv: the same for a spreadsheet."),
        _now("files: reports and proposals as PDF, photos."),
        _now("Left out: the secrets of links and calendars, of which only hashes are kept, and what "
             "things cost the firm itself."),
    ]  # fmt: skip
    if missing:
        lines += ["", _now("No longer there, though the record names them:"), *missing]
    return "\n".join(lines) + "\n"
