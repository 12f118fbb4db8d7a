"""The page that erases a client: shows what goes, asks for name and password, says what is in the way."""

from typing import Any

import pytest
from django.test import Client as Browser
from django.urls import reverse

from apps.accounts.models import AuditEntry, User
from apps.clients.models import Client, PastClients
from apps.core import clock
from apps.visits.models import Visit
from tests import factories

pytestmark = pytest.mark.django_db
GOOD = {"name": "Heron House", "password": "office-password-1"}


@pytest.fixture
def office(monkeypatch: pytest.MonkeyPatch, settings: Any, tmp_path: Any) -> Browser:
    monkeypatch.setattr(clock, "now", lambda: factories.NOW)
    settings.BACKYARD_DIR = tmp_path
    factories.firm()
    browser = Browser()
    browser.force_login(factories.user("office", "office"))
    return browser


@pytest.fixture
def client(office: Browser) -> Client:
    row = factories.client("Heron House")
    factories.system(factories.place(row))
    return row


def where(client: Client) -> str:
    return reverse("office:client_erase", args=[client.pk])


def test_it_says_what_goes_what_stays_and_asks(office: Browser, client: Client) -> None:
    page = office.get(where(client)).content.decode()
    for words in ("systems and their parts", "rounded to 5", "Invoices and books", "for good"):
        assert words in page
    assert 'id="ways"' not in page


def test_it_erases_and_goes_to_the_places(office: Browser, client: Client) -> None:
    answer: Any = office.post(where(client), GOOD | {"name": " heron  house "}, follow=True)
    assert answer.redirect_chain == [(reverse("office:places"), 302)]
    assert "Erased." in answer.content.decode()
    assert not Client.objects.exists()
    assert PastClients.objects.get().clients == 1
    assert office.get(where(client)).status_code == 404


@pytest.mark.parametrize(
    ("sent", "words"),
    [
        ({"name": "Heron"}, "is not the name"),
        ({"name": ""}, "required"),
        ({"password": "office-password-2"}, "is not the password"),
    ],
)
def test_what_is_refused_stands_beside_its_field(
    office: Browser, client: Client, sent: dict[str, str], words: str
) -> None:
    answer = office.post(where(client), GOOD | sent)
    assert answer.status_code == 422
    assert words in answer.content.decode()
    assert "office-password" not in answer.content.decode()
    assert Client.objects.filter(pk=client.pk).exists()
    assert not AuditEntry.objects.filter(verb="erased").exists()


def test_what_is_in_the_way_has_its_link(office: Browser, client: Client) -> None:
    visit = Visit.objects.create(
        place=client.places.get(), state="booked", start=factories.NOW,
        end=factories.NOW.replace(hour=10), made_at=factories.NOW,
    )  # fmt: skip
    assert reverse("office:visit", args=[visit.pk]) in office.get(where(client)).content.decode()
    answer = office.post(where(client), GOOD)
    assert answer.status_code == 422
    assert "visit is booked" in answer.content.decode()
    assert Client.objects.filter(pk=client.pk).exists()


def test_a_password_cannot_be_guessed_here(office: Browser, client: Client) -> None:
    answers = [office.post(where(client), GOOD | {"password": f"guess-{n}"}) for n in range(9)]
    assert "Too many tries" in answers[-1].content.decode()
    assert "Too many tries" in office.post(where(client), GOOD).content.decode()
    assert Client.objects.filter(pk=client.pk).exists()


def test_a_technician_may_not(office: Browser, client: Client) -> None:
    browser = Browser()
    browser.force_login(factories.user("ana"))
    assert browser.get(where(client)).status_code == 403
    assert browser.post(where(client), GOOD | {"password": "ana-password-1"}).status_code == 403
    assert Client.objects.filter(pk=client.pk).exists()
    assert User.objects.count() == 2
