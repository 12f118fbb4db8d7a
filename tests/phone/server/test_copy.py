"""A copy that a phone saved, carried in by hand, through the API."""

from typing import Any
from uuid import uuid4

from apps.accounts.models import AuditEntry
from apps.visits.models import Operation, Photo, RefusedOperation, Value, Visit
from tests.api.conftest import Caller, World
from tests.phone.server.sending import Json, Phone, jpeg, photo_row


def post(caller: Caller, upload: Any) -> Any:
    """Send a file."""
    return caller.browser.post(
        "/api/v1/field/copy", {"copy": upload} if upload else {}, headers=caller.headers
    )


def test_twice_is_once_and_the_phone_may_send_it_too(world: World, visit: Json) -> None:
    phone = Phone(world.ana)
    ops = [*phone.lines(visit), phone.op(visit, "roof/1/colour", "red")]
    photo = photo_row(visit, jpeg())
    came = post(world.office, phone.copy(ops, [photo])).json()
    assert (came["taken"], came["again"], came["photos"], len(came["refused"])) == (
        len(ops) - 1, 0, 1, 1,
    )  # fmt: skip
    again = post(world.office, phone.copy(ops, [photo])).json()
    assert (again["taken"], again["again"], again["photos"]) == (0, len(ops) - 1, 1)
    # the phone finds signal after all
    assert {reply["outcome"] for reply in phone.send(*ops[:-1])} == {"again"}
    assert Operation.objects.count() == len(ops) - 1
    assert (Photo.objects.count(), RefusedOperation.objects.count()) == (1, 1)
    assert AuditEntry.objects.filter(verb="took in a copy", object_id=phone.device).count() == 2


def test_the_end_in_a_copy_waits_for_the_photo_that_the_copy_brings(
    world: World, visit: Json
) -> None:
    phone, photo = Phone(world.ana), photo_row(visit, jpeg())
    ops = [*phone.lines(visit), phone.finish(visit, [photo["id"]])]
    assert post(world.office, phone.copy(ops, [photo])).json()["waiting"] == 0
    assert Visit.objects.get().state == "written_up"


def test_photos_that_cannot_be_taken_are_named(world: World, visit: Json) -> None:
    phone, good = Phone(world.ana), photo_row(visit, jpeg())
    damaged = photo_row(visit, jpeg(10)) | {"sha256": "0" * 64}
    unread = photo_row(visit, jpeg(20)) | {"jpeg": "%%%"}
    foreign = photo_row(visit, jpeg(30)) | {"sheet": str(uuid4())}
    picture = photo_row(visit, b"no picture at all")
    came = post(world.office, phone.copy([], [good, damaged, unread, foreign, picture])).json()
    assert came["photos"] == 1
    assert [row["id"] for row in came["photos_refused"]] == [
        row["id"] for row in (damaged, unread, foreign, picture)
    ]
    assert all(row["why"] for row in came["photos_refused"])


def test_a_technician_takes_no_copy_in(world: World, visit: Json) -> None:
    phone = Phone(world.ana)
    assert post(world.ana, phone.copy(phone.lines(visit))).status_code == 403
    assert not Value.objects.exists()


def test_no_file_and_another_file_are_refused_with_words(world: World) -> None:
    for upload in (None, "text"):
        answer = post(world.office, upload)
        assert answer.status_code == 422
        assert answer.json()["errors"][0]["pointer"] == "/copy"
