"""Somebody is away, on the desk: all lines on one page, left out by a tick, accepted with a click."""

import datetime as dt
from typing import Any

import pytest
from django.contrib.messages import get_messages
from django.test import Client
from django.urls import reverse

from apps.flows import offering
from apps.flows.offer_letters import compose_times
from apps.reports.models import Letter
from apps.rounds.models import Absence, RoundPlan, TimeOffered, TimesOffered
from apps.visits.models import Assignment, Visit
from apps.visits.services.booking import client_answer
from tests import factories
from tests.office.test_rounds import desk, firm, page, planned  # noqa: F401
from tests.rounds.world import MONDAY, Town

pytestmark = pytest.mark.django_db


@pytest.fixture
def visits(firm: Town) -> list[Visit]:  # noqa: F811
    """Two booked visits of Marek's."""
    return [
        firm.book(firm.pencil(firm.garden(name, north_km=6), MONDAY, hour, firm.marek))
        for name, hour in (("Adeyemi", 11), ("Sedge", 14))
    ]


def away(firm: Town, desk: Client, **more: str) -> Any:  # noqa: F811
    sent = {
        "technician": str(firm.marek.pk), "first": MONDAY.isoformat(), "last": MONDAY.isoformat(),
        "part": "whole", "reason": "",
    }  # fmt: skip
    return desk.post(reverse("office:away_new"), sent | more)


def where(absence: Absence) -> str:
    return reverse("office:stand_in", args=[absence.pk])


def hands(visit: Visit) -> list[str]:
    rows = Assignment.objects.filter(visit=visit).select_related("user")
    return [row.user.username for row in rows]


def keys(answer: Any) -> list[str]:
    return [row["key"] for row in answer.context["rows"]]


def test_whoever_notes_it_sees_who_could_go(firm: Town, desk: Client, visits: list[Visit]) -> None:  # noqa: F811
    answer = away(firm, desk)
    absence = Absence.objects.get()
    assert answer.headers["Location"] == where(absence)
    text = page(desk, "stand_in", absence.pk)
    assert "Booked visits on Mon 15 June: for each" in text
    for said in ("Ana goes to Adeyemi", "Ana goes to Sedge", "11:00–12:00", "EUR more", "is told"):
        assert said in text
    assert text.count('checked aria-describedby="told-') == 2
    assert [hands(visit) for visit in visits] == [["marek"], ["marek"]]


def test_the_plan_that_was_asked_for_with_it_is_named_and_linked(
    firm: Town,  # noqa: F811
    desk: Client,  # noqa: F811
    visits: list[Visit],
) -> None:
    away(firm, desk, plan="on")
    absence, plan = Absence.objects.get(), RoundPlan.objects.get()
    link = f'<a href="{reverse("office:round_plan", args=[plan.pk])}">plan from Mon 15 June to'
    assert link in page(desk, "stand_in", absence.pk)
    desk.post(reverse("office:round_drop", args=[plan.pk]))
    assert "in a plan of their own" not in page(desk, "stand_in", absence.pk)


def test_days_are_named_from_first_to_last_and_the_choice_says_what_it_wants(
    firm: Town,  # noqa: F811
    desk: Client,  # noqa: F811
    visits: list[Visit],
) -> None:
    form = page(desk, "away_new")
    assert "choose who" in form
    assert "-----" not in form
    away(firm, desk, last="2026-06-16")
    text = page(desk, "stand_in", Absence.objects.get().pk)
    assert "Booked visits from Mon 15 June to Tue 16 June: for each" in text


@pytest.mark.parametrize(
    "again", [{}, {"part": "morning"}, {"first": "2026-06-16"}, {"last": "2026-06-15"}]
)
def test_the_same_absence_is_not_noted_twice(
    firm: Town,  # noqa: F811
    desk: Client,  # noqa: F811
    again: dict[str, str],
) -> None:
    days = {"last": "2026-06-17", "reason": "a course"}
    away(firm, desk, **days)
    answer = away(firm, desk, **(days | again))
    assert answer.status_code == 422
    text = answer.content.decode()
    assert "Marek is noted as away then already" in text
    assert "15–17 June" in text
    assert "a course" in text
    assert Absence.objects.count() == 1


def test_more_days_another_half_and_somebody_else_are_another_absence(
    firm: Town,  # noqa: F811
    desk: Client,  # noqa: F811
) -> None:
    for more in (
        {"part": "morning"}, {"part": "afternoon"}, {"last": "2026-06-17"},
        {"technician": str(firm.ana.pk)},
    ):  # fmt: skip
        assert away(firm, desk, **more).status_code == 302
    assert Absence.objects.count() == 4


def test_days_that_have_all_gone_by_are_refused(firm: Town, desk: Client) -> None:  # noqa: F811
    answer = away(firm, desk, first="2026-06-08", last="2026-06-10")
    assert answer.status_code == 422
    assert "Wed 10 June has gone by" in answer.content.decode()
    assert not Absence.objects.exists()
    assert away(firm, desk, first="2026-06-08", last="2026-06-11").status_code == 302


def test_the_week_and_the_plan_lead_there(firm: Town, desk: Client, visits: list[Visit]) -> None:  # noqa: F811
    away(firm, desk)
    link = f'href="{where(Absence.objects.get())}"'
    assert link in page(desk, "rounds")
    plan = planned(firm, desk)
    assert link in page(desk, "round_plan", plan.pk)
    Visit.objects.filter(pk__in=[visit.pk for visit in visits]).update(state="called_off")
    assert link not in page(desk, "round_plan", plan.pk)


def test_a_line_can_be_left_out(firm: Town, desk: Client, visits: list[Visit]) -> None:  # noqa: F811
    away(firm, desk)
    at = where(Absence.objects.get())
    answer = desk.post(at, {"lines": keys(desk.get(at))[1:]})
    assert answer.headers["Location"] == reverse("office:rounds") + f"?from={MONDAY.isoformat()}"
    assert [hands(visit) for visit in visits] == [["marek"], ["ana"]]


def test_none_is_no_answer(firm: Town, desk: Client, visits: list[Visit]) -> None:  # noqa: F811
    away(firm, desk)
    at = where(Absence.objects.get())
    for sent in ({}, {"lines": ["x"]}):
        answer = desk.post(at, sent)
        assert answer.status_code == 422
        assert "lines" in answer.context["form"].errors
    assert [hands(visit) for visit in visits] == [["marek"], ["marek"]]


def test_a_line_that_is_gone_is_named_and_the_other_is_stored(
    firm: Town,  # noqa: F811
    desk: Client,  # noqa: F811
    visits: list[Visit],
) -> None:
    away(firm, desk)
    at = where(Absence.objects.get())
    lines = keys(desk.get(at))
    firm.pencil(firm.garden("Quick"), MONDAY, 11.5, firm.ana)
    answer = desk.post(at, {"lines": lines})
    assert answer.headers["Location"] == at
    said = [str(row) for row in get_messages(answer.wsgi_request)]
    assert said[-2] == "1 visit is in other hands."
    assert said[-1].startswith("Adeyemi's garden, Mon 15 June: Ana cannot be there")
    assert [hands(visit) for visit in visits] == [["marek"], ["ana"]]
    text = page(desk, "stand_in", Absence.objects.get().pk)
    assert "Nobody can go" in text
    assert reverse("office:visit_move", args=[visits[0].pk]) in text


def test_clients_of_whom_nobody_can_go_to_choose_another_time(
    firm: Town,  # noqa: F811
    desk: Client,  # noqa: F811
    visits: list[Visit],
) -> None:
    """Ana is away as well: nobody goes on Monday, and both clients read so and choose."""
    Absence.objects.create(user=firm.ana, first=MONDAY, last=MONDAY)
    away(firm, desk)
    absence = Absence.objects.get(user=firm.marek)
    text = page(desk, "stand_in", absence.pk)
    assert "Offer all of them other times" in text
    assert reverse("office:visit_offer", args=[visits[0].pk]) in text
    answer = desk.post(where(absence), {"ask": "1", "visits": [str(row.pk) for row in visits]})
    assert answer.headers["Location"] == where(absence)
    assert [str(row) for row in get_messages(answer.wsgi_request)][-1] == (
        "Times are offered to 2 clients."
    )
    days = {time.start.date() for time in TimeOffered.objects.filter(offer__visit__in=visits)}
    assert days
    assert MONDAY not in days
    said = {compose_times(letter).subject for letter in Letter.objects.filter(kind="times")}
    assert said == {
        f"We cannot come on Mon 15 June at {hour}:00 after all. Which time suits you?"
        for hour in (11, 14)
    }
    again = page(desk, "stand_in", absence.pk)
    assert "times are offered" in again
    assert "Offer all of them other times" not in again


def test_to_a_client_who_declined_it_the_letter_does_not_call_it_off(
    firm: Town,  # noqa: F811
    desk: Client,  # noqa: F811
    visits: list[Visit],
) -> None:
    Absence.objects.create(user=firm.marek, first=MONDAY, last=MONDAY)
    client_answer(visit=visits[0], answer="declined", words="", by=firm.by, at=factories.NOW)
    offering.offer(visit=visits[0], by=firm.by, at=factories.NOW)
    said = compose_times(Letter.objects.get(kind="times")).subject
    assert said == "Which of these times suits you for our visit?"


def test_a_visit_that_lost_nobody_is_not_offered_again(
    firm: Town,  # noqa: F811
    desk: Client,  # noqa: F811
    visits: list[Visit],
) -> None:
    other = firm.book(firm.pencil(firm.garden("Quick"), MONDAY, 9, firm.ana))
    away(firm, desk)
    at = where(Absence.objects.get())
    desk.post(at, {"ask": "1", "visits": [str(other.pk)]})
    wrong = desk.post(at, {"ask": "1", "visits": ["x"]})
    assert "no visit of this page" in str(list(get_messages(wrong.wsgi_request))[-1])
    assert not TimesOffered.objects.exists()
    refused = offering.refusal_of(other)
    assert refused is not None
    assert refused.why == "settled"


def test_nothing_waits(firm: Town, desk: Client) -> None:  # noqa: F811
    absence = Absence.objects.create(user=firm.ana, first=MONDAY, last=MONDAY + dt.timedelta(1))
    assert "No booked visit of these days" in page(desk, "stand_in", absence.pk)
