"""The list of all proposals: filters with counts, orders, what stands in a row and in its CSV."""

import datetime as dt
from collections.abc import Iterator
from typing import Any

from django.db.models import Count, Q, QuerySet
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from apps.accounts.models import Firm
from apps.core.money import MONEY, money_words
from apps.core.scoping import Actor
from apps.office.selectors.due import FilterWord
from apps.proposals.choices import FOR_CLIENT, FOR_US, Stand
from apps.proposals.models import Proposal
from apps.proposals.selectors import sum_of, with_shown, with_stand

OURS = "ours"
FILTERS: dict[str, Any] = {
    OURS: gettext_lazy("Wait for us"),
    **{stand.value: stand.label for stand in Stand},
}
SORTS: dict[str, Any] = {
    "number": ("-number",),
    "until": ("valid_until", "-number"),
    "place": ("place__name", "-number"),
}
WAITS: dict[str, Any] = {
    **dict.fromkeys(FOR_US, gettext_lazy("us")),
    **dict.fromkeys(FOR_CLIENT, gettext_lazy("the client")),
}
CHUNK = 200


def proposals_of(actor: Actor, on: dt.date) -> QuerySet[Proposal]:
    """Return all proposals with where each is on a day."""
    return with_stand(Proposal.objects.visible_to(actor), on)


def _rule(code: str) -> Q:
    return Q(stand__in=FOR_US) if code == OURS else Q(stand=code) if code else Q()


def filter_words(rows: QuerySet[Proposal], here: str) -> list[FilterWord]:
    """Return the filters with their counts, empty ones left out: one query."""
    codes = ["", *FILTERS]
    counts = rows.order_by().aggregate(
        **{code or "all": Count("pk", filter=_rule(code)) for code in codes}
    )
    return [
        FilterWord(
            code, str(FILTERS[code]) if code else _("All"), counts[code or "all"], code == here
        )
        for code in codes
        if not code or counts[code] or code == here
    ]


def arranged(rows: QuerySet[Proposal], kept: str, sort: str) -> QuerySet[Proposal]:
    """Return what a filter keeps, in an order, with places and what clients were shown."""
    kept_rows = with_shown(rows.filter(_rule(kept)))
    return kept_rows.select_related("place__client", "system").order_by(*SORTS[sort])


def rows_shown(rows: list[Proposal], firm: Firm) -> list[dict[str, Any]]:
    """Return the rows of one page."""
    return [
        {
            "proposal": row,
            "stand": Stand(_stand(row)).label,
            "over": _stand(row) == Stand.EXPIRED,
            "ours": _stand(row) in FOR_US,
            "waits": str(WAITS.get(_stand(row), "")),
            "sent_at": getattr(row, "sent_at", None),
            "price": money_words(*priced) if (priced := _price(row, firm)) else "",
        }
        for row in rows
    ]


def _stand(row: Proposal) -> str:
    return str(getattr(row, "stand", Stand.DRAFT))


def _price(row: Proposal, firm: Firm) -> tuple[int, str] | None:
    """Return what the last version comes to, with its currency; of none, what it would come to."""
    shown, currency = getattr(row, "shown_gross", None), getattr(row, "shown_currency", None)
    amount = int(shown) if shown is not None else sum_of(row, firm.currency).gross
    return (amount, currency or firm.currency) if amount else None


def cells(rows: QuerySet[Proposal], firm: Firm) -> Iterator[list[Any]]:
    """Yield the whole list as cells of a table, some hundred rows at a time."""
    start = 0
    while chunk := list(rows[start : start + CHUNK]):
        for row in chunk:
            priced, stand = _price(row, firm), _stand(row)
            yield [
                str(row), row.name, row.place.name, row.place.client.name, str(Stand(stand).label),
                str(WAITS.get(stand, "")), row.made_at, getattr(row, "sent_at", None),
                row.valid_until, row.answered_on, row.answered_by,
                priced[0] / MONEY if priced else None, priced[1] if priced else "",
                row.system.name if row.system else "",
            ]  # fmt: skip
        start += CHUNK
