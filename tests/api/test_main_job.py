"""The main job through the API: due, booked, submitted, assessed, reported, written."""

from typing import Any
from uuid import uuid4

import pytest
from django.core import mail

from apps.core import outbox
from apps.reports.rendering import child
from apps.visits.models import Reading, Value, Visit
from tests import factories
from tests.api.conftest import GOOD, World, submission


@pytest.fixture
def drawn_here(monkeypatch: pytest.MonkeyPatch) -> None:
    """Draw reports in this process; the child has tests of its own."""
    from apps.reports.rendering.pdf import render

    monkeypatch.setattr(child.CHILD, "render", render)


@pytest.mark.pdf
def test_from_due_to_letter(world: World, visit: dict[str, Any], drawn_here: None) -> None:
    due = world.office("GET", f"/due?on={factories.TODAY}").json()
    assert due["results"][0]["rank"] == 1
    body = submission(visit, world.mine, **{**GOOD, "alk": 27, "ph": 6.5})
    answer = world.ana(
        "POST", f"/visits/{visit['id']}/submission", body, Idempotency_Key=str(uuid4())
    )
    assert answer.status_code == 200, answer.content
    result = answer.json()
    assert result["state"] == "written_up"
    words = {row["measurand"]: row["word"] for row in result["sheets"][0]["judgements"]}
    assert words["alk"] == "out_of_band"
    assert words["temp"] == "in_band"
    assert any("lkalinity" in row["text"] for row in result["sheets"][0]["advice"])
    assert outbox.drain(factories.NOW) >= 1
    reports = world.office("GET", f"/visits/{visit['id']}/reports").json()["results"]
    assert reports[0]["versions"][0]["number"] == 1
    released = world.office("POST", f"/reports/{reports[0]['id']}/release")
    assert released.status_code == 200, released.content
    assert released.json()["state"] == "reported"
    outbox.drain(factories.NOW)
    letters = world.office("GET", f"/letters?visit={visit['id']}").json()["results"]
    assert {row["kind"]: row["state"] for row in letters} == {
        "appointment": "sent", "report": "sent",
    }  # fmt: skip
    report_mail = next(m for m in mail.outbox if m.subject.startswith(("The system", "Your fish")))
    assert report_mail.to == ["okafor@okafor.example"]
    pdf = world.office("GET", f"/reports/{reports[0]['id']}/pdf")
    assert pdf.content.startswith(b"%PDF-1.7")
    assert pdf.headers["Content-Type"] == "application/pdf"


class TestSubmission:
    def test_same_key_and_body_replays(self, world: World, visit: dict[str, Any]) -> None:
        body, key = submission(visit, world.mine, **GOOD), str(uuid4())
        first = world.ana("POST", f"/visits/{visit['id']}/submission", body, Idempotency_Key=key)
        again = world.ana("POST", f"/visits/{visit['id']}/submission", body, Idempotency_Key=key)
        assert again.status_code == 200
        assert again.headers["Idempotent-Replayed"] == "true"
        assert again.json() == first.json()
        assert Reading.objects.count() == len(GOOD)

    def test_same_key_other_body_is_refused(self, world: World, visit: dict[str, Any]) -> None:
        body, key = submission(visit, world.mine, **GOOD), str(uuid4())
        world.ana("POST", f"/visits/{visit['id']}/submission", body, Idempotency_Key=key)
        body["sheets"][0]["readings"][0]["value"] = 27
        other = world.ana("POST", f"/visits/{visit['id']}/submission", body, Idempotency_Key=key)
        assert other.status_code == 422

    def test_without_key(self, world: World, visit: dict[str, Any]) -> None:
        body = submission(visit, world.mine, **GOOD)
        assert world.ana("POST", f"/visits/{visit['id']}/submission", body).status_code == 400

    @pytest.mark.parametrize(
        ("change", "pointer"),
        [
            (lambda s: s["readings"][1].update(value=71), "/sheets/0/readings/1/value"),
            (lambda s: s["readings"][1].update(value="7,,1"), "/sheets/0/readings/1/value"),
            (lambda s: s["readings"][1].update(value=True), "/sheets/0/readings/1/value"),
            (lambda s: s["readings"][1].update(value=None), "/sheets/0/readings/1/value"),
            (lambda s: s["readings"][0].update(unit="bananas"), "/sheets/0/readings/0/unit"),
            (lambda s: s["readings"][0].update(measurand="mood"), "/sheets/0/readings/0/measurand"),
            (lambda s: s["readings"][0].update(loop=str(uuid4())), "/sheets/0/readings/0/loop"),
            (lambda s: s["readings"][0].update(taken_at="2026-06-11T08:00:00"),
             "/sheets/0/readings/0/taken_at"),
            (lambda s: s["readings"][0].update(taken_at="2027-06-11T08:00:00Z"),
             "/sheets/0/readings/0/taken_at"),
            (lambda s: s["readings"][0].update(colour="red"), "/sheets/0/readings/0/colour"),
            (lambda s: s["readings"][0].pop("unit"), "/sheets/0/readings/0/unit"),
            (lambda s: s["lines"][0].update(outcome="perhaps"), "/sheets/0/lines/0/outcome"),
            (lambda s: s["lines"][0].update(outcome="not_done"), "/sheets/0/lines/0/reason"),
            (lambda s: s["lines"][0].update(id=str(uuid4())), "/sheets/0/lines/0/id"),
            (lambda s: s["lines"][-1].update(outcome="not_done", reason="no_time"),
             "/sheets/0/lines"),
            (lambda s: s["findings"][0].update(sign="singing", text=None), "/sheets/0/findings/0/sign"),
            (lambda s: s["advice"].append({"id": str(uuid4()), "decision": "keep"}),
             "/sheets/0/advice/0/id"),
        ],
    )  # fmt: skip
    def test_bad_part_is_named_and_nothing_is_kept(
        self, world: World, visit: dict[str, Any], change: Any, pointer: str
    ) -> None:
        body = submission(visit, world.mine, **GOOD)
        change(body["sheets"][0])
        answer = world.ana(
            "POST", f"/visits/{visit['id']}/submission", body, Idempotency_Key=str(uuid4())
        )
        assert answer.status_code == 422, answer.content
        assert answer.headers["Content-Type"] == "application/problem+json"
        assert pointer in [error["pointer"] for error in answer.json()["errors"]]
        assert not Value.objects.exists()
        assert not Reading.objects.exists()
        assert Visit.objects.get(pk=visit["id"]).state == "booked"

    def test_slip_is_suggested(self, world: World, visit: dict[str, Any]) -> None:
        body = submission(visit, world.mine, **{**GOOD, "ph": 71})
        answer = world.ana(
            "POST", f"/visits/{visit['id']}/submission", body, Idempotency_Key=str(uuid4())
        )
        assert "Did you mean 7.1?" in answer.json()["errors"][0]["message"]

    def test_field_by_field_equals_submission(self, world: World, visit: dict[str, Any]) -> None:
        import random

        body = submission(visit, world.mine, **GOOD)
        sheet = visit["sheets"][0]["id"]
        ops = [
            {"op_id": str(uuid4()), "sheet": sheet, "path": f"{group}/{row['id']}/{leaf}",
             "value": value}
            for group in ("lines", "readings", "findings")
            for row in body["sheets"][0][group]
            for leaf, value in row.items()
            if leaf != "id"
        ]  # fmt: skip
        ops += [
            {"op_id": str(uuid4()), "path": leaf, "value": body[leaf]}
            for leaf in ("started_at", "finished_at")
        ]
        ops = ops + ops
        random.Random(7).shuffle(ops)
        for op in ops:
            answer = world.ana("PUT", f"/visits/{visit['id']}/values", {"values": [op]})
            assert answer.status_code == 200, answer.content
        done = world.ana("POST", f"/visits/{visit['id']}/transition", {"to": "written_up"})
        assert done.status_code == 200, done.content
        by_fields = _rows(visit["id"])
        Reading.objects.count()
        twin = _twin(world)
        body2 = submission(twin, world.other, **GOOD)
        for group in ("readings", "findings"):
            for row, before in zip(
                body2["sheets"][0][group], body["sheets"][0][group], strict=True
            ):
                row.update({k: v for k, v in before.items() if k not in ("id", "loop")})
        answer = world.ana(
            "POST", f"/visits/{twin['id']}/submission", body2, Idempotency_Key=str(uuid4())
        )
        assert answer.status_code == 200, answer.content
        assert _rows(twin["id"]) == by_fields


def _rows(visit_id: str) -> list[Any]:
    """Everything that a visit left behind, without keys."""
    visit = Visit.objects.get(pk=visit_id)
    sheet = visit.sheets.get()
    return [
        sorted(sheet.lines.values_list("code", "outcome", "reason", "minutes", "note")),
        sorted(
            sheet.readings.values_list(
                "measurand", "value", "unit", "typed", "when", "taken_at", "trusted", "word"
            )
        ),
        sorted(sheet.findings.values_list("sign", "text")),
        sorted(sheet.advice.values_list("rule", "urgency", "dose", "decision")),
        (visit.started_at, visit.finished_at, visit.state),
    ]


def _twin(world: World) -> dict[str, Any]:
    import datetime as dt

    made = world.office(
        "POST",
        "/visits",
        {
            "place": str(world.other.system.place_id), "systems": [str(world.other.system.pk)],
            "start": (factories.NOW + dt.timedelta(hours=2)).isoformat(),
            "end": (factories.NOW + dt.timedelta(hours=3)).isoformat(),
            "technicians": ["ana"],
        },
    ).json()  # fmt: skip
    return dict(world.office("POST", f"/visits/{made['id']}/transition", {"to": "booked"}).json())
