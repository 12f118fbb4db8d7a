"""The office offers times, sees what became of it, takes it back, books what was said on the phone."""

import datetime as dt
import re
from collections.abc import Iterator
from uuid import uuid4

import pytest
from django.test import Client as Browser
from django.urls import reverse

from apps.clients.models import Client, Place
from apps.core import outbox
from apps.flows import offering
from apps.office.selectors.waiting import waiting_for_us
from apps.reports.models import Letter
from apps.rounds.models import TimesOffered
from apps.visits.models import Visit
from tests import factories
from tests.rounds.conftest import firm  # noqa: F401
from tests.rounds.world import MONDAY, Town

NOW = factories.NOW


class Office:
    """The office's browser before one pencilled visit."""

    def __init__(self, firm: Town) -> None:  # noqa: F811
        self.firm, self.browser = firm, Browser()
        self.browser.force_login(firm.office)
        self.visit = firm.pencil(firm.garden("Heron", 5), MONDAY, 9)

    def get(self, page: str, pk: object) -> str:
        return self.browser.get(reverse(f"office:{page}", args=[pk])).content.decode()

    def fields(self) -> dict[str, object]:
        """Return what the page would send as it is."""
        page = self.get("visit_offer", self.visit.pk)
        value = re.compile(r'name="(key|until|until_time)" value="([^"]*)"')
        times = re.findall(r'name="times" id="[^"]+" value="([^"]+)" checked', page)
        return {**dict(value.findall(page)), "times": times}

    def send(self, **more: object):
        address = reverse("office:visit_offer", args=[self.visit.pk])
        return self.browser.post(address, {**self.fields(), **more})

    def waiting(self) -> list[str]:
        return [f"{item.name}{item.text}" for item in waiting_for_us(self.firm.by)]


@pytest.fixture
def desk(firm: Town) -> Iterator[Office]:  # noqa: F811
    return Office(firm)


class TestThePage:
    def test_three_times_ticked_with_who_and_what_they_cost(self, desk: Office) -> None:
        page = desk.get("visit_offer", desk.visit.pk)
        found = offering.choice_of(desk.visit, NOW)
        assert len(desk.fields()["times"]) == 3
        for time in found.times:
            assert f"between {time.told_from:%H:%M} and {time.told_until:%H:%M}" in page
        assert page.count("km more") == 3
        assert "EUR" in page
        assert "heron@heron.example" in page

    def test_sent_as_it_is(self, desk: Office) -> None:
        answer = desk.send()
        assert answer.status_code == 302
        offer = TimesOffered.objects.get()
        assert (offer.state, offer.times.count()) == ("open", 3)
        page = desk.get("visit", desk.visit.pk)
        assert "The client may choose until" in page
        assert "Robin Heron" in page.split('id="times-1"')[1]
        assert "Times are offered; the client has not chosen yet." in page
        assert reverse("office:visit_offer", args=[desk.visit.pk]) not in page

    def test_one_unticked(self, desk: Office) -> None:
        times = desk.fields()["times"]
        desk.send(times=times[1:])
        starts = [
            f"{time.start:%Y-%m-%dT%H:%MZ}" for time in TimesOffered.objects.get().times.all()
        ]
        assert starts == [key.split("/")[0] for key in times[1:]]

    def test_pressed_twice(self, desk: Office) -> None:
        sent = desk.fields()
        address = reverse("office:visit_offer", args=[desk.visit.pk])
        assert [desk.browser.post(address, sent).status_code for _ in range(2)] == [302, 302]
        assert TimesOffered.objects.count() == Letter.objects.filter(kind="times").count() == 1

    @pytest.mark.parametrize(
        ("sent", "words"),
        [
            ({"times": []}, "Leave at least two"),
            ({"times": ["2026-06-15T09:00Z/x"]}, "can be had no more"),
            ({"until": "2026-06-10"}, "Has gone by"),
            ({"until": "2026-06-30"}, "At the latest"),
            ({"until_time": "25:00"}, "Write a time such as"),
            ({"key": "x"}, "errors"),
        ],
    )
    def test_refused_beside_its_field(self, desk: Office, sent: dict, words: str) -> None:
        answer = desk.send(**sent)
        assert answer.status_code == 422
        assert words in answer.content.decode()
        assert not TimesOffered.objects.exists()

    def test_only_one_left_ticked(self, desk: Office) -> None:
        answer = desk.send(times=desk.fields()["times"][:1])
        assert answer.status_code == 422
        page = answer.content.decode()
        assert "Leave at least two" in page
        assert page.count(" checked") == 1, "what was unticked stays so"

    def test_who_wants_no_question_is_not_asked(self, desk: Office) -> None:
        Client.objects.update(just_tell=True)
        page = desk.get("visit_offer", desk.visit.pk)
        assert "wants no questions, only to be told" in page
        assert "Hold them and write" not in page
        assert reverse("office:visit_move", args=[desk.visit.pk]) in page
        sent = {"key": uuid4(), "times": ["x"], "until": "2026-06-12", "until_time": "09:00"}
        answer = desk.browser.post(reverse("office:visit_offer", args=[desk.visit.pk]), sent)
        assert answer.status_code == 422
        assert not TimesOffered.objects.exists()

    def test_not_on_the_map(self, desk: Office) -> None:
        Place.objects.update(latitude=None, longitude=None)
        page = desk.get("visit_offer", desk.visit.pk)
        assert reverse("office:place_edit", args=[desk.visit.place_id]) in page

    def test_offered_from_where_the_visit_stands(self, desk: Office) -> None:
        address = reverse("office:visit_offer", args=[desk.visit.pk])
        assert address in desk.get("visit", desk.visit.pk)
        desk.firm.book(desk.visit)
        assert address not in desk.get("visit", desk.visit.pk)
        Visit.objects.update(client_answer="other_time")
        assert address in desk.get("visit", desk.visit.pk)


class TestAfterwards:
    def test_taken_back_asks_once(self, desk: Office) -> None:
        desk.send()
        offer = TimesOffered.objects.get()
        assert "Take the offer back?" in desk.get("offer_back", offer.pk)
        assert TimesOffered.objects.get().state == "open"
        address = reverse("office:offer_back", args=[offer.pk])
        assert desk.browser.post(address).status_code == 302
        assert TimesOffered.objects.get().state == "taken_back"
        assert desk.browser.post(address).status_code == 422

    def test_chosen_by_telephone(self, desk: Office) -> None:
        desk.send()
        offer = TimesOffered.objects.get()
        time = offer.times.all()[2]
        address = reverse("office:offer_pick", args=[offer.pk])
        assert desk.browser.post(address, {}).status_code == 422
        assert desk.browser.post(address, {"time": str(time.pk)}).status_code == 302
        visit = Visit.objects.get()
        assert (visit.state, visit.client_answer, visit.start) == (
            "booked",
            "confirmed",
            time.start,
        )
        page = desk.get("visit", visit.pk)
        assert "Picked" in page.split('id="times-1"')[1]

    def test_the_due_page_waits_for_who_did_not_choose(self, desk: Office) -> None:
        assert any("not asked yet" in text for text in desk.waiting())
        desk.send()
        assert desk.waiting() == [], "it waits for the client, not for us"
        offer = TimesOffered.objects.get()
        outbox.drain(offer.until)
        assert any("did not choose" in text for text in desk.waiting())
        visit = Visit.objects.get()
        desk.firm.book(visit)
        assert not any("did not choose" in text for text in desk.waiting())

    def test_the_due_page_says_so_of_a_visit_that_is_far_off_too(self, desk: Office) -> None:
        later = MONDAY + dt.timedelta(days=20)
        visit = desk.firm.pencil(desk.firm.garden("Mill", 7), later, 9)
        offer = offering.offer(visit=visit, by=desk.firm.by, at=NOW)
        offering.lapse(offer_id=offer.pk, at=offer.until)
        assert any(text.startswith("Mill did not choose") for text in desk.waiting())

    def test_the_due_page_says_that_the_last_time_went(self, desk: Office) -> None:
        offer = offering.offer(visit=desk.visit, by=desk.firm.by, at=NOW)
        from apps.rounds.services.offers import time_gone

        for time in offer.times.all():
            time_gone(time=time, by=desk.firm.by, at=NOW)
        assert any("none of the times offered is left" in text for text in desk.waiting())

    def test_none_suits_stands_where_other_times_are_wanted(self, desk: Office) -> None:
        offer = offering.offer(visit=desk.visit, by=desk.firm.by, at=NOW)
        offering.none_suits(offer=offer, words="Only Fridays", by=desk.firm.by, at=NOW)
        assert any("wants another time" in text for text in desk.waiting())
        assert "Only Fridays" in desk.get("visit", desk.visit.pk)
        assert "Only Fridays" in desk.get("visit_offer", desk.visit.pk)

    def test_the_week_shows_what_is_held(self, desk: Office) -> None:
        desk.send()
        page = desk.browser.get(reverse("office:rounds"), {"from": MONDAY.isoformat()})
        assert "offered to the client" in page.content.decode()

    def test_the_booking_page_knows_what_is_held(self, desk: Office) -> None:
        desk.send()
        offer = TimesOffered.objects.get()
        move = desk.get("visit_move", desk.visit.pk)
        assert move.count("offered</span>") == sum(
            time.start.date() < MONDAY + dt.timedelta(days=14) for time in offer.times.all()
        )
        asked = reverse("office:visit_step", args=[desk.visit.pk, "booked"])
        for page in (move, desk.browser.get(asked).content.decode()):
            assert "With this the offer ends" in page
        offering.take_back(offer=offer, by=desk.firm.by, at=NOW)
        assert "With this the offer ends" not in desk.get("visit_move", desk.visit.pk)
