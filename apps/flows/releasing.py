"""Release and correction of reports."""

import datetime as dt
from collections.abc import Sequence
from typing import Any
from uuid import UUID

from django.db import transaction
from django.utils.translation import gettext as _

from apps.advice.services import standing_refresh
from apps.core import outbox
from apps.core.exceptions import Conflict, Invalid
from apps.core.scoping import Actor
from apps.flows.report_letters import report_letters
from apps.flows.summary_letters import summary_letters
from apps.reports.models import Release, Report, ReportVersion
from apps.reports.services.reports import report_words_keep, visit_release
from apps.reports.services.summaries import summary_release
from apps.visits.choices import State
from apps.visits.models import Reading, Visit
from apps.visits.services.corrections import reading_correct
from apps.visits.services.steps import author


@transaction.atomic
def release(*, visit: Visit, by: Actor, at: dt.datetime) -> list[ReportVersion]:
    """Release a visit's reports and write the client one letter about them."""
    versions = visit_release(visit=visit, by=by, at=at)
    report_letters(visit, versions, at)
    return versions


@transaction.atomic
def release_summary(*, report: Report, by: Actor, at: dt.datetime) -> Release:
    """Release a summary and write the client one letter about it. Raises Conflict where none is drawn."""
    given = summary_release(report=report, by=by, at=at)
    summary_letters(given.version, at)
    return given


@transaction.atomic
def correct(
    *, reading: Reading, changes: dict[str, Any], reason: str, by: Actor, at: dt.datetime
) -> Reading:
    """Correct a reading of a written-up visit: a new row, and a new version of its report."""
    sheet = reading.sheet
    if sheet is None:
        raise Conflict(_("Only a reading of a visit can be corrected here."), "no_sheet")
    if sheet.visit.state not in (State.WRITTEN_UP, State.REPORTED):
        raise Conflict(_("The visit is not written up yet; change the answer itself."), "open")
    if not reason.strip():
        raise Invalid(
            [
                {
                    "pointer": "/reason",
                    "value": reason,
                    "message": "reason: " + _("say what was wrong"),
                }
            ]
        )
    fresh = reading_correct(reading=reading, changes=changes, reason=reason, by=by, at=at)
    Report.objects.filter(visit=sheet.visit, system_id=sheet.system_id).update(correction_due=True)
    standing_refresh([sheet.system_id], at)
    render_again(sheet.visit_id, reason, by, at, str(fresh.pk))
    return fresh


@transaction.atomic
def report_words(
    *, report: Report, note: str, held_back: Sequence[str], by: Actor, at: dt.datetime
) -> Report:
    """Keep the office's words in a report and the photos that it holds back, and draw it again.

    Nothing is drawn where nothing changed, or before there is a first version.
    """
    report = Report.objects.select_for_update().get(pk=report.pk)
    noted, held = report.note != note, sorted(report.held_back) != sorted(held_back)
    if not noted and not held:
        return report
    report = report_words_keep(report=report, note=note, held_back=held_back, by=by, at=at)
    if report.visit_id is not None and report.versions.exists():
        reason = _("A word from the office was changed.") if noted else _("Photos were changed.")
        render_again(report.visit_id, reason, by, at, f"words:{report.pk}:{at.isoformat()}")
    return report


def render_again(visit_id: UUID, reason: str, by: Actor, at: dt.datetime, mark: str) -> None:
    """Have a visit's reports drawn again."""
    outbox.enqueue(
        "reports.render", f"render:{visit_id}:{mark}",
        {"visit_id": str(visit_id), "reason": reason, "by": author(by)}, at=at,
    )  # fmt: skip
