"""The submission endpoint against a bare Django view that does the same inserts."""

import json
from copy import copy
from typing import Any
from uuid import uuid4

from django.db import transaction
from django.http import HttpRequest, JsonResponse
from django.test import Client as Browser
from django.test import RequestFactory

from apps.accounts.models import AuditEntry, IdempotencyKey
from apps.advice.models import Advice
from apps.care.models import Completion
from apps.core.models import Job
from apps.visits.models import Finding, Operation, Reading, Value, VisitStep
from benchmarks.measure import Claim, paired
from benchmarks.world import World

TABLES: list[Any] = [
    IdempotencyKey,
    Operation,
    Value,
    Reading,
    Finding,
    Completion,
    Advice,
    VisitStep,
    AuditEntry,
    Job,
]


def run() -> list[Claim]:
    """Return the claim; both sides write the same rows in one transaction."""
    world = World()
    browser = Browser(headers={"Authorization": f"Bearer {world.token}"})
    waiting = [(visit, world.body(visit)) for visit in (world.visit() for _ in range(14))]

    def submit(visit: Any, body: dict[str, Any]) -> None:
        answer = browser.post(
            f"/api/v1/visits/{visit.pk}/submission", json.dumps(body),
            content_type="application/json", headers={"Idempotency-Key": str(uuid4())},
        )  # fmt: skip
        assert answer.status_code == 200, answer.content

    with transaction.atomic():
        before = {model: set(model.objects.values_list("pk", flat=True)) for model in TABLES}
        submit(*waiting.pop())
        made = {model: list(model.objects.exclude(pk__in=before[model])) for model in TABLES}
        transaction.set_rollback(True)
    for model in TABLES:
        if model._meta.pk.get_internal_type() == "BigAutoField":
            for item in made[model]:
                item.pk = None
    rows = sum(map(len, made.values()))

    def bare_view(request: HttpRequest) -> JsonResponse:
        body = json.loads(request.body)
        with transaction.atomic():
            for model, items in made.items():
                model.objects.bulk_create([copy(item) for item in items])
            transaction.set_rollback(True)
        return JsonResponse({"sheets": len(body["sheets"])})

    factory, payload = RequestFactory(), json.dumps(waiting[0][1])

    def bare() -> object:
        return bare_view(factory.post("/", payload, content_type="application/json"))

    return [
        paired("submission of a visit", lambda: submit(*waiting.pop()), bare, rounds=9, limit=None,
               against=f"a bare view inserting the same {rows} rows")
    ]  # fmt: skip
