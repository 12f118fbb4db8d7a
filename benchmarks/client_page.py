"""The client's page against a bare Django view that answers with the same bytes.

The bare view hangs in the same URL tree behind the same middleware and is called by the same test
client: it asks no database, and draws nothing. The page is that of a household with a released
report, an appointment, and a week of what they wrote down at home; and the form on which they write.
Beside the times: what the page weighs, alone and as a proxy packs it, and how many statements it
asks of the database.
"""

import datetime as dt
import gzip
from collections.abc import Callable
from typing import Any
from uuid import uuid4

from django.db import connection
from django.http import HttpRequest, HttpResponse
from django.test import Client as Browser
from django.test import override_settings
from django.test.utils import CaptureQueriesContext
from django.urls import include, path, reverse

from apps.accounts.services import link_issue
from apps.core.scoping import Actor
from apps.flows import releasing, visit_closing
from apps.flows.home_log import Entry, Figure, log_at_home
from apps.reports.services.reports import version_make
from benchmarks.measure import Claim, Told, paired
from benchmarks.world import World
from tests import factories

# statements and kilobytes of a page of one system; what is over is far over
MOST_STATEMENTS = {"page": 24, "log": 13}
MOST_KB = {"page": 24.0, "log": 14.0}
DAYS = 7
BARE = "bare-client-page"
held: dict[str, bytes] = {}


def _bare(_request: HttpRequest, name: str) -> HttpResponse:
    return HttpResponse(held[name])


urlpatterns = [path(f"{BARE}/<str:name>", _bare), path("", include("backyard.urls"))]


def _household() -> tuple[str, Any]:
    """Return the secret of a client's page with something on it, and their system."""
    world = World()
    visit = world.visit()
    visit_closing.submit(
        visit=visit, body=world.body(visit), key=str(uuid4()), by=world.actor, at=factories.NOW
    )
    visit.refresh_from_db()
    sheet = visit.sheets.select_related("system__place__client").get()
    sheet.visit = visit
    version_make(sheet, at=factories.NOW)
    releasing.release(visit=visit, by=world.actor, at=factories.NOW)
    system = world.built.system
    client = Actor(role="client", at=factories.NOW, client_id=system.place.client_id)
    for day in range(1, DAYS + 1):
        figures = {"ph": Figure(6.8, "6.8", ""), "temp": Figure(24.0 + day / 10, "24", "°C")}
        log_at_home(
            system=system, by=client, at=factories.NOW,
            entry=Entry(uuid4(), factories.NOW - dt.timedelta(days=day), figures),
        )  # fmt: skip
    world.visit()
    secret = link_issue(client_id=client.client_id, purpose="page", at=factories.NOW)  # type: ignore[arg-type]
    return secret, system


def run() -> list[Claim | Told]:
    """Return the claims."""
    secret, system = _household()
    found: list[Claim | Told] = []
    with override_settings(ROOT_URLCONF=__name__):
        for name, args in (("page", [secret]), ("log", [secret, system.pk])):
            found += _claims(name, reverse(f"portal:{name}", args=args))
    return found


def _claims(name: str, address: str) -> list[Claim | Told]:
    browser = Browser()
    # a letter's link leads to the page, whose session the browser holds from then on
    address = browser.get(address)["Location"]
    with CaptureQueriesContext(connection) as asked:
        answer = browser.get(address)
    assert answer.status_code == 200
    held[name] = answer.content
    kb, packed = len(answer.content) / 1000, len(gzip.compress(answer.content, 6)) / 1000
    over = len(asked) > MOST_STATEMENTS[name] or kb > MOST_KB[name]
    call: Callable[[], object] = lambda: browser.get(address)  # noqa: E731
    return [
        Told(
            f"client's {name}: {len(asked)} statements (at most {MOST_STATEMENTS[name]}), "
            f"{kb:.1f} kB (at most {MOST_KB[name]:g}), {packed:.1f} kB packed", over,
        ),
        paired(f"client's {name}", call, lambda: browser.get(f"/{BARE}/{name}"), rounds=9, inner=5,
               against="the bare view"),
    ]  # fmt: skip
