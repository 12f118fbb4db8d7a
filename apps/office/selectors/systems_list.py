"""The list of systems: filters with counts, orders, and what stands in a row."""

import datetime as dt
from collections.abc import Iterator
from typing import Any

from django.db.models import (
    Case,
    Count,
    Exists,
    F,
    IntegerField,
    OuterRef,
    Q,
    QuerySet,
    Value,
    When,
)
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from apps.batches.models import HarvestHold
from apps.catalogue.selectors import Catalogue
from apps.core.drawing.words import JUDGEMENT_WORDS
from apps.core.scoping import Actor
from apps.office.selectors.due import FilterWord, size_words
from apps.systems.choices import SystemKind
from apps.systems.models import System
from apps.systems.selectors import loop_litres, with_parts
from apps.visits.choices import WORST_FIRST, Word

HOLD, ENDED = "hold", "ended"
FILTERS: dict[str, Any] = {
    **{kind.value: kind.label for kind in SystemKind},
    HOLD: gettext_lazy("Harvest hold"),
    ENDED: gettext_lazy("Ended"),
}
SORTS: dict[str, Any] = {
    "name": ("name", "pk"),
    "visited": (F("standing__last_visit_at").desc(nulls_last=True), "name", "pk"),
    "due": (F("standing__due_by").asc(nulls_last=True), "name", "pk"),
    "worst": ("worst_rank", "name", "pk"),
}
CHUNK = 500


def systems_of(actor: Actor, area: str) -> QuerySet[System]:
    """Return the systems of an area, or of all."""
    rows = System.objects.visible_to(actor)
    return rows.filter(place__area=area) if area else rows


def _held(on: dt.date) -> Exists:
    rows = HarvestHold.objects.filter(
        treatment__loop__system=OuterRef("pk"), treatment__began_on__lte=on, until__gt=on
    )
    return Exists(rows)


def _rule(code: str, on: dt.date) -> Q:
    if code == HOLD:
        return Q(active=True) & Q(_held(on))
    if code == ENDED:
        return Q(active=False)
    return Q(active=True, kind=code) if code else Q(active=True)


def filter_words(rows: QuerySet[System], here: str, on: dt.date) -> list[FilterWord]:
    """Return the filters with their counts: one query."""
    codes = ["", *FILTERS]
    counts = rows.order_by().aggregate(
        **{code or "all": Count("pk", filter=_rule(code, on)) for code in codes}
    )
    return [
        FilterWord(
            code, str(FILTERS[code]) if code else _("All"), counts[code or "all"], code == here
        )
        for code in codes
        if not code or counts[code] or code == here
    ]


def arranged(rows: QuerySet[System], kept: str, sort: str, on: dt.date) -> QuerySet[System]:
    """Return the systems that a filter keeps, in an order, with their parts."""
    worst = Case(
        *(When(standing__worst_judgement=word, then=Value(i)) for i, word in enumerate(WORST_FIRST)),
        default=Value(len(WORST_FIRST)), output_field=IntegerField(),
    )  # fmt: skip
    kept_rows = rows.filter(_rule(kept, on)).annotate(worst_rank=worst)
    return with_parts(kept_rows).select_related("standing").order_by(*SORTS[sort])


def rows_shown(systems: list[System], catalogue: Catalogue) -> list[dict[str, Any]]:
    """Return the rows of one page."""
    return [_row(system, catalogue) for system in systems]


def _row(system: System, catalogue: Catalogue) -> dict[str, Any]:
    standing = getattr(system, "standing", None)
    worst = standing.worst if standing else {}
    return {
        "system": system,
        "place": system.place,
        "size": size_words(list(system.loops.all())),
        "last_visit": standing.last_visit_at if standing else None,
        "due_by": standing.due_by if standing else None,
        "word": standing.worst_judgement if standing else "",
        "name": _(catalogue.name("measurands", worst["measurand"]))
        if worst and worst["word"] != Word.IN_BAND
        else "",
    }


def cells(rows: QuerySet[System], catalogue: Catalogue) -> Iterator[list[Any]]:
    """Yield the whole list as cells of a table, some hundred systems at a time."""
    start = 0
    while chunk := list(rows[start : start + CHUNK]):
        for row in rows_shown(chunk, catalogue):
            system, place = row["system"], row["place"]
            standing = getattr(system, "standing", None)
            worst = standing.worst if standing else {}
            yield [
                system.name, str(system.get_kind_display()), place.name, place.client.name,
                place.street, place.town, place.area,
                round(sum(loop_litres(loop) for loop in system.loops.all())), system.started_on,
                row["last_visit"], row["due_by"], row["name"], worst.get("value"),
                worst.get("unit", ""), str(JUDGEMENT_WORDS.get(row["word"], "")),
            ]  # fmt: skip
        start += CHUNK
