"""Whose each row is, by another walk than the program's own: up its foreign keys, as a person would."""

from typing import Any
from uuid import UUID

from django.apps import apps
from django.db import models

from apps.clients.models import Client

OURS = [model for model in apps.get_models() if model.__module__.startswith("apps.")]


def owners() -> dict[type[models.Model], dict[Any, set[UUID]]]:
    """Return whose each row of every table is: one turn after the other until nothing is new."""
    found: dict[Any, dict[Any, set[UUID]]] = {model: {} for model in OURS}
    found[Client] = {pk: {pk} for pk in Client.objects.values_list("pk", flat=True)}
    links: dict[Any, list[tuple[Any, dict[Any, Any]]]] = {}
    for model in OURS:
        links[model] = [
            (field.related_model, dict(model._base_manager.values_list("pk", field.attname)))
            for field in model._meta.concrete_fields
            if field.is_relation and field.related_model in found
        ]
        by_id = [f for f in model._meta.concrete_fields if f.attname == "client_id"]
        if by_id and not by_id[0].is_relation:
            rows = model._base_manager.exclude(client_id=None).values_list("pk", "client_id")
            found[model] = {pk: {client} for pk, client in rows}
    grown = True
    while grown:
        grown = False
        for model, fields in links.items():
            for target, rows in fields:
                for pk, key in rows.items():
                    more = found[target].get(key, set()) - found[model].get(pk, set())
                    if more:
                        found[model].setdefault(pk, set()).update(more)
                        grown = True
    return found


def differing(client: Client, data: dict[str, Any], held: Any, without: set[str]) -> dict[str, Any]:
    """Return where a file of all that is held has other rows than a client's: (missing, too many)."""
    found = {}
    for model, rows in held.items():
        label, key = model._meta.label, model._meta.pk.attname
        mine = {str(pk) for pk, clients in rows.items() if client.pk in clients}
        there = [str(row[key]) for row in data.get(label, [])]
        mine = set() if label in without else mine
        if sorted(there) != sorted(mine):
            found[label] = (len(mine - set(there)), len(set(there) - mine))
    return found
