"""What a client writes down at home: judged as theirs, counted once, refused beside its field."""

import datetime as dt
from typing import Any
from uuid import uuid4

import pytest
from django.contrib.messages import get_messages
from django.test import Client
from django.urls import reverse

from apps.accounts.services import link_issue
from apps.advice.choices import Close
from apps.advice.models import Advice
from apps.batches.models import (
    Deaths,
    FishBatch,
    FishHarvest,
    HarvestHold,
    Picking,
    Planting,
    Treatment,
)
from apps.batches.selectors import fish_now
from apps.batches.services import fish_take, harvest_prices_set
from apps.care.models import Standing
from apps.core import clock, files
from apps.core.exceptions import Invalid
from apps.core.models import Job
from apps.flows.ahead import EFFECT
from apps.visits.models import Reading, ReadingPhoto
from tests import factories
from tests.portal.pictures import jpeg, upload

pytestmark = pytest.mark.django_db


@pytest.fixture
def built(monkeypatch: pytest.MonkeyPatch) -> factories.Built:
    """A client's courtyard with fish and plants."""
    monkeypatch.setattr(clock, "now", lambda: factories.NOW)
    factories.firm()
    return factories.system(factories.place(factories.client("Okafor")))


@pytest.fixture
def secret(built: factories.Built) -> str:
    return link_issue(client_id=built.system.place.client_id, purpose="page", at=factories.NOW)


def where(secret: str, built: factories.Built, name: str = "log") -> str:
    return reverse(f"portal:{name}", args=[secret, built.system.pk])


def send(client: Client, secret: str, built: factories.Built, **typed: Any) -> Any:
    sent = {
        "key": str(uuid4()), "day": factories.TODAY.isoformat(), "time": "07:30",
        "temp_unit": "°C", "alk_unit": "mg/L CaCO3", "tan_basis": "n", "no2_basis": "n",
        "no3_basis": "n", "batch": str(FishBatch.objects.get().pk),
        "planting": str(Planting.objects.get().pk),
    }  # fmt: skip
    return client.post(where(secret, built), sent | typed)


def said(answer: Any) -> str:
    return " ".join(str(row) for row in get_messages(answer.wsgi_request))


def test_readings_count_as_the_clients(client: Client, secret: str, built: factories.Built) -> None:
    answer = send(client, secret, built, ph="6,9", temp="24.1", feed="80")
    assert answer.status_code == 302
    assert answer.headers["Location"] == reverse("portal:page", args=[secret])
    rows = {row.measurand: row for row in Reading.objects.all()}
    assert {code: row.value for code, row in rows.items()} == {"ph": 6.9, "temp": 24.1, "feed": 80}
    assert {(row.taken_by, row.sheet) for row in rows.values()} == {("client", None)}
    assert rows["ph"].taken_at == factories.NOW.replace(hour=7, minute=30)
    assert "pH 6.90: in band." in said(answer)
    assert Standing.objects.get(system=built.system).last_reading_at == rows["ph"].taken_at
    assert Job.objects.filter(kind=EFFECT).count() == 1


def test_the_same_form_sent_twice_counts_once(
    client: Client, secret: str, built: factories.Built
) -> None:
    key = str(uuid4())
    for _ in range(2):
        assert (
            send(client, secret, built, key=key, ph="7", dead="2", mass_kg="0,8").status_code == 302
        )
    assert (Reading.objects.count(), Deaths.objects.count(), Picking.objects.count()) == (1, 1, 1)


def test_what_does_harm_is_said_with_the_number_to_call(
    client: Client, secret: str, built: factories.Built
) -> None:
    assert send(client, secret, built, no2="5").status_code == 422
    answer = send(client, secret, built, no2="5", no2_sure="on")
    assert "harmful" in said(answer)
    assert "Call us now" in said(answer)
    assert Standing.objects.get(system=built.system).worst_judgement == "harmful"


def test_a_doubtful_figure_is_looked_at_twice(
    client: Client, secret: str, built: factories.Built
) -> None:
    answer = send(client, secret, built, temp="36", ph="7.1")
    assert answer.status_code == 422
    assert not Reading.objects.exists()
    text = answer.content.decode()
    assert 'name="temp_sure"' in text
    assert 'name="ph_sure"' not in text
    assert 'value="36"' in text
    assert send(client, secret, built, temp="36", ph="7.1", temp_sure="on").status_code == 302
    assert Reading.objects.get(measurand="temp").checked_twice


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({}, "__all__"),
        ({"ph": "seven"}, "ph"),
        ({"ph": "19"}, "ph"),
        ({"ph": "7", "day": "2031-01-01"}, "day"),
        ({"ph": "7", "day": "2020-01-01"}, "day"),
        ({"dead": "0"}, "dead"),
        ({"dead": "5000"}, "dead"),
        ({"mass_kg": "-1"}, "mass_kg"),
        ({"dead": "1", "batch": str(uuid4())}, "batch"),
        ({"ph": "7", "key": "x"}, "key"),
    ],
)
def test_what_cannot_be_is_refused_beside_its_field(
    client: Client, secret: str, built: factories.Built, typed: dict[str, str], field: str
) -> None:
    answer = send(client, secret, built, **typed)
    assert answer.status_code == 422
    assert field in answer.context["form"].errors
    assert not any(model.objects.exists() for model in (Reading, Deaths, Picking))


def test_a_unit_that_is_none_is_refused_beside_its_figure(
    client: Client, secret: str, built: factories.Built
) -> None:
    page = send(client, secret, built, temp="24", temp_unit="K", tan_basis="x").content.decode()
    for name in ("temp_unit", "tan_basis"):
        assert f'aria-describedby="id_{name}_error"' in page
        assert f'id="id_{name}_error"' in page
    assert not Reading.objects.exists()


def test_fahrenheit_and_the_ion_are_taken_as_said(
    client: Client, secret: str, built: factories.Built
) -> None:
    send(client, secret, built, temp="75,2", temp_unit="°F", no2="0,33", no2_basis="ion")
    assert Reading.objects.get(measurand="temp").value == pytest.approx(24.0)
    # nitrogen's share of nitrite: 14.007 / (14.007 + 2 x 15.999), standard atomic weights (CIAAW)
    assert Reading.objects.get(measurand="no2").value == pytest.approx(
        0.33 * 14.007 / 46.005, rel=1e-3
    )


def test_fish_and_picking_are_noted(client: Client, secret: str, built: factories.Built) -> None:
    send(client, secret, built, dead="2", heads="6")
    assert Deaths.objects.get().count == 2
    assert Picking.objects.get().heads == 6


def test_a_photo_of_the_tube_stands_beside_its_reading(
    client: Client, secret: str, built: factories.Built
) -> None:
    key = str(uuid4())
    for _ in range(2):
        answer = send(client, secret, built, key=key, ph="7", ph_photo=upload(jpeg(place=True)))
        assert answer.status_code == 302
    photo = ReadingPhoto.objects.get()
    assert photo.reading.measurand == "ph"
    assert b"CANARY" not in files.read(photo.screen) + files.read(photo.small)
    desk = Client()
    desk.force_login(factories.user("office", "office"))
    address = reverse("office:reading_photo", args=[photo.pk])
    assert desk.get(address).content[:2] == b"\xff\xd8"
    assert client.get(address).status_code == 302
    for name in ("readings", "system"):
        page = desk.get(reverse(f"office:{name}", args=[built.system.pk])).content.decode()
        assert address in page, name


@pytest.mark.parametrize(
    ("typed", "data", "says"),
    [
        ({"tan": "0,5"}, b"no picture", "JPEG"),
        ({"feed": "80"}, b"", "figure that this photo shows"),
    ],
)
def test_a_photo_that_is_none_or_shows_no_figure_is_refused(
    client: Client,
    secret: str,
    built: factories.Built,
    typed: dict[str, str],
    data: bytes,
    says: str,
) -> None:
    answer = send(client, secret, built, tan_photo=upload(data or jpeg()), **typed)
    assert answer.status_code == 422
    assert says in str(answer.context["form"].errors["tan_photo"])
    text = answer.content.decode()
    assert f'value="{next(iter(typed.values()))}"' in text
    assert "Choose the photos again" in text
    assert not Reading.objects.exists()


@pytest.mark.parametrize("typed", [{"tan": "36"}, {"ph": "7.1", "dead": "5000"}])
def test_of_what_is_refused_no_photo_is_stored(
    client: Client,
    secret: str,
    built: factories.Built,
    typed: dict[str, str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    stored: list[bytes] = []
    monkeypatch.setattr(files, "store", lambda _f, data, _s: (stored.append(data), ("", ""))[1])
    photo = {f"{next(iter(typed))}_photo": upload(jpeg("red"))}
    assert send(client, secret, built, **typed, **photo).status_code == 422
    assert stored == []


def test_what_was_counted_off_since_is_not_there_twice(
    client: Client, secret: str, built: factories.Built
) -> None:
    """Of 40 fish 39 are dead today: three days ago no more than one could go."""
    ago = (factories.TODAY - dt.timedelta(days=3)).isoformat()
    assert send(client, secret, built, dead="39").status_code == 302
    for name in ("taken", "dead"):
        answer = send(client, secret, built, day=ago, **{name: "2"})
        assert "from 1 to 1" in str(answer.context["form"].errors[name])
    assert send(client, secret, built, day=ago, taken="1").status_code == 302
    row = FishHarvest(batch=FishBatch.objects.get(), on=factories.TODAY, count=1)
    office = factories.actor(factories.user("office", "office"))
    with pytest.raises(Invalid, match="no fish are left"):
        fish_take(row=row, by=office, at=factories.NOW)


def test_fish_taken_out_are_harvest_and_no_stock(
    client: Client, secret: str, built: factories.Built
) -> None:
    key = str(uuid4())
    for _ in range(2):
        answer = send(client, secret, built, key=key, taken="3", taken_kg="1,6")
        assert answer.status_code == 302
    row = FishHarvest.objects.get()
    assert (row.count, row.mass_kg) == (3, 1.6)
    now = fish_now([built.loop.pk], factories.TODAY)[0]
    assert (now.count, now.taken, now.deaths) == (37, 3, 0)
    answer = send(client, secret, built, taken="38")
    assert "from 1 to 37" in str(answer.context["form"].errors["taken"])
    answer = send(client, secret, built, taken_kg="2")
    assert "Count them" in str(answer.context["form"].errors["taken"])
    assert FishHarvest.objects.count() == 1


def test_what_a_hold_stands_on_is_not_to_be_eaten(
    client: Client, secret: str, built: factories.Built
) -> None:
    treatment = Treatment.objects.create(
        loop=built.loop, product="Salt bath", lot="1", on_whose_word="vet", began_on=factories.TODAY
    )
    HarvestHold.objects.create(
        treatment=treatment, touches="fish", until=factories.TODAY + dt.timedelta(days=9)
    )
    assert "Do not eat it" not in said(send(client, secret, built, heads="4"))
    answer = send(client, secret, built, taken="1")
    assert "Do not eat it: wait until Sat 20 June (Salt bath)." in said(answer)
    assert FishHarvest.objects.count() == 1


def test_the_years_harvest_and_what_it_is_worth(
    client: Client, secret: str, built: factories.Built
) -> None:
    send(client, secret, built, heads="6", mass_kg="1.5", taken="2", taken_kg="1")
    planting = Planting.objects.get()
    Picking.objects.create(planting=planting, on=dt.date(2025, 12, 31), mass_kg=9)
    page = reverse("portal:page", args=[secret])
    text = client.get(page).content.decode().replace("\xa0", " ")
    assert "1.5 kg · 6 heads" in text
    assert "1.0 kg · 2 fish" in text
    assert "Together 2.5 kg." in text
    office = factories.actor(factories.user("office", "office"))
    crop = ("crops", planting.crop_code)
    prices = {(*crop, "kg"): 124_500, ("species", "nile_tilapia", "kg"): 90_000}
    harvest_prices_set(prices=prices, by=office, at=factories.NOW)
    text = client.get(page).content.decode().replace("\xa0", " ")
    # 1.5 kg at 12.45 are 18.675: half up to a cent
    assert "1.5 kg · 6 heads · 18.68 EUR" in text
    assert "Together 2.5 kg, worth about 27.68 EUR." in text
    # four heads more that nobody weighed: by the kilogram alone they are worth nothing
    Picking.objects.create(planting=planting, on=factories.TODAY, heads=4)
    assert "1.5 kg · 10 heads · 18.68 EUR" in page_text(client, page)
    harvest_prices_set(prices={(*crop, "piece"): 15_000}, by=office, at=factories.NOW)
    # with both prices nothing counts twice: 18.68 by the kilogram and 4 at 1.50
    assert "1.5 kg · 10 heads · 24.68 EUR" in page_text(client, page)
    harvest_prices_set(prices={(*crop, "kg"): None}, by=office, at=factories.NOW)
    assert "1.5 kg · 10 heads · 15.00 EUR" in page_text(client, page)
    prices |= {(*crop, "piece"): None}
    harvest_prices_set(prices=dict.fromkeys(prices), by=office, at=factories.NOW)
    assert "EUR" not in client.get(page).content.decode()


def test_heads_alone_have_a_worth(client: Client, secret: str, built: factories.Built) -> None:
    send(client, secret, built, heads="6")
    planting, page = Picking.objects.get().planting, reverse("portal:page", args=[secret])
    assert "worth" not in page_text(client, page)
    office = factories.actor(factories.user("office", "office"))
    price = {("crops", planting.crop_code, "piece"): 17_900}
    harvest_prices_set(prices=price, by=office, at=factories.NOW)
    assert "6 heads · 10.74 EUR" in page_text(client, page)
    assert "Together worth about 10.74 EUR." in page_text(client, page)


def page_text(client: Client, page: str) -> str:
    """Return a page with plain blanks."""
    return client.get(page).content.decode().replace("\xa0", " ")


def test_more_than_a_days_readings_are_refused(
    client: Client, secret: str, built: factories.Built, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("apps.flows.home_log.MOST_A_DAY", 3)
    send(client, secret, built, ph="7", temp="24")
    answer = send(client, secret, built, ph="7", temp="24")
    assert answer.status_code == 422
    assert "call us" in answer.content.decode()
    assert Reading.objects.count() == 2


def test_another_clients_system_is_not_there(
    client: Client, secret: str, built: factories.Built
) -> None:
    other = factories.system(factories.place(factories.client("Stranger")))
    for name in ("log", "done"):
        assert client.get(where(secret, other, name)).status_code == 404
    link = link_issue(
        client_id=built.system.place.client_id, purpose="appointment", at=factories.NOW,
        subject_id=uuid4(),
    )  # fmt: skip
    assert client.get(where(link, built)).status_code == 404


def advice(built: factories.Built, **more: Any) -> Advice:
    values = {
        "system": built.system, "loop": built.loop, "rule": "R01", "urgency": "today",
        "who": "client", "made_at": factories.NOW - dt.timedelta(days=3), "decision": "edit",
        "decision_text": "Rinse the strainer.", "decision_reason": "x",
    }  # fmt: skip
    return Advice.objects.create(**values | more)


def test_what_is_done_is_ticked_off_with_its_day(
    client: Client, secret: str, built: factories.Built
) -> None:
    mine, ours = advice(built), advice(built, who="technician", decision_text="Swap the pump.")
    text = client.get(where(secret, built, "done")).content.decode()
    assert "Rinse the strainer." in text
    assert "Swap the pump." not in text
    yesterday = factories.TODAY - dt.timedelta(days=1)
    sent = {"done": [str(mine.pk)], "day": yesterday.isoformat()}
    assert client.post(where(secret, built, "done"), sent).status_code == 302
    mine.refresh_from_db()
    ours.refresh_from_db()
    assert (mine.closed_as, mine.closed_at and mine.closed_at.date()) == (Close.DONE, yesterday)
    assert ours.closed_at is None
    assert "Nothing is open" in client.get(where(secret, built, "done")).content.decode()


@pytest.mark.parametrize(
    ("sent", "field"),
    [
        ({"done": []}, "done"),
        ({"done": ["x"]}, "done"),
        ({"day": "2031-01-01"}, "day"),
        ({"day": ""}, "day"),
    ],
)
def test_a_tick_that_is_none_is_refused(
    client: Client, secret: str, built: factories.Built, sent: dict[str, Any], field: str
) -> None:
    row = advice(built)
    values = {"done": [str(row.pk)], "day": factories.TODAY.isoformat()} | sent
    answer = client.post(where(secret, built, "done"), values)
    assert answer.status_code == 422
    assert field in answer.context["form"].errors
    row.refresh_from_db()
    assert row.closed_at is None


def test_what_is_not_theirs_cannot_be_ticked(
    client: Client, secret: str, built: factories.Built
) -> None:
    other = factories.system(factories.place(factories.client("Stranger")))
    rows = [advice(other), advice(built, who="technician")]
    for row in rows:
        sent = {"done": [str(row.pk)], "day": factories.TODAY.isoformat()}
        assert client.post(where(secret, built, "done"), sent).status_code == 422
        row.refresh_from_db()
        assert row.closed_at is None


def test_what_no_client_may_give_is_not_theirs_to_tick(
    client: Client, secret: str, built: factories.Built
) -> None:
    advice(built, parameters={"substance": "Ca(OH)2"}, decision_text="Give the lime.")
    text = client.get(where(secret, built, "done")).content.decode()
    assert "Give the lime." not in text
    assert "Nothing is open" in text
