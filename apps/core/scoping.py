"""Which rows an actor may see: one rule a model, default deny.

A model names its paths in `scope = Scope(...)`; a system check refuses a model without one.
"""

import datetime as dt
from dataclasses import dataclass
from typing import Any, Self
from uuid import UUID

from django.db import models
from django.db.models import Q

BACK = dt.timedelta(days=14)
AHEAD = dt.timedelta(days=14)


@dataclass(frozen=True)
class Actor:
    """Who asks: a member of the staff, a client by link, or the system for a stated reason."""

    role: str
    at: dt.datetime
    user_id: UUID | None = None
    client_id: UUID | None = None
    reason: str = ""

    @property
    def is_office(self) -> bool:
        """True for the office."""
        return self.role == "office"


def system(reason: str, at: dt.datetime) -> Actor:
    """Return the actor of a job that no person started; the reason stands in the audit."""
    return Actor(role="system", at=at, reason=reason)


@dataclass(frozen=True)
class Scope:
    """Paths from a model to a client's id and to the visits that a technician is assigned to.

    `client` and `visits` are ORM paths ('' = this kind of actor sees no row); `staff` opens the
    table to every member of the staff (reference data, no client in it).
    """

    client: str = ""
    visits: str | None = None
    own: str = ""
    staff: bool = False
    client_extra: tuple[tuple[str, Any], ...] = ()
    anyone: bool = False


class ScopedQuerySet(models.QuerySet[Any]):
    """A queryset that can be narrowed to what an actor may see."""

    def visible_to(self, actor: Actor) -> Self:
        """Return the rows that the actor may see; none where no rule opens them."""
        scope: Scope = self.model.scope
        if actor.role in ("office", "system") or scope.anyone:
            return self
        if actor.role == "technician":
            return self._for_technician(scope, actor)
        if actor.role == "client" and scope.client and actor.client_id is not None:
            return self.filter(**{scope.client: actor.client_id}, **dict(scope.client_extra))
        return self.none()

    def _for_technician(self, scope: Scope, actor: Actor) -> Self:
        if scope.staff:
            return self
        allowed = Q(pk__in=[])
        if scope.visits is not None:
            prefix = f"{scope.visits}__" if scope.visits else ""
            seen = self.model._base_manager.filter(
                **{
                    f"{prefix}assignments__user_id": actor.user_id,
                    f"{prefix}start__gte": actor.at - BACK,
                    f"{prefix}start__lte": actor.at + AHEAD,
                }
            )
            allowed |= Q(pk__in=seen.values("pk"))
        if scope.own:
            allowed |= Q(**{scope.own: actor.user_id})
        return self.filter(allowed)
