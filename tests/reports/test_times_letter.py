"""The letter with times to choose from, and the one that confirms the choice."""

import re

import icalendar
import pytest
import vobject
from django.core import mail
from django.core.mail import EmailMultiAlternatives

from apps.clients.models import Contact
from apps.core import outbox
from apps.core.scoping import Actor
from apps.flows import offering, visit_booking
from apps.rounds.models import TimesOffered
from apps.visits.models import Visit
from tests import factories
from tests.rounds.conftest import firm  # noqa: F401
from tests.rounds.world import MONDAY, Town

NOW = factories.NOW


@pytest.fixture
def offer(firm: Town) -> TimesOffered:  # noqa: F811
    visit = firm.pencil(firm.garden("Heron", 5), MONDAY, 9)
    return offering.offer(visit=visit, by=firm.by, at=NOW)


def sent() -> list[EmailMultiAlternatives]:
    mail.outbox.clear()
    outbox.drain(NOW)
    return list(mail.outbox)


def syllables(word: str) -> int:
    """Count groups of vowels, a silent e at the end left out."""
    count = len(re.findall(r"[aeiouy]+", word.lower()))
    return max(1, count - (word.lower().endswith("e") and count > 1))


class TestOffer:
    def test_the_times_one_link_and_no_calendar(self, offer: TimesOffered) -> None:
        [letter] = sent()
        assert letter.subject == "Which of these times suits you for our visit?"
        assert letter.to == ["heron@heron.example"]
        html = next(str(body) for body, kind in letter.alternatives if kind == "text/html")
        for text in (str(letter.body), html):
            for time in offer.times.all():
                said = f"between {time.told_from:%H:%M} and {time.told_until:%H:%M}"
                assert said in text
            assert "We keep these times for you until" in text
            # in HTML no line ends within the number
            assert ("call 0555 0100" if text is letter.body else "call 0555&nbsp;0100") in text
            assert len(set(re.findall(r"https?://[^\s\"<]+/c/[^\s\"<]+", text))) == 1
        assert [kind for _body, kind in letter.alternatives] == ["text/html"]
        assert letter.attachments == []

    def test_to_each_who_gets_letters_in_their_language(self, firm: Town) -> None:  # noqa: F811
        built = firm.garden("Heron", 5)
        client = built.system.place.client
        Contact.objects.create(client=client, name="Kim", email="kim@h.example", language="xx")
        Contact.objects.create(client=client, name="Quiet", email="q@h.example", gets_letters=False)
        offering.offer(visit=firm.pencil(built, MONDAY, 9), by=firm.by, at=NOW)
        letters = {letter.to[0]: letter for letter in sent()}
        assert set(letters) == {"heron@heron.example", "kim@h.example"}
        assert letters["kim@h.example"].extra_headers["Content-Language"] == "xx"
        links = {re.findall(r"/c/([^/]+)/", str(letter.body))[0] for letter in letters.values()}
        assert len(links) == 2

    def test_a_time_that_is_gone_before_it_was_sent_is_left_out(self, offer: TimesOffered) -> None:
        gone = offer.times.first()
        assert gone is not None
        offer.times.filter(pk=gone.pk).update(state="gone")
        [letter] = sent()
        assert str(letter.body).count("between") == 2

    @pytest.mark.outside(
        source="Kincaid et al. (1975), reading grade 0.39 w/s + 11.8 syl/w - 15.59, from memory",
        kind="memory", tolerance="grade 8",
    )  # fmt: skip
    def test_it_reads_easily(self, offer: TimesOffered) -> None:
        [letter] = sent()
        body = re.sub(r"(Heron|https?:)\S*", "", str(letter.body))
        said = " ".join(line for line in body.splitlines() if line.rstrip().endswith((".", "?")))
        sentences = len(re.findall(r"[.?]", said))
        words = re.findall(r"[A-Za-z']+", said)
        grade = 0.39 * len(words) / sentences - 15.59
        grade += 11.8 * sum(map(syllables, words)) / len(words)
        assert len(words) > 40
        assert grade <= 8


class TestConfirmation:
    def confirmed(self, offer: TimesOffered) -> tuple[Visit, EmailMultiAlternatives]:
        sent()
        time = offer.times.all()[1]
        by = Actor(role="client", at=NOW, client_id=offer.visit.place.client_id)
        visit = offering.pick(offer=offer, time_id=time.pk, by=by, at=NOW)
        [letter] = sent()
        return visit, letter

    def test_the_usual_letter_that_asks_nothing(self, offer: TimesOffered) -> None:
        visit, letter = self.confirmed(offer)
        assert letter.subject.startswith("We come on ")
        assert f"{visit.start:%H:%M}" in letter.subject
        assert "Confirm, move or decline" not in str(letter.body)

    @pytest.mark.outside(
        source="RFC 5545 and RFC 5546, read by vobject", kind="computed", tolerance=0
    )
    def test_another_reader_finds_the_appointment(self, offer: TimesOffered) -> None:
        visit, letter = self.confirmed(offer)
        [(name, data, kind)] = [tuple(item) for item in letter.attachments]
        assert (name, kind) == ("appointment.ics", "text/calendar")
        text = data.decode() if isinstance(data, bytes) else str(data)
        event = vobject.readOne(text)
        assert event.method.value == "REQUEST"
        assert event.vevent.status.value == "CONFIRMED"
        assert event.vevent.uid.value == f"{visit.pk}@backyard"
        assert event.vevent.dtstart.value == visit.start
        assert event.vevent.dtend.value == visit.end
        assert event.vevent.sequence.value == str(visit.appointment_sequence)
        assert event.vevent.attendee.params["PARTSTAT"] == ["ACCEPTED"]
        assert event.vevent.attendee.params["RSVP"] == ["FALSE"]
        [once_more] = icalendar.Calendar.from_ical(text).walk("VEVENT")
        assert {"UID", "DTSTAMP", "DTSTART", "DTEND", "SEQUENCE", "ORGANIZER"} <= set(once_more)

    def test_its_sequence_lies_above_what_was_sent_before(self, firm: Town) -> None:  # noqa: F811
        visit = firm.book(firm.pencil(firm.garden("Heron", 5), MONDAY, 9))
        before = visit.appointment_sequence
        visit = visit_booking.answer(
            visit=visit, answer="other_time", words="No", by=firm.by, at=NOW
        )
        _visit, letter = self.confirmed(offering.offer(visit=visit, by=firm.by, at=NOW))
        data = next(tuple(item)[1] for item in letter.attachments)
        text = data.decode() if isinstance(data, bytes) else str(data)
        assert int(vobject.readOne(text).vevent.sequence.value) > before
