"""A household says that it is away: who looks after the fish, what follows for visits and forecast.

The place's visit days are planned anew (nobody is sent where nobody may come in), and the forecast
feeds as the plan says. Nothing that was promised moves: the plan asks.
"""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from uuid import UUID

from django.db import transaction
from django.db.models import Q
from django.utils.translation import gettext as _

from apps.accounts.models import AuditEntry
from apps.accounts.services import audit
from apps.care.services import visit_days_ask
from apps.clients.models import Place, TimeAway
from apps.clients.selectors import times_away
from apps.core.dates import day_text, span_text
from apps.core.exceptions import Conflict, Invalid, StaleVersion
from apps.core.scoping import Actor
from apps.flows.ahead import forecast_ask
from apps.systems.models import System
from apps.visits.services.steps import author

# own choice: what is longer is talked over, what is further off is not known yet
LONGEST, FURTHEST = 92, 366
# times away that a place may have standing ahead of it
MOST_AHEAD = 12
# times away of a place that are told of or withdrawn in a day, and changes of them; no household's
# plans turn oftener
MOST_A_DAY = 12
KIND, CHANGED = "time_away", "changed"


@dataclass(frozen=True)
class Away:
    """What a household says of a time away."""

    first: dt.date
    last: dt.date
    carer_name: str
    carer_phone: str
    backup: str
    may_come: bool
    notes: str


@transaction.atomic
def away_add(
    *, place: Place, said: Away, key: UUID, by: Actor, at: dt.datetime, today: dt.date
) -> TimeAway:
    """Keep a time away; the same key is the same one. Raises Invalid naming the field, Conflict."""
    _one_at_a_time(place.pk)
    held = TimeAway.objects.filter(pk=key).first()
    if held is not None and held.place_id == place.pk:
        return held
    if held is not None:
        raise Conflict(_("This form belongs to another time away; open it anew."), "key_taken")
    _check(place, said, today)
    ahead = TimeAway.objects.filter(place=place, withdrawn_at=None, last__gte=today)
    if ahead.count() >= MOST_AHEAD:
        raise Conflict(_("More times away than a year has; withdraw one, or call us."), "too_many")
    since = at - dt.timedelta(days=1)
    lately = TimeAway.objects.filter(Q(made_at__gt=since) | Q(withdrawn_at__gt=since), place=place)
    _admit(lately.count())
    row = TimeAway(pk=key, place=place, made_at=at, by=author(by), **vars(said))
    row.full_clean()
    row.save(force_insert=True)
    _follow(row, "told of", by, at)
    return row


@transaction.atomic
def away_change(
    *, row: TimeAway, said: Away, rev: int, by: Actor, at: dt.datetime, today: dt.date
) -> TimeAway:
    """Change a time away, based on a version of it. Raises Invalid, StaleVersion, Conflict."""
    _one_at_a_time(row.place_id)
    row.refresh_from_db()
    _still(row, today)
    _check(row.place, said, today, but=row.pk)
    if row.rev != rev:
        raise StaleVersion(_("This was changed meanwhile; look at it again, then send it."))
    # each has visit days and forecasts made anew
    _admit(_changes(row.place_id, at - dt.timedelta(days=1)))
    for name, value in vars(said).items():
        setattr(row, name, value)
    row.rev += 1
    row.full_clean()
    row.save(update_fields=[*vars(said), "rev"])
    _follow(row, CHANGED, by, at)
    return row


@transaction.atomic
def away_withdraw(*, row: TimeAway, by: Actor, at: dt.datetime, today: dt.date) -> TimeAway:
    """Take a time away back; a second press changes nothing. Raises Conflict once it is over."""
    _one_at_a_time(row.place_id)
    row.refresh_from_db()
    if row.withdrawn_at is not None:
        return row
    _still(row, today)
    row.withdrawn_at = at
    row.rev += 1
    row.save(update_fields=["withdrawn_at", "rev"])
    _follow(row, "withdrew", by, at)
    return row


def _one_at_a_time(place_id: UUID) -> None:
    """Wait for whoever writes of the same place: two taps, or a change and a withdrawal."""
    Place.objects.select_for_update().get(pk=place_id)


def _changes(place_id: UUID, since: dt.datetime) -> int:
    """Return how often times away of a place were changed since then."""
    ids = [str(pk) for pk in TimeAway.objects.filter(place=place_id).values_list("pk", flat=True)]
    rows = AuditEntry.objects.filter(kind=KIND, object_id__in=ids, verb=CHANGED, at__gt=since)
    return rows.count()


def _admit(lately: int) -> None:
    if lately >= MOST_A_DAY:
        text = _("That is more than a day's times away; go on tomorrow, or call us.")
        raise Conflict(text, "too_many")


def _still(row: TimeAway, today: dt.date) -> None:
    if row.withdrawn_at is not None:
        raise Conflict(_("This was withdrawn; tell us of it anew."), "withdrawn")
    if row.last < today:
        raise Conflict(_("This is over; tell us of the next one."), "over")


def _check(place: Place, said: Away, today: dt.date, but: UUID | None = None) -> None:
    if said.last < said.first:
        raise _refuse("last", said.last, _("This day lies before the first one."))
    if said.last < today:
        raise _refuse("last", said.last, _("This day is over; it must be today or later."))
    if (said.last - said.first).days >= LONGEST:
        text = _("Longer than %(days)s days: please call us, that is worth a talk.")
        raise _refuse("last", said.last, text % {"days": LONGEST})
    if (said.first - today).days > FURTHEST:
        furthest = day_text(today + dt.timedelta(days=FURTHEST), "year")
        text = _("Later than %(day)s is too far off; tell us when it is nearer.")
        raise _refuse("first", said.first, text % {"day": furthest})
    if said.carer_name and not said.carer_phone:
        raise _refuse("carer_phone", "", _("We must be able to reach them: write their number."))
    if said.carer_phone and not said.carer_name:
        raise _refuse("carer_name", "", _("Whose number is this? Write their name."))
    for row in times_away([place.pk], said.first, said.last):
        if row.pk != but:
            text = _("You told us of %(days)s already; change that one.")
            raise _refuse("first", said.first, text % {"days": span_text(row.first, row.last)})


def _follow(row: TimeAway, verb: str, by: Actor, at: dt.datetime) -> None:
    """Note the change, and have planned anew what rests on it."""
    change = {"first": str(row.first), "last": str(row.last)}
    audit(at=at, by=by, verb=verb, kind=KIND, object_id=row.pk, change=change)
    visit_days_ask([row.place_id], at)
    systems = System.objects.filter(place=row.place_id, active=True)
    forecast_ask(list(systems.values_list("pk", flat=True)), at)


def _refuse(name: str, value: object, message: str) -> Invalid:
    return Invalid([{"pointer": f"/{name}", "value": str(value), "message": message}])


def getting_in_words(place: Place, rows: Iterable[TimeAway], on: dt.date) -> str:
    """Return how to get into a place on a day: its notes, and who is there while it is away."""
    lines = [place.access_notes] if place.access_notes else []
    for row in rows:
        if row.place_id == place.pk and row.first <= on <= row.last:
            words = {"days": span_text(row.first, row.last), "name": row.carer_name,
                     "phone": row.carer_phone}  # fmt: skip
            away = _("Nobody is at home %(days)s.") % words
            who = _("%(name)s looks after it: %(phone)s.") % words if row.carer_name else ""
            shut = "" if row.may_come else _("They want nobody to come in: call the office first.")
            lines.append(" ".join(part for part in (away, who, shut) if part))
    return "\n".join(lines)
