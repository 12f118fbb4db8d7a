"""The way to the server fails: nothing typed is lost, nothing arrives twice."""

from typing import Any

import pytest
from playwright.sync_api import Route, expect

from apps.visits.models import Operation
from tests.phone.conftest import Phones, World
from tests.phone.hand import Hand, hold, wait_for

pytestmark = pytest.mark.browser
OPS = "**/api/v1/field/operations"


def test_written_offline_and_loaded_again(worker_hand: Hand) -> None:
    hand = worker_hand
    hand.context.set_offline(True)
    hand.line().write("Wet under the pump")
    hand.says("Kept on the phone, 1 to send")
    hand.reload()
    expect(hand.page.locator("#note")).to_have_value("Wet under the pump")
    hand.pending(1)
    assert not Operation.objects.exists()
    hand.context.set_offline(False)
    hand.all_there()
    hand.says("All arrived")


def test_a_lost_reply_is_no_second_answer(hand: Hand) -> None:
    sent: list[Any] = []

    def lose(route: Route) -> None:
        sent.append(route.request.post_data_json)
        if len(sent) == 1:
            route.fetch()
            route.abort("connectionreset")
        else:
            route.continue_()

    hand.page.route(OPS, lose)
    hand.line().write("Reply lost")
    hand.all_there()
    assert len(sent) == 2
    assert sent[0]["ops"] == sent[1]["ops"]


def test_a_request_that_hangs_is_given_up_and_sent_again(hand: Hand) -> None:
    held = hold(hand.page, OPS)
    hand.line().write("It hangs")
    wait_for(hand.page, held, 2)
    assert held[0].request.post_data_json["ops"] == held[1].request.post_data_json["ops"]
    hand.says("to send")
    hand.page.unroute(OPS)
    hand.all_there()


def test_loaded_again_in_the_middle_of_sending(hand: Hand) -> None:
    held = hold(hand.page, OPS)
    hand.line().write("In the middle")
    wait_for(hand.page, held)
    before = len(held)
    hand.reload()
    wait_for(hand.page, held, before + 1)
    assert held[-1].request.post_data_json["ops"] == held[0].request.post_data_json["ops"]
    hand.page.unroute(OPS)
    hand.all_there()


def test_written_on_while_it_is_being_sent(hand: Hand) -> None:
    held = hold(hand.page, OPS)
    hand.line().write("First words")
    wait_for(hand.page, held)
    hand.write("First words, and more")
    held[0].continue_()
    hand.page.unroute(OPS)
    hand.all_there()
    values = Operation.objects.filter(path__endswith="/note").order_by("seq")
    assert list(values.values_list("value", "outcome")) == [
        ("First words", "applied"), ("First words, and more", "applied"),
    ]  # fmt: skip


def test_a_key_struck_between_reading_and_sending_is_sent_as_it_stands(hand: Hand) -> None:
    # the batch is read, then the same answer is changed, then the batch is marked as sent
    hand.page.evaluate(
        """async ([visit, sheet, path]) => {
          const store = await import('/field/m/store.js');
          const sync = await import('/field/m/sync.js');
          await store.put(visit, sheet, path, 'Early');
          const read = await store.toSend(await store.meta('user'));
          await store.put(visit, sheet, path, 'Late');
          const frozen = await store.freeze(read);
          if (frozen[0].value !== 'Late') throw new Error('sent as it was');
          await sync.tryNow();
        }""",
        [str(hand.visit.pk), str(hand.sheet.pk), f"lines/{hand.lines[0]}/note"],
    )
    hand.journal.note(hand.visit.pk, hand.sheet.pk, f"lines/{hand.lines[0]}/note", "Late")
    hand.all_there()


ANSWERS: dict[str, dict[str, Any]] = {
    "500": {"status": 500, "body": "broken", "content_type": "text/html"},
    "502 of a proxy": {"status": 502, "body": "<h1>Bad gateway</h1>", "content_type": "text/html"},
    "a hotel's page": {"status": 200, "body": "<h1>Welcome</h1>", "content_type": "text/html"},
    "a hotel's JSON": {"status": 200, "body": '{"results": []}', "content_type": "application/json"},
    "302": {"status": 302, "headers": {"Location": "/sign-in/"}},
    "413 of a proxy": {"status": 413, "body": "<h1>Too large</h1>", "content_type": "text/html"},
    "429": {"status": 429, "body": "{}", "content_type": "application/json"},
    "403 of a proxy": {"status": 403, "body": "<h1>No</h1>", "content_type": "text/html"},
}  # fmt: skip


@pytest.mark.parametrize("name", ANSWERS)
def test_an_answer_that_is_not_ours_changes_nothing(hand: Hand, name: str) -> None:
    asked: list[Route] = []

    def strange(route: Route) -> None:
        asked.append(route)
        route.fulfill(**ANSWERS[name])

    hand.page.route(OPS, strange)
    hand.line().write(f"Kept through {name}")
    wait_for(hand.page, asked, 2)
    hand.says("1 to send")
    assert not Operation.objects.exists()
    hand.page.unroute(OPS)
    hand.all_there()


def test_a_batch_too_large_on_its_way_is_cut_in_halves(hand: Hand) -> None:
    sizes: list[int] = []

    def narrow(route: Route) -> None:
        sizes.append(len(route.request.post_data_json["ops"]))
        if sizes[-1] > 2:
            route.fulfill(status=413, body="<h1>Too large</h1>", content_type="text/html")
        else:
            route.continue_()

    hand.context.set_offline(True)
    for n in range(5):
        hand.line(n).write(f"Of five, {n}", n)
    hand.page.route(OPS, narrow)
    hand.context.set_offline(False)
    hand.all_there()
    assert sizes[:3] == [5, 3, 2]
    assert max(sizes[1:]) <= 3


def test_a_wrong_address_of_one_screen_never_stops_another(phones: Phones, world: World) -> None:
    hand = phones().open(f"/field/visits/{world.visit.pk}/{world.visit.pk}/seen/")
    expect(hand.page.get_by_role("heading", level=1)).to_have_text("Not on this phone")
    hand.open(hand.line_path()).write("Goes on")
    hand.all_there()
