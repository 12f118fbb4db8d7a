"""What a letter looks like: own words in the other direction, numbers whole, first what it is about."""

import datetime as dt
from pathlib import Path

import pytest
from django.conf import settings

from apps.advice.models import Advice
from apps.clients.models import Contact
from apps.core import clock, outbox
from apps.flows.letters import compose
from apps.flows.office_writes import letters_write
from apps.flows.visit_letters import appointment_letters
from apps.reports.models import Letter
from apps.reports.services.letters import letter_make
from apps.visits.models import Visit
from tests import factories
from tests.factories import NOW

pytestmark = pytest.mark.django_db
ISOLATE, END = "\u2068", "\u2069"


@pytest.fixture
def place(monkeypatch: pytest.MonkeyPatch) -> factories.Place:
    monkeypatch.setattr(clock, "now", lambda: NOW)
    monkeypatch.setattr(outbox, "poke", lambda *_args: None)
    factories.firm()
    return factories.place(factories.client("Okafor"))


def parts(letter: Letter) -> tuple[str, str]:
    """Return a letter's text and its HTML."""
    message = compose(letter)
    html = next(str(part) for part, kind in message.alternatives if kind == "text/html")  # type: ignore[union-attr]
    return str(message.body), html


def test_own_words_keep_their_direction_in_an_arabic_letter(place: factories.Place) -> None:
    Contact.objects.update(language="ar")
    by = factories.actor(factories.user("office", "office"))
    words = "212 heads of lettuce this year."
    letters_write(client=place.client, kind="renewal", by=by, at=NOW,
                  values={"until": dt.date(2026, 7, 31), "words": words})  # fmt: skip
    for part in parts(Letter.objects.get()):
        assert f"{ISOLATE}{words}{END}" in part


def test_no_line_ends_within_a_telephone_number(place: factories.Place) -> None:
    letter = letter_make(
        kind="quiet", key="k", address="a@mail.example", contact=Contact.objects.get(), visit=None,
        parameters={"notices": [{"kind": "quiet", "since": "2026-03-03"}]}, at=NOW,
    )  # fmt: skip
    text, html = parts(letter)
    for number in ("0555 0100", "0555 0199"):
        assert number in text
        assert number not in html
        assert number.replace(" ", "&nbsp;") in html


def test_what_is_past_its_day_stands_before_what_is_asked_of_it(place: factories.Place) -> None:
    row = Advice.objects.create(
        system=factories.system(place).system, rule="by_hand", urgency="today", who="client",
        dose=30.0, unit="g", by_at=NOW - dt.timedelta(days=2), made_at=NOW, decision="edit",
        decision_text="Give the salt.", decision_reason="said so",
    )  # fmt: skip
    letter = letter_make(
        kind="overdue", key="k", address="a@mail.example", contact=Contact.objects.get(),
        visit=None, parameters={"notices": [{"kind": "overdue", "advice": [str(row.pk)]}]}, at=NOW,
    )  # fmt: skip
    for part in parts(letter):
        assert part.index("Give the salt.") < part.index("Was it given already?")


def test_a_visit_that_is_called_off_leaves_no_reader_without_a_next_step(
    place: factories.Place,
) -> None:
    visit = Visit.objects.create(place=place, start=NOW + dt.timedelta(days=2), state="called_off",
                                 end=NOW + dt.timedelta(days=2, hours=1), made_at=NOW)  # fmt: skip
    (letter,) = appointment_letters(visit, "called_off", NOW)
    for part in parts(letter):
        assert "Would you like another time?" in part
    visit.state = "booked"
    visit.save()
    (letter,) = appointment_letters(visit, "appointment", NOW)
    assert all("another time?" not in part for part in parts(letter))


def test_all_end_with_the_same_line_about_the_firm() -> None:
    """In each a part has a direction of its own: between two of them stands a mark, no comma."""
    line = (
        "{{ firm.name|run }} · {{ firm.street|run }} · {{ firm.town|run }} · {{ firm.phone|run }}"
    )
    folder = Path(settings.BASE_DIR) / "templates" / "letters"
    texts = {path: path.read_text() for path in folder.rglob("*.txt")}
    named = {path for path, text in texts.items() if "firm.street" in text}
    assert len(named) > 5
    assert [str(path) for path in sorted(named) if line not in texts[path]] == []
