"""Times to offer, and times that are or were offered for a visit: in the office's words."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.utils.translation import gettext as _

from apps.accounts.models import User
from apps.accounts.selectors import firm_current
from apps.core.scoping import Actor
from apps.flows.letter_parts import day_and_span
from apps.flows.rounds_wording import km, money
from apps.office.wording import people_by_author
from apps.reports.choices import LetterKind
from apps.reports.models import Letter
from apps.rounds.choices import OfferState, TimeState
from apps.rounds.models import TimeOffered, TimesOffered
from apps.rounds.selectors.offers import Time
from apps.visits.models import Visit

SHOWN = 3


@dataclass(frozen=True)
class TimeRow:
    """A time that could be offered, as a line to tick."""

    key: str
    time: Time
    people: str
    cost: str
    ticked: bool

    @property
    def label(self) -> str:
        """The day and what the client is told of it."""
        return day_and_span(self.time.told_from, self.time.told_until)


@dataclass(frozen=True)
class OfferShown:
    """What was offered: the times with where each stands, who was written to, how it ended."""

    row: TimesOffered
    times: list[dict[str, Any]]
    letters: list[Letter]
    by: str

    @property
    def is_open(self) -> bool:
        """Whether the client may still choose."""
        return self.row.state == OfferState.OPEN


def cost_words(extra: int, metres: int) -> str:
    """Return what a time costs the rounds more."""
    if extra <= 0:
        return _("costs the rounds nothing more")
    return _("%(cost)s and %(km)s km more") % {
        "cost": f"{money(extra)}\u00a0{firm_current().currency}", "km": km(max(metres, 0)),
    }  # fmt: skip


def time_rows(actor: Actor, times: Sequence[Time], ticked: Iterable[str]) -> list[TimeRow]:
    """Return times that could be offered with names: two queries."""
    names = {UUID(name) for time in times for name in time.technicians}
    people = User.objects.visible_to(actor).in_bulk(names)
    marks = set(ticked)
    return [
        TimeRow(
            time.key, time, ", ".join(str(people[UUID(name)]) for name in time.technicians),
            cost_words(time.extra, time.metres), time.key in marks,
        )
        for time in times
    ]  # fmt: skip


def offers_shown(actor: Actor, visit: Visit) -> list[OfferShown]:
    """Return what was offered for a visit, the latest first: a fixed number of queries."""
    rows = list(
        TimesOffered.objects.visible_to(actor)
        .filter(visit=visit)
        .prefetch_related("times__holds__user")
        .order_by("-made_at", "id")[:SHOWN]
    )
    if not rows:
        return []
    letters = list(
        Letter.objects.visible_to(actor)
        .filter(visit=visit, kind=LetterKind.TIMES)
        .select_related("contact")
        .order_by("contact__name", "id")
    )
    names = people_by_author([row.made_by for row in rows])
    return [
        OfferShown(
            row, [time_shown(time) for time in row.times.all()],
            [letter for letter in letters if letter.parameters.get("offer") == str(row.pk)],
            names.get(row.made_by, ""),
        )
        for row in rows
    ]  # fmt: skip


def open_offer(actor: Actor, visit: Visit) -> TimesOffered | None:
    """Return what the client may still choose from."""
    rows = TimesOffered.objects.visible_to(actor)
    row: TimesOffered | None = rows.filter(visit=visit, state=OfferState.OPEN).first()
    return row


def time_shown(time: TimeOffered) -> dict[str, Any]:
    """Return one of the times with its words."""
    return {
        "row": time, "label": day_and_span(time.told_from, time.told_until),
        "people": ", ".join(str(hold.user) for hold in time.holds.all()),
        "cost": cost_words(time.extra, time.metres),
        "word": str(TimeState(time.state).label),
    }  # fmt: skip
