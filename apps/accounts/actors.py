"""From a request to the actor that queries are narrowed to."""

from typing import Any

from django.http import HttpRequest
from django.utils.translation import gettext as _

from apps.core import clock
from apps.core.exceptions import Forbidden
from apps.core.scoping import Actor


def actor_of(request: HttpRequest | Any) -> Actor:
    """Return the signed-in member of the staff as an actor, with the time of the request."""
    user: Any = request.user
    return Actor(role=user.role, at=clock.now(), user_id=user.pk)


def office_of(request: HttpRequest | Any) -> Actor:
    """Return the actor if it is the office. Raises Forbidden otherwise."""
    actor = actor_of(request)
    if not actor.is_office:
        raise Forbidden(_("Only the office may do that."))
    return actor
