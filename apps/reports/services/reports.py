"""Reports: drawn in the worker, kept with their hash, released, corrected."""

import datetime as dt
import io
from collections.abc import Mapping, Sequence
from typing import Any

from django.db import IntegrityError, transaction
from django.db.models import Max
from django.utils.translation import gettext as _
from PIL import Image

from apps.accounts.models import Firm
from apps.accounts.selectors import firm_current
from apps.accounts.services import audit
from apps.clients.models import Client
from apps.clients.selectors import letter_contacts, numbers_gone
from apps.core import files
from apps.core.exceptions import Conflict, DomainError
from apps.core.scoping import Actor
from apps.reports.models import Release, Report, ReportVersion
from apps.reports.rendering.child import CHILD
from apps.reports.rendering.pdf import faces_missing
from apps.reports.snapshots import TEMPLATE, snapshot_of
from apps.visits.choices import State
from apps.visits.models import Photo, Sheet, Visit
from apps.visits.services.steps import author, visit_step

FIRST_NUMBER = 1
# what tells one version from the next although both say the same
APART = frozenset({"version", "reason", "versions"})


def report_for(sheet: Sheet, at: dt.datetime) -> Report:
    """Return the report of a sheet, numbered when it is first asked for."""
    for _try in range(5):
        held = Report.objects.filter(visit=sheet.visit, system_id=sheet.system_id).first()
        if held is not None:
            return held
        last = Report.objects.aggregate(Max("number"))["number__max"] or FIRST_NUMBER - 1
        last = max(last, numbers_gone("last_report"))
        try:
            with transaction.atomic():
                return Report.objects.create(
                    visit=sheet.visit, system_id=sheet.system_id, number=last + 1, made_at=at
                )
        except IntegrityError:
            continue
    raise DomainError(_("The report could not be numbered; try again."), "busy")


def held_back_of(report: Report, sheet: Sheet) -> list[str]:
    """Return ids of the photos that a report does not show: all where its client has not allowed it."""
    if sheet.system.place.client.shows_photos:
        return list(report.held_back)
    return [str(pk) for pk in Photo.objects.filter(sheet=sheet).values_list("pk", flat=True)]


def version_prepare(
    sheet: Sheet, *, reason: str, at: dt.datetime, firm: Firm | None = None
) -> tuple[Report, dict[str, Any]]:
    """Return the report of a sheet and what its next version will say."""
    report = report_for(sheet, at)
    last = report.versions.aggregate(Max("number"))["number__max"] or 0
    contacts = letter_contacts(sheet.system.place.client_id)
    snapshot = snapshot_of(
        sheet, number=report.number, version=last + 1, reason=reason,
        firm=firm or firm_current(), contact=contacts[0] if contacts else None,
        note=report.note, held_back=held_back_of(report, sheet),
    )  # fmt: skip
    snapshot["versions"] = [
        {"number": row.number, "made": row.made_at.isoformat()}
        for row in report.versions.order_by("number")
    ]
    return report, snapshot


def photo_rows(snapshot: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Return every photo that a snapshot names, each once."""
    rows = [
        *(photo for finding in snapshot.get("findings", []) for photo in finding["photos"]),
        *(row[name] for row in snapshot.get("pairs", []) for name in ("before", "after")),
        *snapshot.get("photos", []),
    ]
    return list({row["file"]: row for row in rows}.values())


def photos_of(snapshot: Mapping[str, Any]) -> tuple[dict[str, bytes], list[dict[str, str]]]:
    """Return the photos that a snapshot shows, and what is missing or cannot be read as a picture.

    A report is drawn all the same: a placeholder stands for what is missing.
    """
    found: dict[str, bytes] = {}
    lacks = [{"code": "face", "what": name} for name in faces_missing()]
    for row in photo_rows(snapshot):
        try:
            data = files.read(row["file"])
            with Image.open(io.BytesIO(data)) as picture:
                picture.verify()
        except (OSError, SyntaxError, ValueError):
            lacks.append({"code": "photo", "what": row["caption"] or row["file"]})
        else:
            found[row["file"]] = data
    return found, lacks


def same_version(
    report: Report, snapshot: dict[str, Any], apart: frozenset[str] = APART
) -> ReportVersion | None:
    """Return the last version if it says just this, `apart` left aside."""
    last = report.versions.order_by("-number").first()
    if last is None:
        return None
    new = {key: value for key, value in snapshot.items() if key not in apart}
    old = {key: value for key, value in last.snapshot.items() if key not in apart}
    return last if new == old else None


def version_make(sheet: Sheet, *, reason: str = "", by: str = "", at: dt.datetime) -> ReportVersion:
    """Draw a sheet's report and keep it as a new version; if nothing changed, the last stays.

    Nothing is stored before the PDF exists. Raises RenderFailed.
    """
    report, snapshot = version_prepare(sheet, reason=reason, at=at)
    held = same_version(report, snapshot)
    photos, lacks = photos_of(snapshot)
    if held is not None and len(lacks) >= len(held.lacks):
        # what was changed was changed back before it was drawn
        Report.objects.filter(pk=report.pk).update(correction_due=False)
        return held
    pdf = CHILD.render(snapshot, photos)
    return version_keep(report, snapshot, pdf, reason=reason, by=by, at=at, lacks=lacks)


def version_keep(
    report: Report,
    snapshot: dict[str, Any],
    pdf: bytes,
    *,
    reason: str,
    by: str,
    at: dt.datetime,
    lacks: Sequence[dict[str, str]] = (),
) -> ReportVersion:
    """Keep a drawn version: the file first, then the row. `lacks`: what has a placeholder in it.

    Raises Conflict where its photos were allowed when it was begun, and no longer are.
    """
    with transaction.atomic():
        _photos_check(report, snapshot)
        name, digest = files.store("reports", pdf, "pdf")
        try:
            version = ReportVersion.objects.create(
                report=report, number=snapshot["version"], snapshot=snapshot, template=TEMPLATE,
                language=snapshot["language"], pdf=name, pdf_size=len(pdf), sha256=digest,
                reason=reason, lacks=list(lacks), made_by=by, made_at=at,
            )  # fmt: skip
        except IntegrityError as error:
            raise Conflict(_("This version is being made already."), "busy") from error
        Report.objects.filter(pk=report.pk).update(correction_due=False, kind=snapshot["kind"])
        audit(at=at, by="worker", verb="made version", kind="report", object_id=report.pk)
    return version


def _photos_check(report: Report, snapshot: Mapping[str, Any]) -> None:
    """Raise Conflict for photos that are not allowed by now; nobody says so until this is kept."""
    if not photo_rows(snapshot):
        return
    client = Client.objects.select_for_update(of=("self",)).get(places__systems__reports=report)
    if not client.shows_photos:
        raise Conflict(
            _("What may be shown of photos was changed just now; it is drawn anew."), "busy"
        )


def report_words_keep(
    *, report: Report, note: str, held_back: Sequence[str], by: Actor, at: dt.datetime
) -> Report:
    """Keep the office's words and the photos held back; what is drawn already is due again."""
    report.note, report.held_back = note, sorted(held_back)
    report.correction_due = report.versions.exists()
    report.full_clean()
    report.save(update_fields=["note", "held_back", "correction_due"])
    audit(at=at, by=by, verb="wrote into", kind="report", object_id=report.pk,
          change={"held_back": len(held_back)})  # fmt: skip
    return report


def blocking(visit: Visit) -> list[str]:
    """Return what stands in the way of a release, as codes."""
    reasons = []
    if visit.state not in (State.WRITTEN_UP, State.REPORTED):
        reasons.append("not_written_up")
    for sheet in visit.sheets.all():
        report = Report.objects.filter(visit=visit, system_id=sheet.system_id).first()
        if report is None or not report.versions.exists():
            reasons.append("not_drawn")
        elif report.correction_due:
            reasons.append("correction_due")
    return reasons


def report_open(sheet: Sheet, *, at: dt.datetime) -> ReportVersion:
    """Return the latest version of a sheet's report; draw the first where none was drawn yet.

    The first version of a visit that is reported already counts as released since it was drawn:
    the client has been told of the visit. Raises Conflict before the visit is written up, and
    RenderFailed.
    """
    if sheet.visit.state not in (State.WRITTEN_UP, State.REPORTED):
        raise Conflict(_("The visit is not written up yet."), "not_written_up")
    held = report_for(sheet, at).versions.order_by("-number").first()
    version = held or version_make(sheet, by="worker", at=at)
    if sheet.visit.state == State.REPORTED and version.number == 1 and not version.reason:
        Release.objects.get_or_create(version=version, defaults={"at": at, "by": "system:opened"})
    return version


@transaction.atomic
def visit_release(*, visit: Visit, by: Actor, at: dt.datetime) -> list[ReportVersion]:
    """Release the latest version of each of a visit's reports; the visit is reported then.

    Raises Conflict where something stands in the way. Released versions stay as they are.
    """
    visit = Visit.objects.select_for_update().get(pk=visit.pk)
    stands = blocking(visit)
    if stands:
        words = {
            "not_written_up": _("the visit is not written up"),
            "not_drawn": _("a report is still being drawn"),
            "correction_due": _("a correction is still being drawn"),
        }
        raise Conflict(
            _("Not ready for release: %(reason)s.") % {"reason": words[stands[0]]}, stands[0],
            blocking=sorted(set(stands)),
            current=visit.state,
        )  # fmt: skip
    released = []
    for report in Report.objects.filter(visit=visit).order_by("number"):
        version = report.versions.order_by("-number").first()
        if version is None or hasattr(version, "release"):
            continue
        Release.objects.create(version=version, at=at, by=author(by))
        released.append(version)
        audit(at=at, by=by, verb="released", kind="report", object_id=report.pk)
    if visit.state == State.WRITTEN_UP:
        visit_step(visit=visit, to=State.REPORTED, by=by, at=at, flow=True)
    return released
