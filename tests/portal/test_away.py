"""Times away from the client's page: told, changed, withdrawn; the paper; what follows from them."""

import datetime as dt
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from apps.accounts.services import link_issue
from apps.ahead.selectors import gather
from apps.batches.models import FishBatch
from apps.catalogue.selectors import catalogue_current
from apps.clients.models import TimeAway
from apps.clients.selectors import days_kept_out, lets_in
from apps.core import clock
from apps.core.models import Job
from apps.core.scoping import Actor
from apps.flows.times_away import MOST_A_DAY, getting_in_words
from apps.flows.visit_days import visit_days_make
from apps.office.selectors.away import away_soon
from apps.visits.models import Reading
from tests import factories
from tests.reader import number_of

pytestmark = pytest.mark.django_db
NOW, TODAY = factories.NOW, factories.TODAY
FIRST = TODAY + dt.timedelta(days=4)


@pytest.fixture
def built(monkeypatch: pytest.MonkeyPatch) -> factories.Built:
    """A client's courtyard with grown fish."""
    monkeypatch.setattr(clock, "now", lambda: NOW)
    factories.firm()
    return factories.system(factories.place(factories.client("Okafor")))


@pytest.fixture
def secret(built: factories.Built) -> str:
    return link_issue(client_id=built.system.place.client_id, purpose="page", at=NOW)


def said(**more: Any) -> dict[str, str]:
    values = {
        "key": str(uuid4()), "rev": "1", "first": FIRST.isoformat(),
        "last": (FIRST + dt.timedelta(days=6)).isoformat(), "carer_name": "Robin",
        "carer_phone": "0555 0171", "backup": "yes", "may_come": "on", "notes": "Key in the shed.",
    }  # fmt: skip
    return {name: value for name, value in (values | more).items() if value is not None}


def tell(client: Client, secret: str, **more: Any) -> Any:
    return client.post(reverse("portal:away_new", args=[secret]), said(**more))


def change(client: Client, secret: str, **more: Any) -> Any:
    row = TimeAway.objects.get()
    where = reverse("portal:away_edit", args=[secret, row.pk])
    return client.post(where, said(key=str(row.pk), rev=str(row.rev), **more))


def test_changes_have_a_limit_of_a_day(
    client: Client, secret: str, built: factories.Built, monkeypatch: pytest.MonkeyPatch
) -> None:
    tell(client, secret)
    for count in range(MOST_A_DAY):
        assert change(client, secret, notes=f"Key {count}").status_code == 302
    jobs = Job.objects.count()
    answer = change(client, secret, notes="Key again")
    assert answer.status_code == 422
    assert "more than a day&#x27;s times away" in answer.content.decode()
    assert (TimeAway.objects.get().notes, Job.objects.count()) == ("Key 11", jobs)
    # another household has its own count, and tomorrow is another day
    other = factories.system(factories.place(factories.client("Halloran")))
    theirs = link_issue(client_id=other.system.place.client_id, purpose="page", at=NOW)
    assert tell(client, theirs).status_code == 302
    TimeAway.objects.filter(place=other.system.place).delete()
    monkeypatch.setattr(clock, "now", lambda: NOW + dt.timedelta(days=1, minutes=1))
    assert change(client, secret, notes="Key tomorrow").status_code == 302


def paper(client: Client, secret: str) -> str:
    row = TimeAway.objects.get()
    return client.get(reverse("portal:away", args=[secret, row.pk])).content.decode()


def test_told_once_and_the_paper_follows(client: Client, secret: str) -> None:
    key = str(uuid4())
    for _n in range(2):
        answer = tell(client, secret, key=key)
        assert answer.status_code == 302
    row = TimeAway.objects.get()
    assert answer.headers["Location"] == reverse("portal:away", args=[secret, row.pk])
    text = paper(client, secret)
    for words in (
        "Robin looks after it, 0555 0171", "Then call 0555 0199", "Key in the shed.", "Every day",
        "Once a day, half of what you give now in a day.", "up to 7 days without feed", "Leave as it is",
        "half the usual feed on the first day",
    ):  # fmt: skip
        assert words in text, words
    # nobody halves it twice
    assert "half of usual" not in text
    assert reverse("portal:away", args=[number_of(secret), row.pk]) in client.get(
        reverse("portal:page", args=[secret])
    ).content.decode()  # fmt: skip


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"first": "soon"}, "first"),
        ({"last": (FIRST - dt.timedelta(days=1)).isoformat()}, "last"),
        ({"first": "2026-06-01", "last": "2026-06-10"}, "last"),
        ({"last": (FIRST + dt.timedelta(days=92)).isoformat()}, "last"),
        ({"first": "2028-01-01", "last": "2028-01-02"}, "first"),
        ({"carer_phone": ""}, "carer_phone"),
        ({"carer_name": ""}, "carer_name"),
        ({"carer_name": "x" * 121}, "carer_name"),
        ({"backup": "perhaps"}, "backup"),
        ({"backup": None}, "backup"),
        ({"notes": "x" * 1001}, "notes"),
        ({"key": "x"}, "key"),
    ],
)
def test_what_cannot_be_is_refused_beside_its_field(
    client: Client, secret: str, typed: dict[str, Any], field: str
) -> None:
    answer = tell(client, secret, **typed)
    assert answer.status_code == 422
    assert field in answer.context["form"].errors
    assert "Key in the shed." in answer.content.decode() or "notes" in typed
    assert not TimeAway.objects.exists()


def test_what_a_client_writes_keeps_its_line(client: Client, secret: str) -> None:
    """A second line or a mark of direction would stand in the technician's way in."""
    tell(client, secret, carer_name="Robin\nGATE: 9999\u202e", carer_phone="0555\r\n\u20660171",
         notes="Key\u202e in\x07\r\nthe shed")  # fmt: skip
    row = TimeAway.objects.get()
    assert (row.carer_name, row.carer_phone) == ("Robin GATE: 9999", "0555 0171")
    assert row.notes == "Key in\nthe shed"
    assert len(getting_in_words(row.place, [row], FIRST).splitlines()) <= 2


def test_no_two_at_once_but_one_after_the_other(client: Client, secret: str) -> None:
    tell(client, secret)
    answer = tell(client, secret, first=(FIRST + dt.timedelta(days=6)).isoformat(),
                  last=(FIRST + dt.timedelta(days=9)).isoformat())  # fmt: skip
    assert "15–21 June" in answer.content.decode()
    assert "change that one" in answer.content.decode()
    answer = tell(client, secret, first=(FIRST + dt.timedelta(days=7)).isoformat(),
                  last=(FIRST + dt.timedelta(days=9)).isoformat())  # fmt: skip
    assert answer.status_code == 302
    assert TimeAway.objects.count() == 2


def test_changed_and_withdrawn(client: Client, secret: str) -> None:
    tell(client, secret)
    row = TimeAway.objects.get()
    edit = reverse("portal:away_edit", args=[secret, row.pk])
    assert 'value="Robin"' in client.get(edit).content.decode()
    assert client.post(edit, said(carer_name="Sol")).status_code == 302
    row.refresh_from_db()
    assert (row.carer_name, row.rev) == ("Sol", 2)
    # an older page says so, and keeps what was typed
    answer = client.post(edit, said(carer_name="Ines"))
    assert answer.status_code == 422
    assert "changed meanwhile" in answer.content.decode()
    assert 'value="Ines"' in answer.content.decode()
    end = reverse("portal:away_end", args=[secret, row.pk])
    assert client.get(end).status_code == 200
    row.refresh_from_db()
    assert row.withdrawn_at is None
    assert client.post(end).status_code == 302
    row.refresh_from_db()
    assert row.withdrawn_at == NOW
    assert client.get(end).status_code == 404


def test_another_clients_is_not_there(client: Client, secret: str) -> None:
    other = factories.system(factories.place(factories.client("Stranger")))
    theirs = link_issue(client_id=other.system.place.client_id, purpose="page", at=NOW)
    tell(client, theirs)
    row = TimeAway.objects.get()
    for name in ("away", "away_edit", "away_end"):
        address = reverse(f"portal:{name}", args=[secret, row.pk])
        assert client.get(address).status_code == 404
        assert client.post(address, said()).status_code in (404, 405)
    # their key does not open it either
    assert tell(client, secret, key=str(row.pk)).status_code == 422
    row.refresh_from_db()
    assert (row.rev, row.withdrawn_at, row.place) == (1, None, other.system.place)


def test_of_two_places_one_is_chosen(client: Client, secret: str, built: factories.Built) -> None:
    roof = factories.place(built.system.place.client, name="roof")
    factories.system(roof, "Roof")
    stranger = factories.place(factories.client("Stranger"))
    assert tell(client, secret, place=str(stranger.pk)).status_code == 422
    assert tell(client, secret, place=str(roof.pk)).status_code == 302
    assert TimeAway.objects.get().place == roof


class TestWithoutCarer:
    def none(self, client: Client, secret: str, days: int, **more: Any) -> str:
        last = (FIRST + dt.timedelta(days=days - 1)).isoformat()
        tell(client, secret, carer_name="", carer_phone="", last=last, **more)
        return paper(client, secret)

    def test_a_week_without_feed_is_fine_for_grown_fish(self, client: Client, secret: str) -> None:
        text = self.none(client, secret, 7)
        assert "7 days without feed are fine" in text
        assert "Ask somebody to look once a day" in text

    def test_eight_days_are_not(self, client: Client, secret: str) -> None:
        assert "do without feed for 7 days at most" in self.none(client, secret, 8)

    def test_fry_are_fed_each_day(self, client: Client, secret: str) -> None:
        FishBatch.objects.update(mean_weight_g=12)
        assert "do without feed for 1 day at most" in self.none(client, secret, 2)

    def test_no_backup_air_asks_to_call_first(self, client: Client, secret: str) -> None:
        text = self.none(client, secret, 3, backup="no")
        assert "No air without mains power is known of here" in text


class TestWhatFollows:
    def office(self) -> Actor:
        return Actor(role="office", at=NOW)

    def test_visit_days_and_forecast_are_asked_for(self, client: Client, secret: str) -> None:
        Job.objects.all().delete()
        tell(client, secret)
        kinds = set(Job.objects.values_list("kind", flat=True))
        assert {"ahead.make", "care.visit_days"} <= kinds

    def test_nobody_is_sent_where_nobody_may_come_in(
        self, client: Client, secret: str, built: factories.Built
    ) -> None:
        place = built.system.place
        plan = visit_days_make(place_id=place.pk, at=NOW)
        assert plan is not None
        day = place.visit_days.order_by("on").values_list("on", flat=True)[0]
        tell(client, secret, first=day.isoformat(), last=day.isoformat())
        visit_days_make(place_id=place.pk, at=NOW)
        assert place.visit_days.filter(on=day).exists()
        TimeAway.objects.update(may_come=False)
        visit_days_make(place_id=place.pk, at=NOW)
        assert not place.visit_days.filter(on=day).exists()
        assert days_kept_out(place.pk, TODAY, TODAY + dt.timedelta(days=90)) == {day}
        assert not lets_in(place, day)
        TimeAway.objects.update(withdrawn_at=NOW)
        assert lets_in(place, day)

    @pytest.mark.parametrize(("carer", "grams"), [("Robin", 40.0), ("", 0.0)])
    def test_the_forecast_feeds_as_the_paper_says(
        self, client: Client, secret: str, built: factories.Built, carer: str, grams: float
    ) -> None:
        Reading.objects.create(
            loop=built.loop, measurand="feed", value=80, unit="g/day", word="in_band",
            taken_at=NOW - dt.timedelta(days=2), received_at=NOW,
        )  # fmt: skip
        tell(client, secret, carer_name=carer, carer_phone="1" if carer else "")
        facts = gather([built.system.pk], catalogue_current(), TODAY, NOW)[0].facts
        ahead = {fed.day: fed.grams for fed in facts.fed if fed.day >= 0}
        assert ahead == {float(day): grams for day in range(4, 11)}

    def test_due_names_what_is_missing(self, client: Client, secret: str) -> None:
        tell(client, secret)
        assert away_soon(self.office()) == []
        TimeAway.objects.update(carer_name="", carer_phone="", backup="no")
        item = away_soon(self.office())[0]
        assert "away 15–21 June" in item.text
        assert "Nobody looks after it." in item.text
        assert "No air without mains power is known of." in item.text

    def test_the_technician_reads_who_is_there(
        self, client: Client, secret: str, built: factories.Built
    ) -> None:
        tell(client, secret, may_come=None)
        rows, place = list(TimeAway.objects.all()), built.system.place
        words = getting_in_words(place, rows, FIRST)
        assert "Nobody is at home 15–21 June. Robin looks after it: 0555 0171." in words
        assert "call the office first" in words
        assert getting_in_words(place, rows, FIRST - dt.timedelta(days=1)) == place.access_notes

    def test_the_offices_pages_name_it(
        self, client: Client, secret: str, built: factories.Built
    ) -> None:
        tell(client, secret, may_come=None)
        desk = Client()
        desk.force_login(factories.user("office", "office"))
        for name, key in (("place", built.system.place_id), ("book", built.system.pk)):
            text = desk.get(reverse(f"office:{name}", args=[key])).content.decode()
            assert "Robin looks after it," in text
            assert "Nobody may come in" in text
