"""A client's browser: a letter's link opens a session of some hours, and its secret leaves the address.

The secret is swapped at once for the link's own number, which opens nothing by itself, and a signed
cookie that counts under that address alone. Looking is all that it takes, and nothing is used up:
what follows every link of a mail gets a session of its own and changes nothing.
"""

import datetime as dt
from uuid import UUID

from django.conf import settings
from django.core import signing
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.urls import reverse

from apps.accounts.models import ClientLink

COOKIE = "reader"
# from breakfast to the evening of a day; own choice
OPEN_FOR = dt.timedelta(hours=12)
_SALT = "portal.browser"


def number_in(key: str) -> UUID | None:
    """Return the link's number that an address holds, or None where it holds a secret."""
    try:
        return UUID(key)
    except ValueError:
        return None


def swapped(request: HttpRequest, link: ClientLink, at: dt.datetime) -> HttpResponse:
    """Send a browser that came by the secret on to the same page by number, with its session."""
    match = request.resolver_match
    assert match is not None  # noqa: S101 - a view is called by its address
    where = reverse(match.view_name, kwargs=match.kwargs | {"secret": str(link.pk)})
    query = request.META.get("QUERY_STRING", "")
    answer = HttpResponseRedirect(f"{where}?{query}" if query else where)
    ends = int((at + OPEN_FOR).timestamp())
    answer.set_cookie(
        COOKIE,
        signing.dumps([str(link.pk), ends], salt=_SALT),
        max_age=OPEN_FOR,
        path=_under(link),
        secure=settings.SESSION_COOKIE_SECURE,
        httponly=True,
        samesite="Lax",
    )
    return answer


def holds(request: HttpRequest, link: ClientLink, at: dt.datetime) -> bool:
    """Return whether this browser has a session of the link that is not over."""
    try:
        number, ends = signing.loads(request.COOKIES.get(COOKIE, ""), salt=_SALT)
    except (signing.BadSignature, ValueError):
        return False
    return bool(number == str(link.pk) and at.timestamp() < ends)


def closed(answer: HttpResponse, link: ClientLink) -> None:
    """End the session in this browser."""
    answer.delete_cookie(COOKIE, path=_under(link), samesite="Lax")


def _under(link: ClientLink) -> str:
    return reverse("portal:page", kwargs={"secret": str(link.pk)})
