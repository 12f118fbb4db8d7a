"""Somebody is away: who makes their booked visits, at the minute that was promised."""

import datetime as dt

import pytest

from apps.care.models import CareTask
from apps.core.exceptions import Conflict
from apps.core.scoping import Actor
from apps.flows import visit_booking
from apps.flows.letters import compose
from apps.flows.standing_in import Pick, Proposal, Refused, propose, take_over
from apps.reports.models import Letter
from apps.rounds.models import Absence, Crew, WorkingHours
from apps.rounds.planning.problem import MONEY
from apps.rounds.services import absence_end
from apps.visits.models import Assignment, Visit
from tests import factories
from tests.racing import at_once
from tests.rounds.test_offering_races import nobody_twice
from tests.rounds.world import BASE, MONDAY, TODAY, Town, town

NOW = factories.NOW
TUESDAY = MONDAY + dt.timedelta(days=1)


def booked(
    firm: Town, name: str, hour: float, *who: object, day: dt.date = MONDAY, km: float = 2.0
) -> Visit:
    visit = firm.pencil(firm.garden(name, km), day, hour, *(who or (firm.marek,)))
    return firm.book(visit)


def sick(firm: Town, first: dt.date = MONDAY, last: dt.date = MONDAY, **more: str) -> Absence:
    return Absence.objects.create(user=firm.marek, first=first, last=last, **more)


def proposed(absence: Absence) -> Proposal:
    return propose(absence=absence, today=TODAY, at=NOW)


def accept(
    absence: Absence, made: Proposal, firm: Town, picks: list[Pick] | None = None
) -> tuple[list[Visit], list[Refused]]:
    """Accept what was proposed, or some lines of it."""
    lines = [line.pick for line in made.lines] if picks is None else picks
    return take_over(absence=absence.pk, picks=lines, today=TODAY, by=firm.by, at=NOW)


def going(visit: Visit) -> list[str]:
    rows = Assignment.objects.filter(visit=visit, holds=True).select_related("user")
    return sorted(row.user.username for row in rows)


class TestProposed:
    def test_each_booked_visit_and_nothing_is_stored(self, firm: Town) -> None:
        first = booked(firm, "Heron", 9)
        second = booked(firm, "Osei", 14, day=TUESDAY)
        booked(firm, "Sedge", 9, day=TUESDAY + dt.timedelta(days=1))
        firm.pencil(firm.garden("Lindqvist"), MONDAY, 11, firm.marek)
        booked(firm, "Adeyemi", 11, firm.ana)
        before = list(Assignment.objects.order_by("pk").values())
        letters = Letter.objects.count()
        made = proposed(sick(firm, last=TUESDAY))
        assert [(line.visit, line.user) for line in made.lines] == [
            (first, firm.ana), (second, firm.ana),
        ]  # fmt: skip
        assert made.nobody == []
        assert list(Assignment.objects.order_by("pk").values()) == before
        assert Letter.objects.count() == letters

    def test_what_it_costs_is_exact(self, firm: Town) -> None:
        """Ana passes the door: an hour at 36, and not a kilometre more."""
        booked(firm, "Heron", 9, firm.ana, km=4)
        booked(firm, "Osei", 10, km=4)
        [line] = proposed(sick(firm)).lines
        assert (line.metres, line.extra) == (0, 36 * MONEY)

    def test_whose_round_costs_least_more(self, firm: Town) -> None:
        """Cleo lives at the door; Ana would be sent out for it."""
        visit = booked(firm, "Heron", 9, km=30)
        cleo = factories.user("cleo")
        Crew.objects.create(
            user=cleo, starts_from="home", latitude=visit.place.latitude, longitude=BASE[1]
        )
        [line] = proposed(sick(firm)).lines
        assert line.user == cleo

    def test_two_visits_of_one_hour_go_to_two(self, firm: Town) -> None:
        cleo = factories.user("cleo")
        for name in ("Heron", "Osei"):
            visit = booked(firm, name, 9)
            # as it may stand after a call for help
            Assignment.objects.filter(visit=visit).update(holds=False)
        made = proposed(sick(firm))
        assert {line.user for line in made.lines} == {firm.ana, cleo}

    def test_only_who_has_what_it_needs(self, firm: Town) -> None:
        visit = booked(firm, "Heron", 9)
        system = visit.sheets.get().system
        CareTask.objects.create(
            system=system, code="wires", mode="every_visit", skill="electric", minutes=10
        )
        absence = sick(firm)
        [(nobody, why)] = proposed(absence).nobody
        assert nobody == visit
        assert "electric" in why
        Crew.objects.create(user=firm.ana, skills=["electric"])
        assert [line.user for line in proposed(absence).lines] == [firm.ana]

    def test_a_colleague_who_comes_along_brings_the_skill(self, firm: Town) -> None:
        cleo = factories.user("cleo")
        Crew.objects.create(user=firm.ana, skills=["electric"])
        visit = booked(firm, "Heron", 9, firm.ana, firm.marek)
        CareTask.objects.create(
            system=visit.sheets.get().system, code="wires", mode="every_visit", skill="electric",
        )  # fmt: skip
        assert [line.user for line in proposed(sick(firm)).lines] == [cleo]

    def test_nobody_who_is_elsewhere_or_off(self, firm: Town) -> None:
        visit = booked(firm, "Heron", 9)
        booked(firm, "Osei", 9.5, firm.ana)
        late = booked(firm, "Sedge", 16)
        WorkingHours.objects.create(user=firm.ana, weekday=1, starts=dt.time(8), ends=dt.time(15))
        made = proposed(sick(firm))
        assert made.lines == []
        assert [row for row, _why in made.nobody] == [visit, late]

    def test_a_half_day_leaves_the_other_half(self, firm: Town) -> None:
        booked(firm, "Heron", 9)
        afternoon = booked(firm, "Osei", 14)
        made = proposed(sick(firm, part="afternoon"))
        assert [line.visit for line in made.lines] == [afternoon]

    def test_what_has_begun_or_gone_by_is_not_asked_for(self, firm: Town) -> None:
        gone = booked(firm, "Heron", 9, day=TODAY)
        Visit.objects.filter(pk=gone.pk).update(start=NOW - dt.timedelta(hours=1), end=NOW)
        assert proposed(sick(firm, first=TODAY, last=TODAY)).lines == []

    def test_as_many_queries_for_many(self, firm: Town, same_queries) -> None:
        absence = sick(firm)
        booked(firm, "Heron", 8.5)
        names = iter(("Osei", "Sedge", "Adeyemi"))

        def more() -> None:
            for hour, name in zip((10, 13, 15), names, strict=True):
                booked(firm, name, hour)

        same_queries(lambda: proposed(absence), more)


class TestAccepted:
    def test_other_hands_at_the_same_minute(self, firm: Town) -> None:
        visit = booked(firm, "Heron", 9)
        client = Actor(role="client", at=NOW, client_id=visit.place.client_id)
        visit_booking.answer(visit=visit, answer="confirmed", words="Fine", by=client, at=NOW)
        visit.refresh_from_db()
        was = (visit.start, visit.end)
        absence = sick(firm)
        stored, refused = accept(absence, proposed(absence), firm)
        assert (stored, refused) == ([visit], [])
        visit.refresh_from_db()
        assert (visit.start, visit.end) == was
        assert going(visit) == ["ana"]
        assert (visit.client_answer, visit.client_words) == ("confirmed", "Fine")
        assert proposed(absence) == Proposal([], [])

    def test_the_client_reads_who_comes_and_is_not_asked_again(self, firm: Town) -> None:
        visit = booked(firm, "Heron", 9)
        Visit.objects.filter(pk=visit.pk).update(client_answer="confirmed")
        visit.refresh_from_db()
        absence, before = sick(firm), set(Letter.objects.values_list("pk", flat=True))
        made = proposed(absence)
        assert made.lines[0].told
        accept(absence, made, firm)
        [letter] = Letter.objects.exclude(pk__in=before)
        mail = compose(letter)
        assert mail.subject.startswith("Ana will come on Monday 15 June")
        assert "stay as they were" in mail.subject
        assert "PARTSTAT=ACCEPTED" in str(mail.attachments)
        visit.refresh_from_db()
        assert letter.parameters["sequence"] == visit.appointment_sequence

    def test_who_was_told_nothing_is_not_written_to(self, firm: Town) -> None:
        visit = booked(firm, "Heron", 9)
        Visit.objects.filter(pk=visit.pk).update(appointment_sequence=0)
        absence, before = sick(firm), Letter.objects.count()
        made = proposed(absence)
        assert not made.lines[0].told
        accept(absence, made, firm)
        assert going(visit) == ["ana"]
        assert Letter.objects.count() == before

    def test_a_line_that_was_left_out_stays(self, firm: Town) -> None:
        first, second = booked(firm, "Heron", 9), booked(firm, "Osei", 14)
        absence = sick(firm)
        made = proposed(absence)
        stored, refused = accept(absence, made, firm, picks=[made.lines[1].pick])
        assert (stored, refused) == ([second], [])
        assert going(first) == ["marek"]

    def test_of_two_only_the_absent_one_is_replaced(self, firm: Town) -> None:
        factories.user("cleo")
        visit = booked(firm, "Heron", 9, firm.ana, firm.marek)
        absence = sick(firm)
        accept(absence, proposed(absence), firm)
        assert going(visit) == ["ana", "cleo"]


class TestSomebodyWasQuicker:
    """The line is refused in words; the others are stored."""

    def test_the_visit_was_changed(self, firm: Town) -> None:
        first, second = booked(firm, "Heron", 9), booked(firm, "Osei", 14)
        absence = sick(firm)
        made = proposed(absence)
        Visit.objects.filter(pk=first.pk).update(rev=first.rev + 1)
        stored, [refused] = accept(absence, made, firm)
        assert stored == [second]
        assert refused.pick == made.lines[0].pick
        assert refused.why.startswith("Heron's garden, Mon 15 June: somebody changed it")
        assert going(first) == ["marek"]

    def test_it_was_called_off(self, firm: Town) -> None:
        first, second = booked(firm, "Heron", 9), booked(firm, "Osei", 14)
        absence = sick(firm)
        made = proposed(absence)
        visit_booking.step(visit=first, to="called_off", by=firm.by, at=NOW, reason="rain")
        stored, [refused] = accept(absence, made, firm)
        assert stored == [second]
        assert "somebody changed it" in refused.why

    def test_who_should_go_was_booked_elsewhere(self, firm: Town) -> None:
        _first, second = booked(firm, "Heron", 9), booked(firm, "Osei", 14)
        absence = sick(firm)
        made = proposed(absence)
        firm.pencil(firm.garden("Sedge"), MONDAY, 9.5, firm.ana)
        letters = Letter.objects.count()
        stored, [refused] = accept(absence, made, firm)
        assert stored == [second]
        assert "Ana cannot be there then any more" in refused.why
        assert Letter.objects.count() == letters + 1
        assert nobody_twice()

    def test_who_should_go_has_no_time_left_for_the_drive(self, firm: Town) -> None:
        visit = booked(firm, "Heron", 9)
        absence = sick(firm)
        made = proposed(absence)
        firm.pencil(firm.garden("Far", 60), MONDAY, 10.25, firm.ana)
        stored, [refused] = accept(absence, made, firm)
        assert stored == []
        assert "cannot be there" in refused.why
        assert going(visit) == ["marek"]

    def test_they_work_after_all(self, firm: Town) -> None:
        visit = booked(firm, "Heron", 9)
        absence = sick(firm)
        made = proposed(absence)
        absence_end(absence=Absence.objects.get(), by=firm.by, at=NOW)
        with pytest.raises(Conflict, match="after all"):
            accept(absence, made, firm)
        assert going(visit) == ["marek"]

    def test_the_same_accepted_twice_is_stored_once(self, firm: Town) -> None:
        booked(firm, "Heron", 9)
        absence = sick(firm)
        made = proposed(absence)
        accept(absence, made, firm)
        letters = Letter.objects.count()
        stored, [refused] = accept(absence, made, firm)
        assert stored == []
        assert "somebody changed it" in refused.why
        assert Letter.objects.count() == letters

    def test_nobody_can_be_named_who_cannot_go(self, firm: Town) -> None:
        visit = booked(firm, "Heron", 9)
        absence = sick(firm)
        for user in (firm.office, firm.marek):
            pick = Pick(visit.pk, visit.rev, user.pk)
            stored, [refused] = accept(absence, proposed(absence), firm, picks=[pick])
            assert stored == []
            assert "cannot be there" in refused.why


@pytest.mark.usefixtures("committed_db")
def test_two_who_accept_at_once_store_each_visit_once(monkeypatch: pytest.MonkeyPatch) -> None:
    here = town()
    for name, hour in (("Heron", 9), ("Osei", 14)):
        booked(here, name, hour)
    absence = sick(here)
    made = proposed(absence)
    letters = Letter.objects.count()
    found = at_once(*[lambda: len(accept(absence, made, here)[0])] * 3)
    assert sorted(found) == [0, 0, 2]
    assert Letter.objects.count() == letters + 2
    assert nobody_twice()
