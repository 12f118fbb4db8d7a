"""The office's word in a report, photos held back, summaries, and what is printed on."""

import datetime as dt
import io
from typing import Any
from unittest.mock import patch

import pytest
from PIL import Image

from apps.accounts.models import Firm
from apps.core import files
from apps.core.models import Job
from apps.reports.models import Release, Report
from apps.reports.services.reports import version_prepare
from apps.systems.models import System
from apps.visits.models import Photo, Sheet
from tests import factories

pytestmark = pytest.mark.django_db


def jpeg() -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (40, 30), "teal").save(out, "JPEG")
    return out.getvalue()


def photo(sheet: Sheet, caption: str) -> Photo:
    name, digest = files.store("photos", jpeg() + caption.encode(), "jpg")
    return Photo.objects.create(
        sheet=sheet, caption=caption, screen=name, small=name, sha256=digest, width=40, height=30,
        taken_at=factories.NOW, by="ana",
    )  # fmt: skip


def prepared(report: Report) -> dict[str, Any]:
    sheet = Sheet.objects.select_related("system__place__client", "visit__place").get()
    report.refresh_from_db()
    return version_prepare(sheet, reason="", at=factories.NOW)[1]


def test_a_word_and_a_photo_held_back(desk: Any) -> None:
    visit = desk.written_up()
    shown, hidden = (photo(visit.sheets.get(), name) for name in ("Tank", "Neighbour"))
    report = desk.drawn(visit).report
    assert {row["caption"] for row in prepared(report)["photos"]} == {"Tank", "Neighbour"}
    page = desk.get("report_note", report.pk).content.decode()
    assert "Neighbour" in page
    answer = desk.post(
        "report_note", report.pk, note="The frost has gone.\nAll is well.",
        held_back=[str(hidden.pk)],
    )  # fmt: skip
    assert answer.status_code == 302
    snapshot = prepared(report)
    assert snapshot["note"].splitlines() == ["The frost has gone.", "All is well."]
    assert [row["id"] for row in snapshot["photos"]] == [str(shown.pk)]
    assert report.correction_due
    asked = Job.objects.filter(key__startswith=f"render:{visit.pk}:words")
    assert asked.count() == 1
    # the same again draws nothing
    desk.post("report_note", report.pk, note="The frost has gone.\nAll is well.",
              held_back=[str(hidden.pk)])  # fmt: skip
    assert asked.count() == 1


def test_a_photo_of_another_visit_is_refused(desk: Any) -> None:
    report = desk.drawn(desk.written_up()).report
    other = "00000000-0000-4000-8000-000000000000"
    photo(Sheet.objects.get(), "Tank")
    answer = desk.post("report_note", report.pk, note="x", held_back=[other])
    assert answer.status_code == 422
    report.refresh_from_db()
    assert (report.note, report.held_back) == ("", [])


def test_paper_is_a4_or_letter(desk: Any) -> None:
    assert desk.post("paper", paper="vellum").status_code == 422
    assert desk.post("paper", paper="letter").status_code == 302
    assert Firm.objects.get().paper == "letter"
    report = desk.drawn(desk.written_up()).report
    assert prepared(report)["paper"] == "letter"


def test_the_scoop_is_kept_with_the_system(desk: Any) -> None:
    system = desk.built.system
    mine = {"name": system.name, "rev": system.rev, "active": "on"}
    assert desk.post("system_edit", system.pk, **mine, scoop_g="0").status_code == 422
    assert desk.post("system_edit", system.pk, **mine, scoop_g="18,5", meals_a_day="3").status_code == 302  # fmt: skip
    row = System.objects.get()
    assert (row.scoop_g, row.meals_a_day) == (18.5, 3)


class TestSummaries:
    def test_made_read_and_released(self, desk: Any) -> None:
        desk.written_up()
        system, today = desk.built.system, factories.TODAY
        days = {"first": (today - dt.timedelta(days=90)).isoformat(), "last": today.isoformat()}
        with patch("apps.reports.services.summaries.CHILD.render", return_value=b"%PDF-1.7 x"):
            assert desk.post("summaries", system.pk, **days).status_code == 302
            # nothing has changed: the same version stays
            assert desk.post("summaries", system.pk, **days).status_code == 302
        report = Report.objects.get(kind="summary")
        version = report.versions.get()
        assert len(version.snapshot["visits"]) == 1
        assert {row["measurand"] for row in version.snapshot["readings"]} >= {"ph", "temp"}
        assert not Release.objects.exists()
        assert "Release" in desk.get("summaries", system.pk).content.decode()
        assert desk.post("report_release", report.pk).status_code == 302
        assert Release.objects.get().version_id == version.pk

    @pytest.mark.parametrize(
        ("first", "last"),
        [("2026-06-11", "2026-06-01"), ("2024-01-01", "2026-06-01"), ("2026-06-01", "2031-01-01")],
    )
    def test_days_that_cannot_be_meant_are_refused(self, desk: Any, first: str, last: str) -> None:
        answer = desk.post("summaries", desk.built.system.pk, first=first, last=last)
        assert answer.status_code == 422
        assert not Report.objects.filter(kind="summary").exists()

    def test_a_visits_report_is_not_released_here(self, desk: Any) -> None:
        report = desk.drawn(desk.written_up()).report
        assert desk.post("report_release", report.pk).status_code == 404
        assert not Release.objects.exists()
