"""What all operations share: paging, filters, versions, keys."""

import datetime as dt
from collections.abc import Callable, Iterable
from typing import Any
from uuid import UUID

from django.db import transaction
from django.db.models import QuerySet
from django.http import Http404, HttpRequest
from django.utils.dateparse import parse_date, parse_datetime
from django.utils.translation import gettext as _
from rest_framework.exceptions import ParseError
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from apps.accounts.actors import actor_of
from apps.accounts.choices import Role
from apps.accounts.models import AccessToken
from apps.accounts.services import fingerprint, key_begin, key_finish
from apps.core.exceptions import Forbidden, Invalid, StaleVersion, VersionMissing
from apps.core.scoping import Actor
from apps.visits.services.answers import BadAnswer, words
from apps.visits.services.phones import phone_admit

MAX_LIMIT = 500
PAGING = frozenset({"limit", "offset", "format"})
# where the session keeps the mark of the phone that it is on
PHONE = "phone"


class Operation(APIView):
    """A view of the API; knows who asks."""

    filters: frozenset[str] = frozenset()
    # whether a phone that was cut off may still ask
    open_when_cut_off = False

    @property
    def actor(self) -> Actor:
        """Return who asks, with the time of the request."""
        if not hasattr(self, "_actor"):
            self._actor = actor_of(self.request)
        return self._actor

    def office_only(self) -> Actor:
        """Return the office's actor. Raises Forbidden for other roles."""
        if self.actor.role != Role.OFFICE:
            raise Forbidden(_("Only the office may do that."))
        return self.actor

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        """Refuse a phone that is cut off, and a parameter that nobody reads.

        A filter that is ignored is a wrong answer.
        """
        super().initial(request, *args, **kwargs)
        held = self.phone_held()
        if held is not None and not self.open_when_cut_off:
            phone_admit(held)
        unknown = set(request.query_params) - self.filters - PAGING
        if unknown:
            known = ", ".join(sorted(self.filters | {"limit", "offset"}))
            raise ParseError(
                _("unknown filter %(value)s; known are: %(known)s")
                % {"value": repr(sorted(unknown)[0]), "known": known}
            )

    def phone_held(self) -> UUID | None:
        """Return the mark of the phone that this token or session is on, None where it is on none."""
        token = self.request.auth
        if isinstance(token, AccessToken):
            return token.phone
        return session_phone(self.request._request)


def session_phone(request: HttpRequest) -> UUID | None:
    """Return the mark of the phone that a session is on, None where it is on none."""
    held = request.session.get(PHONE)
    return UUID(held) if held else None


def found(rows: QuerySet[Any], pk: UUID) -> Any:
    """Return the row or raise 404, the same for missing and for somebody else's."""
    row = rows.filter(pk=pk).first()
    if row is None:
        raise Http404
    return row


def whole(request: Request, name: str, default: int, low: int, high: int) -> int:
    """Return a whole number out of the query. Raises ParseError naming the range."""
    text = request.query_params.get(name)
    if text is None:
        return default
    if not text.isascii() or not text.isdigit() or not low <= int(text[:9]) <= high:
        raise ParseError(
            _("%(name)s=%(text)s: a whole number from %(low)s to %(high)s is needed")
            % {"name": name, "text": repr(text), "low": low, "high": high}
        )
    return int(text)


def day(request: Request, name: str) -> dt.date | None:
    """Return a date out of the query. Raises ParseError for another spelling."""
    text = request.query_params.get(name)
    if text is None:
        return None
    try:
        found_day = parse_date(text) if text.isascii() else None
    except ValueError:
        found_day = None
    if found_day is None or not 2000 <= found_day.year <= 2100:
        raise ParseError(
            _("%(name)s=%(text)s: a date such as 2026-06-11 is needed")
            % {"name": name, "text": repr(text)}
        )
    return found_day


def key(request: Request, name: str) -> UUID | None:
    """Return a UUID out of the query. Raises ParseError."""
    text = request.query_params.get(name)
    if text is None:
        return None
    try:
        return UUID(text)
    except ValueError:
        raise ParseError(
            _("%(name)s=%(text)s: a UUID is needed") % {"name": name, "text": repr(text)}
        ) from None


def page(
    request: Request,
    rows: QuerySet[Any],
    show: Callable[[list[Any]], Iterable[Any]],
    *,
    default: int = 100,
    **more: Any,
) -> Response:
    """Return one page as {count, next, previous, results}."""
    limit = whole(request, "limit", default, 1, MAX_LIMIT)
    offset = whole(request, "offset", 0, 0, 10_000_000)
    count = rows.count()
    results = list(show(list(rows[offset : offset + limit])))
    return Response({**more, **envelope(request, count, limit, offset), "results": results})


def envelope(request: Request, count: int, limit: int, offset: int) -> dict[str, Any]:
    """Return count and the addresses of the neighbouring pages."""

    def at(place: int) -> str:
        query = request.query_params.copy()
        query["limit"], query["offset"] = str(limit), str(place)
        return request.build_absolute_uri(f"{request.path}?{query.urlencode()}")

    return {
        "count": count,
        "next": at(offset + limit) if offset + limit < count else None,
        "previous": at(max(0, offset - limit)) if offset > 0 else None,
    }


def etag(row: Any) -> str:
    """Return a row's strong validator."""
    return f'"{row.pk}-{row.rev}-1"'


def based_on(request: Request, row: Any) -> int:
    """Return the version that an edit is based on.

    Raises VersionMissing (428) without If-Match and StaleVersion (412) for an older one.
    """
    given = request.headers.get("If-Match", "").strip()
    if not given or given == "*":
        raise VersionMissing(_("Send If-Match with the ETag of what you read."))
    if given != etag(row):
        raise StaleVersion(_("Somebody else changed this; read it again."), etag=etag(row))
    return int(row.rev)


def once(
    request: Request, actor: Actor, act: Callable[[], tuple[int, Any]], *, required: bool = False
) -> Response:
    """Carry out a creation once for its Idempotency-Key; the key and the effect commit together."""
    name = request.headers.get("Idempotency-Key", "").strip()
    if not name:
        if required:
            raise ParseError(
                _("The header Idempotency-Key is needed: a new UUID for each request.")
            )
        status, body = act()
        return Response(body, status=status)
    if not 8 <= len(name) <= 200 or not name.isascii() or not name.isprintable():
        raise ParseError(_("Idempotency-Key: 8 to 200 plain characters, such as a UUID."))
    with transaction.atomic():
        mark = fingerprint(request.method or "", request.path, request.data)
        user: Any = request.user
        row, fresh = key_begin(user=user, key=name, print_=mark, at=actor.at)
        if not fresh:
            return Response(row.body, status=row.status, headers={"Idempotent-Replayed": "true"})
        status, body = act()
        key_finish(row=row, status=status, body=body)
    return Response(body, status=status)


def body_of(request: Request) -> dict[str, Any]:
    """Return the body if it is an object. Raises Invalid."""
    if not isinstance(request.data, dict):
        raise Invalid([{"pointer": "/", "value": None, "message": _("an object is needed")}])
    return request.data


def only(
    body: dict[str, Any], known: Iterable[str], needed: Iterable[str], where: str = ""
) -> None:
    """Raise Invalid for unknown and for missing fields."""
    known = list(known)
    errors = [
        {"pointer": f"{where}/{name}", "value": body[name] if _plain(body[name]) else None,
         "message": f"{name}: " + _("not known here; known are %(allowed)s") % {"allowed": ", ".join(known)}, "allowed": known}
        for name in body
        if name not in known
    ] + [
        {"pointer": f"{where}/{name}", "value": None, "message": f"{name}: " + _("is missing")}
        for name in needed
        if name not in body
    ]  # fmt: skip
    if errors:
        raise Invalid(errors)


def _plain(value: Any) -> bool:
    return not isinstance(value, dict | list)


def moment(body: dict[str, Any], name: str) -> dt.datetime:
    """Return a time with an offset out of a body. Raises Invalid."""
    value = body.get(name)
    parsed = None
    if isinstance(value, str) and value.isascii():
        try:
            parsed = parse_datetime(value)
        except ValueError:
            parsed = None
    if parsed is None or parsed.tzinfo is None or not 2000 <= parsed.year <= 2100:
        message = f"{name}: " + _(
            "a time with its offset is needed, such as 2026-06-11T08:20:00+02:00"
        )
        raise Invalid([{"pointer": f"/{name}", "value": value, "message": message}])
    return parsed


def uuid_in(body: dict[str, Any], name: str) -> UUID:
    """Return a UUID out of a body. Raises Invalid."""
    return as_uuid(body.get(name), f"/{name}", name)


def as_uuid(value: Any, pointer: str, name: str) -> UUID:
    """Return a UUID. Raises Invalid."""
    try:
        return UUID(str(value))
    except ValueError:
        message = f"{name}: " + _("a UUID is needed")
        raise Invalid([{"pointer": pointer, "value": value, "message": message}]) from None


def text_in(body: dict[str, Any], name: str, limit: int = 400) -> str:
    """Return a text out of a body without control and direction marks, empty where it is missing.

    Raises Invalid.
    """
    value = body.get(name) or ""
    if not isinstance(value, str) or "\x00" in value:
        message = f"{name}: " + _("text of at most %(limit)s characters is needed") % {
            "limit": limit
        }
        raise Invalid([{"pointer": f"/{name}", "value": None, "message": message}])
    try:
        return words(limit)(value)
    except BadAnswer as error:
        message = f"{name}: {error}"
        raise Invalid([{"pointer": f"/{name}", "value": None, "message": message}]) from None
