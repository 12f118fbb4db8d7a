"""Help from the client's page: first aid at once; what is sent opens an incident, once, with photos."""

import datetime as dt
from typing import Any
from uuid import uuid4

import pytest
from django.contrib.messages import get_messages
from django.core import mail
from django.test import Client
from django.urls import reverse

from apps.accounts.services import link_issue
from apps.advice.without_air import air_left, loops_now, minutes_words
from apps.catalogue.selectors import catalogue_current
from apps.core import clock, files, outbox
from apps.core.exceptions import Conflict
from apps.core.scoping import Actor
from apps.flows import home_help
from apps.flows.home_help import Asked, help_ask
from apps.incidents.models import Incident, IncidentNote, IncidentPhoto
from apps.incidents.services import (
    incident_ask,
    incident_close,
    incident_open,
    incident_step,
)
from apps.office.selectors.call_tank import tank_of
from apps.reports.models import Letter
from apps.visits.models import Reading
from tests import factories
from tests.portal.pictures import jpeg, upload

pytestmark = pytest.mark.django_db
NOW = factories.NOW


@pytest.fixture
def built(monkeypatch: pytest.MonkeyPatch) -> factories.Built:
    """A client's courtyard with fish."""
    monkeypatch.setattr(clock, "now", lambda: NOW)
    factories.firm()
    return factories.system(factories.place(factories.client("Okafor")))


@pytest.fixture
def secret(built: factories.Built) -> str:
    return link_issue(client_id=built.system.place.client_id, purpose="page", at=NOW)


@pytest.fixture
def office(built: factories.Built) -> Actor:
    return factories.actor(factories.user("office", "office"))


def where(secret: str, built: factories.Built) -> str:
    return reverse("portal:help", args=[secret, built.system.pk])


def send(client: Client, secret: str, built: factories.Built, **typed: Any) -> Any:
    return client.post(where(secret, built), {"key": str(uuid4())} | typed)


def said(answer: Any) -> str:
    return " ".join(str(row) for row in get_messages(answer.wsgi_request))


def read(built: factories.Built, days: int, **values: float) -> None:
    for code, value in values.items():
        Reading.objects.create(
            loop=built.loop, measurand=code, value=value, unit="", typed=str(value), word="in_band",
            taken_at=NOW - dt.timedelta(days=days), received_at=NOW,
        )  # fmt: skip


class TestFirstAid:
    def test_stands_above_everything_with_whom_to_call(
        self, client: Client, secret: str, built: factories.Built
    ) -> None:
        text = client.get(where(secret, built)).content.decode()
        assert text.index("Air on now.") < text.index("tel:05550199") < text.index("<form")
        assert "call the emergency services" in text
        # nothing is dosed from here
        for word in ("grams", "salt", " g ", "mg/L"):
            assert word not in text.split("<form")[0], word

    def test_names_the_minutes_of_the_offices_page(
        self, client: Client, secret: str, built: factories.Built, office: Actor
    ) -> None:
        read(built, 1, do=6.5, temp=27)
        tank = tank_of(office, built.system, catalogue_current())
        assert tank.main is not None
        assert tank.main.minutes is not None
        figure = tank.main.minutes.figure
        assert figure.endswith("minutes")
        assert figure in client.get(where(secret, built)).content.decode()

    def test_names_what_is_left_where_the_pump_stands_too(
        self, client: Client, secret: str, built: factories.Built, office: Actor
    ) -> None:
        read(built, 1, do=6.5, temp=27)
        tank = tank_of(office, built.system, catalogue_current())
        assert tank.main is not None
        assert tank.main.minutes is not None
        line = next(row for row in tank.main.minutes.why if row.startswith("If the pump stands"))
        assert line in client.get(where(secret, built)).content.decode()

    def test_old_readings_give_less_and_say_so(
        self, client: Client, secret: str, built: factories.Built
    ) -> None:
        read(built, 60, do=6.5, temp=27)
        old = loops_now(built.system, catalogue_current(), NOW)[0].air
        assert "old readings" in client.get(where(secret, built)).content.decode()
        read(built, 1, do=6.5, temp=27)
        fresh = loops_now(built.system, catalogue_current(), NOW)[0].air
        assert fresh is not None
        assert old is not None
        assert old.minutes == pytest.approx((fresh.minutes or 0) / 2)
        assert "old readings" not in client.get(where(secret, built)).content.decode()

    def test_where_nothing_was_read_no_time_is_named(
        self, client: Client, secret: str, built: factories.Built
    ) -> None:
        text = client.get(where(secret, built)).content.decode()
        assert "Nobody can say how long" in text
        assert "at least" not in text

    def test_minutes_are_never_rounded_up(self) -> None:
        assert minutes_words(42.99) == "42 minutes"
        assert minutes_words(7 * 60 - 0.5) == "6 hours"

    def test_no_fish_no_minutes(self, built: factories.Built) -> None:
        read(built, 1, do=6.5, temp=27)
        row = loops_now(built.system, catalogue_current(), NOW)[0]
        assert air_left(row.facts, {}).minutes is None


class TestSending:
    def test_opens_an_incident_with_photos_without_their_place(
        self, client: Client, secret: str, built: factories.Built
    ) -> None:
        answer = send(
            client, secret, built, signs=["gasping", "power"], words="Since dawn.",
            phone="0555 7", photos=[upload(jpeg(place=True)), upload(jpeg("red"))],
        )  # fmt: skip
        assert answer.status_code == 302
        incident = Incident.objects.get()
        assert (incident.kind, incident.state) == ("gasping", "open")
        assert incident.caller == "Okafor, 0555 7"
        assert incident.answers == {"gasping": "yes"}
        photos = list(IncidentPhoto.objects.all())
        assert [row.position for row in photos] == [0, 1]
        for row in photos:
            for stored in (row.screen, row.small):
                assert b"CANARY" not in files.read(stored)
                assert b"Exif" not in files.read(stored)
        text = client.get(answer.headers["Location"]).content.decode()
        assert "What you sent" in text
        assert "2 photos" in text

    def test_sent_twice_counts_once(
        self, client: Client, secret: str, built: factories.Built
    ) -> None:
        key = str(uuid4())
        for _n in range(2):
            send(client, secret, built, key=key, words="Help", photos=[upload(jpeg())])
        counts = [model.objects.count() for model in (Incident, IncidentPhoto)]
        assert counts == [1, 1]
        assert IncidentNote.objects.filter(what__act="asked").count() == 1

    def test_joins_what_is_open_and_raises_what_it_is_about(
        self, client: Client, secret: str, built: factories.Built, office: Actor
    ) -> None:
        held = incident_open(system=built.system, kind="water", by=office, at=NOW)
        incident_step(incident=held, to="watching", by=office, at=NOW)
        send(client, secret, built, signs=["hurt"])
        incident = Incident.objects.get()
        assert (incident.kind, incident.state) == ("hurt", "open")
        send(client, secret, built, signs=["water"])
        assert Incident.objects.get().kind == "hurt"

    def test_after_a_closed_one_a_new_one_opens(
        self, client: Client, secret: str, built: factories.Built, office: Actor
    ) -> None:
        held = incident_open(system=built.system, kind="water", by=office, at=NOW)
        incident_close(
            incident=held, cause="heat", outcome="Well.", rev=held.rev, by=office, at=NOW
        )
        send(client, secret, built, words="Again")
        assert Incident.objects.count() == 2
        assert Incident.objects.get(state="open").kind == "other"

    def test_what_cannot_be_taken_does_not_hold_up_the_rest(
        self, client: Client, secret: str, built: factories.Built
    ) -> None:
        answer = send(
            client, secret, built, signs=["dead"],
            photos=[upload(b"GIF89a", "fish.heic"), *(upload(jpeg()) for _n in range(4))],
        )  # fmt: skip
        assert answer.status_code == 302
        assert "fish.heic: not a whole JPEG, PNG or WebP picture" in said(answer)
        assert "4 photos at once" in said(answer)
        assert IncidentPhoto.objects.count() == 3

    @pytest.mark.parametrize(
        ("typed", "field"),
        [
            ({}, "signs"),
            ({"words": "   "}, "signs"),
            ({"signs": ["fire"]}, "signs"),
            ({"words": "x" * 2001}, "words"),
            ({"words": "x", "key": "none"}, "key"),
            ({"phone": "1" * 41}, "phone"),
            ({"photos": [upload(b"no picture", "a.txt")]}, "photos"),
        ],
    )
    def test_what_says_nothing_is_refused_beside_its_field(
        self, client: Client, secret: str, built: factories.Built, typed: dict[str, Any], field: str
    ) -> None:
        answer = send(client, secret, built, **typed)
        assert answer.status_code == 422
        assert field in answer.context["form"].errors
        assert not Incident.objects.exists()

    def test_a_day_takes_so_much_and_says_to_call(
        self, client: Client, secret: str, built: factories.Built, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr("apps.flows.home_help.MOST_A_DAY", 2)
        for _n in range(2):
            assert send(client, secret, built, words="Help").status_code == 302
        answer = send(client, secret, built, words="Help again")
        assert answer.status_code == 422
        text = answer.content.decode()
        assert "Call us now" in text
        assert "Help again" in text

    def test_a_day_takes_so_many_photos(
        self, client: Client, secret: str, built: factories.Built, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr("apps.flows.home_help.MOST_PHOTOS_A_DAY", 1)
        answer = send(
            client, secret, built, words="Help", photos=[upload(jpeg()), upload(jpeg("red"))]
        )
        assert IncidentPhoto.objects.count() == 1
        assert "more photos than one day takes" in said(answer)

    def test_a_picture_too_large_for_a_link_is_left_out(
        self, client: Client, secret: str, built: factories.Built, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr(home_help, "CLIENT_PIXELS", 1000)
        answer = send(client, secret, built, words="Help", photos=[upload(jpeg())])
        assert answer.status_code == 302
        assert "tank.jpg: more than 0 million pixels" in said(answer)
        assert not IncidentPhoto.objects.exists()

    def test_what_is_written_keeps_its_line_and_direction(
        self, client: Client, secret: str, built: factories.Built
    ) -> None:
        send(client, secret, built, words="Fish\u202e gasp\r\nsince dawn", phone="0555\n7\u2066")
        note = IncidentNote.objects.get(what__act="asked")
        assert note.text == "Fish gasp\nsince dawn"
        assert note.what["caller"] == "Okafor, 0555 7"

    def test_a_sign_is_kept_once_the_gravest_first(self, built: factories.Built) -> None:
        by = Actor(role="client", at=NOW, client_id=built.system.place.client_id)
        signs = ["dead", *["gasping"] * 1900, "nonsense", "hurt"]
        said = Asked(key=uuid4(), signs=signs, words="", photos=[])
        help_ask(system=built.system, asked=said, by=by, at=NOW)
        assert IncidentNote.objects.get(what__act="asked").what["signs"] == [
            "hurt",
            "gasping",
            "dead",
        ]


class TestAnotherComesBetween:
    """A second message is kept while the photos of the first are drawn."""

    @pytest.fixture
    def by(self, built: factories.Built) -> Actor:
        return Actor(role="client", at=NOW, client_id=built.system.place.client_id)

    @pytest.fixture
    def between(self, built: factories.Built, by: Actor, monkeypatch: pytest.MonkeyPatch) -> None:
        draw = home_help._drawn

        def slow(*args: Any) -> Any:
            monkeypatch.setattr(home_help, "_drawn", draw)
            found = draw(*args)
            other = Asked(key=uuid4(), signs=["dead"], words="", photos=[("a.jpg", jpeg("red"))])
            help_ask(system=built.system, asked=other, by=by, at=NOW)
            return found

        monkeypatch.setattr(home_help, "_drawn", slow)

    def test_the_days_messages_are_counted_again(
        self, built: factories.Built, by: Actor, between: None, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr(home_help, "MOST_A_DAY", 1)
        said = Asked(key=uuid4(), signs=["power"], words="", photos=[])
        with pytest.raises(Conflict, match="Call us now"):
            help_ask(system=built.system, asked=said, by=by, at=NOW)
        assert IncidentNote.objects.filter(what__act="asked").count() == 1

    def test_the_days_photos_are_counted_again(
        self, built: factories.Built, by: Actor, between: None, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr(home_help, "MOST_PHOTOS_A_DAY", 1)
        said = Asked(key=uuid4(), signs=["power"], words="", photos=[("b.jpg", jpeg())])
        taken = help_ask(system=built.system, asked=said, by=by, at=NOW)
        assert taken.left_out == [
            "That is more photos than one day takes; tell us on the telephone."
        ]
        assert IncidentPhoto.objects.count() == 1


class TestTheOfficeIsTold:
    def test_one_letter_a_message_at_once(
        self, client: Client, secret: str, built: factories.Built
    ) -> None:
        key = str(uuid4())
        for _n in range(2):
            send(client, secret, built, key=key, signs=["gasping"], words="Since dawn.",
                 phone="0555 7", photos=[upload(jpeg())])  # fmt: skip
        letter = Letter.objects.get(kind="help")
        assert letter.not_before is None
        outbox.drain(NOW)
        sent = mail.outbox[0]
        assert sent.to == ["office@reedandroach.example"]
        assert sent.subject == "Help wanted at Patio: fish gasping."
        body = str(sent.body)
        for words in ("Okafor, 0555 7 wrote", "Since dawn.", "1 photo", "/incidents/"):
            assert words in body, words

    def test_two_at_once_count_once(
        self, client: Client, secret: str, built: factories.Built
    ) -> None:
        """The second comes through all checks before the first is kept."""
        key = uuid4()
        by = Actor(role="client", at=NOW, client_id=built.system.place.client_id)
        said = Asked(key=key, signs=["dead"], words="", photos=[], caller="Okafor")
        first = help_ask(system=built.system, asked=said, by=by, at=NOW)
        again = incident_ask(
            system=built.system, key=key, signs=["dead"], words="", photos=[], caller="", by=by, at=NOW
        )  # fmt: skip
        assert again == first.incident
        assert IncidentNote.objects.filter(what__act="asked").count() == 1


class TestWhose:
    def test_anothers_system_and_an_ended_one_are_not_there(
        self, client: Client, secret: str, built: factories.Built
    ) -> None:
        other = factories.system(factories.place(factories.client("Stranger")))
        for ask in (client.get, client.post):
            assert ask(where(secret, other)).status_code == 404
        built.system.active = False
        built.system.save()
        assert client.get(where(secret, built)).status_code == 404
        assert not Incident.objects.exists()

    def test_a_link_to_an_appointment_opens_no_help_page(
        self, client: Client, built: factories.Built
    ) -> None:
        link = link_issue(
            client_id=built.system.place.client_id,
            purpose="appointment",
            at=NOW,
            subject_id=uuid4(),
        )
        assert client.get(where(link, built)).status_code == 404

    def test_anothers_key_takes_nothing_over(
        self, client: Client, secret: str, built: factories.Built
    ) -> None:
        other = factories.system(factories.place(factories.client("Stranger")))
        theirs = link_issue(client_id=other.system.place.client_id, purpose="page", at=NOW)
        key = str(uuid4())
        send(client, theirs, other, key=key, words="Their words")
        answer = send(client, secret, built, key=key, words="Mine")
        assert answer.status_code == 422
        assert "Their words" not in answer.content.decode()
        assert Incident.objects.count() == 1

    def test_the_offices_own_notes_are_not_shown(
        self, client: Client, secret: str, built: factories.Built, office: Actor
    ) -> None:
        held = incident_open(system=built.system, kind="dead", said="OFFICE", by=office, at=NOW)
        IncidentNote.objects.create(incident=held, at=NOW, by="office", text="OFFICE thinks")
        assert "OFFICE" not in client.get(where(secret, built)).content.decode()

    def test_the_office_sees_words_and_photos(
        self, client: Client, secret: str, built: factories.Built, office: Actor
    ) -> None:
        send(client, secret, built, signs=["gasping"], words="Since dawn.", photos=[upload(jpeg())])
        desk = Client()
        desk.force_login(factories.User.objects.get(username="office"))
        photo = IncidentPhoto.objects.get()
        address = reverse("office:incident_photo", args=[photo.pk])
        page = desk.get(reverse("office:incident", args=[photo.note.incident_id])).content.decode()
        assert "Since dawn." in page
        assert "Okafor, from their page: fish gasping." in page
        assert "wrote from their page: call them back" in page
        assert address in page
        assert desk.get(address).content[:2] == b"\xff\xd8"
        assert "no-store" in desk.get(address).headers["Cache-Control"]
        assert client.get(address).status_code == 302
