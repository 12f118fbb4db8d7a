"""One search over what people name at the telephone: a name, a phone, a street, a system."""

import re
from dataclasses import dataclass
from typing import Any

from django.db.models import Prefetch, Q

from apps.clients.models import Contact, Place
from apps.core.scoping import Actor
from apps.reports.models import Report
from apps.systems.models import System

SHORTEST = 2
MOST = 20
DIGITS = 4


@dataclass(frozen=True)
class Hits:
    """What was found, by group."""

    systems: list[System]
    places: list[Place]
    contacts: list[Contact]
    reports: list[Report]

    @property
    def count(self) -> int:
        """How much was found in all."""
        return len(self.systems) + len(self.places) + len(self.contacts) + len(self.reports)


def search(actor: Actor, query: str) -> Hits:
    """Return what a few letters or digits find, at most 20 of each group: six queries.

    A phone number is found however it was spaced when it was typed in.
    """
    words = query.split()
    if len(query) < SHORTEST or not words:
        return Hits([], [], [], [])
    return Hits(_systems(actor, words), _places(actor, words), _contacts(actor, query, words),
                _reports(actor, query))  # fmt: skip


def _all(words: list[str], *fields: str) -> Q:
    rule = Q()
    for word in words[:6]:
        one = Q()
        for field in fields:
            one |= Q(**{f"{field}__icontains": word})
        rule &= one
    return rule


def _systems(actor: Actor, words: list[str]) -> list[System]:
    rows = System.objects.visible_to(actor).filter(_all(words, "name"))
    return list(rows.select_related("place__client").order_by("-active", "name")[:MOST])


def _places(actor: Actor, words: list[str]) -> list[Place]:
    fields = ("name", "street", "town", "client__name")
    rows = Place.objects.visible_to(actor).filter(_all(words, *fields))
    return list(rows.select_related("client").order_by("name")[:MOST])


def _contacts(actor: Actor, query: str, words: list[str]) -> list[Contact]:
    rule = _all(words, "name", "email", "phone")
    digits = re.sub(r"\D", "", query)
    if len(digits) >= DIGITS and not re.search(r"[^\d\s+()/.-]", query):
        rule |= Q(phone__regex=r"[^0-9]*".join(digits[:20]))
    places = Prefetch("client__places", Place.objects.visible_to(actor).order_by("name"))
    rows = Contact.objects.visible_to(actor).filter(rule).select_related("client")
    return list(rows.prefetch_related(places).order_by("name")[:MOST])


def _reports(actor: Actor, query: str) -> list[Any]:
    text = query.strip()
    if not text.isascii() or not text.isdigit() or len(text) > 6:
        return []
    rows = Report.objects.visible_to(actor).filter(number=int(text))
    return list(rows.select_related("system", "visit"))
