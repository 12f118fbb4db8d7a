"""A client allows photos, or no longer does: what is drawn and has not gone out follows."""

import datetime as dt

from django.db import transaction
from django.utils.translation import gettext as _

from apps.clients.models import Client
from apps.clients.services import photos_set
from apps.core.scoping import Actor
from apps.flows.releasing import render_again
from apps.reports.models import Report, ReportVersion
from apps.reports.services.reports import photo_rows
from apps.visits.choices import State


@transaction.atomic
def photos_allow(
    *, client: Client, use: str, how: str, rev: int, by: Actor, at: dt.datetime
) -> Client:
    """Note what a client allows of photos; reports that wait to be released are drawn anew.

    Until they are, none that shows what is not allowed can be released. See photos_set for what it raises.
    """
    before = Client.objects.get(pk=client.pk).shows_photos
    client = photos_set(client=client, use=use, how=how, rev=rev, by=by, at=at)
    if client.shows_photos != before:
        _draw_again(client, by, at)
    return client


def _draw_again(client: Client, by: Actor, at: dt.datetime) -> None:
    reports = Report.objects.select_for_update(of=("self",)).filter(
        visit__place__client=client, visit__state__in=[State.WRITTEN_UP, State.REPORTED]
    )
    waiting = {report: newest for report in reports if (newest := _waits(report)) is not None}
    if not client.shows_photos:
        # one without photos comes out the same, and nothing would take its mark away
        waiting = {report: row for report, row in waiting.items() if photo_rows(row.snapshot)}
        Report.objects.filter(pk__in=[row.pk for row in waiting]).update(correction_due=True)
    for visit_id in {report.visit_id for report in waiting if report.visit_id}:
        reason = _("What may be shown of photos was changed.")
        render_again(visit_id, reason, by, at, f"photos:{client.rev}")


def _waits(report: Report) -> ReportVersion | None:
    """Return the newest version of a report where it has not gone out."""
    rows = ReportVersion.objects.filter(report=report).select_related("release")
    newest = rows.order_by("-number").first()
    return newest if newest is not None and not hasattr(newest, "release") else None
