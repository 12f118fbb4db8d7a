"""The API against its own document: requests drawn from the schema, answers checked by it."""

import json
from typing import Any

import pytest
import schemathesis
from django.core.management import call_command
from hypothesis import HealthCheck, Phase, given, settings
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from apps.core import clock
from tests import factories
from tests.trust.world import Canaries, build

pytestmark = pytest.mark.schema
CHECKS = [
    not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_schema_conformance,
]


@pytest.fixture
def canaries(db: None, monkeypatch: pytest.MonkeyPatch) -> Canaries:
    monkeypatch.setattr(clock, "now", lambda: factories.NOW)
    return build()


def document() -> dict[str, Any]:
    """Return the OpenAPI document as the API serves it."""
    from drf_spectacular.generators import SchemaGenerator

    return json.loads(json.dumps(SchemaGenerator().get_schema(request=None, public=True)))


def test_the_document_is_valid_and_without_warnings(tmp_path: Any) -> None:
    call_command(
        "spectacular", "--validate", "--fail-on-warn", "--file", str(tmp_path / "openapi.yaml")
    )


def test_every_operation_documents_its_problems() -> None:
    for path, methods in document()["paths"].items():
        for method, operation in methods.items():
            assert {"400", "401", "404"} <= set(operation["responses"]), f"{method} {path}"


def run(world: Canaries, examples: int) -> None:
    """Call every operation with drawn requests as the office."""
    from backyard.wsgi import application

    wsgi = schemathesis.openapi.from_wsgi("/api/v1/schema", application, headers=headers(world))
    for result in wsgi.get_all_operations():
        operation = result.ok()

        @settings(
            max_examples=examples,
            deadline=None,
            derandomize=True,
            database=None,
            suppress_health_check=list(HealthCheck),
            phases=[Phase.explicit, Phase.generate],
        )
        def check(case: Any) -> None:
            case.call_and_validate(headers=headers(world), checks=CHECKS)

        given(case=operation.as_strategy())(check)()


def headers(world: Canaries) -> dict[str, str]:
    """Return the office's token."""
    return {"Authorization": f"Bearer {world.tokens['office']}"}


def test_drawn_requests_meet_the_document(canaries: Canaries) -> None:
    run(canaries, 8)


@pytest.mark.long
def test_many_drawn_requests_meet_the_document(canaries: Canaries) -> None:
    run(canaries, 120)
