"""Who works with a phone: signing in, being cut off, and how a phone says that it is."""

import datetime as dt
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client as Browser
from django.urls import reverse

from apps.accounts.services import SIGN_IN_LIMIT
from apps.core import clock
from apps.core.exceptions import Invalid
from apps.visits.models import Operation, Phone, RefusedOperation
from apps.visits.services.phones import NEW_PHONES_A_DAY, phone_cut_off
from tests import factories
from tests.api.conftest import Caller, World
from tests.phone.server.sending import Json
from tests.phone.server.sending import Phone as Sender

SESSION = "/api/v1/field/session"


def browser() -> tuple[Browser, str]:
    """Return a browser that has opened the page, with its token."""
    page = Browser(enforce_csrf_checks=True)
    return page, page.get(SESSION).json()["csrf"]


def sign_in(page: Browser, csrf: str, name: str, word: str) -> Any:
    """Sign in as the phone's page does."""
    body = {"username": name, "password": word}
    return page.post(SESSION, body, content_type="application/json", headers={"X-CSRFToken": csrf})


class TestSession:
    def test_nobody_is_no_error_and_learns_a_token(self, world: World) -> None:
        answer = Browser().get(SESSION)
        assert answer.status_code == 200
        assert answer.json()["user"] is None
        assert answer.json()["csrf"]
        assert answer["X-Server-Time"] == factories.NOW.isoformat()

    def test_signing_in_and_out(self, world: World) -> None:
        page, csrf = browser()
        told = sign_in(page, csrf, "ana", "ana-password-1").json()
        assert told["user"]["name"] == "Ana"
        csrf = page.get(SESSION).json()["csrf"]
        out = page.delete(SESSION, headers={"X-CSRFToken": csrf})
        assert (out.status_code, out.json()["user"]) == (200, None)
        assert page.get(SESSION).json()["user"] is None

    def test_a_wrong_password_is_401_as_json_with_a_token(self, world: World) -> None:
        page, csrf = browser()
        answer = sign_in(page, csrf, "ana", "wrong")
        assert (answer.status_code, answer["Content-Type"]) == (401, "application/problem+json")
        assert answer.json()["csrf"]

    def test_without_a_token_nobody_signs_in_or_out(self, world: World) -> None:
        page, _csrf = browser()
        assert sign_in(page, "x" * 64, "ana", "ana-password-1").status_code == 403
        assert page.delete(SESSION).status_code == 403

    def test_the_limit_of_tries_is_shared_with_the_page(self, world: World) -> None:
        page, csrf = browser()
        for _ in range(SIGN_IN_LIMIT // 2):
            assert sign_in(page, csrf, "ana", "wrong").status_code == 401
        desk = Browser()
        for _ in range(SIGN_IN_LIMIT - SIGN_IN_LIMIT // 2):
            assert (
                desk.post(
                    reverse("accounts:login"), {"username": "ana", "password": "no"}
                ).status_code
                == 422
            )
        # the right password does not help any more, wherever it is typed
        assert sign_in(page, csrf, "ana", "ana-password-1").status_code == 429
        desk_try = desk.post(
            reverse("accounts:login"), {"username": "ana", "password": "ana-password-1"}
        )
        assert desk_try.status_code == 429

    def test_every_call_without_a_session_is_401_as_json(self, world: World) -> None:
        for method, path in (("GET", "/field/day"), ("POST", "/field/operations"),
                             ("POST", "/field/contact"), ("GET", f"/field/photos/{uuid4()}")):  # fmt: skip
            answer = world.nobody(method, path, {})
            assert answer.status_code == 401, path
            assert answer["Content-Type"] == "application/problem+json"
            assert answer["X-Server-Time"]


class TestCutOff:
    def test_nothing_of_it_is_taken_and_the_page_is_told(self, world: World, visit: Json) -> None:
        phone = Sender(world.ana)
        line = visit["sheets"][0]["lines"][0]["id"]
        phone.send(phone.op(visit, f"lines/{line}/note", "before"))
        office = factories.actor(world.users["office"])
        phone_cut_off(
            phone=Phone.objects.get(), cut=True, reason="lost", by=office, at=factories.NOW
        )
        op = phone.op(visit, f"lines/{line}/note", "after")
        answer = world.ana("POST", "/field/operations", {"device": phone.device, "ops": [op]})
        assert (answer.status_code, answer.json()["type"]) == (403, "urn:backyard:role")
        assert "save a copy" in answer.json()["detail"]
        assert Operation.objects.count() == 1
        assert not RefusedOperation.objects.exists()
        assert world.ana("GET", f"/field/session?device={phone.device}").json()["cut_off"]
        heard = world.ana("POST", "/field/contact", {"device": phone.device})
        assert heard.json()["cut_off"] is True, "it is still heard, so that the office sees it"
        # another phone of the same person goes on
        other = Sender(Caller(world.users["ana"]))
        assert other.send(other.op(visit, f"lines/{line}/minutes", 5))[0]["outcome"] == "applied"
        phone_cut_off(
            phone=Phone.objects.get(pk=phone.device), cut=False, reason="found", by=office,
            at=factories.NOW,
        )  # fmt: skip
        assert phone.send(op)[0]["outcome"] == "applied"

    def test_another_mark_under_the_same_sign_in_opens_nothing(
        self, world: World, visit: Json
    ) -> None:
        page, csrf = browser()
        sign_in(page, csrf, "ana", "ana-password-1")
        token = {"X-CSRFToken": page.get(SESSION).json()["csrf"]}

        def post(name: str, body: Json) -> Any:
            kind = "application/json"
            return page.post(f"/api/v1/field/{name}", body, content_type=kind, headers=token)

        assert post("contact", {"device": str(uuid4())}).json()["cut_off"] is False
        office = factories.actor(world.users["office"])
        phone_cut_off(
            phone=Phone.objects.get(), cut=True, reason="lost", by=office, at=factories.NOW
        )
        other = str(uuid4())
        assert post("operations", {"device": other, "ops": []}).status_code == 403
        assert post("contact", {"device": other}).json()["cut_off"] is True
        assert page.get("/api/v1/field/day").status_code == 403
        assert Phone.objects.count() == 1

    def test_nobody_enters_phones_without_end(self, world: World) -> None:
        answers = [
            world.ana("POST", "/field/contact", {"device": str(uuid4())}).status_code
            for _ in range(NEW_PHONES_A_DAY + 1)
        ]
        assert answers == [200] * NEW_PHONES_A_DAY + [403]

    def test_without_a_reason_nothing_is_cut_off(self, world: World) -> None:
        world.ana("POST", "/field/contact", {"device": str(uuid4())})
        office = factories.actor(world.users["office"])
        with pytest.raises(Invalid):
            phone_cut_off(
                phone=Phone.objects.get(), cut=True, reason=" ", by=office, at=factories.NOW
            )
        assert Phone.objects.get().cut_off_at is None


class TestContact:
    def test_what_it_says_is_kept(self, world: World, monkeypatch: pytest.MonkeyPatch) -> None:
        device, oldest = str(uuid4()), factories.NOW - dt.timedelta(hours=2)
        body = {
            "device": device, "pending_ops": 5, "pending_photos": 1, "last_seq": 97,
            "oldest_at": oldest.isoformat(), "version": "3f2a91c07d11", "persisted": True,
            "standalone": True, "zone": "Europe/Lisbon",
            "clock": (factories.NOW - dt.timedelta(minutes=15)).isoformat(),
        }  # fmt: skip
        answer = world.ana("POST", "/field/contact", body)
        assert answer.status_code == 200
        assert answer["X-Server-Time"] == factories.NOW.isoformat()
        row = Phone.objects.get(pk=device)
        assert (row.user, row.pending_ops, row.pending_photos, row.last_seq, row.oldest_at,
                row.version, row.persisted, row.standalone, row.clock_off_s) == (
            world.users["ana"], 5, 1, 97, oldest, "3f2a91c07d11", True, True, -900,
        )  # fmt: skip
        later = factories.NOW + dt.timedelta(hours=1)
        monkeypatch.setattr(clock, "now", lambda: later)
        world.ana("POST", "/field/contact", {"device": device})
        row.refresh_from_db()
        assert (row.pending_ops, row.oldest_at, row.last_at) == (0, None, later)
        assert row.first_at == factories.NOW

    @pytest.mark.parametrize(
        ("name", "value", "pointer"),
        [("device", "x", "/device"), ("pending_ops", -1, "/pending_ops"),
         ("pending_ops", True, "/pending_ops"), ("last_seq", 2**53, "/last_seq"),
         ("password", "x", "/password")],
    )  # fmt: skip
    def test_what_cannot_be_is_refused(
        self, world: World, name: str, value: Any, pointer: str
    ) -> None:
        answer = world.ana("POST", "/field/contact", {"device": str(uuid4()), name: value})
        assert answer.status_code == 422
        assert answer.json()["errors"][0]["pointer"] == pointer
        assert not Phone.objects.exists()

    def test_a_clock_that_says_nonsense_is_taken_as_right(self, world: World) -> None:
        device = str(uuid4())
        body = {"device": device, "clock": "2026-13-45T99:00Z", "oldest_at": "noon"}
        assert world.ana("POST", "/field/contact", body).status_code == 200
        assert Phone.objects.get().clock_off_s == 0
