"""Who is nearest to a call for help and has the skill, who is sent, who waits and is told."""

import datetime as dt
from typing import Any

import pytest
from django.urls import reverse
from django.utils import timezone

from apps.accounts.models import AuditEntry, User
from apps.clients.models import Contact, VisitingHours
from apps.flows import incident_calls, visit_booking
from apps.flows.letters import compose
from apps.flows.nightly import reminders
from apps.incidents.models import Incident, PutOff
from apps.incidents.services import incident_open
from apps.office.selectors.waiting import waiting_for_us
from apps.reports.models import Letter
from apps.rounds.models import Crew
from apps.visits.exceptions import DoubleBooked
from apps.visits.models import Assignment, Visit
from tests import factories
from tests.office.calling import at, busy, do, elsewhere, mapped, text
from tests.office.conftest import Desk

NOW = factories.NOW


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


class TestSkill:
    """Who has what the call asks for comes before who is nearer."""

    def call(self, desk: Desk, kind: str = "stopped") -> Incident:
        mapped(desk)
        zoe = factories.user("zoe")
        busy(desk, elsewhere("Near", 51.527), desk.ana, at(60))
        busy(desk, elsewhere("Far", 51.7), zoe, at(60))
        return incident_open(system=desk.built.system, kind=kind, by=desk.actor, at=NOW)

    def order(self, desk: Desk, incident: Incident) -> list[str]:
        near = desk.get("incident", incident.pk).context["near"]
        return [str(row.candidate.user) for row in near]

    def test_the_nearest_with_the_skill_stands_first(self, desk: Desk) -> None:
        incident = self.call(desk)
        Crew.objects.create(user=User.objects.get(username="zoe"), skills=["Pumps", "fish"])
        assert self.order(desk, incident) == ["Zoe", "Ana", "Marek"]
        page = text(desk.get("incident", incident.pk))
        assert "This asks for pumps and air: whoever has it stands first." in page
        assert "Has the skill: pumps and air" in page
        assert "Does not have: pumps and air" in page

    def test_of_two_with_the_skill_the_nearer_one(self, desk: Desk) -> None:
        incident = self.call(desk)
        for name in ("zoe", "ana"):
            Crew.objects.create(user=User.objects.get(username=name), skills=["pumps"])
        assert self.order(desk, incident) == ["Ana", "Zoe", "Marek"]

    def test_where_nobody_has_it_that_is_said_and_the_nearest_goes(self, desk: Desk) -> None:
        incident = self.call(desk)
        Crew.objects.create(user=desk.ana, skills=["fish"])
        assert self.order(desk, incident) == ["Ana", "Zoe", "Marek"]
        page = text(desk.get("incident", incident.pk))
        assert "This asks for pumps and air: nobody of ours has that among their skills." in page
        assert "call somebody from outside for it" in page

    def test_an_answer_changes_what_is_asked_for(self, desk: Desk) -> None:
        incident = self.call(desk)
        Crew.objects.create(user=desk.marek, skills=["electric"])
        assert self.order(desk, incident)[0] == "Ana"
        do(desk, incident, "answer:people:wet")
        assert self.order(desk, incident) == ["Marek", "Ana", "Zoe"]

    def test_a_call_that_asks_for_none_says_nothing_of_it(self, desk: Desk) -> None:
        page = text(desk.get("incident", self.call(desk, "gasping").pk))
        assert "This asks for" not in page
        assert "Does not have" not in page


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
        # in HTML no line ends within the number
        for part, number in ((str(message.body), "0555 0100"), (html, "0555&nbsp;0100")):
            assert "fish are in danger" in part
            assert number in part
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


class TestNotTold:
    """Whose visit was moved by a call for help stands on the due list until they know."""

    def lines(self, desk: Desk) -> list[tuple[str, str]]:
        found = waiting_for_us(desk.actor)
        return [(row.name + row.text, row.url) for row in found if "not told" in row.text]

    def moved(self, desk: Desk, incident: Incident) -> Visit:
        """A visit that its client confirmed and that has to wait."""
        mapped(desk)
        visit = busy(desk, elsewhere("Later", 51.5), desk.ana, at(60))
        visit = visit_booking.answer(
            visit=visit, answer="confirmed", words="", by=desk.actor, at=at(-10)
        )
        assert not self.lines(desk)
        do(desk, incident, f"send:{desk.ana.pk}")
        return visit

    def test_they_are_named_until_they_are_told(self, desk: Desk, incident: Incident) -> None:
        visit = self.moved(desk, incident)
        visit.refresh_from_db()
        when = f"{timezone.localtime(visit.start):%H:%M}, not at {timezone.localtime(at(60)):%H:%M}"
        where = reverse("office:running_late", args=[incident.pk, visit.pk])
        said = f"Later was not told that on Thu 11 June we come at {when}: a call for help"
        assert self.lines(desk) == [(said, where)]
        assert where in text(desk.get("due"))
        Incident.objects.filter(pk=incident.pk).update(
            state="closed", closed_at=NOW, cause="power", outcome="it was nothing"
        )
        assert len(self.lines(desk)) == 1, "also once the call is closed"
        desk.post("running_late", incident.pk, visit.pk)
        assert Letter.objects.filter(kind="running_late").exists()
        assert not self.lines(desk)

    @pytest.mark.parametrize("end", ["begun", "telephoned", "moved", "called off", "never told"])
    def test_what_needs_no_telling_any_more(self, desk: Desk, incident: Incident, end: str) -> None:
        visit = self.moved(desk, incident)
        visit.refresh_from_db()
        by = {"visit": visit, "by": desk.actor, "at": at(5)}
        if end == "begun":
            visit_booking.step(to="under_way", **by)
        elif end == "telephoned":
            visit_booking.answer(answer="confirmed", words="fine", **by)
        elif end == "moved":
            visit_booking.move(
                start=at(24 * 60), end=at(25 * 60), technicians=[desk.ana], rev=visit.rev, **by
            )
        elif end == "called off":
            visit_booking.step(to="called_off", reason="sold", **by)
        else:
            Visit.objects.filter(pk=visit.pk).update(appointment_sequence=0)
        assert not self.lines(desk)
