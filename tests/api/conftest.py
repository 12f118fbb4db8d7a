"""Callers of the API and a small world."""

import datetime as dt
import json
from dataclasses import dataclass
from typing import Any
from uuid import uuid4

import pytest
from django.http import HttpResponse
from django.test import Client as Browser

from apps.accounts.models import User
from apps.accounts.services import token_issue
from apps.core import clock
from tests import factories


@pytest.fixture(autouse=True)
def at_nine(monkeypatch: pytest.MonkeyPatch) -> None:
    """It is nine o'clock on the tests' day."""
    monkeypatch.setattr(clock, "now", lambda: factories.NOW)


class Caller:
    """Calls the API as somebody."""

    def __init__(self, member: User | None) -> None:
        self.browser = Browser()
        self.headers = {}
        if member is not None:
            token = token_issue(user=member, name="test", at=factories.NOW)
            self.headers["Authorization"] = f"Bearer {token}"

    def __call__(self, method: str, path: str, body: Any = None, **headers: str) -> "HttpResponse":
        """Return the answer; `headers` with underscores for dashes."""
        named = {key.replace("_", "-"): value for key, value in headers.items()}
        data = json.dumps(body) if body is not None else ""
        return self.browser.generic(
            method, f"/api/v1{path}", data, content_type="application/json",
            headers={**self.headers, **named},
        )  # fmt: skip


@dataclass
class World:
    """The small world that the API tests live in."""

    office: Caller
    ana: Caller
    marek: Caller
    nobody: Caller
    users: dict[str, User]
    mine: factories.Built
    other: factories.Built


@pytest.fixture
def world(db: None) -> World:
    """Two clients with a system each, two technicians, an office."""
    factories.firm()
    users = {
        "office": factories.user("office", "office"),
        "ana": factories.user("ana"),
        "marek": factories.user("marek"),
    }
    mine = factories.system(factories.place(factories.client("Okafor")), "Back garden")
    other = factories.system(factories.place(factories.client("Halloran")), "Patio")
    return World(
        Caller(users["office"]), Caller(users["ana"]), Caller(users["marek"]), Caller(None), users,
        mine, other,
    )  # fmt: skip


@pytest.fixture
def visit(world: World) -> dict[str, Any]:
    """A booked visit of Ana's to the first system, an hour ago."""
    made = world.office(
        "POST",
        "/visits",
        {
            "place": str(world.mine.system.place_id), "systems": [str(world.mine.system.pk)],
            "start": (factories.NOW - dt.timedelta(hours=1)).isoformat(),
            "end": (factories.NOW + dt.timedelta(hours=1)).isoformat(),
            "technicians": [str(world.users["ana"].pk)],
        },
    )  # fmt: skip
    assert made.status_code == 201, made.content
    booked = world.office("POST", f"/visits/{made.json()['id']}/transition", {"to": "booked"})
    assert booked.status_code == 200, booked.content
    return dict(booked.json())


def submission(visit: dict[str, Any], built: factories.Built, **values: float) -> dict[str, Any]:
    """A whole sheet: every line done, the given readings."""
    units = {
        "temp": "°C", "ph": "", "alk": "mg/L CaCO3", "do": "mg/L", "tan": "mg/L", "no2": "mg/L",
        "no3": "mg/L", "ec": "mS/cm", "cl": "mg/L",
    }  # fmt: skip
    return {
        "started_at": (factories.NOW - dt.timedelta(minutes=50)).isoformat(),
        "finished_at": (factories.NOW - dt.timedelta(minutes=2)).isoformat(),
        "finish": True,
        "sheets": [
            {
                "system": str(built.system.pk),
                "lines": [
                    {"id": line["id"], "outcome": "done"} for line in visit["sheets"][0]["lines"]
                ],
                "readings": [
                    factories.reading(built, name, value, units[name])
                    for name, value in values.items()
                ],
                "findings": [{"id": str(uuid4()), "text": "All quiet."}],
                "advice": [],
            }
        ],
    }


GOOD = {
    "temp": 28, "ph": 6.8, "alk": 80, "do": 6.4, "tan": 0.2, "no2": 0.05, "no3": 35, "ec": 0.8,
}  # fmt: skip


@pytest.fixture
def sheet_of() -> Any:
    """Make whole sheets."""
    return submission
