"""The end of a visit, given with no signal: it waits for all that belongs to it, and late answers count."""

import datetime as dt
import json
from typing import Any
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from playwright.sync_api import expect

from apps.core import clock
from apps.visits.models import CheckIn, Operation, Photo, RefusedOperation, Value
from apps.visits.services.fields import Answer, fields_set
from tests import factories
from tests.phone.conftest import Phones, World
from tests.phone.hand import Hand
from tests.phone.pixels import jpeg

pytestmark = pytest.mark.browser


def leave_running(hand: Hand) -> None:
    """Tick what must run, say why there is no photo, and end the line."""
    hand.go(hand.place("running"))
    for box in hand.page.locator(".ticks input").all():
        box.check()
    hand.page.locator("#note").fill("No photo: the lens is wet")
    hand.kept("#note")
    hand.page.get_by_role("button", name="All of it runs").click()
    expect(hand.page.get_by_role("heading", level=1)).to_have_text("Finish the visit")


def finish(hand: Hand) -> None:
    """Finish the visit on the phone."""
    hand.go(f"/field/visits/{hand.visit.pk}/finish/")
    hand.page.get_by_role("button", name="Finish the visit").click()
    expect(hand.page.locator("#says")).to_contain_text("Finished on this phone")


def begin(hand: Hand) -> None:
    """Start the visit."""
    hand.go(f"/field/visits/{hand.visit.pk}/")
    hand.page.get_by_role("button", name="Start", exact=True).click()
    expect(hand.page.locator(".count")).to_be_visible()


def test_the_end_waits_for_its_photos(hand: Hand, world: World) -> None:
    hand.page.route("**/api/v1/field/photos/**", lambda route: route.abort())
    begin(hand)
    hand.go(hand.place("seen")).photo(jpeg(640, 480))
    leave_running(hand)
    finish(hand)
    hand.now()
    hand.pending(2)
    world.visit.refresh_from_db()
    assert world.visit.state == "under_way"
    hand.page.unroute("**/api/v1/field/photos/**")
    hand.now()
    hand.all_there()
    world.visit.refresh_from_db()
    assert world.visit.state == "written_up"
    assert Photo.objects.count() == 1
    hand.go(f"/field/visits/{hand.visit.pk}/finish/")
    expect(hand.page.locator("#says")).to_contain_text("written up")


def test_an_end_given_offline_does_not_wait_for_a_photo_that_cannot_be_taken(
    hand: Hand, world: World
) -> None:
    hand.page.route("**/api/v1/field/**", lambda route: route.abort())
    hand.go(hand.place("seen")).photo(b"no picture", "a.heic")
    hand.journal.photos.clear()
    leave_running(hand)
    finish(hand)
    hand.page.unroute("**/api/v1/field/**")
    hand.now()
    hand.phase("needs", "settle")
    hand.pending(0)
    world.visit.refresh_from_db()
    assert world.visit.state == "written_up"


def test_answers_after_the_end_are_kept_and_flagged(phones: Phones, world: World) -> None:
    late = phones("marek").open()
    late.arrived()
    late.context.set_offline(True)
    late.line().write("Came after the report")
    first = phones("ana").open()
    first.arrived()
    leave_running(first)
    finish(first)
    first.arrived()
    late.context.set_offline(False)
    late.now()
    late.arrived()
    row = Operation.objects.get(value="Came after the report")
    assert row.outcome == "late"
    assert not Value.objects.filter(value="Came after the report").exists()


def test_the_end_that_is_refused_says_why_and_can_be_given_again(hand: Hand, world: World) -> None:
    hand.page.route("**/api/v1/field/**", lambda route: route.abort())
    leave_running(hand)
    finish(hand)
    # the box of answers, with the line taken back by another hand
    hand.page.evaluate(
        "async (a) => (await import('/field/m/store.js')).put(...a)",
        [
            str(hand.visit.pk),
            str(hand.sheet.pk),
            f"lines/{world.sheet.lines.get(code='left_running').pk}/outcome",
            "",
        ],
    )
    hand.page.unroute("**/api/v1/field/**")
    hand.now()
    hand.page.wait_for_function(
        "() => document.body.dataset.why === 'settle' || document.body.dataset.phase === 'kept'"
    )
    world.visit.refresh_from_db()
    assert world.visit.state == "under_way"
    leave_running(hand)
    hand.go(f"/field/visits/{hand.visit.pk}/finish/")
    again = hand.page.get_by_role("button", name="Try again")
    if again.count():
        again.click()
    hand.now()
    hand.arrived()
    world.visit.refresh_from_db()
    assert world.visit.state == "written_up"


def test_a_signature_is_kept_and_arrives(hand: Hand) -> None:
    hand.page.route("**/api/v1/field/**", lambda route: route.abort())
    hand.go(f"/field/visits/{hand.visit.pk}/finish/")
    hand.page.locator("canvas").scroll_into_view_if_needed()
    box = hand.page.locator("canvas").bounding_box()
    assert box is not None
    for n in range(2):
        hand.page.mouse.move(box["x"] + 30 + 60 * n, box["y"] + 30)
        hand.page.mouse.down()
        hand.page.mouse.move(box["x"] + 80 + 60 * n, box["y"] + 80, steps=5)
        hand.page.mouse.up()
    hand.page.locator("#signed-name").fill("Robin Okafor")
    hand.page.get_by_role("button", name="Keep the signature").click()
    expect(hand.page.get_by_text("Signed by Robin Okafor.")).to_be_visible()
    hand.reload()
    expect(hand.page.get_by_text("Signed by Robin Okafor.")).to_be_visible()
    hand.page.unroute("**/api/v1/field/**")
    hand.now()
    hand.arrived()
    strokes = Value.objects.get(path__endswith="/strokes").value
    assert len(strokes) == 2
    assert all(0 <= part <= 1 for line in strokes for point in line for part in point)


def test_working_alone_makes_a_time_and_answers_it(hand: Hand) -> None:
    begin(hand)
    hand.go(f"/field/visits/{hand.visit.pk}/")
    hand.page.get_by_role("button", name="30 min").click()
    expect(hand.page.get_by_text("Say fine by")).to_be_visible()
    hand.arrived()
    row = CheckIn.objects.get()
    assert row.fine_at is None
    hand.page.get_by_role("button", name="I am fine").click()
    expect(hand.page.get_by_text("Set a time by which")).to_be_visible()
    hand.arrived()
    row.refresh_from_db()
    assert row.fine_at is not None


def test_an_earlier_time_set_after_a_later_one_is_the_one_that_waits(hand: Hand) -> None:
    begin(hand)
    hand.go(f"/field/visits/{hand.visit.pk}/")
    hand.page.get_by_role("button", name="90 min").click()
    expect(hand.page.get_by_text("Say fine by")).to_be_visible()
    hand.arrived()
    later = CheckIn.objects.get()
    hand.page.get_by_role("button", name="30 min").click()
    hand.page.wait_for_function(
        "async () => (await import('/field/m/store.js')).meta('seq').then((seq) => seq >= 6)"
    )
    hand.arrived()
    waits = CheckIn.objects.get(fine_at__isnull=True)
    assert waits.pk != later.pk
    assert waits.fine_by < later.fine_by
    expect(hand.page.get_by_text("Say fine by")).to_be_visible(timeout=5000)
    hand.page.get_by_role("button", name="I am fine").click()
    expect(hand.page.get_by_text("Set a time by which")).to_be_visible()
    hand.arrived()
    assert not CheckIn.objects.filter(fine_at__isnull=True).exists()


def test_of_two_at_one_visit_each_answers_for_themselves(hand: Hand, world: World) -> None:
    begin(hand)
    key, marek = uuid4(), world.staff["marek"]
    promised = {"fine_by": clock.now() + dt.timedelta(hours=1), "who": marek.pk}
    fields_set(
        visit=hand.visit, device="marek", at=clock.now(), by=factories.actor(marek, clock.now()),
        answers=[
            Answer(f"checkin/{key}/{leaf}", str(value), uuid4(), None)
            for leaf, value in promised.items()
        ],
    )  # fmt: skip
    hand.reload()
    hand.arrived()
    hand.go(f"/field/visits/{hand.visit.pk}/")
    # Marek's time is not Ana's
    expect(hand.page.get_by_text("Set a time by which")).to_be_visible()
    hand.page.get_by_role("button", name="30 min").click()
    hand.page.get_by_role("button", name="I am fine").click()
    hand.arrived()
    stand = {row.path.split("/")[1] for row in Value.objects.filter(path__endswith="/fine_at")}
    assert str(key) not in stand
    assert len(stand) == 1


def test_an_amount_that_is_no_number_says_so_and_stays(hand: Hand) -> None:
    hand.go(hand.place("supplies"))
    hand.page.get_by_role("button", name="Add a thing").click()
    box = hand.page.get_by_label("How much")
    for words in ("a bag", "-2"):
        box.fill(words)
        expect(hand.page.get_by_text(f"How much: {words} is no amount")).to_be_visible()
    hand.kept("input[inputmode=decimal]")
    hand.reload()
    expect(hand.page.get_by_label("How much")).to_have_value("-2")
    hand.page.get_by_label("How much").fill("2,5")
    expect(hand.page.get_by_text("is no amount")).to_be_hidden()
    hand.kept("input[inputmode=decimal]")
    hand.arrived()
    assert Value.objects.get(path__endswith="/amount").value == 2.5
    assert not RefusedOperation.objects.exists()


def test_what_was_used_and_swapped_arrives(hand: Hand, world: World) -> None:
    hand.go(hand.place("supplies"))
    hand.page.get_by_role("button", name="Add a thing").click()
    hand.page.get_by_label("What", exact=True).fill("Sea salt")
    hand.page.get_by_label("How much").fill("1,5")
    hand.page.get_by_label("Unit").select_option("kg")
    hand.go(hand.place("swap"))
    hand.page.get_by_role("button", name="Note a swap").click()
    hand.page.get_by_label("Part", exact=True).select_option(str(world.built.tank.pk))
    hand.page.get_by_label("Serial of the new one").fill("SN-7731")
    hand.kept("input[data-kept]")
    hand.arrived()
    stand = {row.path.split("/")[-1]: row.value for row in Value.objects.all()}
    assert (stand["item"], stand["amount"], stand["unit"]) == ("Sea salt", 1.5, "kg")
    assert (stand["component"], stand["serial"]) == (str(world.built.tank.pk), "SN-7731")


def saved_copy(hand: Hand) -> bytes:
    """Save the copy for the office."""
    hand.go("/field/phone/")
    hand.page.evaluate("() => { navigator.canShare = () => false; }")
    with hand.page.expect_download() as file:
        hand.page.get_by_role("button", name="Save a copy for the office").click()
    return file.value.path().read_bytes()


def test_a_copy_carried_in_by_hand_is_taken_once(hand: Hand, world: World) -> None:
    hand.page.route("**/api/v1/field/**", lambda route: route.abort())
    hand.line().write("Carried in by hand")
    hand.go(hand.place("seen")).photo(jpeg(320, 240))
    copy = saved_copy(hand)
    assert len(json.loads(copy)["ops"]) == 1
    office = Client()
    office.force_login(world.staff["office"])
    said: list[dict[str, Any]] = []
    for _ in range(2):
        answer = office.post(
            reverse("api:phone_copy"), {"copy": SimpleUploadedFile("copy.json", copy)}
        )
        assert answer.status_code == 200, answer.content
        said.append(answer.json())
    assert (said[0]["taken"], said[0]["photos"], said[0]["refused"]) == (1, 1, [])
    assert (said[1]["taken"], said[1]["again"]) == (0, 1)
    # the phone finds its signal after all: nothing is there twice
    hand.page.unroute("**/api/v1/field/**")
    hand.now()
    hand.all_there()


def test_what_the_server_works_out_otherwise_is_shown(phones: Phones) -> None:
    hand = phones()
    words = "Potassium bicarbonate: 60 g, not 90 g"

    def with_other(route: Any) -> None:
        answer = route.fetch()
        body = answer.json()
        body["visits"][0]["differs"] = [words]
        route.fulfill(response=answer, json=body)

    hand.page.route("**/api/v1/field/day", with_other)
    hand.open().arrived()
    hand.go(f"/field/visits/{hand.visit.pk}/finish/")
    expect(hand.page.locator("#differs li")).to_have_text(words)
