"""Notices: what is past its day and who is quiet, told once, several in one letter, stopped by a press."""

import datetime as dt
from email import message_from_bytes, policy
from typing import Any

import pytest
from django.core import mail

from apps.accounts.choices import Purpose
from apps.accounts.models import AuditEntry, ClientLink, Firm
from apps.accounts.services import links_revoke
from apps.advice.models import Advice
from apps.clients.models import Contact
from apps.core import clock, outbox
from apps.flows.letters import compose
from apps.flows.noticing import last_heard, notices, overdue, quiet_clients
from apps.reports.choices import LETTER_SUBJECTS, NOTICES, LetterKind
from apps.reports.models import Letter, Notice
from apps.visits.models import CallNote, Visit
from tests import factories
from tests.factories import NOW, TODAY
from tests.reader import Reader as Browser

pytestmark = pytest.mark.django_db
DAY = dt.timedelta(days=1)


class World:
    """One client with a system, whom we last saw a week ago."""

    def __init__(self) -> None:
        factories.firm()
        self.office = factories.user("office", "office")
        self.built = factories.system(factories.place(factories.client("Okafor")))
        self.client = self.built.system.place.client
        self.contact = Contact.objects.get()
        self.visit = Visit.objects.create(
            place=self.built.system.place, start=NOW - 7 * DAY, end=NOW - 7 * DAY + DAY / 24,
            finished_at=NOW - 7 * DAY, state="under_way", made_at=NOW - 9 * DAY,
        )  # fmt: skip

    def advise(self, text: str, days: float, **more: Any) -> Advice:
        """Advise the client to do something by some days ago."""
        values: dict[str, Any] = {
            "system": self.built.system, "rule": "by_hand", "urgency": "within_3_days",
            "who": "client", "by_at": NOW - days * DAY, "made_at": NOW - 7 * DAY,
            "decision": "edit", "decision_text": text, "decision_reason": "said so",
        }  # fmt: skip
        return Advice.objects.create(**(values | more))

    def silent_for(self, days: int) -> None:
        """Let nobody have heard of the client for some days."""
        Visit.objects.update(finished_at=NOW - days * DAY)


@pytest.fixture
def world(monkeypatch: pytest.MonkeyPatch) -> World:
    monkeypatch.setattr(clock, "now", lambda: NOW)
    monkeypatch.setattr(outbox, "poke", lambda *_args: None)
    return World()


def texts() -> list[str]:
    """Send what waits; return what was said, newest last."""
    outbox.drain(NOW)
    return [str(message.body) for message in mail.outbox]


class TestWhatIsDue:
    def test_by_the_day_after_and_not_on_the_day(self, world: World) -> None:
        row = world.advise("Rinse the intake strainer.", days=0)
        assert overdue(TODAY) == []
        (item,) = overdue(TODAY + DAY)
        assert (item.client_id, item.key) == (world.client.pk, f"overdue:{row.pk}")

    @pytest.mark.parametrize(
        "change",
        [
            {"who": "technician"}, {"closed_at": NOW, "closed_as": "done"}, {"by_at": None},
            {"decision": "draft"}, {"by_at": NOW - 20 * DAY},
        ],
    )  # fmt: skip
    def test_not_what_is_no_longer_or_never_was_theirs(
        self, world: World, change: dict[str, Any]
    ) -> None:
        world.advise("Rinse the intake strainer.", days=2, **change)
        assert overdue(TODAY) == []

    def test_quiet_is_counted_from_the_last_word(self, world: World) -> None:
        Firm.objects.update(quiet_client_days=60)
        world.silent_for(60)
        assert quiet_clients(TODAY, NOW) == []
        world.silent_for(61)
        (item,) = quiet_clients(TODAY, NOW)
        assert item.holds["since"] == (TODAY - 61 * DAY).isoformat()

    def test_a_call_an_answer_or_a_visit_soon_is_a_word(self, world: World) -> None:
        world.silent_for(90)
        CallNote.objects.create(client=world.client, at=NOW - 3 * DAY, by="x", text="all fine")
        assert last_heard([world.client.pk])[world.client.pk] == NOW - 3 * DAY
        assert quiet_clients(TODAY, NOW) == []
        CallNote.objects.all().delete()
        assert len(quiet_clients(TODAY, NOW)) == 1
        Visit.objects.create(place=world.built.system.place, start=NOW + 9 * DAY, made_at=NOW,
                             end=NOW + 9 * DAY + DAY / 24, state="booked")  # fmt: skip
        assert quiet_clients(TODAY, NOW) == []

    def test_never_where_the_firm_does_not_want_it(self, world: World) -> None:
        world.silent_for(900)
        Firm.objects.update(quiet_client_days=0)
        assert quiet_clients(TODAY, NOW) == []

    def test_who_was_never_heard_of_counts_from_the_start(self, world: World) -> None:
        Visit.objects.all().delete()
        (item,) = quiet_clients(TODAY, NOW)
        assert item.holds["since"] == "2025-03-01"

    def test_the_number_of_queries_stays(self, world: World, same_queries: Any) -> None:
        def more() -> None:
            for number in range(6):
                factories.system(factories.place(factories.client(f"House{number}")))

        # one of whom nothing was heard ever is there from the beginning
        factories.system(factories.place(factories.client("Hazel")))
        same_queries(lambda: (overdue(TODAY), quiet_clients(TODAY, NOW)), more)


class TestLetters:
    def test_one_thing_is_a_letter_of_its_kind(self, world: World) -> None:
        world.advise("Rinse the intake strainer.", days=2)
        assert notices(TODAY, NOW) == 1
        (text,) = texts()
        assert Letter.objects.get().kind == "overdue"
        assert "One thing at your system is past its day." in text
        assert "Patio, by" in text
        assert "Rinse the intake strainer." in text
        assert "second time" not in text

    def test_a_dose_is_never_asked_for_twice(self, world: World) -> None:
        world.advise("Give 30 g of potassium bicarbonate.", days=2, dose=30.0, unit="g")
        notices(TODAY, NOW)
        (text,) = texts()
        assert "Never give it a second time." in text
        assert "Ask us before you do" in text

    def test_several_of_a_day_are_one_letter(self, world: World) -> None:
        world.advise("Rinse the intake strainer.", days=2)
        world.advise("Top the sump up.", days=1)
        world.silent_for(90)
        assert notices(TODAY, NOW) == 1
        (text,) = texts()
        letter = Letter.objects.get()
        assert (letter.kind, letter.subject_line) == ("several", "2 things about your system")
        assert text.index("2 things at your system are past") < text.index(
            "How is your system doing?"
        )
        assert Notice.objects.count() == 3

    def test_the_same_thing_is_told_once(self, world: World) -> None:
        world.advise("Rinse the intake strainer.", days=2)
        for _each in range(3):
            notices(TODAY, NOW)
            notices(TODAY + DAY, NOW + DAY)
        assert Letter.objects.count() == 1
        world.advise("Top the sump up.", days=1)
        notices(TODAY + DAY, NOW + DAY)
        assert Letter.objects.count() == 2

    def test_each_contact_who_wants_them_and_nobody_else(self, world: World) -> None:
        for name, more in (("Two", {}), ("No notices", {"gets_notices": False}),
                           ("No letters", {"gets_letters": False})):  # fmt: skip
            Contact.objects.create(client=world.client, name=name, email="x@o.example", **more)
        world.advise("Rinse the intake strainer.", days=2)
        assert notices(TODAY, NOW) == 2
        names = set(Letter.objects.values_list("contact__name", flat=True))
        assert names == {"Robin Okafor", "Two"}

    def test_in_quiet_hours_it_waits(self, world: World) -> None:
        Firm.objects.update(quiet_from=dt.time(8), quiet_until=dt.time(10))
        world.advise("Rinse the intake strainer.", days=2)
        notices(TODAY, NOW)
        assert Letter.objects.get().not_before == NOW.replace(hour=10)

    def test_what_was_done_meanwhile_is_not_said(self, world: World) -> None:
        world.advise("Rinse the intake strainer.", days=2)
        row = world.advise("Top the sump up.", days=2)
        notices(TODAY, NOW)
        Advice.objects.filter(pk=row.pk).update(closed_at=NOW, closed_as="done")
        (text,) = texts()
        assert "Top the sump up." not in text

    def test_html_and_text_say_the_same(self, world: World) -> None:
        world.advise("Rinse the <b>strainer</b>.", days=2)
        notices(TODAY, NOW)
        message = compose(Letter.objects.get())
        html = next(str(part) for part, kind in message.alternatives if kind == "text/html")
        assert "Rinse the &lt;b&gt;strainer&lt;/b&gt;." in html
        assert "Rinse the <b>strainer</b>." in message.body


class TestStopping:
    """RFC 8058 and RFC 2369, as mail programs act on them."""

    @pytest.fixture
    def letter(self, world: World, settings: Any) -> Letter:
        settings.BACKYARD_BASE_URL = "https://care.reedandroach.example"
        world.advise("Rinse the intake strainer.", days=2)
        notices(TODAY, NOW)
        outbox.drain(NOW)
        return Letter.objects.get()

    def seen(self) -> Any:
        """The mail as the standard library reads it."""
        return message_from_bytes(mail.outbox[-1].message().as_bytes(), policy=policy.default)

    def stop_path(self) -> str:
        ways = str(self.seen()["List-Unsubscribe"])
        address = ways[ways.index("<") + 1 : ways.index(">")]
        assert address.startswith("https://care.reedandroach.example/c/")
        return address.removeprefix("https://care.reedandroach.example")

    @pytest.mark.outside(
        source="RFC 8058, sections 3.1 and 3.2; RFC 2369, section 3.2; RFC 3834, section 5",
        kind="memory", tolerance=0,
    )  # fmt: skip
    def test_the_headers(self, letter: Letter) -> None:
        message = self.seen()
        assert message["List-Unsubscribe-Post"] == "List-Unsubscribe=One-Click"
        ways = [way.strip() for way in str(message["List-Unsubscribe"]).split(",")]
        assert [way.split(":")[0] for way in ways] == ["<https", "<mailto"]
        assert all(way.endswith(">") for way in ways)
        assert message["Auto-Submitted"] == "auto-generated"
        assert message["Reply-To"] == "office@reedandroach.example"
        assert str(message["Message-ID"]).strip() == letter.message_id

    def test_the_service_itself_cannot_be_stopped_by_a_press(self) -> None:
        kinds = {kind for kind in LetterKind if kind not in NOTICES}
        assert {"report", "appointment", "called_off", "reminder", "weather", "own"} <= kinds
        assert set(LETTER_SUBJECTS) == set(LetterKind)

    def test_without_https_only_the_list_header_stands(self, letter: Letter, settings: Any) -> None:
        settings.BACKYARD_BASE_URL = "http://127.0.0.1:8000"
        headers = compose(letter).extra_headers
        assert "List-Unsubscribe-Post" not in headers
        assert "mailto:" in headers["List-Unsubscribe"]

    def test_looking_changes_nothing(self, letter: Letter) -> None:
        path = self.stop_path()
        for method in ("get", "head"):
            browser = Browser()
            answer = getattr(browser, method)(path)
            assert answer.status_code == 302
            assert getattr(browser, method)(answer.headers["Location"]).status_code == 200
        assert Contact.objects.get().gets_notices

    def test_one_press_without_cookie_or_token_ends_them(
        self, letter: Letter, world: World
    ) -> None:
        strict = Browser(enforce_csrf_checks=True)
        answer = strict.post(self.stop_path(), {"List-Unsubscribe": "One-Click"})
        assert (answer.status_code, answer.headers["Content-Type"]) == (
            200,
            "text/plain; charset=utf-8",
        )
        assert not Contact.objects.get().gets_notices
        assert AuditEntry.objects.filter(kind="contact", verb="changed").count() == 1
        # a second press says the same and changes nothing
        assert strict.post(self.stop_path(), {"List-Unsubscribe": "One-Click"}).status_code == 200
        assert AuditEntry.objects.filter(kind="contact", verb="changed").count() == 1
        world.advise("Top the sump up.", days=1)
        assert notices(TODAY + DAY, NOW + DAY) == 0

    def test_another_post_ends_nothing(self, letter: Letter) -> None:
        for body in ({}, {"List-Unsubscribe": "yes"}):
            assert Browser().post(self.stop_path(), body).status_code == 302
        assert Contact.objects.get().gets_notices

    def test_a_letter_that_waits_is_not_sent_after_it(self, letter: Letter, world: World) -> None:
        world.advise("Top the sump up.", days=1)
        notices(TODAY + DAY, NOW)
        Browser().post(self.stop_path(), {"List-Unsubscribe": "One-Click"})
        outbox.drain(NOW)
        assert sorted(Letter.objects.values_list("state", flat=True)) == ["sent", "withheld"]

    def test_the_link_opens_nothing_else_and_ends_with_the_others(
        self, letter: Letter, world: World
    ) -> None:
        secret = self.stop_path().split("/")[2]
        assert ClientLink.objects.filter(purpose=Purpose.LETTERS).count() == 1
        for path in (f"/c/{secret}/", f"/c/{secret}/calendar/"):
            assert Browser().get(path).status_code == 404, path
        links_revoke(client_id=world.client.pk, at=NOW, by=factories.actor(world.office))
        assert (
            Browser().post(self.stop_path(), {"List-Unsubscribe": "One-Click"}).status_code == 404
        )
        assert Contact.objects.get().gets_notices

    def test_the_page_chooses_and_says_what_was_wrong(self, letter: Letter) -> None:
        text = str(mail.outbox[-1].body)
        path = text.split("Choose which letters you get: ")[1].split()[0]
        path = path.removeprefix("https://care.reedandroach.example")
        page = Browser().get(path)
        assert page.headers["Referrer-Policy"] == "same-origin"
        assert "okafor@okafor.example" in page.content.decode()
        refused = Browser().post(path, {"reports_as": "by pigeon"})
        assert (refused.status_code, Contact.objects.get().reports_as) == (422, "attached")
        assert "Choose one of them." in refused.content.decode()
        assert Browser().post(path, {"reports_as": "paused"}).status_code == 302
        contact = Contact.objects.get()
        assert (contact.reports_as, contact.gets_notices) == ("paused", False)
        assert Browser().post(path, {"reports_as": "link", "gets_notices": "on"}).status_code == 302
        contact.refresh_from_db()
        assert (contact.reports_as, contact.gets_notices) == ("link", True)
