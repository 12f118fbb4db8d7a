"""Several visits of which a reader is to be reminded are one letter, and each is told once."""

import datetime as dt
import re
from typing import Any

import pytest
from django.core import mail

from apps.accounts.models import Firm, User
from apps.accounts.services import link_find
from apps.clients.models import Contact
from apps.core import clock, outbox
from apps.flows import reminder_letters, visit_booking
from apps.flows.nightly import reminders
from apps.office.selectors.visit_page import letters_of
from apps.reports.models import Letter, Notice
from apps.rounds.models import Absence
from apps.visits.models import Visit
from tests import factories

NOW = factories.NOW
DAY, HOUR = dt.timedelta(days=1), dt.timedelta(hours=1)
# the day after, at 9 and at 14 o'clock, the second not due within a day
MORNING, AFTERNOON = NOW + DAY, NOW + DAY + 5 * HOUR


class Town:
    """A client with two places, and what is booked there."""

    def __init__(self) -> None:
        factories.firm()
        self.by = factories.actor(factories.user("office", "office"))
        self.ana, self.marek = factories.user("ana"), factories.user("marek")
        client = factories.client("Okafor")
        self.places = [
            factories.system(factories.place(client, name=name)).system
            for name in ("Garden", "Allotment")
        ]
        Letter.objects.all().delete()

    def booked(self, which: int, start: dt.datetime, who: User | None = None) -> Visit:
        """Book a visit of one of the places, its letter sent."""
        system = self.places[which]
        row = visit_booking.pencil(
            place=system.place, systems=[system], technicians=[who or self.ana], start=start,
            end=start + HOUR, by=self.by, at=NOW,
        )  # fmt: skip
        row = visit_booking.step(visit=row, to="booked", by=self.by, at=NOW)
        outbox.drain(NOW)
        mail.outbox.clear()
        return row

    def call_off(self, visit: Visit) -> None:
        """Call a visit off; the letter that says so goes too."""
        visit.refresh_from_db()
        visit_booking.step(visit=visit, to="called_off", by=self.by, at=NOW, reason="rain")


@pytest.fixture
def town(db: None, monkeypatch: pytest.MonkeyPatch) -> Town:
    monkeypatch.setattr(clock, "now", lambda: NOW)
    monkeypatch.setattr(outbox, "poke", lambda *_args: None)
    return Town()


def reminded() -> Any:
    return Letter.objects.filter(kind="reminder").order_by("made_at", "key")


def sent(at: dt.datetime = NOW) -> list[Any]:
    """Send what waits; return the mails, of which the reminders alone."""
    mail.outbox.clear()
    outbox.drain(at)
    return [row for row in mail.outbox if "called off" not in row.subject]


def test_two_visits_of_a_day_are_one_letter_with_a_link_each(town: Town) -> None:
    first, second = town.booked(0, MORNING), town.booked(1, AFTERNOON)
    assert reminders(NOW) == 1, "the second goes with the first, though it is not due yet"
    (message,) = sent()
    assert message.subject == "We come on Friday 12 June at 09:00 and 14:00."
    html = next(str(text) for text, kind in message.alternatives if kind == "text/html")
    for text in (str(message.body), html):
        assert (
            text.index("Garden") < text.index("Friday 12 June at 14:00") < text.index("Allotment")
        )
        secrets = dict.fromkeys(re.findall(r"/c/([^/\s\"]+)/", text))
        links = [link_find(secret, NOW) for secret in secrets]
        assert [link and link.subject_id for link in links] == [first.pk, second.pk]
    # a reminder asks no calendar program
    assert [kind for _text, kind in message.alternatives] == ["text/html"]
    letter = reminded().get()
    assert [letter in letters_of(town.by, row) for row in (first, second)] == [True, True]


def test_each_is_told_once_and_one_booked_later_by_itself(town: Town) -> None:
    town.booked(0, MORNING)
    town.booked(1, AFTERNOON)
    reminders(NOW)
    for hours in range(1, 8):
        assert reminders(NOW + hours * HOUR) == 0, "nor when the second falls due itself"
    town.booked(1, AFTERNOON + 2 * HOUR)
    assert reminders(NOW) == 0, "not due: it is not pulled in by what was told"
    assert reminders(NOW + 8 * HOUR) == 1
    sent(NOW + 8 * HOUR)
    assert mail.outbox[-1].subject == "We come on Friday 12 June at 16:00."


def test_several_days_that_are_due_at_once_are_one_letter(town: Town) -> None:
    Firm.objects.update(reminder_hours=48)
    town.booked(0, MORNING)
    town.booked(1, MORNING + DAY)
    assert reminders(NOW) == 1
    (message,) = sent()
    assert message.subject == (
        "We come 2 times: Friday 12 June at 09:00; Saturday 13 June at 09:00."
    )


def test_a_day_of_several_times_is_named_once_beside_another_day(town: Town) -> None:
    Firm.objects.update(reminder_hours=48)
    town.booked(0, MORNING)
    town.booked(1, AFTERNOON)
    town.booked(1, MORNING + DAY)
    assert reminders(NOW) == 1
    (message,) = sent()
    assert message.subject == (
        "We come 3 times: Friday 12 June at 09:00 and 14:00; Saturday 13 June at 09:00."
    )


def test_another_day_that_is_not_due_stays_out(town: Town) -> None:
    town.booked(0, NOW + 8 * HOUR)
    town.booked(1, AFTERNOON)
    town.booked(1, AFTERNOON + DAY)
    assert reminders(NOW) == 1
    (message,) = sent()
    assert message.subject == "We come on Thursday 11 June at 17:00."


@pytest.mark.parametrize("quiet", [False, True])
def test_one_of_several_called_off_before_it_goes_is_left_out(town: Town, quiet: bool) -> None:
    first, _second = town.booked(0, MORNING), town.booked(1, AFTERNOON)
    if quiet:
        Firm.objects.update(quiet_from=dt.time(8), quiet_until=dt.time(10))
    reminders(NOW)
    town.call_off(first)
    letter = reminded().get()
    assert letter.state == "queued", "the letter that calls one off does not take the other's place"
    (message,) = sent(NOW + 2 * HOUR)
    assert message.subject == "We come on Friday 12 June at 14:00."
    assert "Garden" not in message.body


def test_one_of_several_that_is_moved_is_left_to_its_own_letter(town: Town) -> None:
    first, _second = town.booked(0, MORNING), town.booked(1, AFTERNOON)
    reminders(NOW)
    first.refresh_from_db()
    visit_booking.move(visit=first, start=MORNING + 3 * DAY, end=MORNING + 3 * DAY + HOUR,
                       technicians=[town.ana], rev=first.rev, by=town.by, at=NOW)  # fmt: skip
    subjects = [row.subject for row in sent()]
    assert sorted(subjects) == [
        "We come on Friday 12 June at 14:00.", "We would like to come on Monday 15 June at 09:00.",
    ]  # fmt: skip


def test_all_of_several_called_off_it_does_not_go(town: Town) -> None:
    rows = [town.booked(0, MORNING), town.booked(1, AFTERNOON)]
    reminders(NOW)
    for row in rows:
        town.call_off(row)
    assert sent() == []
    letter = reminded().get()
    assert (letter.state, letter.last_error) == ("withheld", "the visit is called off")


def test_one_of_several_without_hands_holds_it_and_the_rest_is_written_anew(town: Town) -> None:
    town.booked(0, MORNING)
    town.booked(1, AFTERNOON, who=town.marek)
    reminders(NOW)
    gone = Absence.objects.create(user=town.ana, first=MORNING.date(), last=MORNING.date())
    assert sent() == []
    assert reminded().get().last_error == "whoever was to come is away then"
    # the other is not due by itself yet; once it is, it goes alone
    assert reminders(NOW + HOUR) == 0
    assert reminders(NOW + 6 * HOUR) == 1
    (message,) = sent(NOW + 6 * HOUR)
    assert message.subject == "We come on Friday 12 June at 14:00."
    gone.delete()
    assert reminders(NOW + 7 * HOUR) == 1
    (message,) = sent(NOW + 7 * HOUR)
    assert message.subject == "We come on Friday 12 June at 09:00."


def test_another_run_that_was_quicker_leaves_one_letter(
    town: Town, monkeypatch: pytest.MonkeyPatch
) -> None:
    town.booked(0, MORNING)
    visit = town.booked(1, AFTERNOON)
    contact, made = Contact.objects.get(), reminder_letters.letter_make

    def slow(**given: Any) -> Letter:
        """Write it after another run has told of one of the two."""
        other = made(**(given | {"key": "of another run", "visit": visit, "parameters": {}}))
        Notice.objects.create(contact=contact, letter=other, at=NOW,
                              key=f"reminder:{visit.pk}:{visit.start.isoformat()}")  # fmt: skip
        return made(**given)

    monkeypatch.setattr(reminder_letters, "letter_make", slow)
    assert reminders(NOW) == 0
    assert not reminded().exists(), "all or nothing"


def test_a_text_message_holds_them_too(town: Town, settings: Any) -> None:
    settings.TEXT_GATEWAY = "console"
    Contact.objects.update(phone="+32470123456", gets_texts=True)
    town.booked(0, MORNING)
    town.booked(1, AFTERNOON)
    assert reminders(NOW) == 2
    assert sorted(reminded().values_list("channel", flat=True)) == ["mail", "text"]
    assert reminders(NOW + HOUR) == 0


def test_what_is_not_due_costs_no_query(town: Town, same_queries: Any) -> None:
    town.booked(0, MORNING)
    reminders(NOW)

    def more() -> None:
        for number in range(4):
            town.booked(1, MORNING + (number + 1) * DAY)

    same_queries(lambda: reminders(NOW), more)


def test_an_appointment_that_waits_for_the_morning_reminds_by_itself(town: Town) -> None:
    """It says the same, and it alone carries what a calendar takes."""
    Firm.objects.update(quiet_from=dt.time(20), quiet_until=dt.time(7))
    night = NOW.replace(hour=22)
    start = night + 12 * HOUR
    system = town.places[0]
    row = visit_booking.pencil(
        place=system.place, systems=[system], technicians=[town.ana], start=start, end=start + HOUR,
        by=town.by, at=night,
    )  # fmt: skip
    visit_booking.step(visit=row, to="booked", by=town.by, at=night)
    assert reminders(night) == 0
    (message,) = sent(night + 10 * HOUR)
    assert [kind.split(";")[0] for _text, kind in message.alternatives] == [
        "text/html",
        "text/calendar",
    ]
    assert reminders(night + 10 * HOUR) == 0, "nor a reminder a minute later"
