"""Who is in danger from a weather that is coming, and who has answered its list."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.db.models import Count, Q, QuerySet
from django.utils import timezone
from django.utils.translation import gettext as _

from apps.batches.selectors import fish_now
from apps.calc.species import species_table
from apps.calc.weather import at_risk
from apps.core.numbers import format_figure, with_unit
from apps.core.scoping import Actor
from apps.incidents.choices import Reply
from apps.incidents.models import WeatherAsk, WeatherWatch
from apps.office.selectors.call_tank import BACKUP
from apps.office.wording import age_words, place_label
from apps.systems.models import System
from apps.visits.models import Reading
from apps.visits.selectors import latest, loops_with_parts, readings_counting

LATELY = dt.timedelta(days=30)


@dataclass(frozen=True)
class Exposed:
    """A system with what decides whether a weather endangers it."""

    system: System
    risk: bool
    label: str
    why: str


def exposed(
    actor: Actor, kind: str, area: str = "", system_kind: str = "", only_risk: bool = False
) -> list[Exposed]:
    """Return the running systems, those in danger first: a fixed number of queries."""
    rows = System.objects.visible_to(actor).filter(active=True).select_related("place__client")
    rows = rows.filter(place__area=area) if area else rows
    rows = rows.filter(kind=system_kind) if system_kind else rows
    systems = list(rows.order_by("name", "id"))
    found = _judged(systems, kind, actor.at)
    kept = [row for row in found if row.risk or not only_risk]
    return sorted(kept, key=lambda row: (not row.risk, row.system.name))


def _judged(systems: Sequence[System], kind: str, now: dt.datetime) -> list[Exposed]:
    loops = loops_with_parts([system.pk for system in systems])
    owner = {loop.pk: loop.system_id for loop in loops}
    fish: dict[UUID, set[str]] = {}
    stocked: set[UUID] = set()
    for row in fish_now(list(owner), timezone.localdate(now)):
        if row.count:
            fish.setdefault(owner[row.batch.loop_id], set()).add(row.batch.species_code)
            stocked.add(row.batch.loop_id)
    backup = {
        loop.system_id
        for loop in loops for part in loop.fitted  # type: ignore[attr-defined]
        if part.kind == BACKUP
    }  # fmt: skip
    # where fish live, it is their water that counts, not that of a plant loop beside it
    temps = _temps([pk for pk in owner if pk in stocked or owner[pk] not in fish], owner, now)
    table = species_table()
    found = []
    for system in systems:
        kinds = [table[code] for code in sorted(fish.get(system.pk, ())) if code in table]
        temp = temps.get(system.pk)
        risk = at_risk(kind, kinds, temp.value if temp else None, backup_air=system.pk in backup)
        why = _why(bool(kinds), temp, system.pk in backup, now)
        found.append(Exposed(system, risk, place_label(system.place), why))
    return found


def _temps(loops: list[UUID], owner: dict[UUID, UUID], now: dt.datetime) -> dict[UUID, Reading]:
    """Return the last water temperature of each system that was read lately: one query."""
    rows = readings_counting().filter(
        loop_id__in=loops, measurand="temp", trusted=True, taken_at__gt=now - LATELY,
        taken_at__lte=now,
    )  # fmt: skip
    found: dict[UUID, Reading] = {}
    for (loop, _code), row in latest(rows.order_by("taken_at", "id")).items():
        held = found.get(owner[loop])
        if held is None or held.taken_at < row.taken_at:
            found[owner[loop]] = row
    return found


def _why(has_fish: bool, temp: Reading | None, backup: bool, now: dt.datetime) -> str:
    parts = [] if has_fish else [_("no fish")]
    if temp is None:
        parts.append(_("temperature not read lately"))
    else:
        figure = with_unit(format_figure(temp.value, 1), temp.unit)
        parts.append(_("%(figure)s, %(age)s ago")
                     % {"figure": figure, "age": age_words(temp.taken_at, now)})  # fmt: skip
    if not backup:
        parts.append(_("no backup air known"))
    return ", ".join(parts)


def watches_of(actor: Actor) -> QuerySet[Any]:
    """Return what went out, newest first, with how many were asked and answered."""
    rows = WeatherWatch.objects.visible_to(actor)
    return rows.annotate(
        asked=Count("asks"),
        done=Count("asks", filter=Q(asks__reply=Reply.DONE)),
        need=Count("asks", filter=Q(asks__reply=Reply.HELP)),
    ).order_by("-made_at", "id")


def asks_of(actor: Actor, watch: WeatherWatch) -> list[WeatherAsk]:
    """Return who was asked: those who need help first, then those who have not answered."""
    rows = (
        WeatherAsk.objects.visible_to(actor)
        .filter(watch=watch)
        .select_related("contact__client", "incident")
        .prefetch_related("systems")
    )
    order: list[str] = [Reply.HELP, Reply.NONE, Reply.DONE]
    return sorted(rows, key=lambda row: (order.index(row.reply), row.contact.name))
