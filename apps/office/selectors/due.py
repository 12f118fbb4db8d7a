"""The due list as the office sees it: one page of rows with all that stands in them."""

import datetime as dt
import json
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.db.models import Count, Prefetch, Q, QuerySet
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from apps.care.choices import Urgency
from apps.care.models import Standing
from apps.care.selectors import (
    DUE,
    HARMFUL,
    LATE,
    LATE_A,
    OUT_OF_BAND,
    URGENT,
    DueRow,
    due_rows,
    ranked,
)
from apps.catalogue.selectors import Catalogue
from apps.clients.models import Place
from apps.core.scoping import Actor
from apps.flows.wording import reason_text
from apps.office.wording import (
    after_that,
    count_word,
    day_words,
    first_sentences,
    late_words,
    since_words,
    upper_first,
)
from apps.systems.models import Component, Loop, System
from apps.systems.selectors import loop_litres
from apps.visits.choices import HOLDING
from apps.visits.models import Assignment, Sheet, Visit
from apps.visits.shown import Shown, shown

FILTERS: dict[str, tuple[Any, Q]] = {
    "risk": (gettext_lazy("Fish at risk"), Q(ranked_as__in=(URGENT, HARMFUL, LATE_A))),
    "band": (gettext_lazy("Filter and plants"), Q(ranked_as=OUT_OF_BAND)),
    "late": (gettext_lazy("Late care"), Q(ranked_as=LATE)),
    "care": (gettext_lazy("Care due"), Q(ranked_as=DUE)),
}
_URGENCY = {
    URGENT: Urgency.TODAY, HARMFUL: Urgency.TODAY, LATE_A: Urgency.TODAY,
    OUT_OF_BAND: Urgency.WITHIN_3_DAYS, LATE: Urgency.WITHIN_3_DAYS,
}  # fmt: skip
LINES = 2
REASONS = 2
CHUNK = 500


@dataclass(frozen=True)
class FilterWord:
    """A filter above a list: its code, its word, how many it keeps, whether it is on."""

    code: str
    label: str
    count: int
    here: bool


@dataclass(frozen=True)
class DueLine:
    """One system on the due page."""

    row: DueRow
    system: System
    urgency: str
    since: str
    size: str
    reasons: list[str]
    readings: list[Shown]
    visit: Visit | None
    hours: str


def due_list(actor: Actor, on: dt.date, area: str = "") -> QuerySet[Standing]:
    """Return the ranked standings of an area, or of all."""
    rows = ranked(actor, on)
    return rows.filter(system__place__area=area) if area else rows


def due_counts(rows: QuerySet[Standing]) -> dict[str, int]:
    """Return how many systems each filter keeps, and how many cannot wait: one query."""
    counts = {code: Count("pk", filter=rule) for code, (_label, rule) in FILTERS.items()}
    now = Count("pk", filter=Q(advice_urgency=Urgency.NOW))
    return dict(rows.order_by().aggregate(all=Count("pk"), now=now, **counts))


def filter_words(counts: dict[str, int], here: str) -> list[FilterWord]:
    """Return the filters with their counts; those that keep nothing are left out."""
    words = [FilterWord("", _("All"), counts["all"], here == "")]
    words += [
        FilterWord(code, str(label), counts[code], here == code)
        for code, (label, _rule) in FILTERS.items()
        if counts[code] or here == code
    ]
    return words


def opening(on: dt.date, counts: dict[str, int], systems: int) -> str:
    """Return the page's first sentence."""
    day = day_words(on, long=True)
    if not systems:
        return _("%(day)s. There are no systems yet.") % {"day": day}
    if not counts["all"]:
        return ngettext(
            "%(day)s. The one system is well and nothing is due.",
            "%(day)s. All %(systems)s systems are well and nothing is due.", systems,
        ) % {"day": day, "systems": systems}  # fmt: skip
    if counts["all"] == systems > 1:
        words = count_word(systems)
        need = _("All %(count)s systems need somebody") % {"count": words}
        return f"{day}. {need}{_cannot_wait(counts)}."
    need = ngettext(
        "%(count)s of %(systems)s systems needs somebody",
        "%(count)s of %(systems)s systems need somebody", counts["all"],
    ) % {"count": upper_first(count_word(counts["all"])), "systems": systems}  # fmt: skip
    return f"{day}. {need}{_cannot_wait(counts)}."


def _cannot_wait(counts: dict[str, int]) -> str:
    if not counts["now"]:
        return ""
    words = ngettext("; %(count)s cannot wait", "; %(count)s cannot wait", counts["now"])
    return words % {"count": count_word(counts["now"])}


def areas(actor: Actor) -> list[str]:
    """Return the areas that places lie in."""
    rows = Place.objects.visible_to(actor).exclude(area="")
    return list(rows.order_by("area").values_list("area", flat=True).distinct())


def systems_listed(actor: Actor, system_ids: list[UUID]) -> dict[UUID, System]:
    """Return systems with place, visiting hours, loops and components: four queries in all."""
    fitted = Component.objects.visible_to(actor).filter(removed_on__isnull=True)
    full = System.objects.visible_to(actor).select_related("place").prefetch_related(
        "place__hours",
        Prefetch("loops", Loop.objects.visible_to(actor).order_by("kind")),
        Prefetch("loops__components", fitted, to_attr="fitted"),
    )  # fmt: skip
    return {system.pk: system for system in full.filter(pk__in=system_ids)}


def next_visits(actor: Actor, system_ids: list[UUID], now: dt.datetime) -> dict[UUID, Visit]:
    """Return the next visit that is pencilled, booked or under way for each system: two queries."""
    day = timezone.localtime(now).replace(hour=0, minute=0, second=0, microsecond=0)
    sheets = (
        Sheet.objects.visible_to(actor)
        .filter(system_id__in=system_ids, visit__state__in=HOLDING, visit__start__gte=day)
        .select_related("visit")
        .prefetch_related(
            Prefetch(
                "visit__assignments", Assignment.objects.visible_to(actor).select_related("user")
            )
        )
        .order_by("-visit__start")
    )
    return {sheet.system_id: sheet.visit for sheet in sheets}


def due_lines(
    actor: Actor, standings: QuerySet[Standing], on: dt.date, first_rank: int, catalogue: Catalogue
) -> list[DueLine]:
    """Return the lines of one page: eight queries, however many systems it has."""
    rows = due_rows(standings, on, first_rank)
    ids = [row.system.pk for row in rows]
    systems, visits = systems_listed(actor, ids), next_visits(actor, ids, actor.at)
    return [
        _line(row, systems[row.system.pk], visits.get(row.system.pk), actor.at, catalogue)
        for row in rows
    ]


def _line(
    row: DueRow, system: System, visit: Visit | None, now: dt.datetime, catalogue: Catalogue
) -> DueLine:
    latest = [item for item in json.loads(row.system.latest) if item["band"]]
    return DueLine(
        row=row,
        system=system,
        urgency=_urgency(row),
        since=_since(row, now),
        size=size_words(list(system.loops.all())),
        reasons=[*_reasons(row, catalogue), *_too_late(row, visit)],
        readings=[brief_shown(item, catalogue) for item in latest[:LINES]],
        visit=visit,
        hours=hours_words(list(system.place.hours.all())),
    )


def _reasons(row: DueRow, catalogue: Catalogue) -> list[str]:
    """Return the two reasons that weigh most, shortly; all of them stand on the system's page."""
    texts = [reason_text(reason, catalogue) for reason in row.reasons]
    return [first_sentences(text) for text in texts[:REASONS]]


def _too_late(row: DueRow, visit: Visit | None) -> list[str]:
    """Tell of a visit that comes after the day on which a limit is most likely passed."""
    crossing = next((reason for reason in row.reasons if reason.code == "ahead"), None)
    if visit is None or crossing is None or crossing.since is None:
        return []
    start = timezone.localdate(visit.start)
    if start <= crossing.since:
        return []
    return [after_that(visit, day_words(start))]


def _urgency(row: DueRow) -> str:
    rank = _URGENCY.get(row.system.ranked_as, Urgency.NEXT_VISIT)
    advised = row.system.advice_urgency
    order = list(Urgency.values)
    return min((rank, advised), key=order.index) if advised in order else str(rank)


def _since(row: DueRow, now: dt.datetime) -> str:
    system = row.system
    if system.ranked_as == URGENT and system.advice_since:
        return since_words(system.advice_since, now)
    if system.ranked_as in (HARMFUL, OUT_OF_BAND) and system.worst_since:
        return since_words(system.worst_since, now)
    if row.days_late:
        return late_words(row.days_late)
    crossing = next((reason for reason in row.reasons if reason.code == "ahead"), None)
    if crossing is not None and crossing.since is not None:
        return _("crosses %(day)s") % {"day": day_words(crossing.since)}
    first = row.tasks[0].next_due if row.tasks else None
    return _("due %(day)s") % {"day": day_words(first)} if first else ""


def size_words(loops: list[Loop]) -> str:
    """Return the litres of the loops: "1,450 + 900"; empty where nothing is known."""
    found = [loop_litres(loop) for loop in loops]
    return " + ".join(f"{round(litres):,}" for litres in found if litres)


def hours_words(hours: list[Any]) -> str:
    """Return the hours at which somebody may come, shortly; empty where any time will do."""
    by_time: dict[str, list[str]] = {}
    for row in sorted(hours, key=lambda row: (row.weekday, row.opens)):
        span = f"{row.opens:%H:%M}–{row.closes:%H:%M}"
        by_time.setdefault(span, []).append(str(row.get_weekday_display())[:3])
    parts = []
    for span, days in by_time.items():
        several = f"{days[0]}–{days[-1]}" if _in_a_row(hours, span) else ", ".join(days)
        parts.append(f"{several if len(days) > 1 else days[0]} {span}")
    return "; ".join(parts)


def _in_a_row(hours: list[Any], span: str) -> bool:
    days = sorted(row.weekday for row in hours if f"{row.opens:%H:%M}–{row.closes:%H:%M}" == span)
    return len(days) > 2 and days == list(range(days[0], days[-1] + 1))


def brief_shown(item: dict[str, Any], catalogue: Catalogue) -> Shown:
    """Return a reading as the standing keeps it, for its water line."""
    entry = catalogue.measurand(item["measurand"]) or {}
    return shown(
        item
        | {
            "name": str(entry.get("name") or item["measurand"]),
            "decimals": int(entry.get("decimals") or 0),
            "trend": None,
            "series": [],
        }
    )


def due_cells(
    actor: Actor, rows: QuerySet[Standing], on: dt.date, catalogue: Catalogue
) -> Iterator[list[Any]]:
    """Yield the whole list as cells of a table, some hundred systems at a time."""
    start = 0
    while chunk := due_rows(rows[start : start + CHUNK], on, start + 1):
        for row in chunk:
            system = row.system
            yield [
                row.rank, system.name, system.place_name, system.street, system.town, system.area,
                system.client_name, Urgency(_urgency(row)).label, system.due_by, row.days_late,
                " ".join(reason_text(reason, catalogue) for reason in row.reasons),
            ]  # fmt: skip
        start += CHUNK
