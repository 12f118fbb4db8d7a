"""Every address, every role, own and others' rows: what is answered and what changes.

A canary word stands in each row of both households. Whoever may not see a household must not
find its word in any answer, and must not change any of its rows.
"""

import json
import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import pytest
from django.conf import settings
from django.db import connection, transaction
from django.http import HttpResponse
from django.test import Client as Browser
from django.urls import URLPattern, URLResolver, get_resolver, reverse

from apps.core import clock
from tests import factories
from tests.reader import number_of
from tests.trust.policy import POLICIES, WORDS, Policy
from tests.trust.world import Canaries, House, build, rows_of_everything

pytestmark = pytest.mark.matrix
SAFE = ("GET", "HEAD")
# pages whose address names no row: what they write is always one's own
OF_ONESELF = {"accounts:sessions", "accounts:calendars", "api:calendars"}
METHODS = ("GET", "POST", "PUT", "PATCH", "DELETE")


def addresses(resolver: URLResolver | None = None, space: str = "") -> Iterator[tuple[str, Any]]:
    """Walk the URL tree: (name, callback)."""
    for item in (resolver or get_resolver()).url_patterns:
        if isinstance(item, URLResolver):
            inner = f"{space}{item.namespace}:" if item.namespace else space
            yield from addresses(item, inner)
        elif isinstance(item, URLPattern):
            assert item.name, f"{item.pattern} has no name"
            yield f"{space}{item.name}", item.callback


def test_every_address_has_its_row() -> None:
    found = {name for name, _view in addresses()}
    assert found - set(POLICIES) == set(), "addresses without a policy"
    assert set(POLICIES) - found == set(), "policies without an address"


def test_only_a_short_list_is_open_to_anyone() -> None:
    open_to_all = {name for name, row in POLICIES.items() if "anyone" in row.who}
    assert open_to_all == {
        "livez", "readyz", "accounts:login", "api:phone_session",
        # the phone's page: the same for everybody
        "field:app", "field:worker", "field:manifest", "field:module",
    }  # fmt: skip


# shown as they are, in a sandbox without scripts and without anything from elsewhere
MAILS = frozenset({"office:letter_mail"})


@dataclass
class Case:
    """One request."""

    name: str
    method: str
    actor: str
    whose: str

    def __str__(self) -> str:
        return f"{self.method} {self.name} as {self.actor} ({self.whose})"


def part(kind: str, house: House, world: Canaries) -> str:
    """Return what stands for a part of an address or a body."""
    if kind == "secret":
        return number_of(house.link)
    if kind == "feed_secret":
        return house.calendar
    if kind == "system":
        return str(house.built.system.pk)
    if kind == "loop":
        return str(house.built.loop.pk)
    if kind == "visit":
        return str(house.visit.pk)
    if kind in ("key", "fresh"):
        return "00000000-0000-4000-8000-000000000001"
    if kind == "ana":
        return str(world.ana.pk)
    if kind in house.rows:
        return str(house.rows[kind].pk)
    return kind


def body_of(policy: Policy, house: House, world: Canaries) -> dict[str, Any]:
    """Return the body that a write is tried with."""
    body: dict[str, Any] = {}
    for key, kind in policy.body.items():
        if kind.startswith("["):
            body[key] = [part(kind[1:-1], house, world)]
        else:
            body[key] = part(kind, house, world)
    return body


def ask(case: Case, world: Canaries) -> HttpResponse:
    """Send the request of a case."""
    policy = POLICIES[case.name]
    house = world.first if case.whose == "own" else world.second
    kwargs = {name: part(kind, house, world) for name, kind in policy.objects.items()}
    browser = Browser(raise_request_exception=False)
    if "secret" in kwargs:
        # the first household's link; with the second one's rows where the case says so
        kwargs["secret"] = part(policy.objects["secret"], world.first, world)
        if case.actor == "link":
            browser.get(reverse("portal:page", kwargs={"secret": world.first.link}))
    path = reverse(case.name, kwargs=kwargs)
    headers: dict[str, str] = {"If-Match": '"x"'}
    is_api = case.name.startswith("api:")
    if case.actor in world.tokens:
        if is_api:
            headers["Authorization"] = f"Bearer {world.tokens[case.actor]}"
        else:
            browser.cookies[settings.SESSION_COOKIE_NAME] = world.sessions[case.actor]
    body = body_of(policy, house, world) if case.method not in SAFE else {}
    if is_api:
        return browser.generic(
            case.method, path, json.dumps(body) if case.method not in SAFE else "",
            content_type="application/json", headers={**headers, "Idempotency-Key": "k" * 20},
        )  # fmt: skip
    if case.method in SAFE:
        return browser.generic(case.method, path)
    return browser.post(path, body) if case.method == "POST" else browser.generic(case.method, path)


def roles_of(actor: str) -> str:
    """Return the role of an actor of the cases."""
    return "technician" if actor == "ana" else actor


def writes() -> float:
    """How many rows were written so far, those among them that were taken back or fell to a trigger.

    Only SQLite counts; elsewhere no two counts are the same, so that all rows are looked at.
    """
    if connection.vendor != "sqlite":
        return math.nan
    return float(connection.connection.total_changes)


def faults(
    case: Case, answer: HttpResponse, world: Canaries, before: Any, written: float
) -> list[str]:
    """Return what is wrong with an answer; `written`: the count of writes before it was asked for."""
    policy = POLICIES[case.name]
    role, found = roles_of(case.actor), []
    status = answer.status_code
    text = (b"".join(answer.streaming_content) if answer.streaming else answer.content).decode(
        errors="replace"
    )
    allowed = policy.writes if policy.writes is not None and case.method not in SAFE else policy.who
    may = role in allowed or "anyone" in allowed or (role == "link" and "link" in allowed)
    if status >= 500:
        found.append(f"answered {status}")
    if case.method not in policy.methods and status not in (405, 401, 403, 404, 302):
        found.append(f"takes {case.method}: answered {status}")
    if role != "office" and world.second.canary.lower() in text.lower():
        found.append("shows the other household")
    stranger = role == "number" or (role == "anonymous" and "link" not in policy.who)
    if stranger and world.first.canary.lower() in text.lower():
        found.append("shows a household to a stranger")
    if not may and case.method in policy.methods and status not in (302, 401, 403, 404):
        found.append(f"is not for {role}: answered {status}")
    names_row = any(kind not in WORDS for kind in policy.objects.values())
    foreign = may and case.whose == "other" and role in ("technician", "link") and names_row
    if foreign and case.method in policy.methods and status != 404:
        found.append(f"other's row: answered {status}, not 404")
    if case.method in SAFE or not may or (case.whose == "other" and role != "office"):
        # to read every row of every table takes ten times as long as the answer
        now = before if writes() == written else rows_of_everything()
        changed = [t for t, rows in now.items() if rows != before[t]]
        # that it was read is noted beside a calendar, and nothing else
        if case.name == "calendar":
            changed = [name for name in changed if name != "accounts.CalendarFeed"]
        if changed and case.name not in OF_ONESELF:
            found.append(f"changed {changed}")
    kind = answer.headers.get("Content-Type", "")
    if case.name.startswith("api:") and status >= 400 and kind != "application/problem+json":
        found.append(f"error as {kind}")
    if status == 200 and "html" in answer.headers.get("Content-Type", ""):
        found += page_faults(answer, text, kept=policy.kept, mail=case.name in MAILS)
    return found


def page_faults(answer: HttpResponse, text: str, *, kept: bool, mail: bool = False) -> list[str]:
    """Return what is wrong with a page's headers and markup; a mail's own styles stand in it."""
    found = []
    if not kept and "no-store" not in answer.headers.get("Cache-Control", ""):
        found.append("may be cached")
    if "default-src 'none'" not in answer.headers.get("Content-Security-Policy", ""):
        found.append("has no strict content policy")
    if mail and "sandbox" not in answer.headers.get("Content-Security-Policy", ""):
        found.append("is a mail and not closed off")
    if re.search(rf"<[^>]+\s({'' if mail else 'style|'}on[a-z]+)=", text):
        found.append("holds inline style or script")
    return found


def cases() -> Iterator[Case]:
    """Every address x method x actor x own or other's rows."""
    for name, policy in POLICIES.items():
        for method in METHODS:
            taken = method in policy.methods
            if not taken and method in ("PUT", "PATCH"):
                continue
            for actor in ("office", "ana", "anonymous", "link", "number"):
                # what an address does not take, one actor tries
                if not taken and actor in ("ana", "anonymous"):
                    continue
                # who pressed a link is its holder, signed in or not; its number alone is nobody's
                if (actor in ("link", "number")) != ("secret" in policy.objects):
                    continue
                if actor == "number" and policy.objects["secret"] != "secret":
                    continue
                for whose in ("own", "other"):
                    if (
                        actor in ("link", "number")
                        and whose == "other"
                        and len(policy.objects) == 1
                    ):
                        continue
                    yield Case(name, method, actor, whose)


def run_all(world: Canaries, only: Any = None) -> list[str]:
    """Return every fault of every case; each case is rolled back."""
    before = rows_of_everything()
    found = []
    for case in cases():
        if only is not None and not only(case):
            continue
        with transaction.atomic():
            written = writes()
            answer = ask(case, world)
            found += [f"{case}: {fault}" for fault in faults(case, answer, world, before, written)]
            transaction.set_rollback(True)
    return found


@pytest.fixture
def canaries(db: None, monkeypatch: pytest.MonkeyPatch) -> Canaries:
    monkeypatch.setattr(clock, "now", lambda: factories.NOW)
    return build()


def test_matrix(canaries: Canaries) -> None:
    found = run_all(canaries)
    assert found == [], "\n".join(found)


def test_missing_and_foreign_rows_answer_the_same(canaries: Canaries) -> None:
    from uuid import uuid4

    browser = Browser(headers={"Authorization": f"Bearer {canaries.tokens['ana']}"})
    foreign = browser.get(f"/api/v1/visits/{canaries.second.visit.pk}")
    missing = browser.get(f"/api/v1/visits/{uuid4()}")
    assert foreign.content == missing.content
    assert foreign.status_code == missing.status_code == 404
