"""Which letters somebody gets, by the link in their letters: looking changes nothing, a POST does."""

from django import forms
from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import translation
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_http_methods

from apps.accounts.choices import Purpose
from apps.accounts.models import ClientLink
from apps.accounts.selectors import firm_current
from apps.clients.choices import ReportsAs
from apps.clients.models import Contact
from apps.clients.services import contact_change
from apps.core import clock
from apps.core.scoping import Actor
from apps.portal.opening import by_link, opened, private

PURPOSES = (Purpose.LETTERS, Purpose.PAGE)
ONE_CLICK = {"List-Unsubscribe": "One-Click"}


class ChoiceForm(forms.Form):
    """How reports come, and whether notices do."""

    reports_as = forms.ChoiceField(
        label=gettext_lazy("Letters about a report"), choices=ReportsAs.choices,
        widget=forms.RadioSelect,
        error_messages={"required": gettext_lazy("Choose one of them."),
                        "invalid_choice": gettext_lazy("Choose one of them.")},
    )  # fmt: skip
    gets_notices = forms.BooleanField(
        label=gettext_lazy("Write to me when something is past its day, runs out or ends"),
        required=False,
    )


def _reader(request: HttpRequest, secret: str) -> tuple[ClientLink, Actor, str, Contact]:
    """Return the link, its actor, language and reader. Raises Http404 where it names nobody."""
    link, actor, language = opened(request, secret, clock.now(), PURPOSES)
    rows = Contact.objects.visible_to(actor)
    if link.contact_id is not None:
        rows = rows.filter(pk=link.contact_id)
    found = list(rows[:2])
    if len(found) != 1:
        raise Http404
    return link, actor, language, found[0]


@login_not_required
@require_http_methods(["GET", "HEAD", "POST"])
@by_link
def letters(request: HttpRequest, secret: str) -> HttpResponse:
    """Whoever holds the link: see and choose which letters they get."""
    link, actor, language, contact = _reader(request, secret)
    with translation.override(language):
        form = ChoiceForm(
            request.POST if request.method == "POST" else None,
            initial={"reports_as": contact.reports_as, "gets_notices": contact.gets_notices},
        )
        if request.method == "POST" and form.is_valid():
            contact_change(contact=contact, changes=dict(form.cleaned_data), by=actor, at=actor.at)
            messages.success(request, _("Kept. It counts from the next letter on."))
            return private(redirect("portal:letters", secret=secret))
        context = {
            "secret": secret, "firm": firm_current(), "form": form, "contact": contact,
            "whole": link.purpose == Purpose.PAGE,
        }  # fmt: skip
        status = 422 if form.is_bound else 200
        return private(render(request, "portal/letters.html", context, status=status))


@csrf_exempt
@login_not_required
@require_http_methods(["GET", "HEAD", "POST"])
@by_link
def stop(request: HttpRequest, secret: str) -> HttpResponse:
    """A mail program, for whoever holds the link: end notices by one press (RFC 8058).

    It comes without cookies and so without a token; the secret in the address is its proof. What
    only looks, such as a scanner of mail, changes nothing.
    """
    _link, actor, language, contact = _reader(request, secret)
    sent = {name: request.POST.get(name) for name in ONE_CLICK}
    if request.method == "POST" and sent == ONE_CLICK:
        if contact.gets_notices:
            contact_change(contact=contact, changes={"gets_notices": False}, by=actor, at=actor.at)
        with translation.override(language):
            text = _("You get no more notices.") + "\n"
        return private(HttpResponse(text, content_type="text/plain; charset=utf-8"))
    return private(redirect("portal:letters", secret=secret))
