"""Every row that has to do with one client, for taking all of them away.

Foreign keys lead to most of them (`client_data.py`). The rest names a client's rows in its texts:
jobs, the record of changes, plans of rounds, answers of phones that were refused, letters to the
office. What refers to any of these goes as well, until nothing is left that refers to what is gone.

Texts are read once, however long the chain is: which row names which id is kept in memory until
all is found.
"""

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from typing import Any
from uuid import UUID

from django.apps import apps
from django.db import models
from django.db.models import F, Q, TextField
from django.db.models.functions import Cast

from apps.accounts.models import AuditEntry, IdempotencyKey
from apps.clients.models import Client, Contact
from apps.core.erasing import chunks
from apps.core.models import Job
from apps.flows.client_data import STAFF_S_OWN, rows_of, tables
from apps.incidents.models import WeatherWatch
from apps.reports.models import BlockedAddress, Letter
from apps.rounds.models import RoundPlan
from apps.visits.models import PhoneRemark, RefusedOperation

Model = type[models.Model]
Keys = dict[Model, set[Any]]
Named = dict[str, list[tuple[Model, Any]]]
NAMING: dict[Model, tuple[str, ...]] = {
    Letter: ("parameters", "key"),
    RefusedOperation: ("payload", "why"),
    RoundPlan: (
        "problem", "work", "notes", "plan", "frozen", "judge_says", "change", "failed_params",
    ),
    IdempotencyKey: ("key", "body"),
    AuditEntry: ("object_id", "change"),
    Job: ("key", "args", "last_error"),
}  # fmt: skip
"""Tables without a way to a client whose texts may name a client's rows by their ids."""
FILES = ("pdf", "screen", "small")
"""Columns that name a stored file."""
_ID = re.compile(r"[0-9a-f]{8}-?[0-9a-f]{4}-?[0-9a-f]{4}-?[0-9a-f]{4}-?[0-9a-f]{12}")


def everything_of(client: Client) -> Keys:
    """Return the keys of all rows that have to do with a client, by table."""
    keys: Keys = defaultdict(set)
    for model in [*tables(), *(apps.get_model(label) for label in STAFF_S_OWN)]:
        keys[model] |= set(rows_of(model, client).values_list("pk", flat=True))
    fresh, named = dict(keys), _named()
    while any(fresh.values()):
        fresh = _more(keys, fresh, named)
        for model, found in fresh.items():
            keys[model] |= found
    keys[BlockedAddress] = set(_blocked(client))
    keys[WeatherWatch] |= set(
        # a list that went to nobody else
        WeatherWatch.objects.filter(asks__isnull=False)
        .exclude(asks__in=_others(keys))
        .values_list("pk", flat=True)
    )
    return {model: found for model, found in keys.items() if found}


def _others(keys: Keys) -> models.QuerySet[Any]:
    asks: Any = apps.get_model("incidents", "WeatherAsk").objects.all()
    return asks.exclude(pk__in=list(keys.get(asks.model, ())))


def _blocked(client: Client) -> Iterator[UUID]:
    """Yield blocks of addresses that only this client's people have, or had when we wrote to them."""
    own = {row.email.lower() for row in client.contacts.all() if row.email}
    for row in BlockedAddress.objects.filter(
        Q(address__in=own) | Q(letter__contact__client=client)
    ):
        others = Contact.objects.exclude(client=client)
        if not others.filter(email__iexact=row.address).exists():
            yield row.pk


def blocks_part(keys: Keys) -> None:
    """Let blocks that stay, of addresses that others have too, name no letter that goes."""
    for part in chunks(keys.get(Letter, ())):
        rows = BlockedAddress.objects.filter(letter__in=part)
        rows.exclude(pk__in=keys.get(BlockedAddress, ())).update(letter=None)


def _named() -> Named:
    """Return which rows name an id in their texts: one query for each table that may."""
    named: Named = defaultdict(list)
    for model, columns in NAMING.items():
        for pk, found in _names(model, columns):
            row = (model, pk)
            for one in found:
                named[one].append(row)
    return named


def _more(keys: Keys, fresh: Keys, named: Named) -> Keys:
    """Return what refers to the fresh rows, or names them, and is not among the keys yet."""
    found: Keys = defaultdict(set)
    for model, held in fresh.items():
        for field in _referring(model):
            for part in chunks(held):
                rows: Any = field.model._base_manager.filter(**{f"{field.name}__in": part})
                found[field.model] |= set(rows.values_list("pk", flat=True))
    for part in chunks(fresh.get(PhoneRemark, ())):
        rows = RefusedOperation.objects.filter(remark__in=part)
        found[RefusedOperation] |= set(rows.values_list("pk", flat=True))
    for held in fresh.values():
        for key in held:
            for model, pk in named.get(key.hex, ()) if isinstance(key, UUID) else ():
                found[model].add(pk)
    return {model: held - keys.get(model, set()) for model, held in found.items()}


def _referring(model: Model) -> Iterator[Any]:
    """Yield the foreign keys of all tables, those that Django makes by itself too, to a table."""
    for relation in model._meta.get_fields(include_hidden=True):
        if relation.auto_created and not relation.concrete and not relation.many_to_many:
            yield relation.field  # type: ignore[union-attr]


def naming(model: Model, columns: Sequence[str], ids: Iterable[UUID]) -> Iterator[Any]:
    """Yield the key of each row whose columns name one of the ids; no other client's letters."""
    wanted = {pk.hex for pk in ids}
    yield from (pk for pk, found in _names(model, columns) if found & wanted)


def _names(model: Model, columns: Sequence[str]) -> Iterator[tuple[Any, set[str]]]:
    """Yield a table's rows with the ids that their columns name; no other client's letters."""
    held: Any = model._base_manager.all()
    if model is Letter:
        held = held.filter(contact__isnull=True)
    texts = {f"{name}_text": Cast(F(name), TextField()) for name in columns}
    for pk, *row in held.annotate(**texts).values_list("pk", *texts).iterator(chunk_size=500):
        found = {key.replace("-", "") for text in row for key in _ID.findall((text or "").lower())}
        if found:
            yield pk, found


def files_of(keys: Keys) -> set[str]:
    """Return the names of the files that rows name."""
    found = set()
    for model, held in keys.items():
        names = file_columns(model)
        for part in chunks(held) if names else ():
            rows: Any = model._base_manager.filter(pk__in=part)
            found |= {name for row in rows.values_list(*names) for name in row if name}
    return found


def file_columns(model: Model) -> list[str]:
    """Return a table's columns that name a stored file."""
    return [field.name for field in model._meta.concrete_fields if field.name in FILES]


def files_in_use(names: Iterable[str]) -> set[str]:
    """Return those of some files that a row still names: the same bytes are one file."""
    found = set()
    for model in apps.get_models():
        for column in file_columns(model):
            for part in chunks(names):
                rows: Any = model._base_manager.filter(**{f"{column}__in": part})
                found |= set(rows.values_list(column, flat=True))
    return found
