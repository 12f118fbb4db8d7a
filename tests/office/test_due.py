"""The due page: sentence, order, filters, export, what waits."""

import csv
import datetime as dt
import io
from typing import Any

import pytest
from django.test import Client as Browser

from apps.advice.services import standing_refresh
from apps.care.models import CareTask
from apps.core.models import Job
from apps.reports.models import Letter
from apps.systems.models import System
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
    for number in range(3):
        desk.booked(start=factories.NOW + dt.timedelta(days=3 + number))
    desk.pencil(start=factories.NOW + dt.timedelta(hours=3))
    visit = desk.written_up()
    desk.drawn(visit)
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
