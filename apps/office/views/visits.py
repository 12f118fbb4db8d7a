"""A visit: where it stands, what was found, what follows, what the client was told."""

from uuid import UUID

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from apps.accounts.actors import office_of
from apps.catalogue.selectors import catalogue_current
from apps.clients.models import Contact
from apps.core import files
from apps.core.exceptions import DomainError
from apps.core.refusing import refuse
from apps.flows.on_the_way import tellings_of
from apps.flows.visit_letters import preparation_lines
from apps.incidents.models import Incident
from apps.office.forms.base import EmptyForm
from apps.office.selectors import visit_page as reads
from apps.office.selectors.away import away_on
from apps.office.selectors.offering import offers_shown
from apps.office.selectors.phones import late_check_ins, remarks, remarks_shown
from apps.office.selectors.visit_length import made_longer
from apps.office.selectors.visit_lines import apart_shown
from apps.office.views.common import POSTED, form_page, found, posted
from apps.office.views.offering import can_offer
from apps.reports.models import Report
from apps.reports.services.reports import report_open
from apps.visits.choices import State
from apps.visits.models import CallNote, Photo, Sheet, Visit
from apps.visits.selectors import visits_full
from apps.visits.services.steps import allowed_from

CALLS = 5
LOOKS = 100


@require_safe
def visit(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: a visit with its sheets, what they lead to, reports, letters and steps."""
    actor = office_of(request)
    row = found(visits_full(Visit.objects.visible_to(actor)), pk)
    catalogue = catalogue_current()
    sheets, fault = reads.sheets_of(actor, row, catalogue)
    reports = reads.reports_of(actor, row)
    allowed = allowed_from(row.state, "office")
    client = row.place.client
    context = {
        "visit": row,
        "place": row.place,
        "client": client,
        "people": [assignment.user for assignment in row.assignments.all()],
        "sheets": sheets,
        "fault": fault,
        "assessed": row.state in reads.ASSESSED,
        "several": len(sheets) > 1,
        "reports": reports,
        "release": reads.release_state(row, reports),
        "letters": reads.letters_of(actor, row),
        "steps": reads.steps_of(actor, row),
        "allowed": allowed,
        "apart": apart_shown(row, catalogue),
        "longer": made_longer(actor, row),
        "offers": offers_shown(actor, row),
        "can_offer": can_offer(row),
        "movable": row.state in (State.PENCILLED, State.BOOKED),
        "preparation": preparation_lines(row) if row.state in ("pencilled", "booked") else [],
        "contacts": Contact.objects.visible_to(actor).filter(client=client).order_by("name"),
        "calls": CallNote.objects.visible_to(actor).filter(client=client).order_by("-at")[:CALLS],
        "calls_for_help": Incident.objects.visible_to(actor).filter(visit=row),
        "signature": reads.signature_of(row),
        "said": tellings_of([row]).get(row.pk, []),
        "looks": remarks_shown(list(remarks(actor).filter(visit=row)[:LOOKS])),
        "alone": [item for item in late_check_ins(actor) if item.row.visit_id == row.pk],
        "away": away_on(
            actor, row.place_id, timezone.localdate(row.start), timezone.localdate(row.end)
        ),
        "same_day": timezone.localdate(row.start) == timezone.localdate(row.end),
    }
    return render(request, "office/visit.html", context)


@require_safe
def report_pdf(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: a report's PDF, the latest version or the one that ?version= names."""
    report = found(Report.objects.visible_to(office_of(request)), pk)
    versions = report.versions.order_by("-number")
    wanted = request.GET.get("version", "")
    if wanted:
        known = wanted.isascii() and wanted.isdigit() and len(wanted) < 5
        versions = versions.filter(number=int(wanted) if known else 0)
    version = versions.first()
    if version is None and not wanted:
        return redirect("office:report_draw", report.pk)
    if version is None:
        raise Http404
    return files.pdf_answer(version.pdf, f"report-{report.number:04d}-{version.number}")


@require_http_methods(POSTED)
def report_draw(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: have a past report drawn that nobody has opened yet, then show it."""
    actor = office_of(request)
    report = found(Report.objects.visible_to(actor), pk)
    sheets = Sheet.objects.visible_to(actor).select_related("visit__place", "system__place__client")
    sheet = sheets.filter(visit=report.visit_id, system=report.system_id).first()
    if sheet is None:
        raise Http404
    form = EmptyForm(posted(request))
    if request.method == "POST" and form.is_valid():
        try:
            # not in one transaction: drawing takes seconds and must not hold the database
            report_open(sheet, at=actor.at)
        except DomainError as error:
            refuse(form, error)
        else:
            return redirect("office:report_pdf", report.pk)
    return form_page(
        request, form, "office/confirm.html", button=_("Draw it"),
        heading=_("Report %(number)s is not drawn yet") % {"number": report},
        text=_("It is made from what stands on record of its visit; that takes a few seconds."),
        back=reverse("office:visit", args=[sheet.visit_id]),
    )  # fmt: skip


@require_safe
def photo(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: a photo of a visit; ?size=small for the small one."""
    row = found(Photo.objects.visible_to(office_of(request)), pk)
    stored = row.small if request.GET.get("size") == "small" else row.screen
    return files.jpeg_answer(stored, f"photo-{row.pk}")
