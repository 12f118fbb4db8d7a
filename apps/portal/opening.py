"""What every page by link shares: who holds the link, what is said where it opens nothing, headers."""

import datetime as dt
from collections.abc import Callable
from functools import wraps
from typing import Concatenate, ParamSpec
from uuid import UUID

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import translation

from apps.accounts.choices import Purpose
from apps.accounts.models import ClientLink
from apps.accounts.selectors import firm_current
from apps.accounts.services import link_find, link_held
from apps.clients.models import Contact
from apps.core import clock
from apps.core.measures import METRIC, read_in, reading_in
from apps.core.scoping import Actor
from apps.flows.middleware import link_seen
from apps.portal import browser

PAGE_PURPOSES = (Purpose.PAGE, Purpose.APPOINTMENT)
Where = ParamSpec("Where")
View = Callable[Concatenate[HttpRequest, str, Where], HttpResponse]


class Closed(Exception):
    """The link stands, and this browser has no session of it, or none any more."""

    def __init__(self, link: ClientLink) -> None:
        super().__init__(str(link.pk))
        self.link = link


def opened(
    request: HttpRequest, secret: str, at: dt.datetime, purposes: tuple[str, ...] = PAGE_PURPOSES
) -> tuple[ClientLink, Actor, str]:
    """Return the link, its client as an actor, and the reader's language.

    `secret` is the link's, or from the second request on its number. From here on values are shown
    in the reader's units, until the page is made. Raises Http404 where there is no such link,
    Closed where its number comes without a session.
    """
    link = link_shown(request, secret, at, purposes)
    link_seen(request, link)
    contact = reader_of(link)
    read_in(contact.units if contact else METRIC)
    return link, Actor(role="client", at=at, client_id=link.client_id), language_of(contact)


def link_shown(
    request: HttpRequest, secret: str, at: dt.datetime, purposes: tuple[str, ...] = ()
) -> ClientLink:
    """Return the link that an address and a browser's session open. Raises Http404 and Closed."""
    number = browser.number_in(secret)
    link = link_held(number, at, purposes) if number else link_find(secret, at, purposes)
    if link is None:
        raise Http404
    if number and not browser.holds(request, link, at):
        raise Closed(link)
    return link


def link_numbered(_request: HttpRequest, key: str, at: dt.datetime) -> ClientLink:
    """Return the link of a page whose number an address holds, session or none. Raises Http404."""
    number = browser.number_in(key)
    link = link_held(number, at, (Purpose.PAGE,)) if number else None
    if link is None:
        raise Http404
    return link


def reader_of(link: ClientLink) -> Contact | None:
    """Return for whom a link was made, if for somebody alone."""
    return Contact.objects.filter(pk=link.contact_id or UUID(int=0)).first()


def language_of(contact: Contact | None) -> str:
    """Return a reader's language, or the firm's."""
    return contact.language if contact else firm_current().language


def by_link(view: View[Where]) -> View[Where]:
    """Show a page by link: by its secret once, from then on by number and session.

    What acts may still come by the secret: a mail program's one press does (RFC 8058). Where a link
    is over, revoked, or never was, the page says whom to ask.
    """

    @wraps(view)
    def shown(
        request: HttpRequest, /, secret: str, *args: Where.args, **kwargs: Where.kwargs
    ) -> HttpResponse:
        try:
            if request.method in ("GET", "HEAD") and browser.number_in(secret) is None:
                return private(_swapped(request, secret))
            with reading_in(METRIC):
                return view(request, secret, *args, **kwargs)
        except Closed as error:
            return closed_page(request, error.link)
        except Http404:
            return gone(request)

    return shown


def gone(request: HttpRequest) -> HttpResponse:
    """Return the page that says whom to ask."""
    return private(render(request, "portal/gone.html", {"firm": firm_current()}, status=404))


def _swapped(request: HttpRequest, secret: str) -> HttpResponse:
    now = clock.now()
    link = link_find(secret, now)
    if link is None:
        raise Http404
    return browser.swapped(request, link, now)


def closed_page(request: HttpRequest, link: ClientLink) -> HttpResponse:
    """Return the page that says how a link's session is opened again."""
    contact = reader_of(link)
    with translation.override(language_of(contact)):
        asks = link.purpose == Purpose.PAGE and contact is not None and bool(contact.email)
        context = {"firm": firm_current(), "secret": str(link.pk), "asks": asks}
        return private(render(request, "portal/closed.html", context, status=403))


def private(response: HttpResponse) -> HttpResponse:
    """Keep a page's address, which may be the key, from other sites and from search engines."""
    # "no-referrer" would take the origin off the page's own forms, which are then refused.
    response["Referrer-Policy"] = "same-origin"
    response["X-Robots-Tag"] = "noindex, nofollow"
    return response


def typed(request: HttpRequest) -> str:
    """Return the words that came with an answer."""
    words = str(request.POST.get("words", ""))[:1000]
    return "".join(c for c in words if c.isprintable() or c == "\n")
