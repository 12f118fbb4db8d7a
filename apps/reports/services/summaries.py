"""Summaries of a quarter or a year: made by the office for one system, released like a report."""

import datetime as dt

from django.db import IntegrityError, transaction
from django.db.models import Max
from django.utils import timezone
from django.utils.translation import gettext as _

from apps.accounts.selectors import firm_current
from apps.accounts.services import audit
from apps.clients.selectors import letter_contacts, numbers_gone
from apps.core.exceptions import Conflict, DomainError, Invalid
from apps.core.scoping import Actor
from apps.reports.choices import ReportKind
from apps.reports.models import Release, Report, ReportVersion
from apps.reports.rendering.child import CHILD
from apps.reports.services.reports import APART, photos_of, same_version, version_keep
from apps.reports.snapshot_summary import summary_of
from apps.systems.models import System
from apps.visits.services.steps import author

LONGEST = dt.timedelta(days=370)


def _checked(first: dt.date, last: dt.date, at: dt.datetime) -> None:
    errors = []
    if last < first:
        errors.append(("last", last, _("it must not lie before the first day")))
    elif last - first > LONGEST:
        errors.append(("first", first, _("a summary covers a year at most")))
    if last > timezone.localdate(at):
        errors.append(("last", last, _("this day lies ahead; take today or a day before")))
    if errors:
        raise Invalid(
            [
                {"pointer": f"/{name}", "value": value.isoformat(), "message": f"{name}: {words}"}
                for name, value, words in errors
            ]
        )


def _report(system: System, first: dt.date, last: dt.date, at: dt.datetime) -> Report:
    """Return the summary of a system for these days, numbered when it is first asked for."""
    for _try in range(5):
        held = Report.objects.filter(
            system=system, kind=ReportKind.SUMMARY, period_from=first, period_to=last
        ).first()
        if held is not None:
            return held
        number = Report.objects.aggregate(Max("number"))["number__max"] or 0
        number = max(number, numbers_gone("last_report"))
        try:
            with transaction.atomic():
                return Report.objects.create(
                    system=system, kind=ReportKind.SUMMARY, period_from=first, period_to=last,
                    number=number + 1, made_at=at,
                )  # fmt: skip
        except IntegrityError:
            continue
    raise DomainError(_("The report could not be numbered; try again."), "busy")


def summary_make(
    *, system: System, first: dt.date, last: dt.date, by: Actor, at: dt.datetime
) -> ReportVersion:
    """Draw the summary of a system and keep it as a version; if nothing changed, the last stays.

    Raises Invalid for days that cannot be meant, RenderFailed where it could not be drawn. Not to
    be called in a transaction: drawing takes seconds.
    """
    _checked(first, last, at)
    report = _report(system, first, last, at)
    contacts = letter_contacts(system.place.client_id)
    snapshot = summary_of(
        system, first, last, number=report.number,
        version=(report.versions.aggregate(Max("number"))["number__max"] or 0) + 1,
        firm=firm_current(), contact=contacts[0] if contacts else None, at=at, note=report.note,
    )  # fmt: skip
    # the moment at which it was made stands where a visit has its times
    held = same_version(report, snapshot, APART | {"visit"})
    if held is not None:
        return held
    photos, lacks = photos_of(snapshot)
    pdf = CHILD.render(snapshot, photos)
    return version_keep(report, snapshot, pdf, reason="", by=author(by), at=at, lacks=lacks)


@transaction.atomic
def summary_release(*, report: Report, by: Actor, at: dt.datetime) -> Release:
    """Let the client read the latest version of a summary. Raises Conflict where there is none."""
    report = Report.objects.select_for_update().get(pk=report.pk)
    version = report.versions.order_by("-number").first()
    if report.kind != ReportKind.SUMMARY or version is None:
        raise Conflict(_("There is no summary to release yet; make it first."), "not_drawn")
    release, made = Release.objects.get_or_create(
        version=version, defaults={"at": at, "by": author(by)}
    )
    if made:
        audit(at=at, by=by, verb="released", kind="report", object_id=report.pk)
    return release
