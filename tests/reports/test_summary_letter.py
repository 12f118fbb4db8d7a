"""The letter that brings a summary: of the time and of going on, of no visit; a correction answers."""

import datetime as dt
from email import message_from_bytes, policy
from email.message import EmailMessage
from unittest.mock import patch

import pytest
from django.core import mail
from django.test import Client as Browser

from apps.accounts.models import ClientLink
from apps.care.models import CarePlan
from apps.clients.models import Contact
from apps.core import outbox
from apps.core.scoping import system as by_system
from apps.flows.releasing import release_summary
from apps.reports.models import Letter, Report, ReportVersion
from apps.reports.services.summaries import summary_make
from tests import factories
from tests.factories import NOW, TODAY
from tests.office.conftest import Desk, desk, empty  # noqa: F401

FIRST = TODAY - dt.timedelta(days=90)


@pytest.fixture
def report(desk: Desk) -> Report:  # noqa: F811
    """A summary of a quarter, drawn and not released."""
    desk.written_up()
    mail.outbox.clear()
    with patch("apps.reports.services.summaries.CHILD.render", return_value=b"%PDF-1.7 x"):
        version = summary_make(
            system=desk.built.system, first=FIRST, last=TODAY, by=by_system("test", NOW), at=NOW
        )
    return version.report


def sent(report: Report, at: dt.datetime = NOW) -> list[EmailMessage]:
    """Release, send, and return the mails as the standard library reads them."""
    release_summary(report=report, by=by_system("test", at), at=at)
    mail.outbox.clear()
    outbox.drain(at)
    return [
        message_from_bytes(row.message().as_bytes(), policy=policy.default)  # type: ignore[misc]
        for row in mail.outbox
        if "from" in row.subject
    ]


def text_of(message: EmailMessage) -> str:
    return str(message.get_body(("plain",)).get_content())  # type: ignore[union-attr]


def test_it_speaks_of_the_time_and_of_no_visit(report: Report) -> None:
    (message,) = sent(report)
    assert message["Subject"] == "Patio from Fri 13 March 2026 to Thu 11 June 2026"
    text = text_of(message)
    for words in ("We came 1 time.", "anything otherwise from now on",
                  "The whole summary is attached.", "Choose which letters you get: http"):  # fmt: skip
        assert words in text
    assert "Next time" not in text
    assert "corrected" not in text
    html = str(message.get_body(("html",)).get_content())  # type: ignore[union-attr]
    assert "We came 1 time." in html
    files = [part.get_filename() for part in message.iter_attachments()]
    assert files == [f"report-{report.number:04d}-2026-06-11.pdf"]
    # a summary is the service itself: no press ends it
    assert message["List-Unsubscribe"] is None


@pytest.mark.parametrize(
    ("days", "says"),
    [(50, "Our agreement ends on Fri 31 July 2026."), (-10, "Our agreement ended on")],
)
def test_it_speaks_of_the_renewal_where_an_end_is_agreed(
    report: Report, days: int, says: str
) -> None:
    CarePlan.objects.update_or_create(
        system=report.system, defaults={"agreed_until": TODAY + dt.timedelta(days=days)}
    )
    (message,) = sent(report)
    assert says in text_of(message)
    assert "Would you like us to go on?" in text_of(message)


def test_released_twice_it_goes_once(report: Report) -> None:
    assert len(sent(report)) == 1
    assert sent(report) == []
    assert Letter.objects.filter(kind="summary").count() == 1


@pytest.mark.parametrize(("how", "count", "files"), [("link", 1, 0), ("paused", 0, 0)])
def test_its_reader_has_it_as_they_chose(report: Report, how: str, count: int, files: int) -> None:
    Contact.objects.update(reports_as=how)
    messages = sent(report)
    assert len(messages) == count
    for message in messages:
        assert len(list(message.iter_attachments())) == files
        assert "The whole summary lies on your page." in text_of(message)


@pytest.mark.outside(
    source="RFC 5322, section 3.6.4: In-Reply-To names the parent, References the whole line",
    kind="memory", tolerance=0,
)  # fmt: skip
def test_a_corrected_one_says_what_and_answers_the_first(report: Report) -> None:
    (first,) = sent(report)
    version = ReportVersion.objects.get(report=report)
    ReportVersion.objects.create(
        report=report, number=2, snapshot=version.snapshot | {"deaths": 3}, made_at=NOW,
        template=version.template, language="en", pdf=version.pdf, pdf_size=10, sha256="0" * 64,
    )  # fmt: skip
    (message,) = sent(report, NOW + dt.timedelta(hours=1))
    assert str(message["Subject"]).startswith("Corrected: Patio from")
    assert str(message["In-Reply-To"]).strip() == str(first["Message-ID"]).strip()
    text = text_of(message)
    said = text.split("What we have corrected")[1].split("\n\n")[0].split("\n")
    assert [line for line in said if line] == [
        "- The water was well. Some fish died.",
        "- 3 fish died.",
    ]


def test_the_office_sees_it_before_it_goes(report: Report, desk: Desk) -> None:  # noqa: F811
    browser, path = Browser(), f"/reports/{report.pk}/release/"
    browser.force_login(desk.office)
    assert "See the letter first" in browser.get(path).content.decode()
    links = ClientLink.objects.count()
    page = browser.get(f"{path}?text=1").content.decode()
    assert "We came 1 time." in page
    assert "/c/…" in page
    assert (Letter.objects.filter(kind="summary").count(), ClientLink.objects.count()) == (0, links)
    assert browser.post(path).status_code == 302
    assert Letter.objects.get(kind="summary").state == "queued"
    assert factories.TODAY == TODAY
