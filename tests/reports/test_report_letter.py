"""The letter about a report: how its reader wants it, what it answers, seen before it goes."""

import datetime as dt
from email import message_from_bytes, policy
from email.message import EmailMessage
from typing import Any
from uuid import uuid4

import pytest
from django.core import mail
from django.urls import reverse

from apps.accounts.models import ClientLink
from apps.accounts.services import link_issue
from apps.clients.models import Contact
from apps.core import outbox
from apps.core.scoping import system
from apps.flows.releasing import release
from apps.flows.report_letters import report_letters, sheet_context, subject_of
from apps.reports.models import Letter, ReportCopy, ReportVersion
from apps.reports.rendering import child
from apps.reports.services.copies import paper_for
from apps.visits.models import Visit
from tests import factories
from tests.api.conftest import GOOD, World, at_nine, submission, visit, world  # noqa: F401
from tests.factories import NOW
from tests.reader import Reader as Browser
from tests.reports.test_kinds import HAND_OVER, INCIDENT


@pytest.fixture
def written(
    world: World, visit: dict[str, Any], monkeypatch: pytest.MonkeyPatch  # noqa: F811
) -> Visit:  # fmt: skip
    """A visit whose report is drawn and not released."""
    monkeypatch.setattr(child.CHILD, "render", lambda _snapshot, _photos: b"%PDF-1.7 drawn")
    body = submission(visit, world.mine, **{**GOOD, "alk": 27})
    world.ana("POST", f"/visits/{visit['id']}/submission", body, Idempotency_Key=str(uuid4()))
    outbox.drain(NOW)
    mail.outbox.clear()
    return Visit.objects.get(pk=visit["id"])


def released(row: Visit) -> list[EmailMessage]:
    """Release and send; return the mails as the standard library reads them."""
    release(visit=row, by=system("test", NOW), at=NOW)
    outbox.drain(NOW)
    return [
        message_from_bytes(message.message().as_bytes(), policy=policy.default)  # type: ignore[misc]
        for message in mail.outbox
    ]


def files_of(message: EmailMessage) -> list[str]:
    """Return the names of what is attached, pictures inside left out."""
    return [str(part.get_filename()) for part in message.iter_attachments()
            if part.get_content_type() == "application/pdf"]  # fmt: skip


def test_attached_unless_they_want_a_link(written: Visit) -> None:
    (message,) = released(written)
    assert len(files_of(message)) == 1
    body = message.get_body(("plain",)).get_content()  # type: ignore[union-attr]
    assert "The whole report is attached." in body
    assert "Choose which letters you get: http" in body
    # a report is the service itself: no press ends it
    assert message["List-Unsubscribe"] is None


def test_a_link_only(written: Visit) -> None:
    Contact.objects.update(reports_as="link")
    (message,) = released(written)
    assert files_of(message) == []
    body = message.get_body(("plain",)).get_content()  # type: ignore[union-attr]
    assert "The whole report lies on your page." in body


def test_paused_it_is_kept_and_not_sent(written: Visit) -> None:
    Contact.objects.update(reports_as="paused")
    assert released(written) == []
    letter = Letter.objects.get(kind="report")
    assert (letter.state, letter.last_error) == ("withheld", "they want no reports for now")


def test_paused_after_it_was_written_counts_too(written: Visit) -> None:
    release(visit=written, by=system("test", NOW), at=NOW)
    Contact.objects.update(reports_as="paused")
    outbox.drain(NOW)
    assert mail.outbox == []


@pytest.mark.outside(
    source="RFC 5322, section 3.6.4: In-Reply-To names the parent, References the whole line",
    kind="memory", tolerance=0,
)  # fmt: skip
def test_a_correction_answers_what_it_corrects(written: Visit) -> None:
    (first,) = released(written)
    version = ReportVersion.objects.get()
    ids = [str(first["Message-ID"]).strip()]
    for number in (2, 3):
        corrected = ReportVersion.objects.create(
            report=version.report, number=number, snapshot=version.snapshot, made_at=NOW,
            template=version.template, language="en", pdf=version.pdf, pdf_size=10,
            sha256=f"{number:064d}", reason="typed wrong",
        )  # fmt: skip
        report_letters(written, [corrected], NOW + dt.timedelta(hours=number))
        mail.outbox.clear()
        outbox.drain(NOW + dt.timedelta(hours=number))
        message = message_from_bytes(mail.outbox[0].message().as_bytes(), policy=policy.default)
        assert str(message["Subject"]).startswith("Corrected: ")
        assert str(message["In-Reply-To"]).strip() == ids[-1]
        assert str(message["References"]).split() == ids
        ids.append(str(message["Message-ID"]).strip())
    assert len(set(ids)) == 3, "each version has a letter of its own"


def test_the_office_sees_it_before_it_goes(written: Visit, world: World) -> None:  # noqa: F811
    browser = Browser()
    browser.force_login(world.users["office"])
    path = f"/visits/{written.pk}/release/"
    assert "See the letter first" in browser.get(path).content.decode()
    links = ClientLink.objects.count()
    page = browser.get(f"{path}?text=1").content.decode()
    assert "Dear Robin" in page
    assert "What to do" in page
    assert "/c/…" in page
    assert (Letter.objects.filter(kind="report").count(), ClientLink.objects.count()) == (0, links)
    browser.post(path)
    outbox.drain(NOW)
    assert Letter.objects.get(kind="report").state == "sent"
    assert NOW.date() == factories.TODAY


def test_as_a_mail_it_is_closed_off_and_its_links_lead_nowhere(
    written: Visit, world: World  # noqa: F811
) -> None:  # fmt: skip
    released(written)
    letter = Letter.objects.get(kind="report")
    links = ClientLink.objects.count()
    browser = Browser()
    browser.force_login(world.users["office"])
    answer = browser.get(f"/letters/{letter.pk}/mail/")
    page = answer.content.decode()
    assert "Alkalinity" in page
    assert "data:image/png;base64," in page
    assert "cid:" not in page
    assert "href" not in page
    assert "/c/" not in page
    policy_said = answer.headers["Content-Security-Policy"]
    assert "sandbox" in policy_said
    assert "default-src 'none'" in policy_said
    assert "script-src" not in policy_said
    assert ClientLink.objects.count() == links, "looking makes no link"


def in_words(snapshot: dict[str, Any], _photos: Any) -> bytes:
    return f"%PDF-1.7 {snapshot['language']} {snapshot['units']}".encode()


def attached(message: EmailMessage) -> bytes:
    return next(
        part.get_content()
        for part in message.iter_attachments()
        if part.get_content_type() == "application/pdf"
    )


def test_each_reader_gets_the_paper_in_their_own_language(
    written: Visit, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(child.CHILD, "render", in_words)
    first = written.place.client.contacts.get()
    other = Contact.objects.create(
        client=first.client, name="Ada", email="ada@mail.example", language="es", units="us"
    )
    by_reader = {message["To"]: message for message in released(written)}
    assert attached(by_reader["ada@mail.example"]) == b"%PDF-1.7 es us"
    assert attached(by_reader[first.email]) == b"%PDF-1.7 drawn"
    copy = ReportCopy.objects.get()
    # the same once more is not drawn again, and stands on their page
    monkeypatch.setattr(child.CHILD, "render", lambda *_: pytest.fail("drawn twice"))
    version = ReportVersion.objects.get()
    assert paper_for(version, other, NOW) == copy
    assert paper_for(version, first, NOW) == version
    for contact, bytes_ in ((other, b"%PDF-1.7 es us"), (first, b"%PDF-1.7 drawn")):
        secret = link_issue(
            client_id=first.client_id, purpose="page", at=NOW, contact_id=contact.pk
        )
        page = Browser().get(reverse("portal:report", args=[secret, version.pk]))
        assert b"".join(page.streaming_content if page.streaming else [page.content]) == bytes_


def test_a_copy_that_cannot_be_drawn_leaves_the_paper_as_it_is(
    written: Visit, monkeypatch: pytest.MonkeyPatch
) -> None:
    def failing(*_: Any) -> bytes:
        raise child.RenderFailed("no")

    monkeypatch.setattr(child.CHILD, "render", failing)
    Contact.objects.update(language="ar")
    (message,) = released(written)
    assert attached(message) == b"%PDF-1.7 drawn"
    assert not ReportCopy.objects.exists()


def test_what_was_corrected_stands_in_the_letter_and_a_call_and_a_hand_over_say_so(
    written: Visit,
) -> None:
    version = ReportVersion.objects.get()
    corrected = {"measurand": "ph", "name": "pH", "decimals": 1, "unit": "", "was": 6.3, "now": 8.3,
                 "reason": "typed wrong", "at": NOW.isoformat()}  # fmt: skip
    kinds: dict[str, tuple[int, dict[str, Any]]] = {
        "pH: 8.3, not 6.3. Why: typed wrong": (2, {"corrections": [corrected]}),
        "leaves in the strainer": (1, {"kind": "call_out", "incident": INCIDENT}),
        "Knowing whom to call": (1, {"kind": "hand_over", "hand_over": HAND_OVER}),
    }
    subjects = []
    for said, (number, more) in kinds.items():
        fresh = ReportVersion(
            report=version.report, number=number, snapshot=version.snapshot | more, made_at=NOW,
        )  # fmt: skip
        held = sheet_context(fresh, {})
        lines = [
            *held["corrected"], *(what for _name, what in held["called"]),
            *(line for _title, rows in held["handed_over"] for line in rows),
        ]  # fmt: skip
        assert any(said in line for line in lines), said
        subjects.append(subject_of(fresh, held["verdict"]))
    first, second, third = subjects
    assert second == f"After your call: {first}"
    assert third == "Your system is handed over: Back garden"
