"""The whole call: found, asked, noted, somebody sent, those who wait told, closed."""

import datetime as dt
import re
from itertools import count
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client as Browser
from django.urls import reverse

from apps.accounts.models import AuditEntry, User
from apps.clients.models import Contact, VisitingHours
from apps.core import clock
from apps.flows import incident_calls
from apps.flows.letters import compose
from apps.flows.nightly import reminders
from apps.incidents.models import Incident, IncidentNote, PutOff
from apps.incidents.services import incident_answer, incident_open
from apps.reports.models import Letter
from apps.systems.models import System
from apps.visits.exceptions import DoubleBooked
from apps.visits.models import Assignment, Reading, Visit
from tests import factories
from tests.office.conftest import Desk

NOW = factories.NOW


def text(answer: Any) -> str:
    return re.sub(r"\s+", " ", str(answer.content.decode()))


def mapped(desk: Desk, latitude: float = 51.5, longitude: float = -0.1) -> None:
    desk.place.latitude, desk.place.longitude = latitude, longitude
    desk.place.save()


def elsewhere(name: str, latitude: float | None, longitude: float | None = -0.1) -> System:
    """Another household's system, on the map."""
    owner = factories.client(name)
    where = {"latitude": latitude, "longitude": longitude if latitude is not None else None}
    return factories.system(factories.place(owner, **where), f"{name} pond").system


def busy(
    desk: Desk, system: System, user: User, start: dt.datetime, state: str = "booked"
) -> Visit:
    """Book a visit for somebody; under way where that is said."""
    visit = desk.pencil(start=start, place=system.place, systems=[system], technicians=[user])
    from apps.flows import visit_booking

    for to in ("booked", "under_way")[: 1 if state == "booked" else 2]:
        visit = visit_booking.step(visit=visit, to=to, by=desk.actor, at=NOW)
    return visit


def at(minutes: int) -> dt.datetime:
    return NOW + dt.timedelta(minutes=minutes)


@pytest.fixture
def incident(desk: Desk) -> Incident:
    return incident_open(system=desk.built.system, kind="gasping", by=desk.actor, at=NOW)


def do(desk: Desk, incident: Incident, what: str, note: str = "", **more: Any) -> Any:
    data = {"do": what, "text": note, "key": str(uuid4())} | more
    return desk.post("incident", incident.pk, **data)


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

    def test_asking_again_changes_the_way(self, desk: Desk, incident: Incident) -> None:
        do(desk, incident, "answer:people:no")
        assert "Is anyone hurt, or has" in text(desk.get("incident", incident.pk, step="people"))
        do(desk, incident, "answer:people:wet")
        page = text(desk.get("incident", incident.pk))
        assert "Is the power off at the board" in page
        assert "a licensed electrician" in page


class TestNearest:
    def test_soonest_first_and_who_is_nowhere_last(self, desk: Desk, incident: Incident) -> None:
        mapped(desk)
        zoe = factories.user("zoe")
        # about 3 km and 22 km away; Zoe's place is not on the map; Marek has nothing today
        busy(desk, elsewhere("Near", 51.527), desk.ana, at(-30), "under_way")
        far = factories.user("far")
        busy(desk, elsewhere("Far", 51.7), far, at(60))
        busy(desk, elsewhere("Unmapped", None), zoe, at(60))
        near = desk.get("incident", incident.pk).context["near"]
        assert [str(row.candidate.user) for row in near] == ["Ana", "Far", "Marek", "Zoe"]
        assert [row.candidate.seconds is None for row in near] == [False, False, True, True]
        page = text(desk.get("incident", incident.pk))
        assert "Now at Near, garden" in page
        assert "First stop: Far, garden" in page
        assert "Nothing is on their list today" in page
        assert "One of the two places is not on the map." in page

    # haversine: 0.027 degrees of latitude are 3.00 km; 1.3 times that by road, 25 km/h for the
    # first 3 km and 40 km/h for the rest, 2 min to park: 7.2 + 1.35 + 2 = 10.6 min
    def test_the_drive_is_that_of_the_planner_of_rounds(
        self, desk: Desk, incident: Incident
    ) -> None:
        mapped(desk)
        busy(desk, elsewhere("Near", 51.527), desk.ana, at(-30), "under_way")
        near = desk.get("incident", incident.pk).context["near"][0].candidate
        assert near.metres == pytest.approx(3903, abs=5)
        assert near.seconds == pytest.approx(633, abs=2)
        assert near.start == at(11)

    def test_a_place_off_the_map_names_everybody_all_the_same(
        self, desk: Desk, incident: Incident
    ) -> None:
        busy(desk, elsewhere("Near", 51.527), desk.ana, at(60))
        near = desk.get("incident", incident.pk).context["near"]
        assert [str(row.candidate.user) for row in near] == ["Ana", "Marek"]
        assert all(row.drive == "" for row in near)

    def test_it_says_who_waits_and_for_how_long(self, desk: Desk, incident: Incident) -> None:
        mapped(desk)
        busy(desk, elsewhere("Near", 51.527), desk.ana, at(-30), "under_way")
        busy(desk, elsewhere("Later", 51.5), desk.ana, at(60))
        busy(desk, elsewhere("Evening", 51.5), desk.ana, at(400))
        late = desk.get("incident", incident.pk).context["near"][0]
        # there at 9:11, 75 min of work, a drive of no distance: 10:26, on the next five minutes
        assert late.late == ["Later, garden moves from 10:00 to 10:30"]
        assert late.leaves == "Near, garden"

    def test_queries_do_not_grow(self, desk: Desk, incident: Incident, same_queries: Any) -> None:
        def grow() -> None:
            for number in range(4):
                user = factories.user(f"more{number}")
                busy(desk, elsewhere(f"More{number}", 51.6), user, at(60))

        busy(desk, elsewhere("First", 51.6), desk.ana, at(60))
        assert same_queries(lambda: desk.get("incident", incident.pk), grow) <= 45


class TestSending:
    def test_one_click_sends_and_everything_else_makes_room(
        self, desk: Desk, incident: Incident
    ) -> None:
        mapped(desk)
        left = busy(desk, elsewhere("Near", 51.527), desk.ana, at(-30), "under_way")
        later = busy(desk, elsewhere("Later", 51.5), desk.ana, at(60))
        written = Letter.objects.count()
        answer = do(desk, incident, f"send:{desk.ana.pk}", "She goes at once")
        assert answer.status_code == 302, text(answer)
        incident.refresh_from_db()
        visit, later = incident.visit, Visit.objects.get(pk=later.pk)
        assert visit is not None
        assert (visit.state, visit.client_answer, visit.start) == ("booked", "confirmed", at(11))
        assert "fish gasping" in visit.reason
        assert list(visit.technicians.all()) == [desk.ana]
        assert later.start == at(90)
        assert Assignment.objects.get(visit=later).start == at(90)
        assert Assignment.objects.get(visit=left).end == visit.start
        row = PutOff.objects.get()
        assert (row.visit, row.was, row.now) == (later, at(60), at(90))
        # nobody is written to before the office has looked
        assert Letter.objects.count() == written
        page = text(desk.get("incident", incident.pk))
        assert "Ana sent, there by about 09:11." in page
        assert "Who is nearest" not in page

    def test_nobody_is_sent_twice(self, desk: Desk, incident: Incident) -> None:
        do(desk, incident, f"send:{desk.ana.pk}")
        answer = do(desk, incident, f"send:{desk.marek.pk}")
        assert answer.status_code == 422
        assert "Ana goes there already" in text(answer)
        assert Visit.objects.count() == 1

    def test_at_any_hour(self, desk: Desk, incident: Incident) -> None:
        VisitingHours.objects.create(
            place=desk.place, weekday=1, opens=dt.time(13), closes=dt.time(14)
        )
        assert do(desk, incident, f"send:{desk.ana.pk}").status_code == 302

    def test_a_visit_of_two_goes_on_with_one(self, desk: Desk, incident: Incident) -> None:
        mapped(desk)
        other = elsewhere("Both", 51.5)
        both = desk.pencil(start=at(30), place=other.place, systems=[other],
                           technicians=[desk.ana, desk.marek])  # fmt: skip
        do(desk, incident, f"send:{desk.ana.pk}")
        both.refresh_from_db()
        assert both.start == at(30)
        assert list(both.technicians.all()) == [desk.marek]
        assert PutOff.objects.get().now is None
        assert "goes on without them" in text(desk.get("incident", incident.pk))

    def test_what_cannot_make_room_is_named_and_nothing_moves(
        self, desk: Desk, incident: Incident
    ) -> None:
        """A visit that would run into the next day's first one."""
        mapped(desk)
        late = busy(desk, elsewhere("Late", 51.5), desk.ana, at(14 * 60 + 30))
        other = elsewhere("Night", 51.5)
        desk.pencil(start=at(15 * 60 + 50), place=other.place, systems=[other])
        incident_at = at(14 * 60 + 25)
        by = factories.actor(desk.office, incident_at)
        with pytest.raises(DoubleBooked) as caught:
            incident_calls.send(incident=incident, technician=desk.ana, by=by, at=incident_at)
        assert "Ana is at Night, garden" in caught.value.message
        late.refresh_from_db()
        assert late.start == at(14 * 60 + 30)
        assert Incident.objects.get().visit is None

    def test_the_visit_leads_back_to_the_call(self, desk: Desk, incident: Incident) -> None:
        do(desk, incident, f"send:{desk.ana.pk}")
        page = text(desk.get("visit", Visit.objects.get().pk))
        assert reverse("office:incident", args=[incident.pk]) in page
        assert "Follows the call for help at 09:00: fish gasping" in page

    def test_who_has_left_cannot_be_sent(self, desk: Desk, incident: Incident) -> None:
        User.objects.filter(pk=desk.ana.pk).update(is_active=False)
        assert do(desk, incident, f"send:{desk.ana.pk}").status_code == 404
        assert not Visit.objects.exists()

    def test_a_failure_half_way_leaves_nothing(
        self, desk: Desk, incident: Incident, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        mapped(desk)
        later = busy(desk, elsewhere("Later", 51.5), desk.ana, at(30))
        before = AuditEntry.objects.count()

        def broken(**_more: Any) -> None:
            raise RuntimeError("the lights went out")

        monkeypatch.setattr(incident_calls, "incident_followed", broken)
        with pytest.raises(RuntimeError):
            incident_calls.send(incident=incident, technician=desk.ana, by=desk.actor, at=NOW)
        assert Visit.objects.get() == later
        assert Visit.objects.get().start == at(30)
        assert AuditEntry.objects.count() == before


class TestLate:
    @pytest.fixture
    def waits(self, desk: Desk, incident: Incident) -> Visit:
        mapped(desk)
        visit = busy(desk, elsewhere("Later", 51.5), desk.ana, at(30))
        do(desk, incident, f"send:{desk.ana.pk}")
        visit.refresh_from_db()
        return visit

    def test_the_letter_is_seen_before_it_is_sent(
        self, desk: Desk, incident: Incident, waits: Visit
    ) -> None:
        page = text(desk.get("running_late", incident.pk, waits.pk))
        assert "We come later: on Thursday 11 June at 10:15." in page
        assert "We had said Thursday 11 June at 09:30." in page
        assert not Letter.objects.filter(kind="running_late").exists()

    def test_it_goes_once_to_each_contact(
        self, desk: Desk, incident: Incident, waits: Visit
    ) -> None:
        for _try in range(2):
            assert desk.post("running_late", incident.pk, waits.pk).status_code == 302
        letter = Letter.objects.get(kind="running_late")
        assert "letter waiting" in text(desk.get("incident", incident.pk))
        message = compose(letter)
        html = str(message.alternatives[0][0])
        for part in (str(message.body), html):
            assert "fish are in danger" in part
            assert "0555 0100" in part
            assert "Okafor" not in part, "another client is never named"
        assert message.subject == "We come later: on Thursday 11 June at 10:15."

    def test_no_reminder_goes_before_the_office_has_looked(
        self, desk: Desk, incident: Incident, waits: Visit
    ) -> None:
        assert waits.client_answer == "asked"
        assert reminders(at(-1)) == 0, "neither who waits nor who called"
        plain = desk.booked(start=at(300))
        assert reminders(at(-1)) == 1
        assert Letter.objects.get(kind="reminder").visit == plain

    def test_of_another_incident_there_is_none(
        self, desk: Desk, incident: Incident, waits: Visit
    ) -> None:
        other = incident_open(system=desk.built.system, kind="dead", by=desk.actor, at=NOW)
        assert desk.get("running_late", other.pk, waits.pk).status_code == 404
        assert desk.post("running_late", other.pk, waits.pk).status_code == 404

    def test_where_nobody_gets_letters_it_says_call(
        self, desk: Desk, incident: Incident, waits: Visit
    ) -> None:
        Contact.objects.update(gets_letters=False)
        answer = desk.post("running_late", incident.pk, waits.pk)
        assert answer.status_code == 422
        assert "Nobody there gets letters; call them." in text(answer)


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
