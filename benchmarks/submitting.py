"""The submission endpoint against a bare Django view that writes the same rows.

The bare view is what is left without the job: it hangs in the same URL tree behind the same
middleware, is called by the same test client with the same body, parses it, builds instances from
plain dicts and, in one transaction, inserts the same rows (`bulk_create`) and brings the same rows
to the same state (`bulk_update`). It asks nobody who they are, checks, reads, judges and answers
nothing. Both sides are undone after each round, so each round writes to the same visit.
"""

import json
from collections.abc import Callable
from typing import Any
from uuid import uuid4

from django.db import transaction
from django.http import HttpRequest, JsonResponse
from django.test import Client as Browser
from django.test import override_settings
from django.urls import include, path
from django.views.decorators.csrf import csrf_exempt

from apps.accounts.models import AuditEntry, IdempotencyKey
from apps.advice.models import Advice
from apps.care.models import CareTask, Completion, Standing
from apps.core.models import Job
from apps.visits.models import (
    Assignment,
    Finding,
    Line,
    Operation,
    Reading,
    Value,
    Visit,
    VisitStep,
)
from benchmarks.measure import Claim, paired
from benchmarks.world import World

Table = Any
Row = dict[str, Any]
TABLES: list[Table] = [
    IdempotencyKey, Operation, Value, Visit, Assignment, VisitStep, AuditEntry, Line, Reading,
    Finding, Completion, CareTask, Advice, Standing, Job,
]  # fmt: skip
EARLIER = 3


class Written:
    """What a submission inserts and what it updates, as plain dicts by model."""

    def __init__(self) -> None:
        self.before = self._rows()
        self.inserted: dict[Table, list[Row]] = {}
        self.updated: dict[Table, tuple[list[str], list[Row]]] = {}

    def _rows(self) -> dict[Table, dict[Any, Row]]:
        return {model: {row[_pk(model)]: row for row in model.objects.values()} for model in TABLES}

    def compare(self) -> None:
        """Note what has changed since."""
        for model, rows in self._rows().items():
            held = self.before[model]
            new = [row for pk, row in rows.items() if pk not in held]
            if model._meta.pk.get_internal_type() == "BigAutoField":
                new = [{name: row[name] for name in row if name != "id"} for row in new]
            changed = [row for pk, row in rows.items() if pk in held and row != held[pk]]
            names = [
                field.name
                for field in model._meta.concrete_fields
                if any(
                    row[field.attname] != held[row[_pk(model)]][field.attname] for row in changed
                )
            ]
            if new:
                self.inserted[model] = new
            if changed:
                self.updated[model] = names, changed

    def write(self) -> None:
        """Write it again."""
        with transaction.atomic():
            for model, rows in self.inserted.items():
                model.objects.bulk_create([model(**row) for row in rows])
            for model, (names, rows) in self.updated.items():
                model.objects.bulk_update([model(**row) for row in rows], names)

    def __str__(self) -> str:
        inserts = sum(map(len, self.inserted.values()))
        updates = sum(len(rows) for _names, rows in self.updated.values())
        return f"{inserts} inserts and {updates} updates"


def _pk(model: Table) -> str:
    return model._meta.pk.attname


written: Written


@csrf_exempt
def bare_view(request: HttpRequest) -> JsonResponse:
    """Write what the endpoint wrote. Anybody: it exists while this benchmark runs."""
    body = json.loads(request.body)
    written.write()
    return JsonResponse({"sheets": len(body["sheets"])})


bare_view.login_required = False  # type: ignore[attr-defined]
urlpatterns = [path("bare", bare_view), path("", include("backyard.urls"))]


def undone(call: Callable[[], object]) -> None:
    """Carry something out and take it back."""
    with transaction.atomic():
        call()
        transaction.set_rollback(True)


@override_settings(ROOT_URLCONF=__name__)
def run() -> list[Claim]:
    """Return the claim."""
    global written  # noqa: PLW0603 - a view has no other way to its rows
    world = World()
    browser = Browser(headers={"Authorization": f"Bearer {world.token}"})

    def send(address: str, text: str) -> None:
        answer = browser.post(
            address, text, content_type="application/json",
            headers={"Idempotency-Key": str(uuid4())},
        )  # fmt: skip
        assert answer.status_code == 200, answer.content

    def prepared() -> tuple[str, str]:
        visit = world.visit()
        return f"/api/v1/visits/{visit.pk}/submission", json.dumps(world.body(visit))

    # booked before any is written up, so that each has the whole checklist
    *earlier, (address, text) = [prepared() for _ in range(EARLIER + 1)]
    for one in earlier:
        send(*one)
    written = Written()

    def once_and_compare() -> None:
        send(address, text)
        written.compare()

    undone(once_and_compare)
    return [
        paired(
            "submission of a visit", lambda: undone(lambda: send(address, text)),
            lambda: undone(lambda: send("/bare", text)), rounds=15, limit=2.0,
            against=f"a bare view with the same {written}",
        )
    ]  # fmt: skip
