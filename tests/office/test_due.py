"""The due page: sentence, order, filters, export, what waits."""

import csv
import datetime as dt
import io
from typing import Any

import pytest
from django.test import Client as Browser
from django.urls import reverse
from django.utils import timezone

from apps.advice.services import standing_refresh
from apps.care.models import CareTask, Standing
from apps.core.models import Job
from apps.flows.releasing import release
from apps.office.selectors.waiting import waiting_for_us
from apps.reports.models import Letter, Release, Report
from apps.rounds.models import Absence, TimesOffered
from apps.systems.models import System
from apps.visits.models import Visit
from apps.visits.services.booking import client_answer
from tests import factories
from tests.office.conftest import Desk, refresh


def text(answer: Any) -> str:
    return str(answer.content.decode())


def test_a_new_firm_is_told_what_to_do_first(empty: Desk) -> None:
    page = text(empty.get("due"))
    assert "There are no systems yet." in page
    assert "Add a place" in page


def test_the_sentence_counts_in_words(desk: Desk) -> None:
    desk.more_systems(2)
    factories.quiet(desk.built)
    refresh(desk.built.system.pk)
    page = text(desk.get("due"))
    assert "Thursday 11 June. Two of 3 systems need somebody." in page
    assert desk.built.system.name not in page


def test_what_hurts_stands_first_with_its_reason_and_water_line(desk: Desk) -> None:
    desk.more_systems(1)
    desk.written_up(no2=(6.0, "mg/L"), ph=(6.9, ""), temp=(27.5, "°C"), tan=(0.2, "mg/L"))
    answer = desk.get("due")
    lines = answer.context["lines"]
    assert lines[0].system == desk.built.system
    page = text(answer)
    assert "harmful" in page
    assert "<svg" in page
    assert "Nitrite" in lines[0].reasons[0]


def test_filters_keep_what_they_say(desk: Desk) -> None:
    desk.more_systems(1)
    CareTask.objects.filter(system=desk.built.system).exclude(criticality="A").delete()
    refresh(desk.built.system.pk)
    everything = desk.get("due").context["page"].paginator.count
    kept = {
        code: desk.get("due", show=code).context["page"].paginator.count
        for code in ("risk", "band", "late", "care")
    }
    assert sum(kept.values()) == everything == 2
    assert desk.get("due", area="Oldferry").context["page"].paginator.count == 1


@pytest.mark.parametrize("query", [{"show": "nonsense"}, {"area": "Atlantis"}])
def test_an_unknown_filter_is_refused(desk: Desk, query: dict[str, str]) -> None:
    assert desk.get("due", **query).status_code == 400
    assert desk.get("due_csv", **query).status_code == 400


def cells(answer: Any) -> list[list[str]]:
    body = b"".join(answer.streaming_content).decode("utf-8-sig")
    return list(csv.reader(io.StringIO(body)))


def test_the_table_holds_no_formula(desk: Desk) -> None:
    System.objects.filter(pk=desk.built.system.pk).update(name='=HYPERLINK("http://x","y")')
    rows = cells(desk.get("due_csv"))
    assert rows[0][0] == "rank"
    assert rows[1][1] == '\'=HYPERLINK("http://x","y")'
    assert rows[1][8] == rows[1][8].lstrip("'")


def test_queries_stay_the_same_with_more_systems(desk: Desk, same_queries: Any) -> None:
    desk.booked()
    count = same_queries(lambda: desk.get("due"), lambda: (desk.more_systems(6), more(desk)))
    assert count <= 30


def more(desk: Desk) -> None:
    """More of everything that stands beside the list."""
    absent(desk, factories.TODAY + dt.timedelta(days=3))
    for number in range(3):
        desk.booked(start=factories.NOW + dt.timedelta(days=3 + number))
    desk.pencil(start=factories.NOW + dt.timedelta(hours=3))
    visit = desk.written_up()
    desk.drawn(visit)
    Standing.objects.update(feed_until=factories.TODAY, feed_count=str(visit.pk))
    Letter.objects.update(state="failed")


def test_what_waits_for_us(desk: Desk) -> None:
    visit = desk.booked()
    client_answer(visit=visit, answer="other_time", words="", by=desk.actor, at=factories.NOW)
    Letter.objects.update(state="unsure")
    desk.drawn(desk.written_up())
    Job.objects.create(
        kind="letters.send", key="k", state="dead", attempts=8, run_at=factories.NOW,
        made_at=factories.NOW,
    )  # fmt: skip
    page = text(desk.get("due"))
    for words in (
        "wants another time than Fri 12 June", "did it arrive?", "written up, not released",
        "was given up after 8 tries",
    ):  # fmt: skip
        assert words in page


def test_a_correction_waits_until_it_or_a_later_one_is_released(desk: Desk) -> None:
    """One row a report and state, whatever was drawn in between and never went out."""
    visit = desk.written_up()
    first = desk.drawn(visit)
    drawn, due = "corrected, not released", "a correction is being drawn"

    def said() -> tuple[int, int]:
        page = text(desk.get("due"))
        return page.count(drawn), page.count(due)

    assert said() == (0, 0)
    release(visit=visit, by=desk.actor, at=factories.NOW)
    assert said() == (0, 0)
    Report.objects.update(correction_due=True)
    assert said() == (0, 1)
    for number in (2, 3):
        assert desk.drawn(visit, "typed wrong").number == number
        Report.objects.update(correction_due=False)
        assert said() == (1, 0)
    Report.objects.update(correction_due=True)
    assert said() == (1, 1)
    Report.objects.update(correction_due=False)
    release(visit=visit, by=desk.actor, at=factories.NOW)
    assert said() == (0, 0)
    released = Release.objects.values_list("version__number", flat=True)
    assert sorted(released) == [first.number, 3]


def absent(desk: Desk, day: dt.date, part: str = "whole") -> Absence:
    return Absence.objects.create(user=desk.ana, first=day, last=day, part=part)


def away_lines(desk: Desk) -> list[tuple[str, str]]:
    """The lines of absences: name and text, and where each leads."""
    rows = waiting_for_us(desk.actor)
    return [(row.name + row.text, row.url) for row in rows if "is away:" in row.text]


def test_booked_visits_with_nobody_are_one_line_an_absence(desk: Desk) -> None:
    day = factories.TODAY + dt.timedelta(days=20)
    for hours in (1, 3, 5):
        desk.booked(start=factories.NOW + dt.timedelta(days=20, hours=hours))
    desk.booked(start=factories.NOW + dt.timedelta(days=21))
    desk.booked(start=factories.NOW + dt.timedelta(days=20), technicians=[desk.marek])
    desk.pencil(start=factories.NOW + dt.timedelta(days=20, hours=7))
    assert not away_lines(desk)
    row = absent(desk, day)
    where = reverse("office:stand_in", args=[row.pk])
    assert away_lines(desk) == [("Ana is away: 3 booked visits have nobody", where)]
    assert where in text(desk.get("due"))
    row.part = "morning"
    row.save()
    # of the three some begin before noon on the firm's clock, and some after it
    early = sum(
        timezone.localtime(visit.start).hour < 12
        for visit in Visit.objects.filter(start__date=day, state="booked", technicians=desk.ana)
    )
    assert 0 < early < 3
    noun = "visit has" if early == 1 else "visits have"
    assert away_lines(desk) == [(f"Ana is away: {early} booked {noun} nobody", where)]
    row.delete()
    assert not away_lines(desk)


def test_visits_with_times_offered_wait_for_the_client(desk: Desk) -> None:
    visit = desk.booked(start=factories.NOW + dt.timedelta(days=2, hours=1))
    other = desk.booked(start=factories.NOW + dt.timedelta(days=2, hours=3))
    row = absent(desk, factories.TODAY + dt.timedelta(days=2))
    assert "have nobody" in away_lines(desk)[0][0]
    # nobody is waited for who was asked about a time that cannot be kept
    assert not any("no answer" in item.text for item in waiting_for_us(desk.actor))
    for held in (visit, other):
        TimesOffered.objects.create(
            visit=held, until=factories.NOW + dt.timedelta(days=1),
            made_at=factories.NOW,
        )  # fmt: skip
    assert not away_lines(desk)
    assert row.user == desk.ana


def test_however_many_have_nobody_the_rest_still_waits(desk: Desk) -> None:
    wish = desk.booked(start=factories.NOW + dt.timedelta(days=9))
    client_answer(visit=wish, answer="other_time", words="", by=desk.actor, at=factories.NOW)
    for number in range(30):
        desk.booked(start=factories.NOW + dt.timedelta(days=2, minutes=20 * number),
                    end=factories.NOW + dt.timedelta(days=2, minutes=20 * number + 10))  # fmt: skip
    absent(desk, factories.TODAY + dt.timedelta(days=2))
    assert away_lines(desk)[0][0] == "Ana is away: 30 booked visits have nobody"
    assert any("wants another time" in item.text for item in waiting_for_us(desk.actor))


def test_todays_round_names_the_stops(desk: Desk) -> None:
    desk.booked(start=factories.NOW + dt.timedelta(hours=2))
    page = text(desk.get("due"))
    assert "Today’s round" in page
    assert "11:00" in page
    assert "asked" in page


def test_a_technician_is_sent_to_the_round_and_a_stranger_to_the_door(desk: Desk) -> None:
    browser = Browser()
    assert browser.get("/").url.startswith("/account/login/")
    browser.force_login(desk.ana)
    assert browser.get("/").url == "/field/"
    assert browser.get("/systems/").status_code == 403


def test_old_advice_is_shortened_to_whole_sentences(desk: Desk) -> None:
    desk.written_up(alk=(8, "mg/L CaCO3"), ph=(6.2, ""), temp=(27.5, "°C"), tan=(0.2, "mg/L"))
    standing_refresh([desk.built.system.pk], factories.NOW)
    for reason in desk.get("due").context["lines"][0].reasons:
        assert reason.endswith(".")
