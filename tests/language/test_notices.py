"""Notices, letters in the office's own words and the page of choices in the pseudo language."""

import datetime as dt
from typing import Any

import pytest
from django.core.mail import EmailMultiAlternatives
from django.urls import reverse

from apps.accounts.services import link_issue
from apps.advice.models import Advice
from apps.clients.models import Contact
from apps.core import clock
from apps.core.texting import TextMessage
from apps.flows.letters import compose
from apps.flows.noticing import notices
from apps.flows.office_writes import letters_write
from apps.flows.reminder_letters import reminder_letters
from apps.reports.models import Letter
from apps.visits.models import Visit
from tests import factories
from tests.factories import NOW, TODAY
from tests.language.clients import untranslated
from tests.language.conftest import everybody_reads, plain_on
from tests.language.pseudo import Pseudo
from tests.reader import Reader as Browser

pytestmark = pytest.mark.django_db


@pytest.fixture
def place(pseudo: Pseudo, monkeypatch: pytest.MonkeyPatch) -> factories.Place:
    monkeypatch.setattr(clock, "now", lambda: NOW)
    factories.firm()
    made = factories.place(factories.client("Okafor"))
    everybody_reads()
    return made


def read(letter: Letter) -> str:
    """Return what stands in a letter in plain letters, text and HTML."""
    message = compose(letter)
    assert isinstance(message, EmailMultiAlternatives)
    html = next(str(part) for part, kind in message.alternatives if kind == "text/html")
    text = "<p>" + str(message.body).replace("<", "&lt;") + "</p>"
    return "\n".join(plain_on(part) for part in (text, html, f"<p>{message.subject}</p>")).strip()


def test_what_the_calendar_brings(place: factories.Place, pseudo: Pseudo) -> None:
    built = factories.system(place)
    for dose in (None, 30.0):
        Advice.objects.create(
            system=built.system, rule="by_hand", urgency="today", who="client", dose=dose,
            by_at=NOW - dt.timedelta(days=2), made_at=NOW - dt.timedelta(days=4), decision="edit",
            decision_text="Zzz", decision_reason="Zzz",
        )  # fmt: skip
    assert notices(TODAY, NOW) == 1
    letter = Letter.objects.get()
    assert letter.kind == "several"
    pseudo.seen.clear()
    assert not (plain := read(letter)), plain
    assert not untranslated(pseudo.seen)


@pytest.mark.parametrize("kind", ["own", "low_stock", "renewal"])
def test_what_the_office_writes(place: factories.Place, kind: str, pseudo: Pseudo) -> None:
    values = {"what": "Ωψ", "until": TODAY, "words": "Ωψ", "subject": "Ωψ"}
    for until in (True, False)[: 1 + (kind == "low_stock")]:
        held = {name: value for name, value in values.items() if until or name != "until"}
        letters_write(client=place.client, kind=kind, values=held,
                      by=factories.actor(factories.user(f"o{until}", "office")), at=NOW)  # fmt: skip
    pseudo.seen.clear()
    for letter in Letter.objects.all():
        assert not (plain := read(letter)), plain
    assert not untranslated(pseudo.seen)


def test_a_text_message(place: factories.Place, settings: Any) -> None:
    settings.TEXT_GATEWAY = "console"
    Contact.objects.update(phone="+32470123456", gets_texts=True)
    start = NOW + dt.timedelta(days=1)
    visit = Visit.objects.create(place=place, start=start, end=start + dt.timedelta(hours=1),
                                 made_at=NOW, state="booked")  # fmt: skip
    reminder_letters([visit], NOW)
    message = compose(Letter.objects.get(channel="text"))
    assert isinstance(message, TextMessage)
    assert not (plain := plain_on(f"<p>{message.body}</p>")), plain


def test_the_page_of_choices(place: factories.Place, pseudo: Pseudo) -> None:
    secret = link_issue(client_id=place.client_id, purpose="letters", at=NOW,
                        contact_id=Contact.objects.get().pk)  # fmt: skip
    path = reverse("portal:letters", args=[secret])
    pseudo.seen.clear()
    for answer in (Browser().get(path), Browser().post(path, {"reports_as": "x"})):
        text = answer.content.decode()
        assert "⟦" in text
        assert not (plain := plain_on(text)), plain
    stop = Browser().post(reverse("portal:letters_stop", args=[secret]),
                          {"List-Unsubscribe": "One-Click"})  # fmt: skip
    assert not (plain := plain_on(f"<p>{stop.content.decode()}</p>")), plain
    assert not untranslated(pseudo.seen)
