"""The whole call: found, asked, noted, somebody sent, those who wait told, closed."""

import datetime as dt
from itertools import count
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client as Browser
from django.urls import reverse

from apps.advice.models import Advice
from apps.clients.models import Contact
from apps.core import clock
from apps.incidents.models import Incident, IncidentNote
from apps.incidents.services import incident_answer, incident_open
from apps.reports.models import Letter
from apps.visits.models import Reading, Visit
from tests import factories
from tests.office.calling import at, busy, do, elsewhere, mapped, text
from tests.office.conftest import Desk

NOW = factories.NOW


class TestFinding:
    def test_the_first_words_stand_before_the_search(self, desk: Desk) -> None:
        page = text(desk.get("call"))
        assert "Is anyone hurt? Then the emergency services come first" in page

    @pytest.mark.parametrize("query", ["okaf", "Quarry", "patio", "5550 12 34"])
    def test_by_name_street_system_and_number(self, desk: Desk, query: str) -> None:
        Contact.objects.update(phone="+44 5550 1234")
        page = desk.get("call", q=query)
        assert page.context["systems"] == [desk.built.system]
        assert reverse("office:call_open", args=[desk.built.system.pk]) in text(page)

    def test_nobody_found_says_what_helps_anyhow(self, desk: Desk) -> None:
        page = text(desk.get("call", q="zzzz"))
        assert "No tank is found for “zzzz”" in page
        assert "air on, no feed" in page

    def test_what_is_typed_is_never_code(self, desk: Desk) -> None:
        assert "<b>x" not in text(desk.get("call", q="<b>x"))

    def test_every_page_of_the_office_leads_there(self, desk: Desk) -> None:
        for page in ("due", "places", "letters", "reference"):
            assert f'href="{reverse("office:call")}"' in text(desk.get(page))


class TestTank:
    def read(self, desk: Desk, code: str, value: float, unit: str, hours: int) -> None:
        when = NOW - dt.timedelta(hours=hours)
        Reading.objects.create(
            loop=desk.built.loop, measurand=code, value=value, unit=unit, typed="x", taken_at=when,
            received_at=when, word="in_band",
        )  # fmt: skip

    # 1500 L, 40 tilapia of 180 g = 7.2 kg at 28 °C from 6.65 mg/L down to the species' 3 mg/L:
    # 60 x 3.65 / (300 x 1.5 x 7.2 / 1500) = 101 min by hand; fed, half of it.
    def test_minutes_from_fresh_readings_are_those_of_the_phone(self, desk: Desk) -> None:
        self.read(desk, "do", 6.65, "mg/L", 2)
        self.read(desk, "temp", 28, "°C", 2)
        page = text(desk.get("call_open", desk.built.system.pk))
        assert "Without air these fish last 101 minutes at least" in page
        assert "From oxygen read 2 h ago and temperature read 2 h ago." in page
        assert "No oxygen comes in through the surface" in page

    # the tank holds 1000 of the 1500 L, and fed they breathe twice as much:
    # 60 x 3.65 / (300 x 1.5 x 7.2 / 1000) / 2 = 33 min by hand
    def test_a_pump_that_stands_leaves_the_tank_alone(self, desk: Desk) -> None:
        self.read(desk, "do", 6.65, "mg/L", 2)
        self.read(desk, "temp", 28, "°C", 2)
        said = "If the pump stands too: 33 minutes."
        assert said in text(desk.get("call_open", desk.built.system.pk))

    def test_old_readings_count_as_fed_and_say_so(self, desk: Desk) -> None:
        self.read(desk, "do", 6.65, "mg/L", 9 * 24)
        self.read(desk, "temp", 28, "°C", 9 * 24)
        page = text(desk.get("call_open", desk.built.system.pk))
        assert "last 50 minutes at least" in page
        assert "Those readings are old" in page
        assert "read 9 d ago" in page

    def test_without_readings_no_figure_is_made_up(self, desk: Desk) -> None:
        page = text(desk.get("call_open", desk.built.system.pk))
        assert "no time can be given: air on now" in page
        assert "at least" not in page

    def test_what_is_needed_stands_there(self, desk: Desk) -> None:
        desk.place.access_notes, desk.place.gate_code = "Side gate, ring twice", "4711"
        desk.place.save()
        page = text(desk.get("call_open", desk.built.system.pk))
        for words in ("1,500", "40 Nile tilapia", "7.2", "Air pump", "Side gate, ring twice",
                      "4711", "No backup air is known here.", "0555 0199"):  # fmt: skip
            assert words in page, words


def test_opening_asks_people_first_whatever_is_said(desk: Desk) -> None:
    answer = desk.post("call_open", desk.built.system.pk, kind="gasping", said="Since dawn",
                       caller="Robin")  # fmt: skip
    row = Incident.objects.get()
    assert answer.url == reverse("office:incident", args=[row.pk])
    page = text(desk.browser.get(answer.url))
    assert "Is anyone hurt, or has water reached sockets" in page
    assert "Since dawn" in page
    do(desk, row, "answer:people:no")
    page = text(desk.get("incident", row.pk))
    # what was said at first is taken as answered: its words come, and the next question
    assert "Start backup or battery air" in page
    assert "Does air reach the fish now" in page


@pytest.mark.parametrize("kind", ["", "fire", "gasping\0"])
def test_an_unknown_kind_is_refused_and_what_was_typed_stays(desk: Desk, kind: str) -> None:
    answer = desk.post("call_open", desk.built.system.pk, kind=kind, said="Since dawn")
    assert answer.status_code == 422
    assert "Since dawn" in text(answer)
    assert not Incident.objects.exists()


class TestNotes:
    def test_a_note_is_kept_at_once_and_once(self, desk: Desk, incident: Incident) -> None:
        key = str(uuid4())
        for _try in range(2):
            answer = do(desk, incident, "note", "Pump hums", key=key)
            assert answer.status_code == 302
        assert [n.text for n in IncidentNote.objects.filter(kind="note")] == ["Pump hums"]
        assert "Pump hums" in text(desk.get("incident", incident.pk))

    def test_every_button_keeps_the_note_too(self, desk: Desk, incident: Incident) -> None:
        do(desk, incident, "answer:people:no", "He sounds calm")
        do(desk, incident, "stand:watching", "Air runs")
        texts = set(IncidentNote.objects.filter(kind="note").values_list("text", flat=True))
        assert texts == {"He sounds calm", "Air runs"}
        incident.refresh_from_db()
        assert incident.state == "watching"

    def test_a_note_without_words_is_refused(self, desk: Desk, incident: Incident) -> None:
        answer = do(desk, incident, "note", "   ")
        assert answer.status_code == 422
        assert "Write at least one word." in text(answer)

    def test_a_note_too_long_stays_in_the_form(self, desk: Desk, incident: Incident) -> None:
        answer = do(desk, incident, "note", "w" * 4001)
        assert answer.status_code == 422
        assert "w" * 4001 in text(answer)

    def test_a_refused_button_leaves_the_note_kept(self, desk: Desk, incident: Incident) -> None:
        answer = do(desk, incident, "answer:people:perhaps", "Typed while asking")
        assert answer.status_code == 422
        assert "One of no, hurt, wet, unsure" in text(answer)
        assert IncidentNote.objects.get(kind="note").text == "Typed while asking"
        assert Incident.objects.get().answers == incident.answers

    def test_without_its_key_a_note_stays_in_the_form(self, desk: Desk, incident: Incident) -> None:
        answer = do(desk, incident, "note", "Pump hums", key="x")
        assert answer.status_code == 422
        assert "Pump hums" in text(answer)

    @pytest.mark.parametrize("what", ["dance", "send:nobody", "stand:closed", "answer:roof:no"])
    def test_a_button_that_is_none(self, desk: Desk, incident: Incident, what: str) -> None:
        assert do(desk, incident, what).status_code in (400, 404, 422)
        assert Incident.objects.get().rev == incident.rev

    def test_warm_water_asks_for_a_look_at_dawn(self, desk: Desk, incident: Incident) -> None:
        assert "at dawn" not in text(desk.get("incident", incident.pk))
        row = Advice.objects.create(
            system=incident.system, rule="oxygen_low", urgency="now", position=1, made_at=NOW
        )
        page = text(desk.get("incident", incident.pk))
        assert "come at dawn, when oxygen is lowest" in page
        tomorrow = (factories.TODAY + dt.timedelta(days=1)).isoformat()
        assert f"{reverse('office:book', args=[incident.system_id])}?day={tomorrow}" in page
        row.rule = "ph_low"
        row.save()
        assert "at dawn" not in text(desk.get("incident", incident.pk))

    def test_asking_again_changes_the_way(self, desk: Desk, incident: Incident) -> None:
        do(desk, incident, "answer:people:no")
        assert "Is anyone hurt, or has" in text(desk.get("incident", incident.pk, step="people"))
        do(desk, incident, "answer:people:wet")
        page = text(desk.get("incident", incident.pk))
        assert "Is the power off at the board" in page
        assert "a licensed electrician" in page


class TestClosing:
    GOOD = {"cause": "air", "cause_words": "Diaphragm torn", "outcome": "New kit, all well",
            "fish_lost": "3"}  # fmt: skip

    def test_with_cause_and_outcome(self, desk: Desk, incident: Incident) -> None:
        answer = desk.post("incident_close", incident.pk, rev="1", **self.GOOD)
        assert answer.status_code == 302
        page = text(desk.browser.get(answer.url))
        assert "air failed" in page
        assert "3 fish were lost." in page
        assert "New kit, all well" in text(desk.get("incidents", show="closed"))
        assert "air failed" in text(desk.get("system", desk.built.system.pk))

    @pytest.mark.parametrize(
        ("name", "value", "says"),
        [("cause", "", "required"), ("cause", "bad luck", "bad luck"), ("outcome", " ", "required"),
         ("fish_lost", "-1", "0 to"), ("fish_lost", "some", "number"), ("fish_lost", "1.5", "whole")],
    )  # fmt: skip
    def test_a_missing_word_is_asked_for(
        self, desk: Desk, incident: Incident, name: str, value: str, says: str
    ) -> None:
        answer = desk.post("incident_close", incident.pk, rev="1", **(self.GOOD | {name: value}))
        assert answer.status_code == 422
        assert says in text(answer)
        assert "Diaphragm torn" in text(answer)
        incident.refresh_from_db()
        assert incident.state == "open"

    def test_two_at_once_the_second_sees_both(self, desk: Desk, incident: Incident) -> None:
        desk.post("incident_close", incident.pk, rev="1", **self.GOOD)
        answer = desk.post("incident_close", incident.pk, rev="1",
                           **(self.GOOD | {"outcome": "All dead"}))  # fmt: skip
        assert answer.status_code == 422
        page = text(answer)
        assert "New kit, all well" in page
        assert "All dead" in page
        incident.refresh_from_db()
        assert incident.outcome == "New kit, all well"
        again = desk.post("incident_close", incident.pk, rev=str(incident.rev), **self.GOOD)
        assert again.status_code == 422
        assert "This incident is closed" in text(again)

    def test_open_again_with_a_reason(self, desk: Desk, incident: Incident) -> None:
        desk.post("incident_close", incident.pk, rev="1", **self.GOOD)
        assert desk.post("incident_again", incident.pk, reason="").status_code == 422
        assert desk.post("incident_again", incident.pk, reason="Gasping again").status_code == 302
        incident.refresh_from_db()
        assert (incident.state, incident.closed_at) == ("open", None)
        assert "Gasping again" in text(desk.get("incident", incident.pk))

    def test_a_closed_one_takes_no_answer_and_nobody(self, desk: Desk, incident: Incident) -> None:
        desk.post("incident_close", incident.pk, rev="1", **self.GOOD)
        for what in ("answer:people:no", f"send:{desk.ana.pk}"):
            assert do(desk, incident, what).status_code == 422
        assert not Visit.objects.exists()


class TestLists:
    def test_due_shows_open_calls_before_all_else(self, desk: Desk, incident: Incident) -> None:
        page = text(desk.get("due"))
        assert page.index("fish gasping") < page.index("Waiting for us")
        assert page.index("fish gasping") < page.index("data-list")
        do(desk, incident, "stand:watching")
        assert "being watched" in text(desk.get("due"))
        desk.post("incident_close", incident.pk, rev="2", **TestClosing.GOOD)
        assert "fish gasping" not in text(desk.get("due"))

    def test_open_ones_first(self, desk: Desk, incident: Incident) -> None:
        newer = incident_open(system=desk.built.system, kind="dead", by=desk.actor, at=at(5))
        desk.post("incident_close", newer.pk, rev="1", **TestClosing.GOOD)
        answer = desk.get("incidents")
        assert list(answer.context["page"]) == [incident, newer]
        assert "One is open." in text(answer)
        assert b"".join(desk.get("incidents_csv")).count(b"Okafor") == 2

    def test_empty(self, empty: Desk) -> None:
        page = text(empty.get("incidents"))
        assert "Nobody has called for help yet." in page
        assert "find their tank first" in page

    def test_an_unknown_filter(self, desk: Desk) -> None:
        assert desk.get("incidents", show="lost").status_code == 400

    def test_queries_do_not_grow(self, desk: Desk, incident: Incident, same_queries: Any) -> None:
        def grow() -> None:
            for _one in range(5):
                incident_open(system=desk.built.system, kind="dead", by=desk.actor, at=NOW)

        assert same_queries(lambda: desk.get("incidents"), grow) <= 15
        assert same_queries(lambda: desk.get("due"), grow) <= 60


def test_a_technician_may_not_use_the_desk(desk: Desk, incident: Incident) -> None:
    browser = Browser()
    browser.force_login(desk.ana)
    for name, args in (("call", []), ("incidents", []), ("incident", [incident.pk]),
                       ("incident_close", [incident.pk])):  # fmt: skip
        assert browser.get(reverse(f"office:{name}", args=args)).status_code == 403


def test_two_answers_to_one_step_both_stand_in_the_notes(desk: Desk, incident: Incident) -> None:
    for answer in ("no", "unsure"):
        incident_answer(incident=incident, step="people", answer=answer, by=desk.actor, at=NOW)
    page = text(desk.get("incident", incident.pk))
    assert "No, everybody is safe" in page
    assert "Not sure" in page


def test_the_whole_story(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    """Call, script, note, nearest, visit, letter, close: one after the other, as the office does it."""
    seconds = count()
    monkeypatch.setattr(clock, "now", lambda: NOW + dt.timedelta(seconds=next(seconds)))
    mapped(desk)
    waits = busy(desk, elsewhere("Later", 51.51), desk.ana, at(40))
    system = desk.get("call", q="okafor").context["systems"][0]
    opened = desk.post("call_open", system.pk, kind="stopped", said="It hums", caller="Robin")
    incident = Incident.objects.get()
    assert opened.url == reverse("office:incident", args=[incident.pk])
    for answer in ("people:no", "gasping:yes", "air:no"):
        assert do(desk, incident, f"answer:{answer}", f"at {answer}").status_code == 302
    page = text(desk.get("incident", incident.pk))
    # 'stopped' was said at first and is not asked again: next is which one
    assert "Which one stands still?" in page
    assert "now" in desk.get("incident", incident.pk).context["script"].urgency
    near = desk.get("incident", incident.pk).context["near"]
    assert str(near[0].candidate.user) == "Ana"
    assert do(desk, incident, f"send:{desk.ana.pk}").status_code == 302
    incident.refresh_from_db()
    assert incident.visit is not None
    assert incident.visit.reason == "Call for help: pump or air stopped. It hums"
    waits.refresh_from_db()
    assert waits.start > at(40)
    assert desk.post("running_late", incident.pk, waits.pk).status_code == 302
    assert Letter.objects.get(kind="running_late").contact.client.name == "Later"
    do(desk, incident, "stand:watching")
    incident.refresh_from_db()
    closed = desk.post("incident_close", incident.pk, rev=str(incident.rev), cause="pump",
                       outcome="New pump, all well", fish_lost="0")  # fmt: skip
    assert closed.status_code == 302
    page = text(desk.get("incident", incident.pk))
    order = ["Closed: pump failed.", "Now being watched.", "Ana sent", "at air:no", "at people:no",
             "Opened: pump or air stopped."]  # fmt: skip
    notes = page[page.index("What was said and done") :]
    places = [notes.index(words) for words in order]
    assert places == sorted(places)
