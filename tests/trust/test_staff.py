"""The staff of an installation: whoever is added gets in, whoever leaves stays out.

OWASP ASVS 5.0.0: 6.2.1 and 6.2.4 (passwords), 7.4.2 (disabled accounts lose their sessions).
"""

import io
from collections.abc import Callable
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.test import Client as Browser

from apps.accounts.models import AuditEntry, Firm, User
from apps.accounts.services import token_issue
from apps.core import clock
from tests import factories

GOOD = "reed-and-weir-9-lantern"


@pytest.fixture
def typed(monkeypatch: pytest.MonkeyPatch) -> Callable[[str], None]:
    def give(password: str) -> None:
        monkeypatch.setattr("sys.stdin", io.StringIO(f"{password}\n"))

    return give


def add(name: str, **more: Any) -> None:
    options = {"role": "technician", "first": "Ines", "last": "Alder", "phone": "0555 0199"}
    call_command("user_add", user=name, password_stdin=True, stdout=io.StringIO(), **options | more)


def sign_in(browser: Browser, name: str) -> int:
    answer = browser.post("/account/login/", {"username": name, "password": GOOD})
    return int(answer.status_code)


@pytest.mark.django_db
class TestStaff:
    def test_an_empty_installation_gets_its_office_and_a_technician(self, typed: Any) -> None:
        typed(GOOD)
        call_command(
            "firm_setup", name="Alder & Hazel", email="office@example.org", user="office",
            password_stdin=True, stdout=io.StringIO(),
        )  # fmt: skip
        typed(GOOD)
        add("ines")
        assert Firm.objects.get().name == "Alder & Hazel"
        assert [sign_in(Browser(), name) for name in ("office", "ines")] == [302, 302]
        ines = User.objects.get(username="ines")
        assert (str(ines), ines.role, ines.phone) == ("Ines Alder", "technician", "0555 0199")
        assert AuditEntry.objects.filter(verb="added", object_id=str(ines.pk)).exists()

    @pytest.mark.parametrize(
        ("name", "password", "says"),
        [
            ("ines", "short", "12 characters"),
            ("ana", GOOD, "already exists"),
            ("i b", GOOD, "valid"),
        ],
    )
    def test_a_slip_is_told_and_adds_nobody(
        self, typed: Any, name: str, password: str, says: str
    ) -> None:
        factories.user("ana")
        typed(password)
        with pytest.raises(CommandError, match=says):
            add(name)
        assert User.objects.count() == 1

    def test_who_leaves_is_out_at_once(self, typed: Any) -> None:
        factories.firm()
        typed(GOOD)
        add("ines")
        browser, ines = Browser(), User.objects.get(username="ines")
        assert sign_in(browser, "ines") == 302
        token = token_issue(user=ines, name="t", at=clock.now())
        bearer = {"Authorization": f"Bearer {token}"}
        assert Browser().get("/api/v1/field/day", headers=bearer).status_code == 200
        call_command("user_end", user="ines", stdout=io.StringIO())
        assert browser.get("/field/online/").headers["Location"].startswith("/account/login/")
        assert Browser().get("/api/v1/field/day", headers=bearer).status_code == 401
        assert sign_in(Browser(), "ines") == 422
        with pytest.raises(CommandError, match="no active user 'ines'"):
            call_command("user_end", user="ines")
