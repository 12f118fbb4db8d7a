"""What a client writes down at home: readings, feed given and left, dead fish, what was picked.

All of one entry is stored or nothing. Readings are judged as those of a visit, marked as the
client's, and count from then on: for the due list, for what lies ahead, for the next visit.
"""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID, uuid5

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from apps.accounts.services import audit
from apps.advice.services import standing_refresh
from apps.ahead.services import feed_left_refresh
from apps.batches.models import Deaths, FishBatch, FishHarvest, Picking, Planting
from apps.batches.selectors import fish_least, fish_now, plantings_now
from apps.batches.services import deaths_add, fish_take, picking_add
from apps.care.choices import CountedBy
from apps.care.models import FeedCount
from apps.catalogue.selectors import catalogue_current
from apps.core.dates import day_text
from apps.core.exceptions import Conflict, Invalid
from apps.core.measures import shift_of
from apps.core.scoping import Actor
from apps.flows.ahead import forecast_ask
from apps.flows.feed_counting import feed_count
from apps.systems.models import Loop, System
from apps.visits.choices import TakenBy
from apps.visits.labels import doubt_words
from apps.visits.models import Reading, ReadingPhoto
from apps.visits.services.answers import LATEST_FUTURE
from apps.visits.services.judging import readings_build
from apps.visits.services.photos import CLIENT_PIXELS, Redrawn, photo_redraw
from apps.visits.services.projection import ground_at_home
from apps.visits.services.steps import author

LOOK_BACK = dt.timedelta(days=60)
# readings of one system in a day; more are no household's (own choice, as the days above)
MOST_A_DAY = 60
# what the field of a figure's photo ends with
PHOTO = "_photo"
FEED_LEFT = "feed_left"


@dataclass(frozen=True)
class Figure:
    """One figure as it was typed; `sure`: it was looked at twice."""

    value: float
    typed: str
    unit: str
    basis: str = ""
    sure: bool = False


@dataclass(frozen=True)
class Entry:
    """What is written down at once. `key` is the form's own: sent twice, it is stored once.

    `dead`: a batch and how many; `taken`: a batch, how many were taken out to eat, kilograms;
    `picked`: a planting with heads, kilograms, or both; `photos`: of what a figure was read from;
    `feed_left`: grams of feed that are left, and whether it was looked at twice.
    """

    key: UUID
    taken_at: dt.datetime
    figures: Mapping[str, Figure]
    loop: UUID | None = None
    dead: tuple[UUID, int] | None = None
    picked: tuple[UUID, int | None, float | None] | None = None
    taken: tuple[UUID, int, float | None] | None = None
    photos: Mapping[str, bytes] = field(default_factory=dict)
    feed_left: tuple[float, bool] | None = None


def log_at_home(*, system: System, entry: Entry, by: Actor, at: dt.datetime) -> list[Reading]:
    """Store an entry; return its readings.

    Raises Invalid naming the field: nothing was written, a time that cannot be, a figure that cannot
    be or that is to be looked at twice (the error has `look_again`), more fish than there are, a
    photo that is none. Raises Conflict where too much was written in a day.
    """
    if _is_stored(entry):
        return list(Reading.objects.filter(pk__in=_keys(entry).values()))
    loops = list(Loop.objects.filter(system=system).values_list("pk", flat=True))
    _check(system, loops, entry, at)
    # judged first: of what is refused nothing is drawn
    _readings(system, entry, by, at)
    # drawn before the transaction, which it would hold open for seconds; stored at its end
    return _log(system, entry, _drawn(entry), by, at)


def _drawn(entry: Entry) -> dict[str, Redrawn]:
    """Return the photos of an entry, drawn. Raises Invalid naming the photo's field."""
    found = {}
    for code, data in entry.photos.items():
        name = f"{code}{PHOTO}"
        if code not in entry.figures:
            raise _refuse(name, None, _("write down the figure that this photo shows"))
        try:
            found[code] = photo_redraw(data, CLIENT_PIXELS)
        except Invalid as error:
            why = str(error.errors[0]["message"]).removeprefix("photo: ")
            raise _refuse(name, None, why) from None
    return found


@transaction.atomic
def _log(
    system: System, entry: Entry, drawn: Mapping[str, Redrawn], by: Actor, at: dt.datetime
) -> list[Reading]:
    # two taps at once: the second waits for the first
    System.objects.select_for_update().get(pk=system.pk)
    loops = list(Loop.objects.filter(system=system).values_list("pk", flat=True))
    if _is_stored(entry):
        return list(Reading.objects.filter(pk__in=_keys(entry).values()))
    _check(system, loops, entry, at)
    readings = _readings(system, entry, by, at)
    on = timezone.localdate(entry.taken_at)
    if entry.dead:
        batch, count = _batch(loops, entry.dead, on, timezone.localdate(at))
        note = _("written down by the client")
        key = uuid5(entry.key, "dead")
        deaths_add(batch=batch, on=on, count=count, note=note, by=by, at=at, pk=key)
    if entry.taken:
        _take(loops, entry, on, by, at)
    if entry.picked:
        planting, heads, mass = _planting(loops, entry.picked, on)
        key = uuid5(entry.key, "picked")
        row = Picking(pk=key, planting=planting, on=on, heads=heads, mass_kg=mass)
        picking_add(picking=row, by=by, at=at)
    Reading.objects.bulk_create(readings)
    ReadingPhoto.objects.bulk_create(
        ReadingPhoto(reading_id=_keys(entry)[code], **vars(one.stored()))
        for code, one in drawn.items()
    )
    audit(at=at, by=by, verb="wrote down", kind="system", object_id=system.pk,
          change={"readings": len(readings), "day": on.isoformat()})  # fmt: skip
    standing_refresh([system.pk], at)
    _feed(system, entry, by, at)
    forecast_ask([system.pk], at)
    return readings


def _feed(system: System, entry: Entry, by: Actor, at: dt.datetime) -> None:
    """Note what feed is left, and until when it lasts after what was fed. Raises Invalid naming the field."""
    if entry.feed_left is None:
        if "feed" in entry.figures:
            feed_left_refresh([system.pk], at)
        return
    grams, sure = entry.feed_left
    try:
        feed_count(
            system=system, amount_g=grams, counted_at=entry.taken_at, by=by, at=at, sure=sure,
            pk=uuid5(entry.key, FEED_LEFT),
        )  # fmt: skip
    except Invalid as error:
        (item,) = error.errors
        why = str(item["message"]).partition(": ")[2]
        if item.get("look_again"):
            why = _("%(doubt)s If it is so, tick the box and send it again.") % {"doubt": why}
        raise Invalid([{**item, "pointer": f"/{FEED_LEFT}", "message": why}]) from None


def _keys(entry: Entry) -> dict[str, UUID]:
    return {code: uuid5(entry.key, code) for code in entry.figures}


def _is_stored(entry: Entry) -> bool:
    return (
        Reading.objects.filter(pk__in=_keys(entry).values()).exists()
        or FishHarvest.objects.filter(pk=uuid5(entry.key, "taken")).exists()
        or Deaths.objects.filter(pk=uuid5(entry.key, "dead")).exists()
        or Picking.objects.filter(pk=uuid5(entry.key, "picked")).exists()
        or FeedCount.objects.filter(pk=uuid5(entry.key, FEED_LEFT)).exists()
    )


def _check(system: System, loops: Sequence[UUID], entry: Entry, at: dt.datetime) -> None:
    given = (entry.figures, entry.dead, entry.taken, entry.picked, entry.photos, entry.feed_left)
    if not any(given):
        raise _refuse("__all__", None, _("Write down at least one thing."))
    if entry.taken_at > at + LATEST_FUTURE:
        raise _refuse("day", None, _("this lies in the future"))
    if entry.taken_at < at - LOOK_BACK:
        earliest = day_text(timezone.localdate(at - LOOK_BACK), "year")
        raise _refuse(
            "day", None, _("before %(day)s is too long ago; tell us instead") % {"day": earliest}
        )
    if system.started_on and timezone.localdate(entry.taken_at) < system.started_on:
        began = day_text(system.started_on, "year")
        raise _refuse("day", None, _("the system began on %(day)s") % {"day": began})
    lately = Reading.objects.filter(
        loop_id__in=loops, taken_by=TakenBy.CLIENT, received_at__gt=at - dt.timedelta(days=1)
    ).count()
    counted = FeedCount.objects.filter(
        system=system, counted_by=CountedBy.CLIENT, made_at__gt=at - dt.timedelta(days=1)
    ).count()
    here = len(entry.figures) + (entry.feed_left is not None)
    if lately + counted + here > MOST_A_DAY:
        raise Conflict(
            _("That is more than a day's readings; go on tomorrow, or call us."), "too_many"
        )


def _readings(system: System, entry: Entry, by: Actor, at: dt.datetime) -> list[Reading]:
    keys = _keys(entry)
    rows = {
        keys[code]: {
            "measurand": code, "value": figure.value, "unit": figure.unit, "basis": figure.basis,
            "loop": str(entry.loop or ""), "taken_at": entry.taken_at.isoformat(),
            "as_typed": figure.typed, "checked_twice": figure.sure,
        }
        for code, figure in entry.figures.items()
    }  # fmt: skip
    codes = {str(key): code for code, key in keys.items()}
    try:
        found = readings_build(
            sheet=None, rows=rows, ground=ground_at_home(system, catalogue_current(), at), now=at,
            by=author(by), taken_by=TakenBy.CLIENT,
        )  # fmt: skip
    except Invalid as error:
        raise Invalid([_beside(item, codes) for item in error.errors]) from None
    doubted = [row for row in found if row.doubts and not row.checked_twice]
    if doubted:
        raise Invalid([_doubted(row) for row in doubted])
    return found


def _beside(item: dict[str, Any], codes: Mapping[str, str]) -> dict[str, Any]:
    """Return an error of a reading as one of the field that it was typed in."""
    code = next((codes[part] for part in str(item["pointer"]).split("/") if part in codes), "")
    return {**item, "pointer": f"/{code}"}


def _doubted(row: Reading) -> dict[str, Any]:
    shift = shift_of(row.unit)
    said = " ".join(
        doubt_words(
            d["code"],
            {name: shift.shown(value) if shift and name == "last" else value
             for name, value in d["parameters"].items()},
        )
        for d in row.doubts
    )  # fmt: skip
    words = _("%(doubt)s If it is so, tick the box and send it again.") % {"doubt": said}
    return {
        "pointer": f"/{row.measurand}",
        "value": row.typed,
        "message": words,
        "look_again": True,
    }


def _batch(
    loops: list[UUID], dead: tuple[UUID, int], on: dt.date, today: dt.date
) -> tuple[FishBatch, int]:
    pk, count = dead
    held = next((row for row in fish_now(loops, on) if row.batch.pk == pk), None)
    if held is None:
        raise _refuse("batch", None, _("these fish did not live there on that day"))
    there = fish_least(held.batch, on, today)
    if not there:
        raise _refuse("dead", count, _("no fish are left"))
    if not 1 <= count <= there:
        words = _("a whole number from 1 to %(count)s, as many as there are, is needed")
        raise _refuse("dead", count, words % {"count": there})
    return held.batch, count


def _take(loops: list[UUID], entry: Entry, on: dt.date, by: Actor, at: dt.datetime) -> None:
    """Note fish that were taken out to be eaten. Raises Invalid naming the field."""
    pk, count, mass = entry.taken or (UUID(int=0), 0, None)
    batch = FishBatch.objects.filter(pk=pk, loop_id__in=loops).first()
    if batch is None:
        raise _refuse("batch", None, _("these fish did not live there on that day"))
    row = FishHarvest(pk=uuid5(entry.key, "taken"), batch=batch, on=on, count=count, mass_kg=mass)
    try:
        fish_take(row=row, by=by, at=at)
    except Invalid as error:
        why = str(error.errors[0]["message"]).removeprefix("count: ")
        raise _refuse("taken", count, why) from None


def _planting(
    loops: list[UUID], picked: tuple[UUID, int | None, float | None], on: dt.date
) -> tuple[Planting, int | None, float | None]:
    pk, heads, mass = picked
    row = next((row for row in plantings_now(loops, on) if row.pk == pk), None)
    if row is None:
        raise _refuse("planting", None, _("these plants did not stand there on that day"))
    return row, heads, mass


def _refuse(name: str, value: Any, message: str) -> Invalid:
    text = message[:1].upper() + message[1:]
    return Invalid([{"pointer": f"/{name}", "value": value, "message": text}])
