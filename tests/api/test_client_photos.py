"""What a client allows of photos through the API: the page's words, refusals and record."""

from typing import Any

import pytest

from apps.accounts.models import AuditEntry
from apps.clients.choices import PhotoUse
from apps.clients.models import Client
from tests import factories
from tests.api.conftest import World

pytestmark = pytest.mark.django_db
SAID = {"use": "records", "how": "at the door"}


def where(world: World) -> str:
    return f"/clients/{world.mine.system.place.client_id}/photos"


@pytest.fixture(autouse=True)
def nobody_asked(world: World) -> None:
    """Households of tests allow all; this one was never asked."""
    rows = Client.objects.filter(pk=world.mine.system.place.client_id)
    rows.update(photos="unknown", photos_on=None, photos_by="", photos_how="")


def test_read_noted_and_in_the_record(world: World) -> None:
    read = world.office("GET", where(world))
    assert read.status_code == 200
    assert (read.json()["use"], read.json()["how"], read.json()["noted_on"]) == (
        "unknown",
        "",
        None,
    )
    assert read.json()["words"] == PhotoUse.UNKNOWN.label
    answer = world.office("PUT", where(world), SAID, If_Match=read.headers["ETag"])
    assert answer.status_code == 200, answer.content
    body = answer.json()
    assert (body["use"], body["how"], body["rev"]) == ("records", "at the door", 2)
    assert (body["words"], body["shown_to_them"]) == (PhotoUse.RECORDS.label, False)
    assert body["noted_on"] == factories.TODAY.isoformat()
    assert body["noted_by"] == str(world.users["office"])
    again = world.office("GET", where(world))
    assert (again.json(), again.headers["ETag"]) == (body, answer.headers["ETag"])
    entry = AuditEntry.objects.get(verb="noted photos")
    assert entry.object_id == str(world.mine.system.place.client_id)
    assert entry.change == {"photos": "records", "how": "at the door"}


def test_not_asked_needs_no_how_and_a_yes_shows_them(world: World) -> None:
    tag = world.office("GET", where(world)).headers["ETag"]
    yes = world.office("PUT", where(world), SAID | {"use": "yes"}, If_Match=tag)
    assert yes.json()["shown_to_them"] is True
    back = world.office("PUT", where(world), {"use": "unknown"}, If_Match=yes.headers["ETag"])
    assert (back.status_code, back.json()["how"], back.json()["noted_by"]) == (200, "", "")


@pytest.mark.parametrize(
    ("body", "pointer", "words"),
    [
        ({"use": "yes"}, "/how", "how they said so"),
        ({"use": "no", "how": " "}, "/how", "how they said so"),
        ({"use": "perhaps", "how": "at the door"}, "/use", "perhaps"),
        ({"use": "no", "how": 3}, "/how", "text is needed"),
        ({"use": "no", "how": "x" * 201}, "/how", "200"),
        ({"how": "at the door"}, "/use", "is missing"),
        (SAID | {"photos_by": "me"}, "/photos_by", "not known here"),
    ],
)
def test_what_cannot_be_is_named_and_nothing_is_kept(
    world: World, body: dict[str, Any], pointer: str, words: str
) -> None:
    tag = world.office("GET", where(world)).headers["ETag"]
    answer = world.office("PUT", where(world), body, If_Match=tag)
    assert answer.status_code == 422
    (error,) = answer.json()["errors"]
    assert error["pointer"] == pointer
    assert words in error["message"]
    assert world.office("GET", where(world)).headers["ETag"] == tag
    assert not AuditEntry.objects.filter(verb="noted photos").exists()


def test_what_is_older_than_a_no_does_not_undo_it(world: World) -> None:
    tag = world.office("GET", where(world)).headers["ETag"]
    assert world.office("PUT", where(world), SAID).status_code == 428
    world.office("PUT", where(world), SAID | {"use": "no"}, If_Match=tag)
    late = world.office("PUT", where(world), SAID | {"use": "yes"}, If_Match=tag)
    assert late.status_code == 412
    assert world.office("GET", where(world)).json()["use"] == "no"


def test_it_is_the_offices_alone(world: World) -> None:
    for method in ("GET", "PUT"):
        assert world.ana(method, where(world), SAID).status_code == 403
        assert world.nobody(method, where(world), SAID).status_code == 401


def test_the_document_of_the_api_shows_it(world: World) -> None:
    paths = world.office("GET", "/schema").json()["paths"]
    asked = paths["/api/v1/clients/{id}/photos"]["put"]["requestBody"]["content"]
    assert asked["application/json"]["schema"]["properties"]["use"]["enum"] == PhotoUse.values
