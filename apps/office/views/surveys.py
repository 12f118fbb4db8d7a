"""Surveys of a place before anything is built there: kept, shown, printed filled in or blank."""

from collections.abc import Iterable
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from apps.accounts.actors import office_of
from apps.accounts.models import User
from apps.accounts.selectors import firm_current
from apps.calc.design.survey import STOP, concerns, missing
from apps.catalogue.selectors import Catalogue, catalogue_current
from apps.clients.models import Place
from apps.core import clock
from apps.core.exceptions import DomainError
from apps.core.phrases import list_words
from apps.core.refusing import attempt
from apps.office.forms.survey import SurveyForm
from apps.office.views.common import POSTED, attempt_based, form_page, found, posted
from apps.office.wording import people_by_author, place_label
from apps.proposals import survey_words
from apps.proposals.models import SiteSurvey, SurveyPhoto
from apps.proposals.rendering.document import photos_printed, said, survey_html
from apps.proposals.selectors import survey_seen
from apps.proposals.services import survey_save
from apps.reports.rendering.child import CHILD
from apps.reports.rendering.pdf import SURVEY


def _survey(request: HttpRequest, pk: UUID) -> tuple[Any, SiteSurvey]:
    actor = office_of(request)
    rows = SiteSurvey.objects.visible_to(actor).select_related("place__client", "water")
    return actor, found(rows, pk)


@require_safe
def survey(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: what a survey found, what wants care, and what nobody has looked at."""
    actor, row = _survey(request, pk)
    seen, catalogue = survey_seen(row), catalogue_current()
    people = people_by_author([row.changed_by])
    context = {
        "survey": row,
        "place": row.place,
        "trail": [(place_label(row.place), reverse("office:place", args=[row.place_id]))],
        "concerns": [
            (survey_words.concern_words(c), c.level == STOP) for c in concerns(seen)
        ],
        "open": _named(missing(seen)),
        "left_empty": _named(survey_words.left_empty(seen)),
        "groups": [
            (title, [_row(asked, seen, catalogue) for asked in rows])
            for _code, title, rows in survey_words.GROUPS
        ],
        "photos": SurveyPhoto.objects.visible_to(actor).filter(survey=row),
        "changed_by": people[row.changed_by],
    }  # fmt: skip
    return render(request, "office/survey.html", context)


def _named(names: Iterable[str]) -> str:
    return list_words([str(survey_words.LABELS[name]) for name in names])


def _row(asked: survey_words.Asked, seen: Any, catalogue: Catalogue) -> dict[str, Any]:
    text = said(asked, seen[asked.name], catalogue)
    return {"label": asked.label, "said": text, "unit": str(asked.unit) if text else ""}


@require_http_methods(POSTED)
def survey_new(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: write down a survey of a place."""
    actor = office_of(request)
    place = found(Place.objects.visible_to(actor).select_related("client"), pk)
    who = User.objects.visible_to(actor).filter(pk=actor.user_id).first()
    initial = {"on": clock.today(), "surveyed_by": str(who or "")}
    form = SurveyForm(posted(request), initial=initial, catalogue=catalogue_current())
    if request.method == "POST" and form.is_valid():
        row = attempt(
            form, lambda: survey_save(place=place, values=form.values(), by=actor, at=actor.at)
        )
        if row is not None:
            messages.success(request, _("The survey is kept; a design begins with its figures."))
            return redirect("office:survey", row.pk)
    return form_page(
        request, form, "office/place_form.html", heading=_("Site survey"), button=_("Keep it"),
        back=reverse("office:place", args=[place.pk]), groups=form.groups(),
        lead=_("%(place)s. What nobody looked at stays empty: it is named on the proposal.")
        % {"place": place_label(place)},
    )  # fmt: skip


@require_http_methods(POSTED)
def survey_edit(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: change a survey; what somebody else changed meanwhile is shown beside."""
    actor, row = _survey(request, pk)
    form = SurveyForm(posted(request), initial=_boxes(row), catalogue=catalogue_current())
    both: list[Any] = []
    if request.method == "POST" and form.is_valid():
        done, both = attempt_based(
            form, row, {},
            lambda rev: survey_save(
                place=row.place, survey=row, values=form.values(), rev=rev, by=actor, at=actor.at
            ),
            _boxes,
        )  # fmt: skip
        if done:
            messages.success(request, _("Kept."))
            return redirect("office:survey", row.pk)
    return form_page(
        request, form, "office/place_form.html", heading=_("Change the survey"),
        button=_("Keep it"), back=reverse("office:survey", args=[row.pk]), both=both,
        groups=form.groups(), lead=place_label(row.place),
    )  # fmt: skip


def _boxes(row: SiteSurvey) -> dict[str, Any]:
    """Return what is kept as the values of the boxes."""
    first = {"on": row.on, "surveyed_by": row.surveyed_by, "rev": row.rev}
    return survey_seen(row) | first


@require_safe
def survey_pdf(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: a survey as a PDF."""
    _actor, row = _survey(request, pk)
    back = reverse("office:survey", args=[row.pk])
    return _paper(request, row.place, row, back)


@require_safe
def survey_blank_pdf(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: the sheet to take along to a place, to fill in there."""
    actor = office_of(request)
    place = found(Place.objects.visible_to(actor).select_related("client"), pk)
    return _paper(request, place, None, reverse("office:place", args=[place.pk]))


def _paper(request: HttpRequest, place: Place, row: SiteSurvey | None, back: str) -> HttpResponse:
    actor, firm = office_of(request), firm_current()
    rows = SurveyPhoto.objects.visible_to(actor).filter(survey=row) if row else []
    photos, held = photos_printed(rows)
    html = survey_html(
        place, row, firm=firm, catalogue=catalogue_current(), at=actor.at, photos=photos
    )
    try:
        pdf = CHILD.draw(html, SURVEY, firm.paper, held)
    except DomainError as error:
        messages.error(request, error.message)
        return redirect(back)
    name = f"survey-{row.on.isoformat()}.pdf" if row else "survey.pdf"
    return pdf_answer(pdf, name)


def pdf_answer(pdf: bytes, name: str) -> HttpResponse:
    """Return a PDF to look at or print; no copy stays in a shared browser."""
    answer = HttpResponse(pdf, content_type="application/pdf")
    answer["Content-Disposition"] = f'inline; filename="{name}"'
    answer["X-Content-Type-Options"] = "nosniff"
    return answer
