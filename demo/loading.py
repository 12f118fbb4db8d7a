"""Loads the demo firm into an empty database, and remembers the logins that it made."""

import contextlib
import datetime as dt
import gc
import json
import os
import secrets
import time
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Any

from django.db import models, transaction
from django.utils import timezone

from apps.accounts.models import Firm, User
from apps.accounts.services import audit, token_issue
from apps.catalogue.selectors import catalogue_current
from apps.catalogue.services import catalogue_load
from apps.core import clock, outbox
from apps.core.scoping import system as system_actor
from apps.flows.ahead import night_ask
from demo.beginnings import begin
from demo.firm.crews import crews
from demo.firm.keys import key
from demo.firm.people import FIRM, STAFF
from demo.firm.rows import normals
from demo.firm.year import Year, year_of

Say = Callable[[str], None]
# the main job goes first
FORECASTS_AFTER = dt.timedelta(seconds=30)
VISIT_DAYS_AFTER = dt.timedelta(minutes=1)
WORDS = ("reed", "roach", "weir", "tarn", "heron", "sedge", "mill", "ferry", "kiln", "lantern")


def load_if_empty(folder: Path, say: Say) -> dict[str, Any]:
    """Load the firm unless there is one, with what it has begun, and return {"users": [...]} with password and token.

    Logins stand in <folder>/logins.json, readable by its owner only; where that file is lost,
    new passwords and tokens are made.
    """
    if not Firm.objects.exists():
        began = time.monotonic()
        counts = load(clock.today())
        begin(clock.now())
        say(f"loaded:    {FIRM['name']}, {counts} rows in {time.monotonic() - began:.0f} s")
    return _logins(folder)


@contextlib.contextmanager
def without_collector() -> Iterator[None]:
    """Tens of thousands of rows stay in memory at once: looking through them for rubbish is in vain."""
    gc.disable()
    try:
        yield
    finally:
        gc.enable()


@without_collector()
@transaction.atomic
def load(today: dt.date) -> int:
    """Load catalogue, firm and a year of work as of a day; return how many rows there are.

    All or nothing: a load that is broken off leaves an empty database.
    """
    catalogue_load()
    Firm.objects.create(id=1, time_zone=str(timezone.get_current_timezone()), **FIRM)
    people = staff(today)
    User.objects.bulk_create(people.values())
    # midnight: whatever the hour of the load, the same day gives the same rows
    at = dt.datetime.combine(today, dt.time(0), timezone.get_current_timezone())
    year = year_of(today, at, people, catalogue_current())
    count = _insert(crews(people)) + _insert(normals()) + _insert(year.first) + year.after(at)
    audit(at=at, by=system_actor("demo", at), verb="loaded", kind="demo", object_id=today)
    _wake(year)
    return count


def staff(today: dt.date) -> dict[str, User]:
    """Return the unsaved members of the staff by name; nobody can sign in yet."""
    joined = dt.datetime.combine(today - dt.timedelta(days=900), dt.time(8), dt.UTC)
    people = {}
    for name, role, first, last, phone, area in STAFF:
        people[name] = User(
            pk=key("user", name), username=name, role=role, first_name=first, last_name=last,
            email=f"{name}@reedandroach.example", phone=phone, area=area, date_joined=joined,
        )  # fmt: skip
        people[name].set_unusable_password()
    return people


def _insert(groups: Iterable[list[models.Model]]) -> int:
    count = 0
    for rows in groups:
        if rows:
            type(rows[0])._default_manager.bulk_create(rows, batch_size=400)
            count += len(rows)
    return count


def _wake(year: Year) -> None:
    """Have the reports drawn that wait for the office; forecasts and visit days once that is done."""
    now = clock.now()
    night_ask(now.date(), now, now + FORECASTS_AFTER)
    outbox.enqueue(
        "care.visit_days_all", f"care.visit_days_all:{now.date().isoformat()}", {}, at=now,
        run_at=now + VISIT_DAYS_AFTER,
    )  # fmt: skip
    for visit in year.waiting:
        outbox.enqueue(
            "reports.render", f"render:{visit.pk}:{visit.rev}", {"visit_id": str(visit.pk)}, at=now
        )


def _logins(folder: Path) -> dict[str, Any]:
    path = folder / "logins.json"
    users = {user.username: user for user in User.objects.order_by("username")}
    if path.exists():
        kept: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
        if all(row["username"] in users for row in kept["users"]):
            return kept
    rows = []
    for name, role, *_more in STAFF:
        user = users[name]
        password = "-".join([*(secrets.choice(WORDS) for _ in range(3)), secrets.token_hex(3)])
        user.set_password(password)
        user.save(update_fields=["password"])
        rows.append(
            {
                "id": str(user.pk), "role": role, "username": name, "password": password,
                "token": token_issue(user=user, name="demo", at=clock.now()),
            }
        )  # fmt: skip
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
    with os.fdopen(handle, "w", encoding="utf-8") as file:
        json.dump({"users": rows}, file, indent=2)
    return {"users": rows}
