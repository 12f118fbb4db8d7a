"""A client's letters, calls and messages; letters that the office writes, seen before they go."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from apps.accounts.actors import office_of
from apps.accounts.selectors import firm_current
from apps.accounts.services import notices_set
from apps.clients.models import Client, Contact, Place
from apps.core.refusing import attempt
from apps.flows.office_writes import letters_drafted, letters_write
from apps.office.forms.letters import LETTER_FORMS, NoticesForm
from apps.office.selectors.client_letters import words_with
from apps.office.views.common import POSTED, form_page, found, page_of, posted
from apps.office.views.letters import preview
from apps.reports.choices import LetterKind


@require_safe
def client_letters(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: what a client has had, calls and messages beside the letters."""
    actor = office_of(request)
    client = found(Client.objects.visible_to(actor), pk)
    context = {
        "client": client,
        "contacts": Contact.objects.visible_to(actor).filter(client=client).order_by("name"),
        "places": Place.objects.visible_to(actor).filter(client=client).order_by("name"),
        "page": page_of(request, words_with(actor, client)),
        "kinds": [(kind, LetterKind(kind).label) for kind in LETTER_FORMS],
    }
    return render(request, "office/client_letters.html", context)


@require_http_methods(POSTED)
def letter_new(request: HttpRequest, pk: UUID, kind: str) -> HttpResponse:
    """Office: write a letter to a client; it is seen first, and goes out at the second press."""
    actor = office_of(request)
    client = found(Client.objects.visible_to(actor), pk)
    if kind not in LETTER_FORMS:
        raise Http404
    # what a line on Due is about stands in the form already
    given = {
        name: value for name, value in request.GET.items() if name in ("count", "what", "until")
    }
    form = LETTER_FORMS[kind](posted(request), initial=given)
    drafts: list[dict[str, Any]] = []
    if request.method == "POST" and form.is_valid():
        values = {name: value for name, value in form.cleaned_data.items() if value}
        if "send" in request.POST:
            count = attempt(
                form,
                lambda: letters_write(client=client, kind=kind, values=values, by=actor,
                                      at=actor.at),
            )  # fmt: skip
            if count:
                messages.success(request, _("It is on its way."))
                return redirect("office:client_letters", client.pk)
        else:
            rows = letters_drafted(client=client, kind=kind, values=values, at=actor.at)
            drafts = [{"letter": row, "text": preview(row)} for row in rows]
            if not rows:
                form.add_error(None, _("Nobody there gets letters of this kind; call them."))
    return form_page(
        request, form, "office/letter_new.html", client=client, label=LetterKind(kind).label,
        drafts=drafts, back=reverse("office:client_letters", args=[client.pk]),
    )  # fmt: skip


@require_http_methods(POSTED)
def notices(request: HttpRequest) -> HttpResponse:
    """Office: say when clients are written to by itself."""
    actor, firm = office_of(request), firm_current()
    initial = {name: getattr(firm, name) for name in NoticesForm.base_fields}
    form = NoticesForm(posted(request), initial=initial)
    if request.method == "POST" and form.is_valid():
        notices_set(**form.cleaned_data, by=actor, at=actor.at)
        messages.success(request, _("Kept."))
        return redirect("office:letters")
    return form_page(
        request, form, heading=_("Letters that go by themselves"), button=_("Keep it"),
        lead=_("Once a day: what they were to do and is past its day, how it goes, that their feed "
               "runs out, and that their agreement ends. Several things of a day go in one letter, each is told once, and "
               "a reader may stop them."),
        back=reverse("office:letters"),
    )  # fmt: skip
