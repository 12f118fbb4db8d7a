"""Whether all that was asked for while a client's page or paper was drawn is in clients' catalogues."""

from functools import lru_cache
from pathlib import Path

import django
import rest_framework
from django.conf import settings

from apps.calc.quantities import MEASURANDS
from apps.core.languages import catalogue
from tests.language.data import typed

ROOT = Path(__file__).resolve().parent.parent.parent


@lru_cache(maxsize=1)
def held() -> frozenset[str]:
    """All texts of the first of the clients' catalogues; a context stands before its text."""
    found = set()
    for row in catalogue(ROOT / "locale" / settings.CLIENT_LANGUAGES[0] / "LC_MESSAGES/django.po"):
        ids = row.id if isinstance(row.id, str) else row.id[0]
        found.add(f"{row.context}\x04{ids}" if row.context else ids)
    return frozenset(found)


@lru_cache(maxsize=1)
def libraries() -> frozenset[str]:
    """The texts that Django and the REST framework bring with their own translations."""
    roots = [Path(module.__file__ or "").parent for module in (django, rest_framework)]
    return frozenset(
        str(row.id if isinstance(row.id, str) else row.id[0])
        for root in roots
        for path in root.rglob("locale/es/LC_MESSAGES/django.po")
        for row in catalogue(path)
        if row.id
    )


def untranslated(seen: set[str]) -> list[str]:
    """What was asked for and is in no catalogue of clients; what people typed is left out."""
    words = typed() | set(MEASURANDS)
    return sorted(
        text
        for text in seen - held() - libraries()
        if text.strip(" :") and text not in words and "⟦" not in text
    )
