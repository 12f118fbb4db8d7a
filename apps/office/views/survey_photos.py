"""Photos of a site with its survey: added, looked at, taken out."""

from uuid import UUID, uuid4

from django.contrib import messages
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_safe

from apps.accounts.actors import office_of
from apps.core import files
from apps.core.exceptions import DomainError
from apps.core.refusing import attempt, refuse
from apps.core.scoping import Actor
from apps.office.forms.base import EmptyForm
from apps.office.forms.survey_photos import SurveyPhotosForm
from apps.office.views.common import POSTED, form_page, found, posted
from apps.office.wording import place_label
from apps.proposals.models import SiteSurvey, SurveyPhoto
from apps.proposals.services import survey_photo_add, survey_photo_remove
from apps.visits.services.photos import Drawn, caption_of, photo_draw


@require_http_methods(POSTED)
def survey_photos(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: add photos to a survey; all of a form, or none."""
    actor = office_of(request)
    row = found(SiteSurvey.objects.visible_to(actor).select_related("place__client"), pk)
    sent = request.FILES if request.method == "POST" else None
    form = SurveyPhotosForm(posted(request), sent)
    if request.method == "POST" and form.is_valid():
        drawn = _drawn(form)
        count = attempt(form, lambda: _keep(form, drawn, row, actor)) if drawn else None
        if count is not None:
            said = ngettext("The photo is kept.", "The %(count)d photos are kept.", count)
            messages.success(request, said % {"count": count})
            return redirect("office:survey", row.pk)
    return form_page(
        request, form, heading=_("Photos of the site"), button=_("Keep them"), files=True,
        back=reverse("office:survey", args=[row.pk]),
        lead=_("%(place)s. They stand on the survey and on its paper.")
        % {"place": place_label(row.place)},
    )  # fmt: skip


def _drawn(form: SurveyPhotosForm) -> list[Drawn]:
    """Draw the pictures of a form before anything is stored; none where one was refused."""
    try:
        return [photo_draw(photo.read()) for photo in form.cleaned_data["photo"]]
    except DomainError as error:
        refuse(form, error)
        return []


@transaction.atomic
def _keep(form: SurveyPhotosForm, drawn: list[Drawn], row: SiteSurvey, actor: Actor) -> int:
    caption = caption_of(form.cleaned_data["caption"])
    for one in drawn:
        survey_photo_add(survey=row, pk=uuid4(), drawn=one, caption=caption, by=actor, at=actor.at)
    return len(drawn)


def _photo(request: HttpRequest, pk: UUID) -> tuple[Actor, SurveyPhoto]:
    actor = office_of(request)
    return actor, found(SurveyPhoto.objects.visible_to(actor).select_related("survey__place"), pk)


@require_safe
def survey_photo(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: a photo of a survey; ?size=small for the small one."""
    _actor, row = _photo(request, pk)
    stored = row.small if request.GET.get("size") == "small" else row.screen
    return files.jpeg_answer(stored, f"photo-{row.pk}")


@require_http_methods(POSTED)
def survey_photo_end(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: ask once, then take a photo out of its survey."""
    actor, row = _photo(request, pk)
    form, back = EmptyForm(posted(request)), reverse("office:survey", args=[row.survey_id])
    if request.method == "POST" and form.is_valid():
        survey_photo_remove(photo=row, by=actor, at=actor.at)
        messages.success(request, _("The photo is taken out."))
        return redirect(back)
    return form_page(
        request, form, "office/confirm.html", heading=_("Take the photo out?"),
        text=row.caption or _("A photo of %(place)s.") % {"place": row.survey.place.name},
        button=_("Take it out"), back=back,
    )  # fmt: skip
