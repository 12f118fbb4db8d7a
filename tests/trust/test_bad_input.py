"""Bad input through the API: refused with its place named and nothing kept, or shown as typed.

Outside rules: RFC 8259 and RFC 7493 (JSON: numbers, names, surrogates), RFC 3339 (times need an
offset), RFC 9110 15.5.14 and 15.5.16 (413, 415), RFC 9457 (problem details), RFC 6901 (pointers),
Unicode TR 36 (direction marks), OWASP ASVS 5.0.0 1.2 and 1.3 (what is typed is never code).
"""

import datetime as dt
import email
import io
import json
from collections.abc import Callable
from email import policy
from typing import Any
from uuid import uuid4

import pytest
from django.http import HttpResponse
from pypdf import PdfReader

from apps.clients.models import Contact
from apps.core import clock, files, outbox
from apps.flows.letters import compose
from apps.reports.models import Letter, ReportVersion
from apps.reports.rendering import child
from apps.reports.rendering.pdf import render
from apps.visits.models import Finding, Operation, Reading, Value, Visit
from tests import factories
from tests.api.conftest import GOOD, World, submission, visit, world  # noqa: F401

HOUR = dt.timedelta(hours=1)


@pytest.fixture(autouse=True)
def at_nine(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(clock, "now", lambda: factories.NOW)
    monkeypatch.setattr(child.CHILD, "render", render)


def raw(caller: Any, method: str, path: str, body: str | bytes, **more: Any) -> HttpResponse:
    """Send a body as it is written, past the encoder."""
    headers = {**caller.headers, **more.pop("headers", {})}
    kind = more.pop("content_type", "application/json")
    return caller.browser.generic(
        method, f"/api/v1{path}", body, content_type=kind, headers=headers
    )  # fmt: skip


def send(world: World, visit: dict[str, Any], body: dict[str, Any]) -> HttpResponse:  # noqa: F811
    return world.ana(
        "POST", f"/visits/{visit['id']}/submission", body, Idempotency_Key=str(uuid4())
    )


def nothing_kept(visit: dict[str, Any]) -> None:  # noqa: F811
    for model in (Value, Operation, Reading, Finding):
        assert not model.objects.exists()
    assert Visit.objects.get(pk=visit["id"]).state == "booked"


def is_problem(answer: HttpResponse, status: int, pointer: str = "") -> None:
    assert answer.status_code == status, answer.content[:400]
    assert answer.headers["Content-Type"] == "application/problem+json"
    told = json.loads(answer.content, parse_constant=lambda name: pytest.fail(f"{name} told"))
    assert told["status"] == status
    assert told["detail"]
    if pointer:
        named = {error["pointer"]: error["message"] for error in told["errors"]}
        assert pointer in named
        assert named[pointer]


NOT_JSON_NUMBERS = ["NaN", "Infinity", "-Infinity", "1e400", "-1e400", "9" * 400, "+7", "07", "7_2"]
BAD_NUMBERS = [
    "true", "[7]", "{}", "1e300", "9" * 290, '"+7"', '"1e1"', '"7_2"', '"７.2"', '"٧"', '"7,,2"',
    '"1.234,5"', '"1,234.5"', '"1 234"', '"7.2 pH"', '""', '"NaN"', '"0x7"', '"--7"', '"7."', '".7"',
    '"7\\u0000"', '"1e400"',
]  # fmt: skip


class TestNumbers:
    def with_ph(self, visit: dict[str, Any], world: World, text: str) -> str:  # noqa: F811
        body = submission(visit, world.mine, **GOOD)
        body["sheets"][0]["readings"][1]["value"] = "HERE"
        return json.dumps(body).replace('"HERE"', text)

    def post(self, world: World, visit: dict[str, Any], text: str) -> HttpResponse:  # noqa: F811
        return raw(
            world.ana, "POST", f"/visits/{visit['id']}/submission", self.with_ph(visit, world, text),
            headers={"Idempotency-Key": str(uuid4())},
        )  # fmt: skip

    def test_not_json(self, world: World, visit: dict[str, Any]) -> None:  # noqa: F811
        for text in NOT_JSON_NUMBERS:
            is_problem(self.post(world, visit, text), 400)
            nothing_kept(visit)

    def test_not_a_number_of_ours(self, world: World, visit: dict[str, Any]) -> None:  # noqa: F811
        for text in BAD_NUMBERS:
            is_problem(self.post(world, visit, text), 422, "/sheets/0/readings/1/value")
            nothing_kept(visit)

    @pytest.mark.parametrize("text", ['" 7.2 "', '"7,2"', "7.2", "7.20", "72e-1"])
    def test_taken(self, world: World, visit: dict[str, Any], text: str) -> None:  # noqa: F811
        assert self.post(world, visit, text).status_code == 200
        assert Reading.objects.get(measurand="ph").value == 7.2

    def test_calculator(self, world: World) -> None:  # noqa: F811
        for text in BAD_NUMBERS:
            body = f'{{"tan_mg_l": 1.0, "ph": {text}, "temp_c": 24}}'
            is_problem(raw(world.office, "POST", "/calculators/ammonia", body), 422, "/ph")

    def test_calculator_not_json(self, world: World) -> None:  # noqa: F811
        for text in NOT_JSON_NUMBERS:
            body = f'{{"tan_mg_l": 1.0, "ph": {text}, "temp_c": 24}}'
            is_problem(raw(world.office, "POST", "/calculators/ammonia", body), 400)

    @pytest.mark.parametrize(
        ("body", "pointer"),
        [
            ({}, "/ph"), ({"ph": None}, "/ph"), ({"ph": 8, "colour": 1}, "/colour"),
            ({"ph": 8, "a/b~c": 1}, "/a~1b~0c"), ({"ph": 8, "{{7*7}}": 1}, "/{{7*7}}"),
            ({"ph": 15}, "/ph"), ({"ph": -1}, "/ph"), ({"ph": 8, "temp_c": 75}, "/temp_c"),
        ],
    )  # fmt: skip
    def test_calculator_fields(self, world: World, body: dict[str, Any], pointer: str) -> None:  # noqa: F811
        whole = {"tan_mg_l": 1.0, "temp_c": 24, **body}
        is_problem(world.office("POST", "/calculators/ammonia", whole), 422, pointer)

    def test_calculator_takes_both_marks_alike(self, world: World) -> None:  # noqa: F811
        point, comma = (
            world.office("POST", "/calculators/ammonia", {"tan_mg_l": 1, "ph": ph, "temp_c": 24})
            for ph in ("7.5", "7,5")
        )
        assert point.status_code == 200
        assert point.json()["result"] == comma.json()["result"]


BAD_TIMES = {
    "no offset": "2026-06-11T08:20:00",
    "day only": "2026-06-11",
    "year one": "0001-01-01T00:00:00Z",
    "year one, over the edge": "0001-01-01T00:00:00+14:00",
    "far future": "9999-12-31T23:59:59-14:00",
    "zone name": "2026-03-29T02:30:00 Europe/Vienna",
    "abbreviation": "2026-03-29T02:30:00 CEST",
    "no such day": "2026-02-30T08:00:00Z",
    "no such offset": "2026-06-11T08:20:00+25:00",
    "number": 1_780_000_000,
    "nothing": "",
    "list": ["2026-06-11T08:20:00Z"],
    "arabic digits": "٢٠٢٦-06-11T08:20:00Z",
}


class TestTimes:
    def test_of_a_reading(self, world: World, visit: dict[str, Any]) -> None:  # noqa: F811
        for what in [*BAD_TIMES, "future", "more than ten minutes on"]:
            later = {
                "future": factories.NOW + dt.timedelta(days=400),
                "more than ten minutes on": factories.NOW + dt.timedelta(minutes=11),
            }
            body = submission(visit, world.mine, **GOOD)
            value = later[what].isoformat() if what in later else BAD_TIMES[what]
            body["sheets"][0]["readings"][0]["taken_at"] = value
            is_problem(send(world, visit, body), 422, "/sheets/0/readings/0/taken_at")
            nothing_kept(visit)

    def test_of_a_visit(self, world: World) -> None:  # noqa: F811
        for what in BAD_TIMES:
            for field in ("start", "end"):
                body = new_visit(world, **{field: BAD_TIMES[what]})
                is_problem(world.office("POST", "/visits", body), 422, f"/{field}")
                assert not Visit.objects.exists()

    def test_of_the_clocks_change_with_offsets(self, world: World) -> None:  # noqa: F811
        """In a night when 02:30 comes twice, the offset says which one is meant."""
        first, second = "2026-10-25T02:30:00+02:00", "2026-10-25T02:30:00+01:00"
        # it is a Sunday, on which nobody works
        sunday = [f"no_work:{world.users['ana'].pk}"]
        body = new_visit(world, start=first, end=second, all_the_same=sunday)
        answer = world.office("POST", "/visits", body)
        assert answer.status_code == 201
        row = Visit.objects.get()
        assert row.end - row.start == HOUR

    def test_turned_round(self, world: World) -> None:  # noqa: F811
        body = new_visit(world, end=(factories.NOW - HOUR).isoformat())
        assert world.office("POST", "/visits", body).status_code == 422
        assert not Visit.objects.exists()


def new_visit(world: World, **more: Any) -> dict[str, Any]:  # noqa: F811
    return {
        "place": str(world.mine.system.place_id), "systems": [str(world.mine.system.pk)],
        "start": factories.NOW.isoformat(), "end": (factories.NOW + HOUR).isoformat(),
        "technicians": [str(world.users["ana"].pk)], **more,
    }  # fmt: skip


# a word before and behind each, so that the ends are seen as well
FAMILY = "\U0001f468\u200d\U0001f469\u200d\U0001f467"
LITERAL = ["{{7*7}}", "{% load %}", "<script>alert(1)</script>", "';--", "&lt;b&gt;", "%(name)s"]
TYPED = "a " + " ".join(LITERAL) + " z"


class TestTexts:
    @pytest.mark.parametrize("where", ["note", "finding", "reason"])
    def test_too_long(self, world: World, visit: dict[str, Any], where: str) -> None:  # noqa: F811
        if where == "reason":
            answer = world.office("POST", "/visits", new_visit(world, reason="x" * 4001))
            is_problem(answer, 422, "/reason")
            assert Visit.objects.count() == 1
            return
        body = submission(visit, world.mine, **GOOD)
        sheet = body["sheets"][0]
        row, leaf = {"note": ("lines", "note"), "finding": ("findings", "text")}[where]
        sheet[row][0][leaf] = "x" * 4001
        is_problem(send(world, visit, body), 422, f"/sheets/0/{row}/0/{leaf}")
        nothing_kept(visit)
        sheet[row][0][leaf] = "x" * 4000
        assert send(world, visit, body).status_code == 200

    @pytest.mark.parametrize("value", [7, True, ["a"], {"a": 1}])
    def test_not_text(self, world: World, visit: dict[str, Any], value: Any) -> None:  # noqa: F811
        body = submission(visit, world.mine, **GOOD)
        body["sheets"][0]["findings"][0]["text"] = value
        is_problem(send(world, visit, body), 422, "/sheets/0/findings/0/text")
        nothing_kept(visit)
        answer = world.office("POST", "/visits", new_visit(world, reason=value))
        is_problem(answer, 422, "/reason")

    @pytest.mark.parametrize("half", ["\\ud800", "\\udfff", "ok \\ud83d end"])
    def test_half_a_character(self, world: World, visit: dict[str, Any], half: str) -> None:  # noqa: F811
        body = submission(visit, world.mine, **GOOD)
        body["sheets"][0]["findings"][0]["text"] = "HERE"
        for path, whole in (
            (f"/visits/{visit['id']}/submission", body),
            ("/visits", new_visit(world, reason="HERE")),
            ("/visits", new_visit(world, technicians=["HERE"])),
        ):
            text = json.dumps(whole).replace("HERE", half)
            answer = raw(
                world.office, "POST", path, text, headers={"Idempotency-Key": str(uuid4())}
            )
            is_problem(answer, 400)
        nothing_kept(visit)
        assert Visit.objects.count() == 1

    def test_marks_are_taken_out(self, world: World, visit: dict[str, Any]) -> None:  # noqa: F811
        body = submission(visit, world.mine, **GOOD)
        text = f"a\0b \u202efdp.exe\u202c \u2066x\u2069 {FAMILY} e\u0301 \x1b[31m"
        body["sheets"][0]["lines"][0]["note"] = body["sheets"][0]["findings"][0]["text"] = text
        assert send(world, visit, body).status_code == 200
        assert Finding.objects.get().text == f"ab fdp.exe x {FAMILY} \u00e9 [31m"

    def test_reason_of_a_visit(self, world: World) -> None:  # noqa: F811
        is_problem(world.office("POST", "/visits", new_visit(world, reason="a\0b")), 422, "/reason")
        assert not Visit.objects.exists()
        text = f"\u202efdp.exe {FAMILY}"
        assert world.office("POST", "/visits", new_visit(world, reason=text)).status_code == 201
        assert Visit.objects.get().reason == f"fdp.exe {FAMILY}"

    @pytest.mark.parametrize("name", ["a\0b", *LITERAL, "x" * 5000])
    def test_name_that_nobody_has(self, world: World, name: str) -> None:  # noqa: F811
        answer = world.office("POST", "/visits", new_visit(world, technicians=[name]))
        is_problem(answer, 422, "/technicians/0")
        assert not Visit.objects.exists()


@pytest.fixture
def typed(world: World, visit: dict[str, Any]) -> dict[str, Any]:  # noqa: F811
    """A visit in which everything that takes text holds what looks like code."""
    Visit.objects.filter(pk=visit["id"]).update(reason=TYPED)
    Contact.objects.filter(client=world.mine.system.place.client).update(
        name=f"Robin {TYPED}"[:120]
    )
    body = submission(visit, world.mine, **GOOD)
    body["sheets"][0]["lines"][0]["note"] = TYPED
    body["sheets"][0]["findings"][0]["text"] = TYPED
    answer = send(world, visit, body)
    assert answer.status_code == 200, answer.content
    return visit


def as_html(text: str) -> str:
    """As HTML writes it (the five characters of the HTML standard, 13.3)."""
    for char, name in (
        ("&", "&amp;"),
        ("<", "&lt;"),
        (">", "&gt;"),
        ('"', "&quot;"),
        ("'", "&#x27;"),
    ):
        text = text.replace(char, name)
    return text


class TestShownAsTyped:
    def test_on_the_offices_page(self, world: World, typed: dict[str, Any]) -> None:  # noqa: F811
        browser = world.office.browser
        browser.force_login(world.users["office"])
        page = browser.get(f"/visits/{typed['id']}/").content.decode()
        assert page.count(as_html(TYPED)) >= 3
        assert "<script>alert" not in page
        assert "a 49 " not in page

    @pytest.mark.pdf
    def test_in_the_pdf_and_the_mail(self, world: World, typed: dict[str, Any]) -> None:  # noqa: F811
        outbox.drain(factories.NOW)
        version = ReportVersion.objects.get()
        data = files.read(version.pdf)
        text = " ".join(page.extract_text() for page in PdfReader(io.BytesIO(data)).pages)
        flat = "".join(text.split())
        for piece in LITERAL:
            assert "".join(piece.split()) in flat, piece
        world.office("POST", f"/reports/{version.report_id}/release")
        outbox.drain(factories.NOW)
        letters = list(Letter.objects.all())
        assert {letter.kind for letter in letters} == {"appointment", "report"}
        for letter in letters:
            self.check_mail(letter)

    def check_mail(self, letter: Letter) -> None:
        message = compose(letter)
        assert not set(message.subject) & set("\r\n")
        sent = email.message_from_bytes(message.message().as_bytes(), policy=policy.default)
        plain, rich = (
            str(sent.get_body((kind,)).get_content()) for kind in ("plain", "html")
        )  # fmt: skip
        name = letter.contact.name if letter.contact else ""
        assert "{{7*7}}" in name
        assert " ".join(name.split()) in " ".join(plain.split())
        assert "<script>alert" not in rich
        assert "&lt;script&gt;alert" in rich

    def test_no_header_from_a_name(self, world: World, visit: dict[str, Any]) -> None:  # noqa: F811
        type(world.mine.system).objects.filter(pk=world.mine.system.pk).update(
            name="Tank\r\nBcc: x@elsewhere.example"
        )
        Contact.objects.update(name="Robin\r\nBcc: x@elsewhere.example")
        outbox.drain(factories.NOW)
        letters = list(Letter.objects.all())
        assert letters
        for letter in letters:
            message = compose(letter)
            assert not set(message.subject) & set("\r\n")
            sent = email.message_from_bytes(message.message().as_bytes(), policy=policy.default)
            assert sent["Bcc"] is None
            assert len(message.recipients()) == 1


DEEP = 10_000
BODIES: dict[str, tuple[bytes, str, int]] = {
    "over a megabyte": (b'{"to": "' + b"x" * 1_000_001 + b'"}', "application/json", 400),
    "deep lists": (b"[" * DEEP + b"]" * DEEP, "application/json", 400),
    "deep objects": (b'{"a":' * DEEP + b"1" + b"}" * DEEP, "application/json", 400),
    "doubled key": (b'{"to": "booked", "to": "called_off"}', "application/json", 400),
    "doubled key inside": (b'{"to": {"a": 1, "a": 2}}', "application/json", 400),
    "not json": (b"to=booked", "application/json", 400),
    "nothing": (b"", "application/json", 422),
    "not utf-8": (b'{"to": "\xff"}', "application/json", 400),
    "latin 1": ('{"to": "ü"}'.encode("latin-1"), "application/json; charset=latin-1", 400),
    "form": (b"to=booked", "application/x-www-form-urlencoded", 415),
    "text": (b'{"to": "booked"}', "text/plain", 415),
    "xml": (b"<to>booked</to>", "application/xml", 415),
    "list": (b"[]", "application/json", 422),
    "text alone": (b'"booked"', "application/json", 422),
    "null": (b"null", "application/json", 422),
}


class TestBodies:
    def test_refused(self, world: World, visit: dict[str, Any]) -> None:  # noqa: F811
        for what in BODIES:
            data, kind, status = BODIES[what]
            path = f"/visits/{visit['id']}/transition"
            is_problem(raw(world.office, "POST", path, data, content_type=kind), status)
            nothing_kept(visit)

    def test_refused_by_a_calculator(self, world: World) -> None:  # noqa: F811
        for what in BODIES:
            data, kind, status = BODIES[what]
            path = "/calculators/ammonia"
            is_problem(raw(world.office, "POST", path, data, content_type=kind), status)

    def test_query(self, world: World) -> None:  # noqa: F811
        paths = (
            "/due", "/systems", "/places", "/technicians", "/visits", "/letters",
            "/catalogue/species",
        )  # fmt: skip
        queries = (
            "colour=red", "ordering=user__password", "place__client=1", "limit=0", "limit=501",
            "limit=-1", "limit=1e3", "offset=x", "limit=٥", "a%00b=1",
        )  # fmt: skip
        for path in paths:
            for query in queries:
                is_problem(world.office("GET", f"{path}?{query}"), 400)
        is_problem(world.office("GET", "/calculators?colour=red"), 400)

    def test_filter_values(self, world: World) -> None:  # noqa: F811
        for query in (
            "state=asleep", "state=a%00b", "technician=1", "place=a%00b", "from=2026-13-01",
            "to=0001-01-01", "from=%D9%A2026-01-01",
        ):  # fmt: skip
            is_problem(world.office("GET", f"/visits?{query}"), 400)


WAYS: list[Callable[[dict[str, Any]], None]] = [
    lambda body: body.update(sheets={}),
    lambda body: body.update(sheets=[None]),
    lambda body: body["sheets"][0].update(lines={"id": 1}),
    lambda body: body["sheets"][0]["lines"].append(None),
    lambda body: body["sheets"][0]["readings"][0].update(id=["x"]),
    lambda body: body["sheets"][0]["readings"][0].update(loop={"a": 1}),
    lambda body: body["sheets"][0]["readings"][0].update(measurand=7),
    lambda body: body["sheets"][0]["readings"][0].update(unit=[]),
    lambda body: body["sheets"][0]["findings"][0].update(photo_ids="x"),
    lambda body: body["sheets"][0]["findings"][0].update(component="a\0b"),
    lambda body: body["sheets"][0]["lines"][0].update(outcome=["done"]),
    lambda body: body["sheets"][0]["lines"][0].update(minutes=-1),
    lambda body: body.update(started_at={}),
    lambda body: body.update(finish="yes"),
]


def test_wrong_shapes(world: World, visit: dict[str, Any]) -> None:  # noqa: F811
    for spoil in WAYS:
        body = submission(visit, world.mine, **GOOD)
        spoil(body)
        answer = send(world, visit, body)
        is_problem(answer, 422)
        assert all(error["pointer"].startswith("/") for error in answer.json()["errors"])
        nothing_kept(visit)
