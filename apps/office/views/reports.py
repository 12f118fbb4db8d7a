"""Reports: the office's words in them, photos held back, the paper that they are drawn for."""

from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from apps.accounts.actors import office_of
from apps.accounts.selectors import firm_current
from apps.accounts.services import paper_set
from apps.core.templatetags.look import clock_time
from apps.flows.releasing import report_words
from apps.office.forms.reports import PaperForm, ReportWordsForm
from apps.office.views.common import POSTED, attempt, form_page, found, posted
from apps.reports.models import Report
from apps.visits.models import Photo


@require_http_methods(POSTED)
def report_note(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: write a word into a report and hold photos back; a new version follows."""
    actor = office_of(request)
    report = found(Report.objects.visible_to(actor).select_related("visit"), pk)
    photos = Photo.objects.visible_to(actor).filter(
        sheet__visit=report.visit_id, sheet__system=report.system_id
    )
    choices = [
        (str(row.pk), row.caption or _("Photo, %(time)s") % {"time": clock_time(row.taken_at)})
        for row in photos.order_by("taken_at", "id")
    ]
    initial = {"note": report.note, "held_back": report.held_back}
    form = ReportWordsForm(posted(request), initial=initial, photos=choices)
    back = (
        reverse("office:visit", args=[report.visit_id])
        if report.visit_id
        else reverse("office:system", args=[report.system_id])
    )
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        kept = attempt(
            form,
            lambda: report_words(
                report=report, note=data["note"], held_back=data.get("held_back", []), by=actor,
                at=actor.at,
            ),
        )  # fmt: skip
        if kept is not None:
            messages.success(request, _("Kept; the report is drawn again where it changes."))
            return redirect(back)
    return form_page(
        request, form, heading=_("Report %(number)s: your words, and photos") % {"number": report},
        button=_("Keep it"), back=back,
    )  # fmt: skip


@require_http_methods(POSTED)
def paper(request: HttpRequest) -> HttpResponse:
    """Office: choose the paper that reports and printed days are drawn for."""
    actor = office_of(request)
    form = PaperForm(posted(request), initial={"paper": firm_current().paper})
    if request.method == "POST" and form.is_valid():
        paper_set(paper=form.cleaned_data["paper"], by=actor, at=actor.at)
        messages.success(request, _("Kept."))
        return redirect("office:letters")
    return form_page(
        request, form, heading=_("What do you print on?"), button=_("Keep it"),
        lead=_("Reports that are drawn from now on, and days that are printed, take this size."),
        back=reverse("office:letters"),
    )  # fmt: skip
