"""A client is erased: every row and every file goes, and sums of many years stay.

What stands in the way is named with its way out. All rows go in one transaction; the files go
after it by a job of the outbox, which tries until each of them is gone. That job also writes a
keyed mark into a file beside the database, so that a copy set back from before can be told whom to
erase again (`manage.py erase_client --again`), and takes the client's lines out of the record of
who looked.
"""

import datetime as dt
import hashlib
import hmac
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from uuid import UUID, uuid4

from django.conf import settings
from django.db import IntegrityError
from django.db.models import Max, Q
from django.utils import timezone
from django.utils.translation import gettext as _

from apps.accounts.services import audit
from apps.clients.models import Client, PastClients
from apps.core import clock, outbox
from apps.core.dates import day_text
from apps.core.erasing import erasing, rows_erase
from apps.core.exceptions import Conflict, Invalid
from apps.core.models import Job
from apps.core.scoping import Actor
from apps.flows.access_log import clients_forget
from apps.flows.client_data import KINDS, rows_of
from apps.flows.client_rows import Keys, blocks_part, everything_of, files_of
from apps.flows.file_removal import files_remove
from apps.incidents.choices import Stand
from apps.incidents.models import Incident
from apps.proposals.models import Proposal
from apps.reports.choices import Delivery
from apps.reports.models import Letter, Report
from apps.systems.models import System
from apps.visits.choices import State
from apps.visits.models import Phone, Reading, Visit
from apps.visits.services.uploads import uploads_restart

VISITS_TO, READINGS_TO, REPORTS_TO = 5, 50, 5
"""What a client adds to the sums is rounded to these: own choice, against telling who it was."""
YEAR = 365.25
AGAIN = dt.timedelta(minutes=10)


@dataclass(frozen=True)
class Hindrance:
    """Why a client cannot be erased now, and the way out; `page`, `of`: where that is."""

    words: str
    page: str
    of: UUID | None = None


def hindrances(client: Client, at: dt.datetime) -> list[Hindrance]:
    """Return all that stands in the way of erasing a client."""
    return [*_visits(client), *_incidents(client), *_letters(client), *_phones(client, at)]


def _day(at: dt.datetime) -> str:
    return day_text(timezone.localdate(at), "year")


def _visits(client: Client) -> Iterator[Hindrance]:
    rows = Visit.objects.filter(place__client=client, state__in=[State.BOOKED, State.UNDER_WAY])
    for row in rows.order_by("start"):
        yield Hindrance(
            _("A visit is booked or under way, %(day)s: call it off or finish it first.")
            % {"day": _day(row.start)},
            "office:visit", row.pk,
        )  # fmt: skip


def _incidents(client: Client) -> Iterator[Hindrance]:
    rows = Incident.objects.filter(system__place__client=client).exclude(state=Stand.CLOSED)
    for row in rows.order_by("opened_at"):
        yield Hindrance(
            _("A call for help is open, %(day)s: close it first.") % {"day": _day(row.opened_at)},
            "office:incident", row.pk,
        )  # fmt: skip


def _letters(client: Client) -> Iterator[Hindrance]:
    rows = Letter.objects.filter(
        Q(contact__client=client) | Q(visit__place__client=client),
        state__in=[Delivery.SENDING, Delivery.UNSURE],
    )
    for row in rows.order_by("made_at"):
        yield Hindrance(
            _("Of a letter of %(day)s nobody knows whether it went out: wait a moment, or say so on "
              "its page.") % {"day": _day(row.made_at)},
            "office:letter", row.pk,
        )  # fmt: skip


def _phones(client: Client, at: dt.datetime) -> Iterator[Hindrance]:
    """Yield phones that may still hold something of the client's, of those that were there."""
    rows = Phone.objects.filter(
        Q(pending_ops__gt=0) | Q(pending_photos__gt=0),
        cut_off_at__isnull=True,
        user__assignments__visit__place__client=client,
    )
    for row in rows.select_related("user").distinct():
        yield Hindrance(
            _("%(name)s's phone still holds answers or photos: have it send them, or cut it off.")
            % {"name": row.user},
            "office:phone", row.pk,
        )  # fmt: skip


@dataclass(frozen=True)
class Going:
    """What goes with a client: rows by kind in words, files, letters that are not sent any more."""

    kinds: list[tuple[str, int]]
    files: int
    unsent: int


def going(client: Client) -> Going:
    """Return what would go with a client."""
    keys = everything_of(client)
    counts: dict[str, int] = {}
    for model, held in keys.items():
        name = str(KINDS.get(model._meta.app_label, _("jobs of the program")))
        counts[name] = counts.get(name, 0) + len(held)
    waiting = rows_of(Letter, client).filter(state=Delivery.QUEUED).count()
    return Going(sorted(counts.items(), key=lambda row: -row[1]), len(files_of(keys)), waiting)


def name_check(client: Client, name: str) -> None:
    """Raise Invalid where a name is not the client's; neither case nor spaces count."""
    if " ".join(name.split()).casefold() != " ".join(client.name.split()).casefold():
        message = "name: " + _("this is not the name of the client; write it as it stands above")
        raise Invalid([{"pointer": "/name", "value": name, "message": message}])


def client_erase(*, client: Client, name: str, by: Actor, at: dt.datetime) -> int:
    """Erase a client; return how many rows went.

    `name`: theirs, as whoever asks for it typed it. Raises Invalid where it is another, and
    Conflict naming what stands in the way.
    """
    name_check(client, name)
    try:
        with erasing():
            return _erase(client, by, at)
    except IntegrityError:
        # somebody wrote something of theirs while all of it was gathered
        raise Conflict(
            _("Something new of this client came in just now. Nothing was erased; try again."),
            "busy",
        ) from None


def _erase(client: Client, by: Actor, at: dt.datetime) -> int:
    # who would change something of these waits until all of it is decided
    if not list(Client.objects.select_for_update().filter(pk=client.pk).values_list("pk")):
        # somebody else was quicker: nothing is counted twice
        raise Conflict(_("Somebody else has erased this client just now."), "gone")
    list(rows_of(Letter, client).select_for_update(of=("self",)).values_list("pk"))
    for found in hindrances(client, at):
        raise Conflict(found.words, "state")
    keys = everything_of(client)
    _jobs_settle(keys)
    names = sorted(files_of(keys))
    blocks_part(keys)
    _count_in(client, at)
    gone = sum(rows_erase(model, held) for model, held in keys.items())
    audit(at=at, by=by, verb="erased", kind="client", object_id="", change={"rows": gone})
    outbox.enqueue(
        "erasing.finish", f"erased:{uuid4()}",
        {"names": names, "mark": mark_of(client.pk), "on": at.date().isoformat()},
        at=at,
    )  # fmt: skip
    return gone


def _jobs_settle(keys: Keys) -> None:
    """Leave a job that waits for others, too, with the others alone. Raises Conflict for a busy one."""
    ids = {str(pk) for held in keys.values() for pk in held if isinstance(pk, UUID)}
    open_ones = Job.objects.select_for_update().filter(
        pk__in=keys.get(Job, set()), state__in=[Job.State.NEW, Job.State.BUSY]
    )
    for job in open_ones:
        left = _without(job.args, ids)
        if left is not None:
            Job.objects.filter(pk=job.pk).update(args=left)
            keys[Job].discard(job.pk)
        elif job.state == Job.State.BUSY:
            raise Conflict(
                _("Something is being made for this client right now. Try again in a minute."),
                "busy",
            )


def _without(args: Mapping[str, Any], ids: set[str]) -> dict[str, Any] | None:
    """Return a job's arguments without some ids; None where nothing of it would be left to do."""
    left = {
        name: [item for item in value if item not in ids] if isinstance(value, list) else value
        for name, value in args.items()
    }
    lists = [value for value in left.values() if isinstance(value, list)]
    shared = any(lists) and not any(value in ids for value in left.values() if not isinstance(value, list))  # fmt: skip
    return left if shared else None


def _count_in(client: Client, at: dt.datetime) -> None:
    """Add a client to the sums of the year."""
    PastClients.objects.get_or_create(year=at.year)
    row = PastClients.objects.select_for_update().get(year=at.year)
    visits = Visit.objects.filter(place__client=client, started_at__isnull=False)
    began = client.since or _first_day(client)
    row.clients += 1
    row.years += round((at.date() - began).days / YEAR) if began else 0
    row.visits += _rounded(visits.count(), VISITS_TO)
    row.readings += _rounded(rows_of(Reading, client).count(), READINGS_TO)
    row.reports += _rounded(rows_of(Report, client).count(), REPORTS_TO)
    for kind in System.objects.filter(place__client=client).values_list("kind", flat=True):
        row.systems[kind] = row.systems.get(kind, 0) + 1
    row.last_report = max(row.last_report, _highest(Report, client))
    row.last_proposal = max(row.last_proposal, _highest(Proposal, client))
    row.save()


def _first_day(client: Client) -> dt.date | None:
    first = System.objects.filter(place__client=client).order_by("started_on").first()
    return first.started_on if first else None


def _rounded(count: int, to: int) -> int:
    return to * int(count / to + 0.5)


def _highest(model: Any, client: Client) -> int:
    return rows_of(model, client).aggregate(most=Max("number"))["most"] or 0


def mark_of(pk: UUID, key: str = "") -> str:
    """Return the keyed hash by which an erased client is known again, and by nothing else."""
    secret = key or settings.SECRET_KEY
    return hmac.new(secret.encode(), f"erased client {pk}".encode(), hashlib.sha256).hexdigest()


def list_path() -> Path:
    """Return the file of marks, which lies beside the database, not in it."""
    return Path(settings.BACKYARD_DIR) / "erased.txt"


def finish(*, names: list[str], mark: str, on: str, at: dt.datetime) -> None:
    """Note the mark of an erased client, take their files and looks away. Raises Transient until done."""
    try:
        _note(mark, on)
        files_remove(names)
        clients_forget(lambda pk: mark_of(pk) == mark)
        uploads_restart()
    except OSError as error:
        raise outbox.Transient(f"{type(error).__name__}: {error.strerror}", patient=True) from error


def _note(mark: str, on: str) -> None:
    path = list_path()
    held = path.read_text(encoding="utf-8").splitlines() if path.exists() else []
    if not any(line.endswith(mark) for line in held):
        path.parent.mkdir(parents=True, exist_ok=True)
        with path.open("a", encoding="utf-8") as file:
            file.write(f"{on} {mark}\n")


def erased_before() -> list[Client]:
    """Return clients who are on the list of the erased and are here again: a copy was set back."""
    path = list_path()
    lines = path.read_text(encoding="utf-8").splitlines() if path.exists() else []
    marks = {line.split()[-1] for line in lines if line.strip()}
    secrets = [settings.SECRET_KEY, *settings.SECRET_KEY_FALLBACKS]
    return [
        client
        for client in Client.objects.order_by("pk")
        if marks & {mark_of(client.pk, key) for key in secrets}
    ]


def files_waiting() -> int:
    """Return how many jobs that remove files have tried longer than it takes."""
    edge = clock.now() - AGAIN
    return Job.objects.filter(
        kind__in=["erasing.finish", "files.remove"], made_at__lt=edge, state__in=[Job.State.NEW, Job.State.BUSY, Job.State.DEAD],
    ).count()  # fmt: skip
