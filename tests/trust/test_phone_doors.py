"""What somebody with a phone's address, an old sign-in or too much patience tries at its doors.

OWASP ASVS 5.0.0: 5.2.4 (what one person may store), 7.4.1 and 7.5.2 (ended sessions);
RFC 9457 (an API refuses in problem details).
"""

# ruff: noqa: F811 - pytest hands fixtures over by their names
import json
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from django.conf import settings
from django.test import Client as Browser

from apps.accounts.models import SignInCount, StaffSession
from apps.accounts.services import SIGN_IN_LIMIT, SIGN_IN_WINDOW
from apps.core.scoping import Actor
from apps.flows.nightly import nightly
from apps.visits.models import Phone
from apps.visits.services import uploads
from apps.visits.services.phones import phone_cut_off
from tests import factories
from tests.api.conftest import Caller, World, at_nine, visit, world  # noqa: F401
from tests.phone.server.sending import Phone as Sender
from tests.phone.server.sending import jpeg

SESSION = "/api/v1/field/session"
Json = dict[str, Any]


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setattr(settings, "MEDIA_ROOT", tmp_path)
    return tmp_path / "uploads"


def sign_in(browser: Browser, name: Any, password: str = "") -> Any:
    """Sign in the way the phone does."""
    said = {"username": name, "password": password or f"{name}-password-1"}
    return browser.post(SESSION, json.dumps(said), content_type="application/json")


class SignedIn(Sender):
    """A phone that is signed in, without a token of its own."""

    def __init__(self, world: World) -> None:
        super().__init__(world.nobody)
        self.caller.browser = Browser()
        assert sign_in(self.caller.browser, "ana").status_code == 200


class TestCutOff:
    @pytest.fixture
    def phone(self, world: World) -> SignedIn:
        """A phone of Ana's that was heard from and then cut off."""
        phone = SignedIn(world)
        phone.caller("POST", "/field/contact", {"device": phone.device})
        office = Actor(role="office", at=factories.NOW, user_id=world.users["office"].pk)
        phone_cut_off(
            phone=Phone.objects.get(), cut=True, reason="lost", by=office, at=factories.NOW
        )
        return phone

    def test_no_door_takes_anything_from_it_or_tells_it_a_round(
        self, phone: SignedIn, visit: Json
    ) -> None:
        whole, sheet = jpeg(), str(visit["sheets"][0]["id"])
        body = {"device": phone.device, "ops": phone.lines(visit)}
        answers = [
            phone.caller("POST", "/field/operations", body),
            phone.caller("GET", "/field/day"),
            phone.piece(uuid4(), sheet, whole, whole, 0),
        ]
        assert [answer.status_code for answer in answers] == [403, 403, 403]
        assert all(b"cut this phone off" in answer.content for answer in answers)

    def test_its_sign_in_opens_no_other_door(self, phone: SignedIn, visit: Json) -> None:
        """OWASP ASVS 5.0.0, 7.4.1: an ended session opens nothing, whatever the address."""
        browser, key = phone.caller.browser, visit["id"]
        sheet = visit["sheets"][0]["id"]
        pages = ("/field/online/", f"/field/online/visits/{key}/", "/account/sessions/",
                 f"/field/online/visits/{key}/sheets/{sheet}/")  # fmt: skip
        calls = (f"/visits/{key}", "/visits", f"/systems/{visit['sheets'][0]['system']}",
                 f"/field/photos/{uuid4()}")  # fmt: skip
        answers = [browser.get(page) for page in pages] + [phone.caller("GET", to) for to in calls]
        assert {answer.status_code for answer in answers} == {403}
        assert all(b"cut this phone off" in answer.content for answer in answers)
        assert browser.post("/account/logout/").status_code == 302

    def test_another_sign_in_there_is_shut_out_from_the_start(
        self, phone: SignedIn, world: World
    ) -> None:
        again = Browser()
        said = json.dumps({"username": "ana", "password": "ana-password-1"})
        address = f"{SESSION}?device={phone.device}"
        assert again.post(address, said, content_type="application/json").json()["cut_off"]
        assert again.get("/api/v1/field/day").status_code == 403
        assert again.get("/field/online/").status_code == 403

    def test_another_mark_at_the_sign_in_opens_nothing(self, phone: SignedIn) -> None:
        said = json.dumps({"username": "ana", "password": "ana-password-1"})
        browser, other = phone.caller.browser, f"{SESSION}?device={uuid4()}"
        answer = browser.post(other, said, content_type="application/json")
        assert answer.json()["cut_off"] is True
        assert browser.get(other).json()["cut_off"] is True
        assert browser.get("/api/v1/field/day").status_code == 403

    def test_its_token_opens_nothing_and_those_of_others_go_on(
        self, world: World, visit: Json
    ) -> None:
        lost, kept = Sender(Caller(world.users["ana"])), Sender(Caller(world.users["ana"]))
        for phone in (lost, kept):
            phone.caller("POST", "/field/contact", {"device": phone.device})
        office = Actor(role="office", at=factories.NOW, user_id=world.users["office"].pk)
        row = Phone.objects.get(pk=lost.device)
        phone_cut_off(phone=row, cut=True, reason="lost", by=office, at=factories.NOW)
        doors = ("/field/day", f"/visits/{visit['id']}", "/visits")
        assert [lost.caller("GET", door).status_code for door in doors] == [403] * 3
        assert [kept.caller("GET", door).status_code for door in doors] == [200] * 3
        # another phone's mark does not help it
        other = {"device": kept.device, "ops": []}
        assert lost.caller("POST", "/field/operations", other).status_code == 403
        assert lost.caller("POST", "/field/contact", {"device": str(uuid4())}).json()["cut_off"]
        assert lost.caller("GET", "/field/day").status_code == 403
        phone_cut_off(phone=row, cut=False, reason="found", by=office, at=factories.NOW)
        assert lost.caller("GET", "/field/day").status_code == 200

    def test_it_is_told(self, phone: SignedIn) -> None:
        answer = phone.caller("POST", "/field/contact", {"device": phone.device})
        assert answer.json()["cut_off"] is True

    def test_another_phone_of_the_same_person_goes_on(self, phone: SignedIn, world: World) -> None:
        other = SignedIn(world)
        assert other.caller("GET", "/field/day").status_code == 200


class TestBegunPhotos:
    def begin(self, phone: Sender, visit: Json, key: Any) -> None:
        whole = jpeg()
        answer = phone.piece(key, str(visit["sheets"][0]["id"]), whole[:100], whole, 0)
        assert answer.status_code == 200

    def test_a_person_leaves_no_more_than_some_half_sent(
        self, world: World, visit: Json, folder: Path
    ) -> None:
        ana = Sender(world.ana)
        for _photo in range(uploads.MOST_BEGUN + 5):
            self.begin(ana, visit, uuid4())
        assert len(list(folder.iterdir())) == uploads.MOST_BEGUN

    def test_the_one_whose_turn_it_is_comes_through(
        self, world: World, visit: Json, folder: Path
    ) -> None:
        ana, key, whole = Sender(world.ana), uuid4(), jpeg()
        for _photo in range(uploads.MOST_BEGUN):
            self.begin(ana, visit, uuid4())
        self.begin(ana, visit, key)
        sheet = str(visit["sheets"][0]["id"])
        assert ana.piece(key, sheet, whole[100:], whole, 100).json()["done"]

    def test_nobody_pushes_out_what_another_has_begun(
        self, world: World, visit: Json, folder: Path
    ) -> None:
        key = uuid4()
        self.begin(Sender(world.office), visit, key)
        for _photo in range(uploads.MOST_BEGUN + 1):
            self.begin(Sender(world.ana), visit, uuid4())
        assert uploads.offset_of(str(world.users["office"].pk), key) == 100


class TestSession:
    def test_page_and_phone_share_the_count(self, world: World) -> None:
        for guess in range(SIGN_IN_LIMIT):
            if guess % 2:
                assert sign_in(Browser(), "ana", "guess").status_code == 401
            else:
                body = {"username": "ana", "password": "guess"}
                assert Browser().post("/account/login/", body).status_code == 422
        assert sign_in(Browser(), "ana").status_code == 429

    @pytest.mark.parametrize("name", ["a\0b", "x" * 400, "", "\u202eana", ["ana"], {"a": 1}, 7])
    def test_odd_names_are_nobody(self, world: World, name: Any) -> None:
        assert sign_in(Browser(), name, "guess").status_code == 401

    def test_a_name_with_nul_asks_no_database(
        self, world: World, django_assert_num_queries: Any
    ) -> None:
        """PostgreSQL holds no NUL in text and refuses to look for one."""
        with django_assert_num_queries(0):
            sign_in(Browser(), "a\0b", "guess")

    def test_counts_whose_window_is_over_go_at_night(self, world: World) -> None:
        sign_in(Browser(), "nobody here", "guess")
        nightly(factories.TODAY, factories.NOW)
        assert SignInCount.objects.count() == 1
        nightly(factories.TODAY, factories.NOW + SIGN_IN_WINDOW)
        assert not SignInCount.objects.exists()

    def test_sign_out_takes_it_off_the_list(self, world: World) -> None:
        browser = Browser()
        sign_in(browser, "ana")
        assert StaffSession.objects.count() == 1
        assert browser.delete(SESSION).status_code == 200
        assert not StaffSession.objects.exists()

    def test_a_missing_token_is_told_in_the_words_of_an_api(self, world: World) -> None:
        answer = sign_in(Browser(enforce_csrf_checks=True), "ana")
        assert answer.status_code == 403
        assert answer.headers["Content-Type"] == "application/problem+json"
        assert answer.json()["type"] == "urn:backyard:csrf"
