"""What every page by link shares: who holds the link, what is said where it opens nothing, headers."""

import datetime as dt
from collections.abc import Callable
from functools import wraps
from typing import Concatenate, ParamSpec
from uuid import UUID

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render

from apps.accounts.choices import Purpose
from apps.accounts.models import ClientLink
from apps.accounts.selectors import firm_current
from apps.accounts.services import link_find
from apps.clients.models import Contact
from apps.core.measures import METRIC, read_in, reading_in
from apps.core.scoping import Actor

PAGE_PURPOSES = (Purpose.PAGE, Purpose.APPOINTMENT)
Where = ParamSpec("Where")
View = Callable[Concatenate[HttpRequest, Where], HttpResponse]


def opened(
    secret: str, at: dt.datetime, purposes: tuple[str, ...] = PAGE_PURPOSES
) -> tuple[ClientLink, Actor, str]:
    """Return the link, its client as an actor, and the reader's language. Raises Http404.

    From here on values are shown in the reader's units, until the page is made.
    """
    link = link_find(secret, at, purposes)
    if link is None:
        raise Http404
    contact = _reader(link)
    read_in(contact.units if contact else METRIC)
    return link, Actor(role="client", at=at, client_id=link.client_id), _language(contact)


def language_of(link: ClientLink) -> str:
    """Return the language of whoever holds a link."""
    return _language(_reader(link))


def _reader(link: ClientLink) -> Contact | None:
    return Contact.objects.filter(pk=link.contact_id or UUID(int=0)).first()


def _language(contact: Contact | None) -> str:
    return contact.language if contact else firm_current().language


def or_gone(view: View[Where]) -> View[Where]:
    """Say whom to ask where a link opens nothing: one that is over, revoked, or never was."""

    @wraps(view)
    def shown(request: HttpRequest, /, *args: Where.args, **kwargs: Where.kwargs) -> HttpResponse:
        try:
            with reading_in(METRIC):
                return view(request, *args, **kwargs)
        except Http404:
            return gone(request)

    return shown


def gone(request: HttpRequest) -> HttpResponse:
    """Return the page that says whom to ask."""
    return private(render(request, "portal/gone.html", {"firm": firm_current()}, status=404))


def private(response: HttpResponse) -> HttpResponse:
    """Keep a page's address, which is the key, from other sites and from search engines."""
    # "no-referrer" would take the origin off the page's own forms, which are then refused.
    response["Referrer-Policy"] = "same-origin"
    response["X-Robots-Tag"] = "noindex, nofollow"
    return response


def typed(request: HttpRequest) -> str:
    """Return the words that came with an answer."""
    words = str(request.POST.get("words", ""))[:1000]
    return "".join(c for c in words if c.isprintable() or c == "\n")
