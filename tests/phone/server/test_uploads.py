"""Photos in pieces: from where the last one stopped, whole only with the right hash."""

import datetime as dt
import os
from pathlib import Path
from typing import Any
from uuid import UUID, uuid4

import pytest
from django.conf import settings

from apps.clients.models import Client
from apps.flows import nightly
from apps.visits.models import Photo
from apps.visits.services import uploads
from tests import factories
from tests.api.conftest import World
from tests.phone.server.sending import Json, Phone, jpeg


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setattr(settings, "MEDIA_ROOT", tmp_path)
    return tmp_path / "uploads"


@pytest.fixture
def ana(world: World) -> Phone:
    return Phone(world.ana)


def sheet(visit: Json) -> str:
    """Return the visit's sheet."""
    return str(visit["sheets"][0]["id"])


def state(phone: Phone, key: str) -> Any:
    """Return how much of a photo is there."""
    return phone.caller("GET", f"/field/photos/{key}").json()


def test_in_pieces_and_whole_at_the_end(ana: Phone, visit: Json, folder: Path) -> None:
    whole, key = jpeg(), str(uuid4())
    assert state(ana, key) == {"offset": 0, "done": False}
    assert ana.piece(key, sheet(visit), whole[:200], whole, 0).json() == {
        "offset": 200, "done": False,
    }  # fmt: skip
    assert state(ana, key) == {"offset": 200, "done": False}
    assert ana.piece(key, sheet(visit), whole[200:], whole, 200).json()["done"]
    assert state(ana, key)["done"]
    photo = Photo.objects.get()
    assert (str(photo.pk), str(photo.sheet_id)) == (key, sheet(visit))
    assert not list(folder.iterdir())
    # sent once more, from the start: nothing changes
    assert ana.piece(key, sheet(visit), whole, whole, 0).json()["done"]
    assert Photo.objects.count() == 1


def test_no_piece_stays_of_a_home_that_wants_no_photos(
    ana: Phone, visit: Json, folder: Path
) -> None:
    whole, key = jpeg(), str(uuid4())
    ana.piece(key, sheet(visit), whole[:200], whole, 0)
    Client.objects.update(photos="no", photos_on=factories.TODAY, photos_by="o", photos_how="said")
    for data, offset in ((whole[200:], 200), (whole, 0)):
        answer = ana.piece(key, sheet(visit), data, whole, offset)
        assert (answer.status_code, "wants no photos" in answer.text) == (409, True)
        assert not list(folder.glob("*"))
    assert not Photo.objects.exists()


def test_a_piece_that_does_not_follow_is_told_the_true_offset(ana: Phone, visit: Json) -> None:
    whole, key = jpeg(), str(uuid4())
    ana.piece(key, sheet(visit), whole[:200], whole, 0)
    for offset in (0, 100, 300):
        answer = ana.piece(key, sheet(visit), whole[offset:], whole, offset)
        assert (answer.status_code, answer.json()["offset"]) == (409, 200)
    assert ana.piece(key, sheet(visit), whole[200:], whole, 200).json()["done"]


def test_damage_is_told_apart_and_it_starts_anew(ana: Phone, visit: Json) -> None:
    whole, key = jpeg(), str(uuid4())
    damaged = whole[:100] + bytes([whole[100] ^ 1]) + whole[101:]
    answer = ana.piece(key, sheet(visit), damaged, whole, 0)
    assert (answer.status_code, answer.json()["type"]) == (422, "urn:backyard:hash")
    assert state(ana, key) == {"offset": 0, "done": False}
    assert not Photo.objects.exists()
    assert ana.piece(key, sheet(visit), whole, whole, 0).json()["done"]


def test_what_is_no_picture_is_refused_with_words(ana: Phone, visit: Json) -> None:
    answer = ana.piece(uuid4(), sheet(visit), b"not a picture", b"not a picture", 0)
    assert answer.status_code == 422
    assert "take it again" in answer.json()["errors"][0]["message"]


def test_another_visits_sheet_is_not_found(world: World, ana: Phone, visit: Json) -> None:
    whole = jpeg()
    assert Phone(world.marek).piece(uuid4(), sheet(visit), whole, whole, 0).status_code == 404
    assert ana.piece(uuid4(), str(uuid4()), whole, whole, 0).status_code == 404
    assert ana.piece(uuid4(), "nothing", whole, whole, 0).status_code == 422


def test_too_large_is_refused_before_anything_is_kept(
    ana: Phone, visit: Json, folder: Path
) -> None:
    piece = b"x" * (uploads.CHUNK + 1)
    assert ana.piece(uuid4(), sheet(visit), piece, piece, 0).status_code == 422
    answer = ana.caller.browser.generic(
        "PATCH", f"/api/v1/field/photos/{uuid4()}?sheet={sheet(visit)}", b"x",
        content_type="application/octet-stream",
        headers={**ana.caller.headers, "Upload-Offset": "0", "Upload-Length": "15000001",
                 "X-Sha256": "0" * 64},
    )  # fmt: skip
    assert answer.status_code == 422
    assert "15 MB" in answer.json()["errors"][0]["message"]
    assert not folder.exists() or not list(folder.iterdir())


@pytest.mark.parametrize("value", ["", "-1", "x", "9" * 10, "٣"])
def test_headers_that_are_no_numbers_are_refused(ana: Phone, visit: Json, value: str) -> None:
    answer = ana.caller.browser.generic(
        "PATCH", f"/api/v1/field/photos/{uuid4()}?sheet={sheet(visit)}", b"x",
        content_type="application/octet-stream",
        headers={**ana.caller.headers, "Upload-Offset": value, "Upload-Length": "1"},
    )  # fmt: skip
    assert answer.status_code == 422
    assert answer.json()["errors"][0]["pointer"] == "/Upload-Offset"


def test_two_people_do_not_write_into_one_upload(world: World, ana: Phone, visit: Json) -> None:
    whole, key = jpeg(), str(uuid4())
    ana.piece(key, sheet(visit), whole[:200], whole, 0)
    office = Phone(world.office)
    assert state(office, key)["offset"] == 0
    other = jpeg(200)
    assert office.piece(key, sheet(visit), other, other, 0).json()["done"]
    assert ana.piece(key, sheet(visit), whole[200:], whole, 200).json()["done"]
    assert Photo.objects.count() == 1, "one key is one photo: the one that was whole first"


def test_a_time_that_is_none_is_the_time_of_arrival(ana: Phone, visit: Json) -> None:
    whole = jpeg()
    for taken_at in ("2026-13-45T10:00:00Z", "2031-01-01T00:00:00Z", "x"):
        key = uuid4()
        ana.caller.browser.generic(
            "PATCH", f"/api/v1/field/photos/{key}?sheet={sheet(visit)}&taken_at={taken_at}", whole,
            content_type="application/octet-stream",
            headers={**ana.caller.headers, "Upload-Offset": "0",
                     "Upload-Length": str(len(whole)), "X-Sha256": _hash(whole)},
        )  # fmt: skip
        assert Photo.objects.get(pk=key).taken_at == factories.NOW


def _hash(data: bytes) -> str:
    import hashlib

    return hashlib.sha256(data).hexdigest()


def test_pieces_that_nobody_went_on_with_are_forgotten_by_night(
    ana: Phone, visit: Json, folder: Path
) -> None:
    whole, old, fresh = jpeg(), uuid4(), uuid4()
    for key in (old, fresh):
        ana.piece(key, sheet(visit), whole[:100], whole, 0)
    for path in folder.iterdir():
        age = dt.timedelta(days=31 if str(old) in path.name else 29)
        moment = (factories.NOW - age).timestamp()
        os.utime(path, (moment, moment))
    nightly.nightly(factories.TODAY, factories.NOW)
    assert [UUID(path.stem[37:]) for path in folder.iterdir()] == [fresh]
