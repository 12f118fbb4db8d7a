"""What a client's page shows: only what was released to that client."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.db.models.functions import Coalesce
from django.utils.translation import gettext as _

from apps.core.numbers import run
from apps.core.scoping import Actor
from apps.incidents.models import WeatherAsk
from apps.incidents.selectors import asks_open
from apps.reports.choices import ReportKind
from apps.reports.models import ReportVersion
from apps.reports.rendering import wording
from apps.visits.choices import WORST_FIRST, Answer, State
from apps.visits.models import Photo, Visit
from apps.visits.shown import Shown

LINES, PHOTOS = 4, 6


@dataclass(frozen=True)
class PhotoShown:
    """A photo out of a report; `on`: the day on which it was taken."""

    pk: UUID
    caption: str
    on: dt.date


@dataclass(frozen=True)
class SystemPart:
    """One system on the page: its last report in words."""

    version: ReportVersion
    name: str
    address: str
    seen: str
    verdict: str
    why: list[str]
    actions: list[wording.Action]
    eat: list[tuple[str, bool]]
    readings: list[Shown]
    more: list[Shown]
    night: list[str]
    photos: list[PhotoShown]


def versions_for(actor: Actor) -> list[ReportVersion]:
    """Return the released versions of a client's reports, newest first: two queries."""
    return list(
        ReportVersion.objects.visible_to(actor)
        .select_related("report__system__place__client", "report__visit", "release")
        .annotate(of=Coalesce("report__visit__finished_at", "report__made_at"))
        .order_by("-of", "-report__number", "-number")
    )


def newest_versions(actor: Actor) -> dict[UUID, ReportVersion]:
    """Return each system's newest released report of a visit: two queries."""
    found: dict[UUID, ReportVersion] = {}
    for version in versions_for(actor):
        if version.report.kind != ReportKind.SUMMARY:
            found.setdefault(version.report.system_id, version)
    return found


def latest_parts(versions: list[ReportVersion], now: dt.datetime) -> list[SystemPart]:
    """Return each system's newest released report in the reader's language, without what is over."""
    seen: set[Any] = set()
    parts = []
    for version in versions:
        if version.report.system_id in seen or version.report.kind == ReportKind.SUMMARY:
            continue
        seen.add(version.report.system_id)
        parts.append(_part(version, now))
    return sorted(parts, key=lambda part: part.name)


def _part(version: ReportVersion, now: dt.datetime) -> SystemPart:
    snapshot: Mapping[str, Any] = version.snapshot
    reader = wording.Reader(snapshot)
    readings = sorted(
        (item for item in reader.readings() if item.judged),
        key=lambda item: WORST_FIRST.index(item.word) if item.word in WORST_FIRST else 9,
    )
    started = snapshot["visit"]["started"]
    return SystemPart(
        version=version,
        name=snapshot["system"]["name"],
        address=snapshot["place"]["address"],
        seen=_("%(people)s · %(day)s, %(time)s")
        % {
            "people": ", ".join(run(name) for name in snapshot["visit"]["technicians"]),
            "day": reader.day(started),
            "time": reader.clock(started),
        },
        verdict=wording.verdict(reader),
        why=wording.why(reader),
        actions=wording.actions(reader, now),
        eat=wording.eat_lines(reader),
        readings=readings[:LINES],
        more=readings[LINES:],
        night=wording.night_lines(reader),
        photos=photos_allowed(version)[:PHOTOS],
    )


def photos_allowed(version: ReportVersion) -> list[PhotoShown]:
    """Return the photos of a report that its client's page may show now, whatever it once did."""
    allowed = version.report.system.place.client.shows_photos
    return photos_of(version.snapshot) if allowed else []


def photos_of(snapshot: Mapping[str, Any]) -> list[PhotoShown]:
    """Return the photos that a report shows, those of findings first, each once."""
    rows = [(row, _finding_words(found)) for found in snapshot["findings"]
            for row in found.get("photos", [])]  # fmt: skip
    rows += [(row[side], "") for row in snapshot.get("pairs", []) for side in ("after", "before")]
    rows += [(row, "") for row in snapshot.get("photos", [])]
    shown: dict[str, PhotoShown] = {}
    for row, words in rows:
        if row.get("id") and row.get("on"):
            said = row.get("caption") or words
            shown.setdefault(
                row["id"], PhotoShown(UUID(row["id"]), said, dt.date.fromisoformat(row["on"]))
            )
    return list(shown.values())


def _finding_words(found: Mapping[str, Any]) -> str:
    return str(found.get("text") or (_(found["name"]) if found.get("name") else ""))


def photo_shown(actor: Actor, pk: UUID) -> Photo | None:
    """Return a photo that a client was shown: one in the newest released version of a report."""
    newest: dict[UUID, ReportVersion] = {}
    for version in versions_for(actor):
        newest.setdefault(version.report_id, version)
    if not any(row.pk == pk for version in newest.values() for row in photos_allowed(version)):
        return None
    found: Photo | None = Photo.objects.visible_to(actor).filter(pk=pk).first()
    return found


def appointments(actor: Actor, at: dt.datetime) -> list[Visit]:
    """Return a client's visits to come that were booked, soonest first."""
    return list(
        Visit.objects.visible_to(actor)
        .filter(state=State.BOOKED, end__gt=at)
        .select_related("place")
        .prefetch_related("sheets__system", "assignments__user", "incidents")
        .order_by("start")
    )


def called_for_help(visit: Visit) -> str:
    """Return for a visit that a call for help sent, and whose time nobody was asked about, that
    somebody comes; empty for any other."""
    if visit.client_answer != Answer.CONFIRMED or not visit.incidents.all():
        return ""
    return _("You have called for help: somebody comes to you.")


def weather_asked(actor: Actor, contact_id: UUID | None) -> list[WeatherAsk]:
    """Return the lists of weather that a contact may still answer, newest first: two queries."""
    rows = asks_open(actor)
    return list(rows.filter(contact_id=contact_id) if contact_id else rows)
