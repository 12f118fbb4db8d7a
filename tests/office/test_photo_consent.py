"""What a client allows of photos: noted with who, when and how, and kept to wherever photos go."""

from typing import Any
from uuid import uuid4

import pytest
from django.db import IntegrityError, transaction
from django.test import Client as Browser
from django.urls import reverse

from apps.accounts.models import AuditEntry
from apps.clients.models import Client
from apps.core.exceptions import Conflict
from apps.core.models import Job
from apps.field.phone.day import day_of
from apps.proposals.models import SurveyPhoto
from apps.reports.models import Release, ReportVersion
from apps.reports.rendering.child import CHILD
from apps.reports.services.reports import blocking, photo_rows, version_make
from apps.visits.models import Finding, Photo, Sheet
from apps.visits.services.photos import photo_keep
from tests import factories
from tests.office.conftest import Desk
from tests.office.test_reports import jpeg, photo, prepared
from tests.office.test_survey_photos import add, survey  # noqa: F401 - a fixture

pytestmark = pytest.mark.django_db
ASKED = {"photos_on": factories.TODAY, "photos_by": "office", "photos_how": "asked"}
NOT_ALLOWED = ["unknown", "records", "no"]


def allows(desk: Desk, use: str) -> Client:
    """Put what the household allows into its row."""
    rows = Client.objects.filter(pk=desk.place.client_id)
    rows.update(photos=use, **ASKED)
    return rows.get()


class TestNoted:
    def test_with_who_when_and_how(self, desk: Desk) -> None:
        client = allows(desk, "unknown")
        answer = desk.post("client_photos", client.pk, rev=1, use="records", how="at the door")
        assert answer.status_code == 302
        client.refresh_from_db()
        assert (client.photos, client.photos_how) == ("records", "at the door")
        assert client.photos_on == factories.TODAY
        assert client.photos_by == f"office:{desk.office.pk}"
        page = desk.get("place", desk.place.pk).content.decode()
        for words in ("for our own records only", "at the door", "noted by"):
            assert words in page
        assert AuditEntry.objects.get(verb="noted photos").change == {
            "photos": "records", "how": "at the door",
        }  # fmt: skip

    def test_not_without_how(self, desk: Desk) -> None:
        answer = desk.post("client_photos", desk.place.client_id, rev=1, use="yes", how=" ")
        assert answer.status_code == 422
        assert "how they said so" in answer.content.decode()

    def test_not_asked_has_no_how(self, desk: Desk) -> None:
        client = allows(desk, "yes")
        assert (
            desk.post("client_photos", client.pk, rev=1, use="unknown", how="").status_code == 302
        )
        client.refresh_from_db()
        assert (client.photos, client.photos_on, client.photos_how) == ("unknown", None, "")

    def test_a_page_that_is_older_than_a_no_does_not_undo_it(self, desk: Desk) -> None:
        client = allows(desk, "unknown")
        desk.post("client_photos", client.pk, rev=1, use="no", how="at the door")
        answer = desk.post("client_photos", client.pk, rev=1, use="yes", how="last year")
        assert answer.status_code == 422
        assert "Somebody else changed this meanwhile" in answer.content.decode()
        client.refresh_from_db()
        assert (client.photos, client.photos_how, client.rev) == ("no", "at the door", 2)

    def test_the_database_asks_as_well(self, desk: Desk) -> None:
        with pytest.raises(IntegrityError), transaction.atomic():
            Client.objects.filter(pk=desk.place.client_id).update(photos="no", photos_how="")

    def test_whoever_was_never_asked(self, db: None) -> None:
        client = Client.objects.create(name="New")
        assert client.photos == "unknown"
        assert not client.shows_photos
        assert "stay in our records" in client.photos_words


class TestReports:
    @pytest.mark.parametrize("use", NOT_ALLOWED)
    def test_none_where_it_is_not_allowed(self, desk: Any, use: str) -> None:
        visit = desk.written_up()
        sheet = visit.sheets.get()
        own, beside = photo(sheet, "Tank"), photo(sheet, "Leaf")
        Finding.objects.create(
            sheet=sheet, text="a leaf", seen_at=factories.NOW, photo_ids=[str(beside.pk)]
        )
        report = desk.drawn(visit).report
        assert str(own.pk) in str(prepared(report))
        allows(desk, use)
        snapshot = prepared(report)
        for row in (own, beside):
            assert str(row.pk) not in str(snapshot)
            assert row.small not in str(snapshot)
        assert snapshot["findings"]

    def test_what_is_drawn_does_not_go_out_with_photos_any_more(self, desk: Any) -> None:
        visit = desk.written_up()
        photo(visit.sheets.get(), "Tank")
        version = desk.drawn(visit)
        assert photo_rows(version.snapshot)
        allows(desk, "yes")
        desk.post("client_photos", desk.place.client_id, rev=1, use="no", how="at the door")
        assert blocking(visit) == ["correction_due"]
        assert Job.objects.filter(kind="reports.render", key__endswith=":photos:2").count() == 1

    def test_a_no_while_one_is_drawn(self, desk: Any, monkeypatch: pytest.MonkeyPatch) -> None:
        visit = desk.written_up()
        photo(visit.sheets.get(), "Tank")
        sheet = Sheet.objects.select_related("system__place__client", "visit__place").get()

        def drawing(_child: Any, snapshot: Any, _photos: Any) -> bytes:
            if photo_rows(snapshot):
                allows(desk, "no")
            return b"%PDF"

        allows(desk, "yes")
        monkeypatch.setattr(type(CHILD), "render", drawing)
        with pytest.raises(Conflict, match="drawn anew"):
            version_make(sheet, reason="", at=factories.NOW)
        assert not ReportVersion.objects.exists()
        again = Sheet.objects.select_related("system__place__client", "visit__place").get()
        assert not photo_rows(version_make(again, reason="", at=factories.NOW).snapshot)

    def test_a_no_that_is_taken_back_before_it_was_drawn(self, desk: Any) -> None:
        visit = desk.written_up()
        photo(visit.sheets.get(), "Tank")
        version = desk.drawn(visit)
        allows(desk, "yes")
        for rev, use in enumerate(("no", "yes"), start=1):
            desk.post("client_photos", desk.place.client_id, rev=rev, use=use, how="at the door")
        sheet = Sheet.objects.select_related("system__place__client", "visit__place").get()
        version_make(sheet, reason="", at=factories.NOW)
        assert version.report.versions.count() == 1
        assert blocking(visit) == []

    def test_one_without_photos_waits_for_nothing(self, desk: Any) -> None:
        visit = desk.written_up()
        desk.drawn(visit)
        allows(desk, "yes")
        desk.post("client_photos", desk.place.client_id, rev=1, use="no", how="at the door")
        assert blocking(visit) == []

    def test_nor_one_that_went_out(self, desk: Any) -> None:
        visit = desk.written_up()
        photo(visit.sheets.get(), "Tank")
        Release.objects.create(version=desk.drawn(visit), at=factories.NOW, by="office")
        allows(desk, "yes")
        desk.post("client_photos", desk.place.client_id, rev=1, use="no", how="at the door")
        assert blocking(visit) == []


class TestTheCamera:
    @pytest.mark.parametrize("use", NOT_ALLOWED)
    def test_says_so(self, desk: Desk, use: str) -> None:
        client = allows(desk, use)
        visit = desk.booked(start=factories.NOW)
        browser = Browser()
        browser.force_login(desk.ana)
        page = browser.get(reverse("field:photo", args=[visit.pk, visit.sheets.get().pk]))
        text = page.content.decode()
        assert client.photos_words in text
        assert ('type="file"' in text) is (use != "no")

    def test_says_nothing_where_there_is_nothing_to_mind(self, desk: Desk) -> None:
        assert allows(desk, "yes").photos_words == ""

    def test_the_phone_hears_of_it(self, desk: Desk) -> None:
        client = allows(desk, "no")
        desk.booked(start=factories.NOW)
        sent = day_of(factories.actor(desk.ana))["visits"][0]["client"]
        assert (sent["photos"], sent["photos_words"]) == ("no", client.photos_words)

    def test_one_that_comes_all_the_same_is_refused(self, desk: Desk) -> None:
        visit = desk.booked(start=factories.NOW)
        allows(desk, "no")
        sheet = Sheet.objects.get(visit=visit)
        with pytest.raises(Conflict, match="wants no photos"):
            photo_keep(
                sheet=sheet, pk=uuid4(), data=jpeg(), caption="", by=factories.actor(desk.ana),
                at=factories.NOW,
            )  # fmt: skip
        assert not Photo.objects.exists()

    def test_nor_of_the_site(self, desk: Desk, survey: Any) -> None:  # noqa: F811
        allows(desk, "no")
        answer = add(desk, survey, jpeg())
        assert answer.status_code == 422
        assert "wants no photos" in answer.content.decode()
        assert not SurveyPhoto.objects.exists()
