"""The API against its own document: requests drawn from the schema, answers checked by it."""

import json
from collections.abc import Iterator
from typing import Any

import pytest
import schemathesis
from django.core.management import call_command
from django.core.signals import request_finished, request_started
from django.db import close_old_connections
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


ENDS = (request_started, request_finished)


@pytest.fixture
def one_connection() -> Iterator[None]:
    """Keep the test's connection open: the application is called whole, and closes at each end."""
    for signal in ENDS:
        signal.disconnect(close_old_connections)
    yield
    for signal in ENDS:
        signal.connect(close_old_connections)


@pytest.fixture
def canaries(db: None, one_connection: None, monkeypatch: pytest.MonkeyPatch) -> Canaries:
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


def run(world: Canaries, examples: int, who: str = "office", under: str = "") -> int:
    """Call every operation whose address begins so with drawn requests; return how many there are."""
    from backyard.wsgi import application

    own = headers(world, who)
    wsgi = schemathesis.openapi.from_wsgi("/api/v1/schema", application, headers=own)
    operations = [result.ok() for result in wsgi.get_all_operations()]
    chosen = [one for one in operations if one.path.startswith(under)]
    for operation in chosen:

        @settings(
            max_examples=examples,
            deadline=None,
            derandomize=True,
            database=None,
            suppress_health_check=list(HealthCheck),
            phases=[Phase.explicit, Phase.generate],
        )
        def check(case: Any) -> None:
            case.call_and_validate(headers=own, checks=CHECKS)

        given(case=operation.as_strategy())(check)()
    return len(chosen)


def headers(world: Canaries, who: str = "office") -> dict[str, str]:
    """Return somebody's token; the checks read no packed answers."""
    return {"Authorization": f"Bearer {world.tokens[who]}", "Accept-Encoding": "identity"}


def test_drawn_requests_meet_the_document(canaries: Canaries) -> None:
    run(canaries, 8)


def test_drawn_requests_of_a_technicians_phone_meet_the_document(canaries: Canaries) -> None:
    """The office is refused at the phone's doors: what lies behind them a technician's token tries."""
    assert run(canaries, 25, "ana", "/api/v1/field/") >= 8


@pytest.mark.long
def test_many_drawn_requests_meet_the_document(canaries: Canaries) -> None:
    run(canaries, 120)
