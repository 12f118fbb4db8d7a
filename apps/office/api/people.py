"""Technicians as bodies name them: by id or by user name."""

import contextlib
from typing import Any
from uuid import UUID

from django.db.models import Q
from django.utils.translation import gettext as _

from apps.accounts.models import User
from apps.core.exceptions import Invalid


def technician_in(value: Any, pointer: str, field: str) -> User:
    """Return the member of the staff that a body names. Raises Invalid."""
    wanted = Q(username=str(value).replace("\0", " "))
    with contextlib.suppress(ValueError):
        wanted |= Q(pk=UUID(str(value)))
    user = User.objects.filter(wanted).first()
    if user is None:
        message = f"{field}: " + _("nobody is called %(name)s") % {"name": repr(value)}
        raise Invalid([{"pointer": pointer, "value": str(value), "message": message}])
    return user


def technicians_in(body: dict[str, Any], field: str, most: int = 6) -> list[User]:
    """Return the members of the staff that a body lists. Raises Invalid."""
    names = body.get(field)
    if not isinstance(names, list) or not 1 <= len(names) <= most:
        message = f"{field}: " + _("a list of one to %(most)s is needed") % {"most": most}
        raise Invalid([{"pointer": f"/{field}", "value": None, "message": message}])
    return [technician_in(name, f"/{field}/{index}", field) for index, name in enumerate(names)]
