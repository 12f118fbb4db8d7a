"""Changes of systems and their parts."""

import datetime as dt
from typing import Any

from django.db import transaction
from django.db.models import F
from django.utils.translation import gettext as _

from apps.accounts.services import audit
from apps.core.dates import day_text
from apps.core.exceptions import DomainError, StaleVersion
from apps.core.scoping import Actor
from apps.systems.models import Component, Flow, System


@transaction.atomic
def system_save(*, system: System, by: Actor, at: dt.datetime) -> System:
    """Store a new system."""
    system.full_clean()
    system.save()
    audit(at=at, by=by, verb="made", kind="system", object_id=system.pk)
    return system


@transaction.atomic
def system_change(
    *, system: System, changes: dict[str, Any], rev: int, by: Actor, at: dt.datetime
) -> System:
    """Change a system based on a version of it. Raises StaleVersion where it is older."""
    for name, value in changes.items():
        setattr(system, name, value)
    system.full_clean()
    taken = System.objects.filter(pk=system.pk, rev=rev).update(**changes, rev=F("rev") + 1)
    if not taken:
        raise StaleVersion(_("Somebody else changed this system; read it again."))
    audit(at=at, by=by, verb="changed", kind="system", object_id=system.pk, change=_plain(changes))
    system.refresh_from_db()
    return system


def _plain(changes: dict[str, Any]) -> dict[str, Any]:
    return {name: str(value) for name, value in changes.items()}


@transaction.atomic
def component_save(*, component: Component, by: Actor, at: dt.datetime) -> Component:
    """Store a new or changed component."""
    verb = "made" if component._state.adding else "changed"
    component.full_clean()
    component.save()
    audit(at=at, by=by, verb=verb, kind="component", object_id=component.pk)
    return component


@transaction.atomic
def component_swap(
    *, old: Component, new: Component, on: dt.date, by: Actor, at: dt.datetime
) -> Component:
    """Take a component off and put another in its place; flows move over, history stays."""
    if old.removed_on is not None:
        raise DomainError(
            _("%(name)s was taken off on %(removed_on)s already.")
            % {"name": old.name, "removed_on": day_text(old.removed_on, "year")},
            "swapped",
        )
    new.loop, new.replaces, new.fitted_on = old.loop, old, on
    new.place_in_flow = old.place_in_flow
    old.removed_on = on
    old.full_clean()
    old.save(update_fields=["removed_on"])
    new.full_clean()
    new.save()
    Flow.objects.filter(source=old).update(source=new)
    Flow.objects.filter(target=old).update(target=new)
    audit(
        at=at, by=by, verb="swapped", kind="component", object_id=old.pk,
        change={"off": old.serial, "on": new.serial, "new": str(new.pk)},
    )  # fmt: skip
    return new
