"""A weather that is coming: who is ticked, what goes out, what comes back."""

import datetime as dt
import re
from typing import Any
from uuid import uuid4

import pytest
from django.urls import reverse

from apps.accounts.services import link_issue
from apps.clients.models import Contact
from apps.core import clock
from apps.flows.letters import compose
from apps.flows.weather_watching import send_list
from apps.incidents.models import Incident, IncidentNote, WeatherAsk, WeatherWatch
from apps.reports.models import Letter
from apps.systems.models import Component, Loop, System
from apps.visits.models import Reading
from tests import factories
from tests.office.conftest import Desk
from tests.reader import Reader as Browser

NOW = factories.NOW


def text(answer: Any) -> str:
    return re.sub(r"\s+", " ", str(answer.content.decode()))


def warm(built: factories.Built, value: float, days: int = 1) -> None:
    when = NOW - dt.timedelta(days=days)
    Reading.objects.create(
        loop=built.loop, measurand="temp", value=value, unit="°C", typed="x", taken_at=when,
        received_at=when, word="in_band",
    )  # fmt: skip


def risky(desk: Desk, kind: str, **query: str) -> dict[str, bool]:
    rows = desk.get("weather_new", kind, **query).context["rows"]
    return {row.system.name: row.risk for row in rows}


class TestWho:
    def test_those_in_danger_stand_first_and_are_ticked(self, desk: Desk) -> None:
        other = desk.more_systems(1)[0]
        warm(desk.built, 24)
        warm(other, 31)
        assert risky(desk, "heat") == {"More 0": True, "Patio": False}
        page = text(desk.get("weather_new", "heat"))
        assert re.search(rf'value="{other.system.pk}" checked', page)
        assert not re.search(rf'value="{desk.built.system.pk}" checked', page)
        assert "31.0 °C, 1 d ago" in page.replace("\xa0", " ")

    def test_the_fish_loop_counts_whatever_the_plants_water_is(self, desk: Desk) -> None:
        beside = Loop.objects.create(system=desk.built.system, kind="plant")
        warm(desk.built, 31, days=2)
        row = Reading.objects.get(loop=desk.built.loop, measurand="temp")
        row.pk, row.loop, row.value, row._state.adding = uuid4(), beside, 22.0, True
        row.taken_at = NOW - dt.timedelta(days=1)
        row.save()
        assert risky(desk, "heat") == {"Patio": True}
        assert "31.0 °C, 2 d ago" in text(desk.get("weather_new", "heat")).replace("\xa0", " ")

    def test_filters(self, desk: Desk) -> None:
        other = desk.more_systems(1)[0]
        warm(desk.built, 24)
        warm(other, 31)
        assert risky(desk, "heat", show="risk") == {"More 0": True}
        assert risky(desk, "heat", area="Oldferry") == {"Patio": False}
        assert risky(desk, "heat", system="decoupled") == {}
        for query in ({"area": "Moon"}, {"system": "pond"}, {"show": "all"}):
            assert desk.get("weather_new", "heat", **query).status_code == 400
        assert desk.get("weather_new", "hail").status_code == 404

    def test_a_storm_asks_for_backup_air(self, desk: Desk) -> None:
        assert risky(desk, "storm") == {"Patio": True}
        Component.objects.create(loop=desk.built.loop, kind="backup_air", name="Battery air")
        assert risky(desk, "storm") == {"Patio": False}

    def test_old_temperatures_do_not_clear_anybody(self, desk: Desk) -> None:
        warm(desk.built, 20, days=40)
        assert risky(desk, "heat") == {"Patio": True}
        assert "temperature not read lately" in text(desk.get("weather_new", "heat"))

    def test_queries_do_not_grow(self, desk: Desk, same_queries: Any) -> None:
        warm(desk.built, 24)
        grow = lambda: desk.more_systems(4)  # noqa: E731
        assert same_queries(lambda: desk.get("weather_new", "heat"), grow) <= 25


class TestSending:
    def send(self, desk: Desk, *systems: System, **more: Any) -> Any:
        return desk.post("weather_new", "heat", systems=[str(row.pk) for row in systems], **more)

    def test_one_letter_a_contact(self, desk: Desk) -> None:
        second = factories.system(desk.place, "Roof").system
        other = desk.more_systems(1)[0].system
        answer = self.send(desk, desk.built.system, second, other, words="From Saturday, 36 °C")
        watch = WeatherWatch.objects.get()
        assert answer.url == reverse("office:weather_watch", args=[watch.pk])
        letters = Letter.objects.filter(kind="weather")
        assert letters.count() == 2
        mail = compose(letters.get(contact__client=desk.place.client))
        html = str(mail.alternatives[0][0])
        assert mail.subject == "Heat is coming: please get your system ready."
        for part in (str(mail.body), html):
            assert "Patio, Roof" in part
            assert "From Saturday, 36 °C" in part
            assert "Shade tank and beds" in part
            assert "nobody goes out in lightning" in part
            assert "call 0555 0199" in part.replace("\u00a0", " ").replace("&nbsp;", " ")
            assert "/c/" in part
        assert "0 of 2 have said done." in text(desk.browser.get(answer.url))

    def test_who_had_it_lately_is_asked_about_once(
        self, desk: Desk, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        name = Contact.objects.get(client=desk.place.client).name
        assert "Send it again" not in text(self.send(desk, desk.built.system))
        answer = self.send(desk, desk.built.system, words="At six")
        assert answer.status_code == 422
        page = text(answer)
        assert f"{name} (Thu 11 June, " in page
        assert "had this list already. Tick to send it again." in page
        assert 'name="again"' in page
        assert WeatherWatch.objects.count() == 1
        # another system and another weather are not the same list
        self.send(desk, factories.system(desk.place, "Roof").system)
        desk.post("weather_new", "storm", systems=[str(desk.built.system.pk)])
        assert WeatherWatch.objects.count() == 3
        assert self.send(desk, desk.built.system, again="on").status_code == 302
        later = NOW + dt.timedelta(hours=13)
        monkeypatch.setattr(clock, "now", lambda: later)
        assert self.send(desk, desk.built.system).status_code == 302

    def test_nobody_chosen(self, desk: Desk) -> None:
        answer = self.send(desk, words="From Saturday")
        assert answer.status_code == 422
        assert "Choose at least one system." in text(answer)
        assert "From Saturday" in text(answer)
        assert not WeatherWatch.objects.exists()

    def test_where_nobody_gets_letters(self, desk: Desk) -> None:
        Contact.objects.update(gets_letters=False)
        answer = self.send(desk, desk.built.system)
        assert answer.status_code == 422
        assert "Nobody there gets letters; call them" in text(answer)
        assert not WeatherWatch.objects.exists()

    @pytest.mark.parametrize("key", ["x", "00000000-0000-4000-8000-000000000009"])
    def test_a_system_that_is_none(self, desk: Desk, key: str) -> None:
        answer = desk.post("weather_new", "heat", systems=[key])
        assert answer.status_code == 422
        assert not Letter.objects.filter(kind="weather").exists()

    def test_a_technician_may_not(self, desk: Desk) -> None:
        browser = Browser()
        browser.force_login(desk.ana)
        assert browser.get(reverse("office:weather")).status_code == 403
        address = reverse("office:weather_new", args=["heat"])
        sent = browser.post(address, {"systems": [str(desk.built.system.pk)]})
        assert sent.status_code == 403
        assert not WeatherWatch.objects.exists()


@pytest.fixture
def ask(desk: Desk) -> WeatherAsk:
    send_list(kind="storm", systems=[desk.built.system], words="", by=desk.actor, at=NOW)
    return WeatherAsk.objects.get()


@pytest.fixture
def secret(desk: Desk, ask: WeatherAsk) -> str:
    return link_issue(client_id=desk.place.client_id, purpose="page", at=NOW,
                      contact_id=ask.contact_id)  # fmt: skip


def say(secret: str, ask: WeatherAsk, reply: str, words: str = "") -> Any:
    path = reverse("portal:weather", args=[secret, ask.pk])
    return Browser().post(path, {"reply": reply, "words": words}, follow=True)


class TestAnswering:
    def test_the_letters_link_shows_the_list(self, desk: Desk, ask: WeatherAsk) -> None:
        body = str(compose(Letter.objects.get(kind="weather")).body)
        found = re.search(r"/c/([^/\s]+)/", body)
        assert found
        page = text(Browser().get(f"/c/{found[1]}/"))
        assert "A storm is coming, and the power may fail" in page
        assert "It is done" in page

    def test_looking_answers_nothing(self, ask: WeatherAsk, secret: str) -> None:
        path = reverse("portal:weather", args=[secret, ask.pk])
        assert Browser().get(path).status_code == 405
        Browser().get(f"/c/{secret}/")
        ask.refresh_from_db()
        assert ask.reply == "none"

    def test_done(self, desk: Desk, ask: WeatherAsk, secret: str) -> None:
        page = text(say(secret, ask, "done"))
        assert "You have said that it is done." in page
        assert not Incident.objects.exists()
        assert "1 of 1 have said done." in text(desk.get("weather_watch", ask.watch_id))

    def test_help_opens_an_incident_that_stands_on_due(
        self, desk: Desk, ask: WeatherAsk, secret: str
    ) -> None:
        page = text(say(secret, ask, "help", "I cannot lift the lid"))
        assert "You have asked for help" in page
        incident = Incident.objects.get()
        assert (incident.system, incident.said) == (desk.built.system, "I cannot lift the lid")
        assert incident.opened_by.startswith("client:")
        due = text(desk.get("due"))
        assert reverse("office:incident", args=[incident.pk]) in due
        assert "I cannot lift the lid" in due
        page = text(desk.get("incident", incident.pk))
        assert "the client" in page
        assert "1 needs help" in text(desk.get("weather"))

    def test_help_twice_is_one_incident(self, ask: WeatherAsk, secret: str) -> None:
        say(secret, ask, "help", "I cannot lift the lid")
        say(secret, ask, "help", "And the pump hums")
        assert Incident.objects.count() == 1
        assert IncidentNote.objects.get(kind="note").text == "And the pump hums"

    @pytest.mark.parametrize(
        ("reply", "words", "says"),
        [("", "", "Choose one"), ("perhaps", "x", "Choose one"), ("help", "  ", "few words")],
    )
    def test_bad_answers(
        self, ask: WeatherAsk, secret: str, reply: str, words: str, says: str
    ) -> None:
        assert says in text(say(secret, ask, reply, words))
        ask.refresh_from_db()
        assert ask.reply == "none"
        assert not Incident.objects.exists()

    def test_too_late(self, ask: WeatherAsk, secret: str, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr(clock, "now", lambda: NOW + dt.timedelta(days=15))
        assert say(secret, ask, "done").status_code == 404

    def test_of_another_client_there_is_none(self, desk: Desk, ask: WeatherAsk) -> None:
        other = factories.client("Other")
        key = link_issue(client_id=other.pk, purpose="page", at=NOW)
        assert say(key, ask, "done").status_code == 404

    def test_another_contact_of_the_client_has_their_own(self, desk: Desk, ask: WeatherAsk) -> None:
        second = Contact.objects.create(client=desk.place.client, name="Sam", email="sam@x.example")
        key = link_issue(client_id=desk.place.client_id, purpose="page", at=NOW,
                         contact_id=second.pk)  # fmt: skip
        assert "A storm is coming" not in text(Browser().get(f"/c/{key}/"))
        assert say(key, ask, "done").status_code == 404

    def test_a_link_to_one_appointment_does_not_open_it(self, desk: Desk, ask: WeatherAsk) -> None:
        key = link_issue(client_id=desk.place.client_id, purpose="appointment", at=NOW,
                         contact_id=ask.contact_id)  # fmt: skip
        assert say(key, ask, "done").status_code == 404


def test_a_call_that_names_a_weather_leads_to_its_list(desk: Desk) -> None:
    from apps.incidents.services import incident_open

    incident = incident_open(system=desk.built.system, kind="other", by=desk.actor, at=NOW)
    Incident.objects.update(answers={"weather": "heat"})
    assert reverse("office:weather_new", args=["heat"]) in text(desk.get("incident", incident.pk))
