"""A session of a client's page ends, or is opened again by a letter. Both are POSTs."""

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import translation
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from apps.accounts.choices import Purpose
from apps.core import clock
from apps.flows.page_letters import MOST_A_DAY, page_link_send
from apps.portal import browser
from apps.portal.opening import by_link, language_of, link_numbered, opened, private, reader_of


@login_not_required
@require_POST
@by_link
def close(request: HttpRequest, secret: str) -> HttpResponse:
    """Whoever reads a client's page: end it in this browser, as on a computer that others use."""
    link, _actor, _language = opened(request, secret, clock.now(), tuple(Purpose.values))
    answer = redirect("portal:page", secret=secret)
    browser.closed(answer, link)
    return private(answer)


@login_not_required
@require_POST
@by_link
def again(request: HttpRequest, secret: str) -> HttpResponse:
    """Anybody with the number of a link that stands: have a new link sent to its reader, nowhere else.

    What is said afterwards is the same whether or not a letter went out.
    """
    now = clock.now()
    contact = reader_of(link_numbered(request, secret, now))
    if contact is None or not contact.email:
        raise Http404
    page_link_send(contact=contact, at=now)
    with translation.override(language_of(contact)):
        text = _("Look in your mail. The link goes to the address that our letters go to, %(most)s times a day at most.")  # fmt: skip
        messages.success(request, text % {"most": MOST_A_DAY})
    return private(redirect("portal:page", secret=secret))
