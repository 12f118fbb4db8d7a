"""What comes by a link that opens nothing, or is too large, is refused before a byte is read."""

import datetime as dt
import io
from typing import Any
from uuid import UUID, uuid4

import pytest
from django.test import Client
from django.urls import get_resolver, reverse

from apps.accounts.models import ClientLink
from apps.accounts.services import link_issue
from apps.core import clock
from apps.incidents.models import Incident
from apps.portal.middleware import BESIDES, PHOTOS, most_of
from apps.visits.services.photos import MAX_BYTES
from tests import factories
from tests.architecture.test_upload_limits import limits_of
from tests.reader import number_of

pytestmark = pytest.mark.django_db
LINE = "a-line-between-parts"


class Spy(io.BytesIO):
    """A body that notes how much of it was read."""

    taken = 0

    def read(self, size: int | None = -1, /) -> bytes:
        found = super().read(size)
        self.taken += len(found)
        return found


@pytest.fixture
def built(monkeypatch: pytest.MonkeyPatch) -> factories.Built:
    monkeypatch.setattr(clock, "now", lambda: factories.NOW)
    factories.firm()
    return factories.system(factories.place(factories.client("Okafor")))


@pytest.fixture
def secret(built: factories.Built) -> str:
    return link_issue(client_id=built.system.place.client_id, purpose="page", at=factories.NOW)


def body() -> bytes:
    """A call for help as a browser sends it."""
    fields = {"key": str(uuid4()), "words": "Fish gasp"}
    parts = [
        f'--{LINE}\r\nContent-Disposition: form-data; name="{name}"\r\n\r\n{value}\r\n'
        for name, value in fields.items()
    ]
    return ("".join(parts) + f"--{LINE}--\r\n").encode()


def send(
    secret: str, built: factories.Built, length: int | str | None = None, where: str = ""
) -> tuple[Any, Spy]:
    spy = Spy(body())
    more: Any = {
        "wsgi.input": spy, "CONTENT_TYPE": f"multipart/form-data; boundary={LINE}",
        "CONTENT_LENGTH": str(len(spy.getvalue()) if length is None else length),
    }  # fmt: skip
    browser = Client()
    # a browser's form has its token: only where the token is looked for is a body read early
    browser.handler.enforce_csrf_checks = True
    browser.get(reverse("portal:help", args=[secret, built.system.pk]))
    browser.cookies["csrftoken"] = "a" * 32
    browser.cookies["__Host-csrftoken"] = "a" * 32
    where = where or reverse("portal:help", args=[secret, built.system.pk])
    return browser.post(where, **more), spy


def test_a_good_one_is_read(secret: str, built: factories.Built) -> None:
    """The check of the form's token reads it before any page does."""
    answer, spy = send(secret, built)
    assert (answer.status_code, spy.taken > 0) == (403, True)


@pytest.mark.parametrize("how", ["wrong", "over", "revoked"])
def test_by_a_link_that_opens_nothing(secret: str, built: factories.Built, how: str) -> None:
    links = ClientLink.objects.all()
    if how == "over":
        links.update(ends_at=factories.NOW - dt.timedelta(seconds=1))
    elif how == "revoked":
        links.update(revoked_at=factories.NOW)
    else:
        secret = "x" * 43
    answer, spy = send(secret, built)
    assert (answer.status_code, spy.taken) == (404, 0)
    assert "This link opens nothing" in answer.content.decode()
    assert answer["Referrer-Policy"] == "same-origin"
    assert not Incident.objects.exists()


@pytest.mark.parametrize(
    ("announced", "status"), [(most_of("portal:help") + 1, 413), (10**30, 413)]
)
def test_too_much_at_once(secret: str, built: factories.Built, announced: int, status: int) -> None:
    answer, spy = send(secret, built, announced)
    assert (answer.status_code, spy.taken) == (status, 0)
    text = answer.content.decode()
    assert "send fewer photos" in text
    assert "That was too much at once" in text


@pytest.mark.parametrize("key", ["x" * 43, str(UUID(int=1))])
def test_a_new_link_asked_for_by_what_is_no_number(
    secret: str, built: factories.Built, key: str
) -> None:
    """It needs no session, so anybody could send anything there."""
    answer, spy = send(secret, built, where=reverse("portal:again", args=[key]))
    assert (answer.status_code, spy.taken) == (404, 0)


def test_a_new_link_asked_for_with_too_much(secret: str, built: factories.Built) -> None:
    where = reverse("portal:again", args=[number_of(secret)])
    answer, spy = send(secret, built, BESIDES + 1, where)
    assert (answer.status_code, spy.taken) == (413, 0)


@pytest.mark.parametrize("announced", ["9" * 5000, "much"])
def test_what_is_no_length_is_read_no_further(
    secret: str, built: factories.Built, announced: str
) -> None:
    """Django takes it for nothing."""
    answer, spy = send(secret, built, announced)
    assert (answer.status_code, spy.taken) == (403, 0)


def test_as_much_as_the_page_takes_is_read(secret: str, built: factories.Built) -> None:
    _answer, spy = send(secret, built, most_of("portal:help"))
    assert spy.taken > 0


def test_the_limits_are_those_of_the_proxy() -> None:
    """What the proxy lets through to a page with photos the program takes, and no more than a little."""
    names = {f"portal:{name}" for name in get_resolver("apps.portal.urls").reverse_dict if isinstance(name, str)}  # fmt: skip
    assert set(PHOTOS) <= names
    for page, most in PHOTOS.items():
        path = reverse(page, args=["secret", uuid4()])
        assert most_of(page) == most * MAX_BYTES + BESIDES
        assert most_of(page) <= limits_of(path)[0]
    assert most_of("portal:away_new") == BESIDES
