"""The technicians' phones: what waits on them, what they brought that a person should look at."""

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID

from django.db.models import Count, Exists, OuterRef, QuerySet
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _later
from django.utils.translation import ngettext

from apps.accounts.models import User
from apps.catalogue.selectors import catalogue_current
from apps.core.scoping import Actor
from apps.flows.phone_wording import differs_words
from apps.office.selectors.visit_page import line_name
from apps.office.wording import age_words, people_by_author, place_label, since_words
from apps.visits.choices import Remark
from apps.visits.models import (
    CheckIn,
    Line,
    Operation,
    Phone,
    PhoneRemark,
    RefusedOperation,
)

QUIET = dt.timedelta(hours=3)
# below this a phone's clock is taken as right
CLOCK_SLACK_S = 120
MOST_WORDS = 300


@dataclass(frozen=True)
class PhoneShown:
    """A phone as the office sees it. `loud`: sentences that ask for somebody."""

    phone: Phone
    waits: str
    loud: list[str]
    facts: list[str]


def phones_of(actor: Actor) -> list[PhoneShown]:
    """Return all phones, those that ask for somebody first, then by last contact: three queries."""
    phones = list(Phone.objects.visible_to(actor).select_related("user").order_by("-last_at"))
    gaps = gaps_of(actor, phones)
    shown = [phone_shown(phone, gaps[phone.pk], actor.at) for phone in phones]
    return sorted(shown, key=lambda item: not item.loud)


def phone_shown(phone: Phone, gap: int, now: dt.datetime) -> PhoneShown:
    """Return one phone in words; `gap`: answers that it counted and nobody has received."""
    loud = []
    if is_quiet(phone, now):
        loud.append(
            _("Not heard from for %(age)s with something unsent: call, and look for signal.")
            % {"age": age_words(phone.last_at, now)}
        )
    if gap:
        loud.append(
            ngettext(
                "%(count)d answer that it counted never arrived here.",
                "%(count)d answers that it counted never arrived here.", gap,
            ) % {"count": gap}
        )  # fmt: skip
    return PhoneShown(phone, waits_words(phone, now), loud, _facts(phone))


def is_quiet(phone: Phone, now: dt.datetime) -> bool:
    """Tell whether a phone said that something waits and has not been heard from since."""
    return bool(phone.pending_ops + phone.pending_photos) and now - phone.last_at >= QUIET


def waits_words(phone: Phone, now: dt.datetime) -> str:
    """Return what waits on a phone and since when; empty where nothing does."""
    parts = []
    if phone.pending_ops:
        parts.append(
            ngettext("%(count)d answer", "%(count)d answers", phone.pending_ops)
            % {"count": phone.pending_ops}
        )
    if phone.pending_photos:
        parts.append(
            ngettext("%(count)d photo", "%(count)d photos", phone.pending_photos)
            % {"count": phone.pending_photos}
        )
    if not parts:
        return ""
    both = _("%(first)s and %(last)s") % {"first": parts[0], "last": parts[-1]}
    what = both if len(parts) == 2 else parts[0]
    since = since_words(phone.oldest_at, now) if phone.oldest_at else ""
    return _("%(what)s to send %(since)s") % {"what": what, "since": since}


def _facts(phone: Phone) -> list[str]:
    off = abs(phone.clock_off_s)
    clock = _("clock right")
    if off > CLOCK_SLACK_S:
        age = age_words(phone.last_at - dt.timedelta(seconds=off), phone.last_at)
        clock = (_("clock %(age)s fast") if phone.clock_off_s > 0 else _("clock %(age)s slow")) % {
            "age": age
        }
    page = _("page %(version)s") % {"version": phone.version}
    return [
        page if phone.version else _("page not told"),
        clock,
        _("storage promised") if phone.persisted else _("storage not promised"),
        _("from the home screen") if phone.standalone else _("in a browser's tab"),
    ]


def gaps_of(actor: Actor, phones: Iterable[Phone]) -> dict[UUID, int]:
    """Return for each phone how many of its counted answers are missing: two queries.

    What waits on the phone and what was refused explain themselves.
    """
    phones = list(phones)
    devices = [str(phone.pk) for phone in phones]
    taken = _counted(Operation.objects.visible_to(actor).filter(device__in=devices))
    same = Operation.objects.filter(device=OuterRef("device"), seq=OuterRef("seq"))
    refused = _counted(
        RefusedOperation.objects.visible_to(actor).filter(~Exists(same), device__in=devices)
    )
    return {
        phone.pk: max(
            0,
            phone.last_seq - phone.pending_ops
            - taken.get(str(phone.pk), 0) - refused.get(str(phone.pk), 0),
        )
        for phone in phones
    }  # fmt: skip


def _counted(rows: QuerySet[Any]) -> dict[str, int]:
    found = rows.filter(seq__isnull=False).order_by().values_list("device")
    return dict(found.annotate(count=Count("seq", distinct=True)))


# --- what phones brought
@dataclass(frozen=True)
class RemarkShown:
    """One thing that a phone brought, in words."""

    remark: PhoneRemark
    word: str
    person: str
    place: str
    what: str
    value: str
    why: list[str] = field(default_factory=list)


GROUPS = {
    "lines": _later("line"), "readings": _later("reading"), "findings": _later("finding"),
    "advice": _later("advice"), "supplies": _later("used here"), "swaps": _later("part swapped"),
    "signature": _later("signature"), "checkin": _later("check-in"),
    "on_my_way": _later("on my way"), "running_late": _later("running late"),
    "finish": _later("end of the visit"), "started_at": _later("begun"),
    "finished_at": _later("ended"),
}  # fmt: skip
LEAVES = {
    "outcome": _later("answer"), "reason": _later("reason"), "minutes": _later("minutes"),
    "note": _later("note"), "value": _later("value"), "unit": _later("unit"),
    "text": _later("words"), "sign": _later("sign"), "decision": _later("decision"),
    "item": _later("what"), "amount": _later("how much"), "serial": _later("serial"),
    "make": _later("make"), "name": _later("name"), "gone": _later("taken off"),
    "loop": _later("loop"), "measurand": _later("what was measured"), "basis": _later("basis"),
    "when": _later("before or after"), "method": _later("method"), "at": _later("time"),
    "instrument": _later("instrument"), "taken_at": _later("time"), "as_typed": _later("as typed"),
    "checked_twice": _later("looked at twice"), "component": _later("part"),
    "photo_ids": _later("photos"), "strokes": _later("lines"), "fine_by": _later("by when"),
    "fine_at": _later("said fine"),
}  # fmt: skip


def remarks(actor: Actor) -> QuerySet[PhoneRemark]:
    """Return what phones brought, with what it is about, newest first."""
    return (
        PhoneRemark.objects.visible_to(actor)
        .select_related("refused", "operation", "visit__place__client")
        .order_by("-made_at", "id")
    )


def remarks_shown(rows: Sequence[PhoneRemark]) -> list[RemarkShown]:
    """Return remarks in words: two queries."""
    lines = _lines(rows)
    names = people_by_author([author for row in rows if (author := _author(row))])
    shown = []
    for row in rows:
        path, value = _answer(row)
        shown.append(
            RemarkShown(
                row, str(Remark(row.kind).label), names.get(_author(row), ""),
                place_label(row.visit.place) if row.visit else _("a visit that is not known here"),
                _what(path, lines), _value(path, value), _why(row),
            )
        )  # fmt: skip
    return shown


def _author(row: PhoneRemark) -> str:
    source = row.refused or row.operation
    return source.by if source else ""


def _answer(row: PhoneRemark) -> tuple[str, Any]:
    if row.refused is not None:
        payload = row.refused.payload
        return str(payload.get("path") or "")[:200], payload.get("value")
    if row.operation is not None:
        return row.operation.path, row.operation.value
    return "", None


def _lines(rows: Iterable[PhoneRemark]) -> dict[str, str]:
    """Return the names of the lines that the paths are about."""
    keys = set()
    for row in rows:
        parts = _answer(row)[0].split("/")
        if parts[0] == "lines" and len(parts) == 3:
            try:
                keys.add(UUID(parts[1]))
            except ValueError:
                continue
    catalogue = catalogue_current()
    codes = Line.objects.filter(pk__in=keys).values_list("pk", "code") if keys else []
    return {str(pk): line_name(code, catalogue) for pk, code in codes}


def _what(path: str, lines: dict[str, str]) -> str:
    if not path:
        return ""
    group, *rest = path.split("/")
    name = lines.get(rest[0], "") if rest else ""
    head = name or str(GROUPS.get(group, _("something that is not known here")))
    leaf = str(LEAVES.get(rest[1], "")) if len(rest) == 2 else ""
    return f"{head}: {leaf}" if leaf else head


def _value(path: str, value: Any) -> str:
    if path.endswith("/strokes"):
        return _("a drawn signature")
    if path == "finish" or value is None:
        return ""
    if isinstance(value, bool):
        return _("yes") if value else _("no")
    return str(value)[:MOST_WORDS]


def _why(row: PhoneRemark) -> list[str]:
    if row.refused is not None:
        return [str(item.get("message") or item.get("code") or "") for item in row.refused.why]
    if row.kind == Remark.LATE:
        return [_("The visit was written up already; it was not put in.")]
    return differs_words(row.says, catalogue_current())


# --- those who work alone
@dataclass(frozen=True)
class LateCheckIn:
    """Somebody who has not said fine in time."""

    row: CheckIn
    person: str
    phone: str


def late_check_ins(actor: Actor) -> list[LateCheckIn]:
    """Return the check-ins that nobody has answered in time, the longest first: two queries."""
    rows = list(
        CheckIn.objects.visible_to(actor)
        .filter(fine_at__isnull=True, fine_by__lt=actor.at)
        .select_related("visit__place__client")
        .order_by("fine_by")
    )
    keys = {row.by.partition(":")[2] for row in rows}
    people = {
        str(user.pk): user for user in User.objects.filter(pk__in=[k for k in keys if len(k) == 36])
    } if rows else {}  # fmt: skip
    found = []
    for row in rows:
        user = people.get(row.by.partition(":")[2])
        found.append(LateCheckIn(row, str(user or _("Somebody")), user.phone if user else ""))
    return found
