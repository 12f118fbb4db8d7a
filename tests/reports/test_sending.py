"""Trying a letter again: pauses, a day at most, a server that is away, readers who no longer want it."""

import datetime as dt
from typing import Any

import pytest
from django.core import mail
from django.core.mail import EmailMessage

from apps.accounts.models import Firm
from apps.core import outbox
from apps.core.exceptions import Conflict
from apps.core.models import Job
from apps.reports.models import DeliveryStep, Letter, MailServer
from apps.reports.services import sending
from apps.reports.services.letters import letter_again, letter_make, letter_now
from apps.reports.services.mail_server import AWAY_AFTER, PAUSE
from apps.reports.services.sending import leases_reap, letter_send, pause_before
from apps.visits.models import Visit
from demo.sink import _free_port
from tests import factories
from tests.factories import NOW
from tests.reports.conftest import Server

pytestmark = pytest.mark.django_db
MINUTE, HOUR = dt.timedelta(minutes=1), dt.timedelta(hours=1)


def compose(letter: Letter) -> EmailMessage:
    """A short letter."""
    return EmailMessage("Due", "text", "office@x.example", [letter.address],
                        headers={"Message-ID": letter.message_id})  # fmt: skip


def send(letter: Letter, at: dt.datetime = NOW, compose: Any = compose) -> outbox.Transient | None:
    """Send and read again; return why it waits, if it does."""
    try:
        letter_send(letter_id=letter.pk, compose=compose, at=at)
    except outbox.Transient as waits:
        return waits
    finally:
        letter.refresh_from_db()
    return None


def numbered(number: int) -> Letter:
    """One more letter to the same reader."""
    like = Letter.objects.order_by("made_at").first()
    assert like is not None
    return letter_make(
        kind="due_list", key=f"k{number}", address=like.address, contact=like.contact, visit=None,
        parameters={}, at=NOW,
    )  # fmt: skip


class TestPauses:
    def test_grow_to_an_hour_with_a_share(self) -> None:
        whole = [pause_before(tries, 1.0) / MINUTE for tries in range(1, 10)]
        assert whole == [1, 2, 4, 8, 16, 32, 60, 60, 60]
        assert pause_before(500, 0.5) == 30 * MINUTE
        assert all(0.5 <= sending._share() <= 1 for _each in range(200))
        assert len({sending._share() for _each in range(50)}) > 10

    def test_the_next_try_stands_on_the_letter_and_its_job(
        self, server: Server, letter: Letter
    ) -> None:
        server.recipient = "451 busy"
        waits = send(letter)
        assert waits is not None
        assert waits.after is not None
        assert waits.patient
        assert MINUTE / 2 <= waits.after <= MINUTE
        assert letter.next_try == NOW + waits.after
        assert letter.tried_from == NOW

    def test_it_goes_on_for_a_day_and_then_stops(self, server: Server, letter: Letter) -> None:
        server.recipient = "451 busy"
        at, tries = NOW, 0
        while letter.state == "queued":
            waits = send(letter, at)
            tries += 1
            if waits is None:
                break
            assert waits.after
            at += waits.after
        assert letter.state == "failed"
        assert at == NOW + 24 * HOUR
        assert 24 < tries < 70
        # the office is told: it stands among what is in trouble
        assert "451" in letter.last_error

    def test_the_outbox_waits_as_long_as_the_letter_says(
        self, server: Server, letter: Letter
    ) -> None:
        server.recipient = "451 busy"
        outbox.HANDLERS["letters.try"] = outbox.Handler(
            lambda **more: letter_send(letter_id=letter.pk, compose=compose, at=more["at"]),
            "default", dt.timedelta(minutes=2), 1,
        )  # fmt: skip
        job = outbox.enqueue("letters.try", "try", {}, at=NOW)
        try:
            for _each in range(3):
                outbox.carry_out(job.pk, job.run_at)
                job.refresh_from_db()
                letter.refresh_from_db()
                assert (job.state, job.run_at) == ("new", letter.next_try)
        finally:
            del outbox.HANDLERS["letters.try"]

    def test_what_cannot_be_written_is_tried_again_and_told(
        self, server: Server, letter: Letter
    ) -> None:
        def broken(_letter: Letter) -> EmailMessage:
            raise KeyError("verdict")

        assert send(letter, compose=broken) is not None
        assert (letter.state, letter.tries) == ("queued", 1)
        assert "verdict" in letter.last_error
        assert send(letter, NOW + 24 * HOUR, broken) is None
        assert letter.state == "failed"
        assert not server.seen

    def test_a_later_try_keeps_the_quiet_hours(self, server: Server, letter: Letter) -> None:
        Firm.objects.update(quiet_from=dt.time(20), quiet_until=dt.time(7, 30))
        Letter.objects.filter(pk=letter.pk).update(kind="report")
        server.recipient = "451 busy"
        evening = NOW.replace(hour=19, minute=59)
        send(letter, evening)
        server.recipient = "250 OK"
        waits = send(letter, evening + 5 * MINUTE)
        morning = (NOW + dt.timedelta(days=1)).replace(hour=7, minute=30)
        assert waits is not None
        assert waits.after == morning - evening - 5 * MINUTE
        assert letter.not_before == morning
        assert not server.seen
        send(letter, morning)
        assert letter.state == "sent"


class TestServerAway:
    @pytest.fixture(autouse=True)
    def away(self, settings: Any) -> None:
        settings.EMAIL_BACKEND = "apps.core.mail.PhasedSMTPBackend"
        settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", _free_port()

    def test_after_five_in_a_row_nothing_is_tried_for_five_minutes(self, letter: Letter) -> None:
        for number in range(AWAY_AFTER):
            send(numbered(number))
        assert MailServer.objects.get().paused_until == NOW + PAUSE
        waits = send(letter, NOW + MINUTE)
        assert letter.tries == 0, "while the pause lasts no letter is touched"
        assert waits is not None
        assert waits.after is not None
        assert PAUSE - MINUTE <= waits.after <= PAUSE

    def test_one_tries_after_the_pause_and_the_rest_wait_on(self, letter: Letter) -> None:
        letters = [numbered(number) for number in range(AWAY_AFTER)]
        for row in letters:
            send(row)
        later = NOW + PAUSE
        send(letters[0], later)
        assert MailServer.objects.get().paused_until == later + PAUSE
        send(letters[1], later)
        assert letters[1].tries == 1

    def test_one_answer_ends_it(self, letter: Letter, server: Server, settings: Any) -> None:
        port = settings.EMAIL_PORT
        settings.EMAIL_PORT = _free_port()
        for number in range(AWAY_AFTER):
            send(numbered(number))
        settings.EMAIL_PORT = port
        send(letter, NOW + PAUSE)
        assert letter.state == "sent"
        row = MailServer.objects.get()
        assert (row.failures, row.away_since, row.paused_until) == (0, None, None)

    def test_a_password_that_is_wrong_is_the_server_and_not_the_letter(
        self, letter: Letter, server: Server, settings: Any
    ) -> None:
        settings.EMAIL_HOST_USER, settings.EMAIL_HOST_PASSWORD = "office", "wrong"
        assert send(letter) is not None
        assert MailServer.objects.get().failures == 1


class TestSenderDied:
    def held(self, letter: Letter, **more: Any) -> None:
        values = {"state": "sending", "tries": 1, "lease_until": NOW + 2 * MINUTE} | more
        Letter.objects.filter(pk=letter.pk).update(**values)
        letter.refresh_from_db()

    def test_before_it_was_handed_over_it_goes_out_again(
        self, server: Server, letter: Letter
    ) -> None:
        self.held(letter, preparing=True)
        jobs = Job.objects.count()
        assert leases_reap(NOW + 3 * MINUTE) == 1
        letter.refresh_from_db()
        assert letter.state == "queued"
        assert Job.objects.count() == jobs + 1
        assert send(letter, NOW + 3 * MINUTE) is None
        assert letter.state == "sent"
        assert server.seen[letter.message_id] == 1

    def test_one_that_kills_each_sender_is_given_up(self, letter: Letter) -> None:
        self.held(letter, preparing=True, tries=sending.MOST_DEATHS)
        leases_reap(NOW + 3 * MINUTE)
        letter.refresh_from_db()
        assert letter.state == "failed"

    def test_a_slow_sender_that_was_taken_for_dead_sends_nothing(
        self, server: Server, letter: Letter
    ) -> None:
        def slow(row: Letter) -> EmailMessage:
            leases_reap(NOW + 5 * MINUTE)
            return compose(row)

        send(letter, compose=slow)
        assert letter.state == "queued"
        assert not server.seen

    def test_who_hears_late_that_it_was_taken_settles_it(
        self, server: Server, letter: Letter, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        whole = EmailMessage.send

        def slow(message: EmailMessage, fail_silently: bool = False) -> int:
            count = whole(message, fail_silently)
            leases_reap(NOW + 5 * MINUTE)
            letter.refresh_from_db()
            assert letter.state == "unsure"
            return count

        monkeypatch.setattr(EmailMessage, "send", slow)
        send(letter)
        assert letter.state == "sent"


class TestNoLongerWanted:
    @pytest.fixture
    def coming(self, letter: Letter) -> Letter:
        """A letter about a visit tomorrow."""
        place = factories.place(letter.contact.client)  # type: ignore[union-attr]
        start = NOW + dt.timedelta(days=1)
        visit = Visit.objects.create(place=place, start=start, end=start + HOUR, made_at=NOW,
                                     state="booked", appointment_sequence=2)  # fmt: skip
        return letter_make(
            kind="reminder", key="coming", address=letter.address, contact=letter.contact,
            visit=visit, parameters={"sequence": 2}, at=NOW,
        )  # fmt: skip

    def test_goes_out_while_it_holds(self, coming: Letter) -> None:
        assert send(coming) is None
        assert coming.state == "sent"

    @pytest.mark.parametrize(
        ("changes", "state", "words"),
        [
            ({"state": "called_off"}, "withheld", "called off"),
            ({"end": NOW - MINUTE, "start": NOW - HOUR}, "withheld", "over"),
            ({"appointment_sequence": 3}, "replaced", "later letter"),
        ],
    )
    def test_not_about_a_visit_that_is_no_more(
        self, coming: Letter, changes: dict[str, Any], state: str, words: str
    ) -> None:
        Visit.objects.update(**changes)
        send(coming)
        assert (coming.state, mail.outbox) == (state, [])
        assert words in DeliveryStep.objects.filter(letter=coming).last().words  # type: ignore[union-attr]

    def test_on_my_way_is_told_after_the_visits_own_time(self, coming: Letter) -> None:
        """Who comes late says so when the time that was booked is over already."""
        there = NOW + 20 * MINUTE
        Letter.objects.filter(pk=coming.pk).update(
            kind="on_my_way", parameters={"there": there.isoformat()}
        )
        Visit.objects.update(start=NOW - 2 * HOUR, end=NOW - HOUR)
        late = there + 16 * MINUTE
        second = letter_make(
            kind="on_my_way", key="second", address=coming.address, contact=coming.contact,
            visit=coming.visit, parameters={"there": there.isoformat()}, at=NOW,
        )  # fmt: skip
        send(coming)
        assert coming.state == "sent"
        send(second, late)
        assert second.state == "withheld"

    def test_that_it_is_called_off_is_still_told(self, coming: Letter) -> None:
        Letter.objects.filter(pk=coming.pk).update(kind="called_off")
        Visit.objects.update(state="called_off", end=NOW - MINUTE, start=NOW - HOUR)
        send(coming, compose=compose)
        assert coming.state == "sent"

    def test_not_to_who_wants_none_any_more(self, coming: Letter) -> None:
        coming.contact.gets_letters = False  # type: ignore[union-attr]
        coming.contact.save()  # type: ignore[union-attr]
        send(coming)
        assert (coming.state, mail.outbox) == ("withheld", [])

    def test_sent_again_it_goes_to_the_address_of_now(self, server: Server, letter: Letter) -> None:
        server.recipient = "550 no such address"
        send(letter)
        letter.contact.email = "robin.new@okafor.example"  # type: ignore[union-attr]
        letter.contact.save()  # type: ignore[union-attr]
        server.recipient = "250 OK"
        again = letter_again(
            letter=letter, by=factories.actor(factories.user("office", "office")), at=NOW
        )
        send(again)
        assert (again.state, again.address) == ("sent", "robin.new@okafor.example")


def test_the_office_need_not_wait_for_the_next_try(server: Server, letter: Letter) -> None:
    by = factories.actor(factories.user("office", "office"))
    with pytest.raises(Conflict):
        letter_now(letter=letter, by=by, at=NOW)
    server.recipient = "451 busy"
    job = Job.objects.get(args__letter_id=str(letter.pk))
    waits = send(letter)
    assert waits is not None
    Job.objects.filter(pk=job.pk).update(run_at=letter.next_try)
    letter_now(letter=letter, by=by, at=NOW)
    letter.refresh_from_db()
    job.refresh_from_db()
    assert (letter.next_try, job.run_at) == (None, NOW)
