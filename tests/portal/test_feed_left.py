"""A client weighs what feed is left: in their units, looked at twice, and the day on their page."""

from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from apps.accounts.services import link_issue
from apps.batches.models import FishBatch
from apps.care.models import FeedCount, Standing
from apps.clients.models import Contact
from apps.core import clock
from apps.visits.models import Reading
from tests import factories
from tests.ahead.conftest import read

pytestmark = pytest.mark.django_db


@pytest.fixture
def built(monkeypatch: pytest.MonkeyPatch) -> factories.Built:
    """A client's courtyard where 40 g a day are fed."""
    monkeypatch.setattr(clock, "now", lambda: factories.NOW)
    factories.firm()
    made = factories.system(factories.place(factories.client("Okafor")))
    read(made, "feed", 40.0, 1)
    return made


@pytest.fixture
def secret(built: factories.Built) -> str:
    contact = Contact.objects.get()
    return link_issue(
        client_id=built.system.place.client_id, purpose="page", at=factories.NOW,
        contact_id=contact.pk,
    )  # fmt: skip


def send(client: Client, secret: str, built: factories.Built, **typed: Any) -> Any:
    sent = {
        "key": str(uuid4()), "day": factories.TODAY.isoformat(), "time": "07:30",
        "temp_unit": "°C", "alk_unit": "mg/L CaCO3", "tan_basis": "n", "no2_basis": "n",
        "no3_basis": "n",
    }  # fmt: skip
    path = reverse("portal:log", args=[secret, built.system.pk])
    return client.post(path, sent | typed)


def page(client: Client, secret: str) -> str:
    return str(client.get(reverse("portal:page", args=[secret])).content.decode())


def test_it_is_kept_in_grams_as_theirs(client: Client, secret: str, built: factories.Built) -> None:
    assert "Feed lasts" not in page(client, secret)
    answer = send(client, secret, built, feed_left="1,6", feed_left_unit="kg")
    assert answer.status_code == 302
    row = FeedCount.objects.get()
    assert (row.amount_g, row.counted_by) == (1600, "client")
    assert row.counted_at == factories.NOW.replace(hour=7, minute=30)
    # 40 days from Thursday 11 June
    assert "Feed lasts until about Tue 21 July." in page(client, secret)


def test_what_was_fed_with_it_is_taken_off_at_once(
    client: Client, secret: str, built: factories.Built
) -> None:
    send(client, secret, built, feed_left="400", feed_left_unit="g", day="2026-06-09")
    assert Standing.objects.get().feed_until.isoformat() == "2026-06-19"
    assert send(client, secret, built, feed="120").status_code == 302
    # 400 g: 40 noted, then 120 noted today, 240 are three days of 80, the middle of both
    assert Standing.objects.get().feed_until.isoformat() == "2026-06-14"


@pytest.mark.parametrize(
    ("unit", "typed", "grams"),
    [("lb", "2", 907.18474), ("oz", "16", 453.59237), ("", "1", 453.59237)],
)
def test_in_pounds_and_ounces(
    client: Client, secret: str, built: factories.Built, unit: str, typed: str, grams: float
) -> None:
    Contact.objects.update(units="us")
    form = client.get(reverse("portal:log", args=[secret, built.system.pk])).content.decode()
    assert '<option value="lb"' in form
    assert '<option value="kg"' not in form
    more = {"feed_left_unit": unit} if unit else {}
    assert send(client, secret, built, feed_left=typed, **more).status_code == 302
    assert FeedCount.objects.get().amount_g == pytest.approx(grams)


def test_sent_twice_it_counts_once(client: Client, secret: str, built: factories.Built) -> None:
    key = str(uuid4())
    for _each in range(2):
        assert send(client, secret, built, key=key, feed_left="1").status_code == 302
    assert FeedCount.objects.count() == 1


def test_an_odd_amount_is_looked_at_twice_and_nothing_else_is_kept(
    client: Client, secret: str, built: factories.Built
) -> None:
    answer = send(client, secret, built, feed_left="2", feed_left_unit="g", ph="7")
    text = answer.content.decode()
    assert answer.status_code == 422
    assert "This would last about 0.1 days. Is the unit right?" in text
    assert 'name="feed_left_sure"' in text
    assert 'value="2"' in text
    assert (FeedCount.objects.count(), Reading.objects.count()) == (0, 1)
    assert send(
        client, secret, built, feed_left="2", feed_left_unit="g", feed_left_sure="on"
    ).status_code == 302  # fmt: skip


@pytest.mark.parametrize(
    "typed",
    [{"feed_left": "some"}, {"feed_left": "-1"}, {"feed_left": "1001"},
     {"feed_left": "1", "feed_left_unit": "t"}],
)  # fmt: skip
def test_what_cannot_be_is_refused_beside_its_field(
    client: Client, secret: str, built: factories.Built, typed: dict[str, str]
) -> None:
    answer = send(client, secret, built, **typed)
    assert answer.status_code == 422
    assert set(answer.context["form"].errors) & {"feed_left", "feed_left_unit"}
    assert not FeedCount.objects.exists()


def test_nothing_left_is_a_count(client: Client, secret: str, built: factories.Built) -> None:
    assert send(client, secret, built, feed_left="0").status_code == 302
    assert "Feed lasts until about Thu 11 June." in page(client, secret)
    Standing.objects.update(feed_until="2026-06-10")
    assert "The feed may be used up by now." in page(client, secret)


def test_without_fish_nobody_is_asked(client: Client, secret: str, built: factories.Built) -> None:
    FishBatch.objects.update(ended_on=factories.TODAY)
    form = client.get(reverse("portal:log", args=[secret, built.system.pk])).content.decode()
    assert "Feed left" not in form


def test_a_day_has_an_end(
    client: Client, secret: str, built: factories.Built, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("apps.flows.home_log.MOST_A_DAY", 2)
    codes = [send(client, secret, built, feed_left="1").status_code for _n in range(4)]
    assert codes == [302, 302, 422, 422]
