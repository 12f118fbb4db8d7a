"""Who works with the phone: sessions that end, other persons, two phones on one visit."""

import pytest
from django.contrib.sessions.models import Session
from playwright.sync_api import expect

from apps.visits.models import Operation, Value
from tests.phone.conftest import Phones, World
from tests.phone.hand import Hand, hold, wait_for

pytestmark = pytest.mark.browser


def test_a_session_that_ended_asks_to_sign_in_and_loses_nothing(hand: Hand) -> None:
    Session.objects.all().delete()
    hand.line().write("After the session")
    hand.phase("needs", "sign_in")
    hand.says("Needs you: sign in to send 1")
    hand.page.locator("#note").blur()
    hand.write("After the session, more")
    hand.open("/field/phone/")
    hand.phase("needs", "sign_in")
    hand.sign_in("ana")
    hand.all_there()


def test_a_wrong_password_says_so(phones: Phones) -> None:
    hand = phones("").open("/field/phone/")
    hand.phase("needs", "sign_in")
    hand.page.get_by_label("Name", exact=True).fill("ana")
    hand.page.get_by_label("Password").fill("not hers at all")
    hand.page.get_by_role("button", name="Sign in").click()
    expect(hand.page.get_by_role("alert")).to_contain_text("do not belong together")


def test_a_lost_token_is_fetched_again(hand: Hand) -> None:
    hand.context.clear_cookies(name="csrftoken")
    hand.line().write("Without a token")
    hand.all_there()


def test_what_waits_is_sent_under_no_other_name(phones: Phones, world: World) -> None:
    hand = phones().open()
    hand.arrived()
    hand.context.set_offline(True)
    hand.line().write("Ana's own")
    hand.context.clear_cookies()
    hand.page.route("**/operations", lambda route: route.abort())
    hand.context.set_offline(False)
    hand.open("/field/phone/")
    hand.sign_in("marek")
    expect(hand.page.get_by_role("alert")).to_contain_text("belongs to Ana")
    hand.phase("needs", "other_person")
    hand.page.unroute("**/operations")
    hand.now()
    hand.phase("needs", "other_person")
    assert not Operation.objects.exists()
    hand.pending(1)
    hand.sign_in("ana")
    hand.all_there()
    assert str(world.staff["ana"].pk) in Operation.objects.get().by


def test_signing_out_waits_until_all_is_sent(hand: Hand) -> None:
    hand.page.route("**/operations", lambda route: route.abort())
    hand.line().write("Still here")
    hand.go("/field/phone/")
    hand.page.get_by_role("button", name="Sign out").click()
    expect(hand.page.get_by_role("alert")).to_contain_text("Something still waits here")
    assert len(hand.ops()) == 1
    assert hand.page.evaluate("async () => (await caches.keys()).includes('backyard-spare')")
    hand.page.unroute("**/operations")
    hand.all_there()
    hand.go("/field/phone/")
    hand.page.get_by_role("button", name="Sign out").click()
    expect(hand.page.get_by_role("button", name="Sign in")).to_be_visible()
    kept = hand.page.evaluate(
        "async () => (await import('/field/m/db.js')).withDB((db) => db.count('visits'))"
    )
    assert kept == 0
    assert not hand.page.evaluate("async () => (await caches.keys()).includes('backyard-spare')")


def test_the_next_person_takes_an_empty_phone_over(hand: Hand, world: World) -> None:
    hand.context.clear_cookies()
    hand.open("/field/phone/")
    hand.sign_in("marek")
    hand.arrived()
    hand.line().write("Marek's own")
    hand.all_there()
    assert str(world.staff["marek"].pk) in Operation.objects.get().by


def two(phones: Phones) -> tuple[Hand, Hand]:
    """Return Ana's and Marek's phone, both without signal."""
    pair = phones("ana").open(), phones("marek").open()
    for one in pair:
        one.arrived()
        one.context.set_offline(True)
    return pair


def up(one: Hand) -> None:
    """Give a phone its signal back."""
    one.context.set_offline(False)
    one.now()


@pytest.mark.parametrize("ana_first", [True, False])
def test_different_answers_of_two_phones_both_stand(phones: Phones, ana_first: bool) -> None:
    ana, marek = two(phones)
    ana.line(0).write("From Ana", 0)
    marek.line(1).write("From Marek", 1)
    for one in (ana, marek) if ana_first else (marek, ana):
        up(one)
        one.arrived()
    assert ana.journal.missing() == []


@pytest.mark.parametrize("own", [True, False])
@pytest.mark.parametrize("ana_first", [True, False])
def test_two_answers_that_meet_wait_for_a_choice(
    phones: Phones, ana_first: bool, own: bool
) -> None:
    ana, marek = two(phones)
    ana.line().write("It leaks", 0)
    marek.line().write("It is dry", 0)
    first, second = (ana, marek) if ana_first else (marek, ana)
    words = {id(ana): "It leaks", id(marek): "It is dry"}
    up(first)
    first.arrived()
    up(second)
    second.phase("needs", "settle")
    second.says("Needs you: 1 to settle")
    # the first stands, the other is kept, nothing was overwritten
    note = Value.objects.get(path__endswith="/note")
    assert note.value == words[id(first)]
    assert sorted(Operation.objects.values_list("value", "outcome")) == sorted(
        [(words[id(first)], "applied"), (words[id(second)], "conflict")]
    )
    second.page.locator("#sync a").click()
    there = second.page.locator("[data-conflict]")
    expect(there).to_contain_text(words[id(first)])
    expect(there).to_contain_text(words[id(second)])
    expect(there).to_contain_text("Ana" if ana_first else "Marek")
    there.get_by_role("button", name="Mine counts" if own else "Theirs counts").click()
    second.arrived()
    note.refresh_from_db()
    assert note.value == words[id(second if own else first)]


def test_the_end_waits_until_somebody_has_chosen(phones: Phones, world: World) -> None:
    ana, marek = two(phones)
    ana.line().write("It leaks", 0)
    marek.line().write("It is dry", 0)
    up(marek)
    marek.arrived()
    end = "async ([visit]) => (await import('/field/m/store.js')).put(visit, null, 'finish', { needs_seq: 0, photos: [] })"
    ana.page.evaluate(end, [str(world.visit.pk)])
    up(ana)
    ana.phase("needs", "settle")
    assert not Operation.objects.filter(path="finish").exists()
    ana.go(f"/field/visits/{world.visit.pk}/finish/")
    ana.page.get_by_role("link", name="Choose first what counts").click()
    ana.page.get_by_role("button", name="Mine counts").click()
    ana.page.wait_for_function(
        "async () => (await (await import('/field/m/store.js')).pending()).conflicts.length === 0"
    )
    ana.now()
    # what was chosen counts: it came before the end
    assert Value.objects.get(path__endswith="/note").value == "It leaks"
    assert not Operation.objects.filter(outcome="late").exists()


def test_more_words_on_an_answer_that_met_another_do_not_cover_it(phones: Phones) -> None:
    ana, marek = two(phones)
    ana.line().write("Ana's", 0)
    up(ana)
    ana.arrived()
    held = hold(marek.page, "**/operations")
    marek.line().write("Marek's", 0)
    marek.context.set_offline(False)
    marek.page.evaluate("() => void import('/field/m/sync.js').then((m) => m.tryNow())")
    wait_for(marek.page, held)
    marek.write("Marek's, and more", 0)
    held[0].continue_()
    marek.page.unroute("**/operations")
    marek.phase("needs", "settle")
    assert Value.objects.get(path__endswith="/note").value == "Ana's"
    marek.go("/field/settle/")
    expect(marek.page.locator("[data-conflict]")).to_contain_text("Marek's, and more")


def test_one_reading_that_met_another_is_one_choice(phones: Phones, world: World) -> None:
    ana, marek = two(phones)
    for one, figure in ((ana, "6.4"), (marek, "7.1")):
        one.go(one.place(f"read/{world.built.loop.pk}/ph/before/1"))
        one.page.locator("#value").fill(figure)
        one.kept("#value")
        up(one)
        one.phase("arrived" if one is ana else "needs")
    marek.go("/field/settle/")
    expect(marek.page.locator("[data-conflict]")).to_have_count(1)
    expect(marek.page.get_by_role("heading", level=2)).to_contain_text("pH")
    marek.page.get_by_role("button", name="Mine counts").click()
    marek.arrived()
    assert Value.objects.get(path__endswith="/value").value == 7.1
    assert Value.objects.get(path__endswith="/as_typed").value == "7.1"
