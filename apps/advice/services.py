"""Assessing a sheet, deciding on advice, and keeping the standing of a system."""

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict
from typing import Any
from uuid import UUID, uuid4, uuid5

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from apps.accounts.services import audit
from apps.advice.choices import Close, Decision
from apps.advice.known import Ingredients, situation_of
from apps.advice.models import Advice
from apps.advice.selectors import done_lately, ingredients, sheet_signs
from apps.calc.advice import assess
from apps.calc.advice.results import Advice as Drafted
from apps.calc.advice.results import Assessment
from apps.care.models import Standing
from apps.care.services import STANDING_DATES, standing_class, standing_dates_set
from apps.catalogue.selectors import Catalogue, catalogue_current
from apps.core.bulk import rows_insert, rows_update
from apps.core.exceptions import Conflict, Invalid
from apps.core.scoping import Actor
from apps.systems.models import Loop, System
from apps.visits.choices import WORST_FIRST, State
from apps.visits.models import Reading, Sheet, Visit
from apps.visits.selectors import (
    Background,
    backgrounds_of,
    bands_of,
    history,
    latest,
    readings_counting,
)
from apps.visits.services.steps import author
from apps.visits.services.typed import Rows, Where

ADVICE_SPACE = UUID("2b1f60f4-7e0a-5d9b-8a44-15d2b8d9c3e7")
URGENCY_ORDER = ("now", "today", "within_3_days", "next_visit", "good_to_know")


def advice_id(sheet_id: UUID, rule: str, loop: str) -> UUID:
    """Return an advice's key: the same rule for the same loop on the same sheet."""
    return uuid5(ADVICE_SPACE, f"{sheet_id}/{rule}/{loop}")


def sheet_assess(
    sheet: Sheet,
    *,
    readings: Sequence[Reading],
    signs: Iterable[str],
    now: dt.datetime,
    catalogue: Catalogue,
    background: Background | None = None,
) -> tuple[Assessment, Ingredients]:
    """Assess a sheet from its readings, stored or not. Nothing is stored.

    `background` is what is known of the system, where it was read already.
    """
    if background is None:
        day = timezone.localdate(now)
        background = backgrounds_of([sheet.system], catalogue, day, now)[sheet.system_id]
    parts = ingredients(sheet, background, readings, signs, now)
    return assess(situation_of(parts), bands_of(catalogue)), parts


def stored_assessment(sheet: Sheet, now: dt.datetime) -> tuple[Assessment, list[Reading]]:
    """Assess a written-up sheet again from its rows; `now` is when it was written up."""
    rows = list(readings_counting().filter(sheet=sheet).order_by("taken_at", "id"))
    found, _parts = sheet_assess(
        sheet, readings=rows, signs=sheet_signs(sheet), now=now, catalogue=catalogue_current()
    )
    return found, rows


def advice_row(draft: Drafted, of: Sheet | System, position: int, now: dt.datetime) -> Advice:
    """Return an unsaved advice row of a draft: a sheet's, or the office's own for a system."""
    sheet = of if isinstance(of, Sheet) else None
    by_at = now + dt.timedelta(hours=draft.by_hours) if draft.by_hours is not None else None
    return Advice(
        pk=advice_id(sheet.pk, draft.rule, draft.loop) if sheet else uuid4(),
        sheet=sheet,
        system_id=of.system_id if isinstance(of, Sheet) else of.pk,
        loop_id=UUID(draft.loop) if draft.loop else None,
        rule=draft.rule,
        position=position,
        urgency=draft.urgency,
        who=draft.who,
        by_at=by_at,
        dose=draft.dose,
        unit=draft.unit,
        parameters=asdict(draft),
        made_at=now,
    )


@transaction.atomic
def advice_give(
    *, system: System, drafts: Sequence[Drafted], by: Actor, at: dt.datetime
) -> list[Advice]:
    """Store what the office advises between visits, and bring the standing up to date.

    Open advice in the same loop that doses the same is replaced. Raises Conflict where such an
    advice asks for more than its dose: that would be lost.
    """
    who, answers = author(by), {answer for draft in drafts for answer in draft.answers}
    loops = {draft.loop for draft in drafts}
    for row in Advice.objects.select_for_update().filter(
        system=system, loop_id__in=[UUID(loop) for loop in loops], closed_at__isnull=True,
        dose__isnull=False,
    ):  # fmt: skip
        if answers.isdisjoint(row.parameters.get("answers", ())):
            continue
        if any(
            row.parameters.get(name) is not None for name in ("change_fraction", "feed_percent")
        ):
            raise Conflict(
                _("Open advice of the last visit doses the same and asks for more: carry it out and "
                  "note it as done, or drop it, on the system's page. Then make the plan."),
                "advised_already",
            )  # fmt: skip
        row.closed_at, row.closed_as, row.closed_by = at, Close.REPLACED, who
        row.save(update_fields=["closed_at", "closed_as", "closed_by"])
    rows = [advice_row(draft, system, i, at) for i, draft in enumerate(drafts)]
    for row in rows:
        row.decision, row.decided_by = Decision.KEEP, who
    rows_insert(rows)
    for row in rows:
        audit(at=at, by=by, verb="advised", kind="advice", object_id=row.pk,
              change={"rule": row.rule, "who": row.who})  # fmt: skip
    standing_refresh([system.pk], at)
    return rows


def _decide(rows: dict[UUID, Advice], decisions: Rows, by: str, where: Where) -> None:
    errors: list[dict[str, Any]] = []
    for key, decision in decisions.items():
        row = rows.get(key)
        if row is None and key not in where.places:
            # decided on the phone before a later reading made this advice vanish
            continue
        if row is None:
            message = "id: " + _(
                "no such advice here; read the visit's assessment for what is advised"
            )
            errors.append(
                {"pointer": where.of("advice", key), "value": str(key), "message": message}
            )
            continue
        word = decision.get("decision") or Decision.KEEP
        text, reason = decision.get("text") or "", decision.get("reason") or ""
        if word in (Decision.EDIT, Decision.STRIKE) and not reason:
            message = "reason: " + _("say why this advice is %(label)s") % {
                "label": Decision(word).label
            }
            errors.append(
                {"pointer": where.of("advice", key, "reason"), "value": reason, "message": message}
            )
        if word == Decision.EDIT and not text:
            message = "text: " + _("write the advice as it should read")
            errors.append(
                {"pointer": where.of("advice", key, "text"), "value": text, "message": message}
            )
        row.decision, row.decision_text, row.decision_reason = word, text, reason
        row.decided_by = by
    if errors:
        raise Invalid(errors)


def advice_write(
    *, sheet: Sheet, found: Assessment, decisions: Rows, by: Actor, now: dt.datetime,
    where: Where | None = None,
) -> list[Advice]:  # fmt: skip
    """Store what a sheet's assessment advises with the technician's decisions.

    Advice of earlier visits to the system is replaced. In the caller's transaction. Raises Invalid for a decision about an
    advice that is not there, or without its reason.
    """
    rows = {
        row.pk: row
        for row in (advice_row(draft, sheet, i, now) for i, draft in enumerate(found.advice))
    }
    who = author(by)
    _decide(rows, decisions, who, where or Where())
    for row in rows.values():
        if row.decision == Decision.DRAFT:
            row.decision, row.decided_by = Decision.KEEP, who
        if row.decision == Decision.STRIKE:
            row.closed_at, row.closed_as, row.closed_by = now, Close.STRUCK, who
    if sheet.visit.written_up_at is not None:
        Advice.objects.filter(sheet=sheet).delete()
    Advice.objects.filter(system_id=sheet.system_id, closed_at__isnull=True).update(
        closed_at=now, closed_as=Close.REPLACED, closed_by=who
    )
    rows_insert(rows.values())
    return list(rows.values())


@transaction.atomic
def advice_close(*, advice: Advice, closed_as: str, by: Actor, at: dt.datetime) -> Advice:
    """Note that an advice was carried out or dropped."""
    taken = Advice.objects.filter(pk=advice.pk, closed_at__isnull=True).update(
        closed_at=at, closed_as=closed_as, closed_by=author(by)
    )
    if taken:
        change = {"closed_as": str(closed_as)}
        audit(at=at, by=by, verb="closed", kind="advice", object_id=advice.pk, change=change)
    standing_refresh([advice.system_id], at)
    advice.refresh_from_db()
    return advice


@transaction.atomic
def advice_reopen(*, advice: Advice, by: Actor, at: dt.datetime) -> Advice:
    """Take back that an advice was carried out. Raises Conflict once a later visit took its place."""
    told = advice.closed_by
    taken = done_lately(advice.system_id).filter(pk=advice.pk).order_by()
    if not taken.update(closed_at=None, closed_as="", closed_by=""):
        raise Conflict(
            _(
                "Only advice of the latest visit that is noted as done can be taken back; "
                "see what the system's page says now."
            ),
            "not_done",
        )
    change = {"closed_by": told}
    audit(at=at, by=by, verb="took back", kind="advice", object_id=advice.pk, change=change)
    standing_refresh([advice.system_id], at)
    advice.refresh_from_db()
    return advice


def _worst(rows: Sequence[Reading]) -> Reading | None:
    ranked = [row for row in rows if row.trusted and row.word in WORST_FIRST]
    return min(
        ranked, key=lambda row: (WORST_FIRST.index(row.word), row.taken_at, str(row.pk)),
        default=None,
    )  # fmt: skip


def _brief(row: Reading, before: Reading | None) -> dict[str, Any]:
    return {
        "reading": str(row.pk), "loop": str(row.loop_id), "measurand": row.measurand,
        "value": row.value, "unit": row.unit, "word": row.word, "band": row.band,
        "last": before.value if before else None, "last_word": before.word if before else None,
        "at": row.taken_at.isoformat(),
    }  # fmt: skip


def _fill(standing: Standing, rows: Sequence[Reading], advice: Sequence[Advice]) -> None:
    trusted = [row for row in rows if row.trusted]
    now_rows = latest(trusted)
    earlier = latest(row for row in trusted if now_rows[(row.loop_id, row.measurand)] is not row)
    worst = _worst(list(now_rows.values()))
    ordered = sorted(
        now_rows.values(), key=lambda row: (WORST_FIRST.index(row.word), row.measurand)
    )
    standing.latest = [
        _brief(row, earlier.get((row.loop_id, row.measurand))) for row in ordered[:4]
    ]
    standing.worst_judgement = worst.word if worst else ""
    standing.worst_since = worst.taken_at if worst else None
    standing.worst = _brief(worst, earlier.get((worst.loop_id, worst.measurand))) if worst else {}
    standing.last_reading_at = rows[-1].taken_at if rows else None
    first = min(advice, key=lambda row: URGENCY_ORDER.index(row.urgency), default=None)
    standing.advice_urgency = first.urgency if first else ""
    standing.advice_since = first.made_at if first else None
    standing.advice = (
        {"id": str(first.pk), "rule": first.rule, "parameters": first.parameters,
         "text": first.decision_text}
        if first else {}
    )  # fmt: skip
    standing.fixed_class = standing_class(standing.advice_urgency, standing.worst_judgement)


@transaction.atomic
def standing_refresh(system_ids: Iterable[UUID], at: dt.datetime) -> None:
    """Bring the standing of systems up to date; six queries for any number."""
    ids = list(system_ids)
    loops = dict(Loop.objects.filter(system_id__in=ids).values_list("pk", "system_id"))
    rows: dict[UUID, list[Reading]] = {pk: [] for pk in ids}
    for row in history(list(loops), at):
        rows[loops[row.loop_id]].append(row)
    advice: dict[UUID, list[Advice]] = {pk: [] for pk in ids}
    for item in Advice.objects.filter(system_id__in=ids, closed_at__isnull=True):
        advice[item.system_id].append(item)
    standing_write(rows, advice, at)


def standing_write(
    readings: Mapping[UUID, Sequence[Reading]],
    advice: Mapping[UUID, Sequence[Advice]],
    at: dt.datetime,
) -> None:
    """Store what dates, counting readings (oldest first) and open advice say of systems.

    In the caller's transaction; three queries and an update for any number of systems.
    """
    standings = list(Standing.objects.filter(system_id__in=list(readings)))
    standing_dates_set(standings, at)
    visited = dict(
        Visit.objects.filter(
            sheets__system_id__in=list(readings), state__in=[State.WRITTEN_UP, State.REPORTED]
        )
        .order_by("finished_at")
        .values_list("sheets__system_id", "finished_at")
    )
    for standing in standings:
        _fill(standing, readings[standing.system_id], advice[standing.system_id])
        standing.last_visit_at = visited.get(standing.system_id)
    rows_update(
        standings,
        [
            "latest", "worst_judgement", "worst_since", "worst", "last_reading_at",
            "advice_urgency", "advice_since", "advice", "fixed_class", "last_visit_at",
            *STANDING_DATES,
        ],
    )  # fmt: skip
