"""What phones cost: one operation against a bare insert of the same rows, and the day they ask for.

The bare view parses the same body and, in one transaction, inserts the same operations and values
and raises the visit's revision; it asks nobody who they are and checks nothing. The day is that of
a technician with 30 visits, each to a system with three months of readings and open advice.
"""

import datetime as dt
import gzip
import json
from typing import Any
from uuid import uuid4

from django.db import connection, transaction
from django.db.models import F
from django.http import HttpRequest, JsonResponse
from django.test import Client as Browser
from django.test import override_settings
from django.test.utils import CaptureQueriesContext
from django.urls import include, path
from django.views.decorators.csrf import csrf_exempt

from apps.accounts.services import token_issue
from apps.flows import visit_booking, visit_closing
from apps.visits.models import Operation, Reading, Value, Visit
from benchmarks.measure import Claim, paired
from benchmarks.submitting import undone
from benchmarks.world import World
from tests import factories

VISITS, MOST_KB = 30, 150.0
HISTORY = {"temp": 25.1, "ph": 6.8, "alk": 62, "do": 6.2, "tan": 0.3, "no2": 0.1, "no3": 38,
           "ec": 0.9}  # fmt: skip


@csrf_exempt
def bare_view(request: HttpRequest) -> JsonResponse:
    """Write what the endpoint writes. Anybody: it exists while this benchmark runs."""
    body = json.loads(request.body)
    with transaction.atomic():
        Operation.objects.bulk_create(
            Operation(
                pk=op["id"], visit_id=op["visit"], sheet_id=op["sheet"], path=op["path"],
                value=op["value"], base_rev=op["base_rev"], device=body["device"], seq=op["seq"],
                at=factories.NOW, received_at=factories.NOW, by="bench", outcome="applied",
            )
            for op in body["ops"]
        )  # fmt: skip
        Value.objects.bulk_create(
            Value(visit_id=op["visit"], sheet_id=op["sheet"], path=op["path"], value=op["value"],
                  op_id=op["id"])
            for op in body["ops"]
        )  # fmt: skip
        Visit.objects.filter(pk=body["ops"][0]["visit"]).update(rev=F("rev") + 1)
    return JsonResponse({"results": [{"id": op["id"]} for op in body["ops"]]})


bare_view.login_required = False  # type: ignore[attr-defined]
urlpatterns = [path("bare", bare_view), path("", include("backyard.urls"))]


def operations(visit: Visit, count: int) -> str:
    """Return a body of so many notes on findings."""
    sheet = visit.sheets.get()
    rows = [
        {
            "id": str(uuid4()), "seq": n + 1, "visit": str(visit.pk), "sheet": str(sheet.pk),
            "path": f"findings/{uuid4()}/text", "value": f"Seen at the north end, {n}.",
            "base_rev": 0, "at": factories.NOW.isoformat(),
        }
        for n in range(count)
    ]  # fmt: skip
    return json.dumps({"device": str(uuid4()), "ops": rows})


def sending(world: World, browser: Browser, count: int) -> Claim:
    """Return the claim for a batch of so many operations."""
    visit = world.visit()
    visit_booking.step(visit=visit, to="under_way", by=world.actor, at=factories.NOW)
    text = operations(visit, count)

    def send(address: str) -> None:
        answer = browser.post(address, text, content_type="application/json")
        assert answer.status_code == 200, answer.content

    return paired(
        f"{count} operations of a phone", lambda: undone(lambda: send("/api/v1/field/operations")),
        lambda: undone(lambda: send("/bare")), rounds=21, limit=None,
        against="a bare view with the same rows",
    )  # fmt: skip


def day_of_thirty(world: World) -> None:
    """Give the technician 30 visits on one day, each to a system of its own with a past."""
    start = (factories.NOW + dt.timedelta(days=1)).replace(hour=0, minute=30)
    # who was there before is somebody else: those visits are on another round
    ana, world.ana = world.ana, factories.user("marek")
    for number in range(VISITS):
        built = world.built if not number else factories.system(
            factories.place(factories.client(f"Bench{number}")), f"System {number}"
        )  # fmt: skip
        world.built = built
        visit = world.visit()
        visit_closing.submit(
            visit=visit, body=world.body(visit), key=str(uuid4()), by=world.actor, at=factories.NOW
        )
        past(built)
        begins = start + dt.timedelta(minutes=40 * number)
        coming = visit_booking.pencil(
            place=built.system.place, systems=[built.system], start=begins,
            end=begins + dt.timedelta(minutes=20), technicians=[ana], by=world.actor,
            at=factories.NOW,
        )  # fmt: skip
        visit_booking.step(visit=coming, to="booked", by=world.actor, at=factories.NOW)
    world.ana = ana


def past(built: factories.Built) -> None:
    """Give a system twelve weekly sets of readings."""
    Reading.objects.bulk_create(
        Reading(
            loop=built.loop, measurand=code, value=value * (1 + week / 100), word="in_band",
            typed=str(value), taken_at=factories.NOW - dt.timedelta(days=7 * week + 2),
            received_at=factories.NOW, by="technician:bench",
        )
        for week in range(12)
        for code, value in HISTORY.items()
    )  # fmt: skip


def day(world: World, browser: Browser) -> Claim:
    """Return the claim for the day. Raises AssertionError where it is larger than it may be."""
    day_of_thirty(world)

    def ask() -> Any:
        return browser.get("/api/v1/field/day")

    with CaptureQueriesContext(connection) as asked:
        body = ask().content
    visits = json.loads(body)["visits"]
    assert len(visits) >= VISITS, len(visits)
    size = len(gzip.compress(body, 6)) / 1000
    assert size < MOST_KB, f"the day of {len(visits)} visits has {size:.0f} kB gzipped"
    found = json.loads(body)
    return paired(
        f"day of {len(visits)} visits, {size:.0f} kB gzipped, {len(asked)} queries", ask,
        lambda: gzip.compress(json.dumps(found).encode(), 6), rounds=5, limit=None,
        against="packing the same body",
    )  # fmt: skip


@override_settings(ROOT_URLCONF=__name__)
def run() -> list[Claim]:
    """Return the claims."""
    world = World()
    token = token_issue(user=world.ana, name="bench phone", at=factories.NOW)
    browser = Browser(headers={"Authorization": f"Bearer {token}"})
    claims = [sending(world, browser, 1), sending(world, browser, 100)]
    return [*claims, day(world, browser)]
