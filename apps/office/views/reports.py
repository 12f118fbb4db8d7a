"""Reports: the office's words in them, photos held back, the paper that they are drawn for."""

import datetime as dt
from uuid import UUID

from django.contrib import messages
from django.db.models import Prefetch
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from apps.accounts.actors import office_of
from apps.accounts.selectors import firm_current
from apps.core.exceptions import DomainError
from apps.core.refusing import attempt, refuse
from apps.core.templatetags.look import clock_time
from apps.flows.releasing import release_summary, report_words
from apps.flows.summary_letters import summary_letters_drafted
from apps.office.forms.base import EmptyForm
from apps.office.forms.reports import PaperForm, ReportWordsForm, SummaryForm
from apps.office.views.common import POSTED, form_page, found, posted
from apps.office.views.letters import preview
from apps.office.views.visit_acts import readers_words
from apps.reports.choices import ReportKind
from apps.reports.models import Report, ReportVersion
from apps.reports.services.paper import paper_set
from apps.reports.services.summaries import summary_make
from apps.systems.models import System
from apps.visits.models import Photo

QUARTER = dt.timedelta(days=91)


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
def summaries(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: the summaries of a system, and one more for a quarter or a year."""
    actor = office_of(request)
    system = found(System.objects.visible_to(actor).select_related("place__client"), pk)
    today = timezone.localdate(actor.at)
    initial = {"first": today - QUARTER, "last": today}
    form = SummaryForm(posted(request), initial=initial)
    if request.method == "POST" and form.is_valid():
        try:
            # not in one transaction: drawing takes seconds and must not hold the database
            summary_make(system=system, by=actor, at=actor.at, **form.cleaned_data)
        except DomainError as error:
            refuse(form, error)
        else:
            messages.success(request, _("The summary is made. Read it, then release it."))
            return redirect("office:summaries", system.pk)
    rows = Report.objects.visible_to(actor).filter(system=system, kind=ReportKind.SUMMARY)
    newest = ReportVersion.objects.select_related("release").order_by("-number")
    return form_page(
        request, form, "office/summaries.html", system=system,
        reports=rows.prefetch_related(Prefetch("versions", newest)).order_by("-period_to", "-number"),
        back=reverse("office:system", args=[system.pk]),
    )  # fmt: skip


@require_http_methods(POSTED)
def report_release(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: let the client read a summary, asked once; the client gets one letter.

    ?text=1 shows what it says.
    """
    actor = office_of(request)
    summaries_there = Report.objects.visible_to(actor).filter(kind=ReportKind.SUMMARY)
    report = found(summaries_there.select_related("system__place"), pk)
    form = EmptyForm(posted(request))
    back = reverse("office:summaries", args=[report.system_id])
    if request.method == "POST" and form.is_valid():
        done = attempt(form, lambda: release_summary(report=report, by=actor, at=actor.at))
        if done is not None:
            messages.success(request, _("Released; the letter is on its way."))
            return redirect(back)
    drafts = summary_letters_drafted(report, actor.at) if request.GET.get("text") == "1" else []
    text, can_show = readers_words(actor, report.system.place.client_id)
    return form_page(
        request, form, "office/release.html", button=_("Release it"), back=back, text=text,
        heading=_("Release summary %(number)s?") % {"number": report},
        can_show=can_show and not drafts,
        drafts=[{"letter": row, "text": preview(row)} for row in drafts],
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
