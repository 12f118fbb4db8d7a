"""A reader of US units: the page, what they type there, the report, letters, proposals, in each language."""

import re
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import translation

from apps.accounts.services import link_issue
from apps.batches.models import FishBatch, Picking, Planting
from apps.calc.design.sizing import Doubt
from apps.clients.choices import Units
from apps.clients.models import Contact
from apps.core import clock
from apps.core.measures import reading_in
from apps.proposals.design_words import doubt_words
from apps.proposals.rendering.wording import span
from apps.reports.rendering.acting import actions, bags_left
from apps.reports.rendering.household import feed_by_another, feed_lines
from apps.reports.rendering.reader import Reader
from apps.reports.rendering.verdicts import why
from apps.reports.rendering.wording import derived_rows, life_rows
from apps.visits.models import Reading
from apps.visits.shown import shown
from tests import factories
from tests.reader import Reader as Browser
from tests.reports.saying import advice, reading, snapshot
from tests.reports.test_verdicts import LATER

NBSP = "\u00a0"


def us(text: str) -> str:
    """Return a text with plain blanks."""
    return text.replace(NBSP, " ")


class TestPaper:
    @pytest.fixture(autouse=True)
    def _reads(self) -> Any:
        with reading_in(Units.US):
            yield

    def test_a_warm_tank(self) -> None:
        row = reading("temp", 30.02, "out_of_band", 28, "in_band")
        item = shown(row)
        # 86.04 stands beside a bound of 86, which 86.0 would not pass
        assert (item.figure, item.unit, item.good, item.last) == (
            "86.04",
            "°F",
            "80.6 to 86",
            "82.4",
        )
        assert us(why(Reader(snapshot(row)))[0]).startswith("Warmth rose from 82.4 to 86.04 °F.")
        assert item.series == [(20000.0, pytest.approx(86.036))]

    def test_a_bag_says_both(self) -> None:
        step = {"after_hours": 0.0, "dose": 25.0, "unit": "g", "substance": "KHCO3"}
        row = advice("alkalinity_low", dose=25.0, unit="g", parameters={"steps": [step]})
        reader = Reader(snapshot(reading("alk", 27, "out_of_band"), advice=[row]))
        assert "0.85 oz (25 g)" in us(actions(reader)[0].doses[0][1])
        assert "0.85 oz (25 g)" in us(bags_left(reader)[0])

    def test_feed_says_both_and_never_more(self) -> None:
        ration = [{"code": "ration", "value": 61.0, "unit": "g", "loop": "l"}]
        kept = snapshot(reading("do", 6.4, "in_band"), derived=ration)
        assert us(feed_lines(Reader(kept))[0]) == "1.05 oz (30 g) a meal."
        scooped = kept | {"feeding": {"scoop_g": 15.0, "meals": 2}}
        words, grams = feed_by_another(Reader(scooped), 0.5, LATER)
        assert us(words).startswith("Once a day: 2 level scoops (1.05 oz, 30 g).")
        assert grams == 30.0

    def test_fish_and_their_room(self) -> None:
        rows = [
            {"code": "biomass", "value": 7.2, "unit": "kg", "loop": "l"},
            {"code": "density", "value": 12.0, "unit": "kg/m³", "loop": "l"},
            {"code": "nh3", "value": 0.0001, "unit": "mg/L", "loop": "l"},
        ]
        reader = Reader(snapshot(reading("do", 6.4, "in_band"), derived=rows, sketch=[]))
        assert [us(row["figure"]) for row in derived_rows(reader)] == [
            "15.9 lb", "10.0 lb per 100 US gal", "< 0.001 mg/L",
        ]  # fmt: skip
        assert us(life_rows(reader)[0]["what"]) == "40 fish, 6.3 oz on average"

    def test_a_proposals_sizes(self) -> None:
        size = {"code": "tank", "low": 950, "high": 1100, "chosen": 1000, "unit": "L"}
        assert us(span(size)) == "250 to 290 US gal"
        assert us(span(size | {"unit": "kg a month", "low": 3, "high": 4})) == "7 to 9 lb a month"
        said = doubt_words(Doubt("too_cold", (("winter", 10.0), ("limit", 12.0))))
        assert us(said) == "The water may fall to 50 °F and these fish die below 53.6 °F."

    def test_in_spanish_and_arabic(self) -> None:
        size = {"code": "tank", "low": 950, "high": 1100, "chosen": 1000, "unit": "L"}
        with translation.override("es"):
            assert us(span(size)) == "250 a 290 gal EE. UU."
        with translation.override("ar"):
            assert "US gal" in span(size)


def test_a_metric_reader_reads_as_before() -> None:
    item = shown(reading("temp", 28, "in_band"))
    assert (item.figure, item.unit, item.good) == ("28.0", "°C", "27 to 30")


@pytest.mark.django_db
class TestPage:
    @pytest.fixture
    def built(self, monkeypatch: pytest.MonkeyPatch) -> factories.Built:
        """A client who reads US units."""
        monkeypatch.setattr(clock, "now", lambda: factories.NOW)
        factories.firm()
        made = factories.system(factories.place(factories.client("Okafor")))
        Contact.objects.update(units=Units.US)
        return made

    @pytest.fixture
    def client(self) -> Browser:
        return Browser()

    @pytest.fixture
    def secret(self, built: factories.Built) -> str:
        contact = Contact.objects.get()
        return link_issue(
            client_id=contact.client_id, purpose="page", at=factories.NOW, contact_id=contact.pk
        )

    def sent(self, client: Client, secret: str, built: factories.Built, **typed: str) -> Any:
        kept = {
            "key": str(uuid4()), "day": factories.TODAY.isoformat(), "time": "07:30",
            "temp_unit": "°F", "alk_unit": "mg/L CaCO3", "tan_basis": "n", "no2_basis": "n",
            "no3_basis": "n", "batch": str(FishBatch.objects.get().pk),
            "planting": str(Planting.objects.get().pk),
        }  # fmt: skip
        return client.post(reverse("portal:log", args=[secret, built.system.pk]), kept | typed)

    def test_the_form_asks_in_their_units(
        self, client: Client, secret: str, built: factories.Built
    ) -> None:
        page = client.get(reverse("portal:log", args=[secret, built.system.pk])).content.decode()
        assert '<option value="°F" selected>' in page
        units = re.findall(r'<span class="unit">([^<]+)</span>', page)
        assert {"oz", "US gal", "lb"} <= set(units)
        assert "kg" not in units

    def test_what_they_type_is_stored_in_si(
        self, client: Client, secret: str, built: factories.Built
    ) -> None:
        answer = self.sent(
            client, secret, built, temp="75.2", feed="2", topup="10", mass_kg="1.5", heads="3"
        )
        assert answer.status_code == 302
        found = {row.measurand: row for row in Reading.objects.filter(taken_by="client")}
        assert found["temp"].value == pytest.approx(24.0)
        assert found["feed"].value == pytest.approx(56.699, abs=0.001)
        assert found["topup"].value == pytest.approx(37.854, abs=0.001)
        assert {row.unit for row in found.values()} == {"°C", "g/day", "L/day"}
        assert (found["feed"].typed, found["feed"].typed_unit) == ("2", "oz/day")
        assert Picking.objects.get().mass_kg == pytest.approx(0.680, abs=0.001)
        page = us(client.get(reverse("portal:page", args=[secret])).content.decode())
        assert "75.2 °F" in page
        assert "2 oz" in page
        assert "10 US gal" in page

    def test_another_reader_of_the_same_reads_metric(
        self, client: Client, secret: str, built: factories.Built
    ) -> None:
        self.sent(client, secret, built, temp="75.2", feed="2")
        client.get(reverse("portal:page", args=[secret]))  # with its thanks
        Contact.objects.update(units=Units.METRIC)
        page = us(client.get(reverse("portal:page", args=[secret])).content.decode())
        assert "24.0 °C" in page
        assert "57 g" in page
        assert " oz" not in page

    def test_a_figure_that_cannot_be_is_told_in_their_units(
        self, client: Client, secret: str, built: factories.Built
    ) -> None:
        answer = self.sent(client, secret, built, temp="200", mass_kg="3000")
        assert answer.status_code == 422
        page = us(answer.content.decode())
        assert "at most 2,205 lb is needed" in page
        answer = self.sent(client, secret, built, temp="200")
        assert "lies outside 28.4 to 113 °F" in us(answer.content.decode())
        assert not Reading.objects.filter(taken_by="client").exists()

    def test_units_end_with_the_page(
        self, client: Client, secret: str, built: factories.Built
    ) -> None:
        client.get(reverse("portal:page", args=[secret]))
        assert shown(reading("temp", 28, "in_band")).unit == "°C"
