"""Signing in: guesses are bounded, sessions end when they should, names are not given away.

OWASP ASVS 5.0.0: 6.3.1 (guessing), 6.3.8 (no valid names to be told), 7.4.1 and 7.4.2 (ended
sessions, disabled accounts), 7.5.2 (own sessions seen and ended); OWASP API2:2023.
"""

import datetime as dt
import re
import threading
from typing import Any

import pytest
from django.conf import settings
from django.db import connection
from django.http import HttpResponse
from django.test import Client as Browser
from django.urls import reverse

from apps.accounts.models import SignInCount, StaffSession, User
from apps.accounts.services import SIGN_IN_LIMIT, sign_in_count, token_issue
from apps.core import clock
from apps.core.exceptions import TooMany
from tests import factories

LOGIN = "/account/login/"
TOO_MANY = b"Too many tries"
WRONG = b"do not belong together"


class Clock:
    """A clock that the test turns on."""

    def __init__(self) -> None:
        self.at = factories.NOW

    def __call__(self) -> dt.datetime:
        return self.at


@pytest.fixture(autouse=True)
def turned(monkeypatch: pytest.MonkeyPatch) -> Clock:
    hands = Clock()
    monkeypatch.setattr(clock, "now", hands)
    return hands


@pytest.fixture
def office(db: None) -> User:
    factories.firm()
    return factories.user("office", "office")


@pytest.fixture
def ana(db: None) -> User:
    return factories.user("ana")


def sign_in(browser: Browser, name: str, password: str = "", **more: Any) -> HttpResponse:
    data = {"username": name, "password": password or f"{name}-password-1", **more.pop("data", {})}
    return browser.post(LOGIN, data, **more)


class TestGuessing:
    @pytest.mark.parametrize("name", ["office", "OFFICE", "nobody"])
    def test_limit_holds_with_rotating_forwarded_for(self, office: User, name: str) -> None:
        answers = [
            sign_in(Browser(), name, f"guess {i}", headers={"X-Forwarded-For": f"198.51.100.{i}"})
            for i in range(SIGN_IN_LIMIT + 4)
        ]
        let_through = [WRONG in answer.content for answer in answers]
        assert let_through == [True] * 8 + [False] * 4
        assert all(TOO_MANY in answer.content for answer in answers[8:])
        assert all(answer.status_code == 422 for answer in answers[:8])
        assert all(answer.status_code == 429 for answer in answers[8:])
        assert not StaffSession.objects.exists()

    def test_right_password_is_refused_over_the_limit_until_the_window_ends(
        self, office: User, turned: Clock
    ) -> None:
        for _guess in range(SIGN_IN_LIMIT):
            sign_in(Browser(), "office", "guess")
        assert TOO_MANY in sign_in(Browser(), "office").content
        turned.at += dt.timedelta(minutes=10, seconds=1)
        assert sign_in(Browser(), "office").status_code == 302

    def test_behind_the_proxy_only_its_own_word_counts(
        self, office: User, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr(settings, "SECURE_PROXY_SSL_HEADER", ("HTTP_X_P", "https"))
        for i in range(SIGN_IN_LIMIT):
            forwarded = {"X-Forwarded-For": f"198.51.100.{i}, 203.0.113.7"}
            assert WRONG in sign_in(Browser(), "office", "guess", headers=forwarded).content
        forwarded = {"X-Forwarded-For": "198.51.100.99, 203.0.113.7"}
        assert TOO_MANY in sign_in(Browser(), "office", "guess", headers=forwarded).content

    def test_good_sign_in_clears_the_count(self, office: User) -> None:
        for _round in range(2):
            for _guess in range(SIGN_IN_LIMIT - 1):
                assert WRONG in sign_in(Browser(), "office", "guess").content
            assert sign_in(Browser(), "office").status_code == 302

    def test_names_are_counted_apart(self, office: User, ana: User) -> None:
        for _guess in range(SIGN_IN_LIMIT):
            sign_in(Browser(), "office", "guess")
        assert sign_in(Browser(), "ana").status_code == 302

    @pytest.mark.parametrize("name", ["a\0b", "x" * 151, "", "\u202eoffice", "' or 1=1 --"])
    def test_odd_names_are_refused_in_words(self, office: User, name: str) -> None:
        assert sign_in(Browser(), name, "guess").status_code == 422


def counted(tries: int) -> int:
    """Return how many of some tries are let through."""
    passed = 0
    for _try in range(tries):
        try:
            sign_in_count("office|203.0.113.7", factories.NOW)
        except TooMany:
            continue
        passed += 1
    return passed


@pytest.mark.django_db
def test_one_after_the_other_lets_the_limit_through() -> None:
    assert counted(5 * SIGN_IN_LIMIT) == SIGN_IN_LIMIT
    assert SignInCount.objects.get().count == SIGN_IN_LIMIT


def test_parallel_guesses_let_the_limit_through(committed_db: None) -> None:
    """The threads see each other's rows."""
    start = threading.Barrier(20)
    passed: list[int] = []

    def guess() -> None:
        start.wait()
        passed.append(counted(5))
        connection.close()

    threads = [threading.Thread(target=guess) for _thread in range(20)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(passed) == 20
    assert sum(passed) == SIGN_IN_LIMIT


class TestNext:
    @pytest.mark.parametrize(
        "wanted",
        [
            "https://elsewhere.example/", "//elsewhere.example/", "/\\elsewhere.example",
            "\\\\elsewhere.example", "https:///elsewhere.example", "javascript:alert(1)",
            "http:elsewhere.example", " //elsewhere.example", "\t//elsewhere.example",
            "https://testserver@elsewhere.example/", "https://testserver.elsewhere.example/",
        ],
    )  # fmt: skip
    @pytest.mark.parametrize("where", ["form", "query"])
    def test_elsewhere_is_refused(self, office: User, wanted: str, where: str) -> None:
        if where == "form":
            answer = sign_in(Browser(), "office", data={"next": wanted})
        else:
            answer = Browser().post(
                LOGIN, {"username": "office", "password": "office-password-1"},
                query_params={"next": wanted},
            )  # fmt: skip
        assert answer.status_code == 302
        assert answer.headers["Location"] == "/"

    def test_own_page_is_taken(self, office: User) -> None:
        answer = sign_in(Browser(), "office", data={"next": "/systems/?q=tank"})
        assert answer.headers["Location"] == "/systems/?q=tank"

    def test_office_and_technician_go_to_their_own_page(self, office: User, ana: User) -> None:
        assert sign_in(Browser(), "office").headers["Location"] == "/"
        browser = Browser()
        assert sign_in(browser, "ana").headers["Location"] == "/field/"
        assert browser.get("/").headers["Location"] == "/field/"
        assert browser.get("/places/").status_code == 403


class TestNamesAreNotGivenAway:
    def test_same_words_for_known_and_unknown(self, office: User) -> None:
        gone = factories.user("gone")
        User.objects.filter(pk=gone.pk).update(is_active=False)
        own = re.compile(rb'(nonce|value)="[^"]*"')
        pages = [
            (answer.status_code, own.sub(b"", answer.content))
            for name, password in (("office", "guess"), ("nobody", "guess"), ("gone", ""))
            for answer in [sign_in(Browser(), name, password)]
        ]
        assert pages[0] == pages[1] == pages[2]
        assert WRONG in pages[0][1]


class TestSessions:
    def signed_in(self, name: str = "office") -> Browser:
        browser = Browser(headers={"User-Agent": f"browser of {name}"})
        assert sign_in(browser, name).status_code == 302
        return browser

    def test_sign_in_makes_a_new_session_key(self, office: User) -> None:
        browser = Browser()
        browser.cookies[settings.SESSION_COOKIE_NAME] = "a" * 32
        sign_in(browser, "office")
        assert browser.cookies[settings.SESSION_COOKIE_NAME].value != "a" * 32

    def test_logout_takes_post_and_clears(self, office: User) -> None:
        browser = self.signed_in()
        old = browser.cookies[settings.SESSION_COOKIE_NAME].value
        assert browser.get("/account/logout/").status_code == 405
        assert browser.get("/systems/").status_code == 200
        answer = browser.post("/account/logout/")
        assert answer.status_code == 302
        assert '"storage"' in answer.headers["Clear-Site-Data"]
        self.shut_out(old)
        assert not StaffSession.objects.exists()

    def test_logout_needs_its_token(self, office: User) -> None:
        browser = Browser(enforce_csrf_checks=True)
        browser.force_login(office)
        assert browser.post("/account/logout/").status_code == 403
        assert browser.get("/systems/").status_code == 200

    def shut_out(self, cookie: str) -> None:
        stranger = Browser()
        stranger.cookies[settings.SESSION_COOKIE_NAME] = cookie
        answer = stranger.get("/systems/")
        assert answer.status_code == 302
        assert answer.headers["Location"].startswith(LOGIN)

    def test_own_ones_are_shown_and_ended(self, office: User, ana: User) -> None:
        here, phone, other = self.signed_in(), self.signed_in(), self.signed_in("ana")
        page = here.get("/account/sessions/").content
        keys = {
            b: b.cookies[settings.SESSION_COOKIE_NAME].value for b in (here, phone, other)
        }  # fmt: skip
        assert page.count(b"browser of office") == 2
        assert b"browser of ana" not in page
        assert keys[other].encode() not in page
        answer = here.post("/account/sessions/", {"session": keys[phone]})
        assert answer.status_code == 302
        self.shut_out(keys[phone])
        assert here.get("/systems/").status_code == 200
        assert here.get("/account/sessions/").content.count(b"browser of office") == 1

    @pytest.mark.parametrize("key", ["", "x" * 40, "a\0b", "'; drop table x --"])
    def test_unknown_key_is_refused(self, office: User, key: str) -> None:
        browser = self.signed_in()
        assert browser.post("/account/sessions/", {"session": key}).status_code == 422

    def test_others_session_is_not_ended(self, office: User, ana: User) -> None:
        here, other = self.signed_in(), self.signed_in("ana")
        key = other.cookies[settings.SESSION_COOKIE_NAME].value
        assert here.post("/account/sessions/", {"session": key}).status_code == 422
        assert other.get("/field/online/").status_code == 200

    def test_deactivated_at_once(self, office: User) -> None:
        browser = self.signed_in()
        token = {"Authorization": f"Bearer {token_issue(user=office, name='t', at=factories.NOW)}"}
        assert Browser().get("/api/v1/systems", headers=token).status_code == 200
        User.objects.filter(pk=office.pk).update(is_active=False)
        assert Browser().get("/api/v1/systems", headers=token).status_code == 401
        self.shut_out(browser.cookies[settings.SESSION_COOKIE_NAME].value)
        assert browser.get("/api/v1/systems").status_code == 401

    def test_new_password_ends_the_old_sessions(self, office: User) -> None:
        browser = self.signed_in()
        office.set_password("another-password-2")
        office.save()
        self.shut_out(browser.cookies[settings.SESSION_COOKIE_NAME].value)

    def test_change_of_role_holds_at_once(self, office: User) -> None:
        browser = self.signed_in()
        User.objects.filter(pk=office.pk).update(role="technician")
        assert browser.get("/systems/").status_code == 403


@pytest.mark.parametrize("page", ["office:due", "office:systems", "field:round"])
def test_pages_ask_to_sign_in_first(office: User, page: str) -> None:
    address = reverse(page)
    answer = Browser().get(address)
    assert answer.status_code == 302
    assert answer.headers["Location"].startswith(f"{LOGIN}?next=")
