"""The client's page: what it shows, to whom, and that looking changes nothing."""

import datetime as dt
from typing import Any
from uuid import uuid4

import pytest
from django.core import mail

from apps.accounts.models import AuditEntry, ClientLink
from apps.accounts.services import link_issue, links_revoke
from apps.clients.models import Client
from apps.core import clock, files, outbox
from apps.core.scoping import system
from apps.reports.models import Release, ReportVersion
from apps.reports.rendering import child
from apps.visits.models import Photo, Sheet, Visit
from tests import factories
from tests.api.conftest import GOOD, World, submission, visit, world  # noqa: F401
from tests.portal.pictures import jpeg
from tests.reader import Reader as Browser
from tests.reader import number_of


@pytest.fixture(autouse=True)
def at_nine(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(clock, "now", lambda: factories.NOW)
    # the drawing itself is tested where reports are
    monkeypatch.setattr(child.CHILD, "render", lambda _snapshot, _photos: b"%PDF-1.7 drawn")


@pytest.fixture
def released(world: World, visit: dict[str, Any]) -> str:  # noqa: F811
    """A released report; the secret of its client's page."""
    body = submission(visit, world.mine, **{**GOOD, "alk": 27})
    world.ana("POST", f"/visits/{visit['id']}/submission", body, Idempotency_Key=str(uuid4()))
    outbox.drain(factories.NOW)
    report = world.office("GET", f"/visits/{visit['id']}/reports").json()["results"][0]
    world.office("POST", f"/reports/{report['id']}/release")
    outbox.drain(factories.NOW)
    text = next(m.body for m in mail.outbox if "/c/" in m.body and "report" in m.body.lower())
    return text.split("/c/")[1].split("/")[0]


def test_shows_the_report_and_the_pdf(released: str) -> None:
    browser = Browser()
    answer = browser.get(f"/c/{released}/")
    assert answer.status_code == 200
    assert b"Alkalinity" in answer.content
    # who does it begins a sentence
    assert b'<span class="quiet">You, ' in answer.content
    assert b'<span class="quiet">you, ' not in answer.content
    assert answer.headers["Referrer-Policy"] == "same-origin"
    assert "no-store" in answer.headers["Cache-Control"]
    version = ReportVersion.objects.get()
    pdf = browser.get(f"/c/{released}/reports/{version.pk}.pdf")
    assert pdf.content.startswith(b"%PDF")


def test_shows_the_photos_of_the_newest_report_and_no_others(
    released: str,
    world: World,  # noqa: F811
) -> None:
    later = Visit.objects.create(
        place=world.mine.system.place, start=factories.NOW + dt.timedelta(days=9),
        end=factories.NOW + dt.timedelta(days=9, hours=1), made_at=factories.NOW,
    )  # fmt: skip
    # photos of a visit that is reported hold still, so these lie with another one
    sheet = Sheet.objects.create(visit=later, system=world.mine.system)
    name, digest = files.store("photos", jpeg(), "jpg")
    shown, other = (
        Photo.objects.create(
            sheet=sheet, caption=words, screen=name, small=name, sha256=digest, width=4, height=3,
            taken_at=factories.NOW, by="x",
        )
        for words in ("Roots", "Held back")
    )  # fmt: skip
    version = ReportVersion.objects.get()
    row = {"id": str(shown.pk), "file": name, "caption": "Roots", "on": "2026-06-11"}
    second = ReportVersion.objects.create(
        report=version.report, number=2, snapshot=version.snapshot | {"photos": [row]},
        template=version.template, language="en", pdf=version.pdf, pdf_size=1, sha256="a" * 64,
        reason="photo", made_at=factories.NOW,
    )  # fmt: skip
    browser, address = Browser(), f"/c/{number_of(released)}/photos/{shown.pk}.jpg"
    browser.get(f"/c/{released}/")
    # not before that version is released
    assert browser.get(address).status_code == 404
    Release.objects.create(version=second, at=factories.NOW, by="office")
    assert address in browser.get(f"/c/{released}/").content.decode()
    answer = browser.get(address)
    assert answer.content[:2] == b"\xff\xd8"
    assert "no-store" in answer.headers["Cache-Control"]
    assert browser.get(f"/c/{released}/photos/{other.pk}.jpg").status_code == 404
    stranger = link_issue(
        client_id=world.other.system.place.client_id, purpose="page", at=factories.NOW
    )
    assert browser.get(f"/c/{stranger}/photos/{shown.pk}.jpg").status_code == 404
    # they take their word back: the report stays, the page shows none
    Client.objects.filter(pk=world.mine.system.place.client_id).update(photos="records")
    assert address not in browser.get(f"/c/{released}/").content.decode()
    assert browser.get(address).status_code == 404


def test_unknown_over_and_revoked_links_are_404(released: str, world: World) -> None:  # noqa: F811
    browser = Browser()
    assert browser.get(f"/c/{'x' * 43}/").status_code == 404
    client_id = world.mine.system.place.client_id
    links_revoke(client_id=client_id, at=factories.NOW, by=system("test", factories.NOW))
    assert browser.get(f"/c/{released}/").status_code == 404
    over = link_issue(
        client_id=client_id, purpose="page", at=factories.NOW - dt.timedelta(days=9), days=8
    )
    answer = browser.get(f"/c/{over}/")
    assert answer.status_code == 404
    # whoever stands before a closed door is told whom to ask, and nothing of the client
    page = answer.content.decode()
    assert "0555 0100" in page
    assert "latest letter" in page
    assert world.mine.system.place.client.name not in page
    assert page == browser.get(f"/c/{'x' * 43}/").content.decode()
    assert answer["Referrer-Policy"] == "same-origin"


def test_the_office_ends_the_links_of_one_client(released: str, world: World) -> None:  # noqa: F811
    other = link_issue(
        client_id=world.other.system.place.client_id, purpose="page", at=factories.NOW
    )
    desk, address = Browser(), f"/places/{world.mine.system.place_id}/links/"
    desk.force_login(world.users["office"])
    assert desk.post(address, {"reason": ""}).status_code == 422
    assert Browser().get(f"/c/{released}/").status_code == 200
    assert desk.post(address, {"reason": "forwarded to a neighbour"}).status_code == 302
    assert Browser().get(f"/c/{released}/").status_code == 404
    assert Browser().get(f"/c/{other}/").status_code == 200
    kept = AuditEntry.objects.get(verb="revoked links")
    assert kept.change["reason"] == "forwarded to a neighbour"
    assert kept.change["links"] >= 1


class TestAnswer:
    def test_get_never_acts(self, world: World, visit: dict[str, Any]) -> None:  # noqa: F811
        secret = self._secret(world, visit)
        browser = Browser()
        for method in (browser.get, browser.head):
            assert method(f"/c/{secret}/").status_code == 200
            assert method(f"/c/{secret}/visits/{visit['id']}/answer").status_code == 405
        assert Visit.objects.get(pk=visit["id"]).client_answer == "asked"

    def test_post_confirms_with_its_token(self, world: World, visit: dict[str, Any]) -> None:  # noqa: F811
        secret = self._secret(world, visit)
        browser = Browser(enforce_csrf_checks=True)
        page = browser.get(f"/c/{secret}/")
        address = f"/c/{secret}/visits/{visit['id']}/answer"
        assert browser.post(address, {"answer": "confirmed"}).status_code == 403
        token = page.content.decode().split('name="csrfmiddlewaretoken" value="')[1].split('"')[0]
        browser.post(address, {"answer": "confirmed", "csrfmiddlewaretoken": token})
        assert Visit.objects.get(pk=visit["id"]).client_answer == "confirmed"

    def test_other_time_needs_words(self, world: World, visit: dict[str, Any]) -> None:  # noqa: F811
        secret = self._secret(world, visit)
        address = f"/c/{secret}/visits/{visit['id']}/answer"
        Browser().post(address, {"answer": "other_time"})
        assert Visit.objects.get(pk=visit["id"]).client_answer == "asked"
        Browser().post(address, {"answer": "other_time", "words": "Friday, please"})
        row = Visit.objects.get(pk=visit["id"])
        assert (row.client_answer, row.client_words) == ("other_time", "Friday, please")

    def test_strangers_visit_is_404(self, world: World, visit: dict[str, Any]) -> None:  # noqa: F811
        secret = link_issue(
            client_id=world.other.system.place.client_id, purpose="page", at=factories.NOW
        )
        answer = Browser().post(f"/c/{secret}/visits/{visit['id']}/answer", {"answer": "confirmed"})
        assert answer.status_code == 404

    def _secret(self, world: World, visit: dict[str, Any]) -> str:  # noqa: F811
        outbox.drain(factories.NOW)
        assert ClientLink.objects.filter(purpose="appointment").count() == 1
        text = next(m.body for m in mail.outbox if "/c/" in m.body)
        return text.split("/c/")[1].split("/")[0]
