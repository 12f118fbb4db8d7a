"""Readings: typed, judged at once, doubted, put right, taken back."""

import datetime as dt
from typing import Any

import pytest

from apps.systems.models import Loop
from apps.visits.models import Reading, Value
from apps.visits.services.answers import BadAnswer, typed_number, value_of
from tests import factories
from tests.field.conftest import Phone


def leaf(phone: Phone, measurand: str, name: str) -> Any:
    """Return what stands in a leaf of the first reading of a measurand."""
    rows = Value.objects.filter(sheet=phone.sheet)
    own = next(r for r in rows if r.path.endswith("/measurand") and r.value == measurand)
    row = rows.filter(path=own.path.replace("measurand", name)).first()
    return row.value if row else None


def before(phone: Phone, measurand: str, value: float, unit: str = "") -> None:
    """Put a reading of two weeks ago on record."""
    at = factories.NOW - dt.timedelta(days=14)
    Reading.objects.create(
        loop=phone.built.loop, measurand=measurand, value=value, unit=unit, typed=str(value),
        taken_at=at, received_at=at, word="in_band",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("typed", "value"),
    [("7,1", 7.1), (" 6.8 ", 6.8), ("7.", 7.0), (".5", 0.5), ("−2", -2.0), ("1 204", 1204.0)],
)
def test_numbers_as_people_type_them(typed: str, value: float) -> None:
    assert value_of(typed) == value


@pytest.mark.parametrize("typed", ["", "7..1", "7.1.2", "seven", "1,204.5", "7.1 pH", "1e3", "nan"])
def test_what_is_no_number(typed: str) -> None:
    with pytest.raises(BadAnswer):
        value_of(typed)


def test_plain_text_of_a_number() -> None:
    assert typed_number("−0,50") == "-0.50"


class TestJudged:
    def test_in_band_goes_on(self, phone: Phone) -> None:
        answer = phone.read("do", "6,4")
        assert answer.status_code == 302
        assert "#meaning" not in answer.url
        assert leaf(phone, "do", "value") == 6.4
        assert leaf(phone, "do", "as_typed") == "6,4"
        page = phone.get("sheet").content.decode()
        assert "6.4\xa0mg/L</span>, <span>in band" in page

    def test_out_of_band_stays_and_says_what_to_do(self, phone: Phone) -> None:
        before(phone, "alk", 66, "mg/L CaCO3")
        answer = phone.read("alk", "31")
        assert answer.url.endswith("#meaning")
        page = phone.browser.get(answer.url).content.decode()
        assert "out of band" in page
        assert "Last time 66\xa0mg/L CaCO3 on Thu 28 May" in page
        assert "It fell by 35\xa0mg/L CaCO3 since Thu 28 May." in page
        assert "Alkalinity keeps pH steady" in page
        assert "Alkalinity is low" in page  # the advice that answers it

    def test_harmful_is_stamped_with_an_order(self, phone: Phone) -> None:
        phone.read("temp", "28")
        phone.read("ph", "6.8")
        phone.read("no2", "3.1")
        page = phone.browser.get(phone.reading_url("no2")).content.decode()
        assert page.count('class="stamp" role="alert"') == 1
        assert "Stay until the fish are safe." in page
        assert "Call office" in page
        assert 'href="tel:05550100"' in page
        assert "Nitrite (3.10" in page
        assert 'role="alert"' not in phone.browser.get(phone.reading_url("temp")).content.decode()

    def test_advice_of_other_readings_stays_away(self, phone: Phone) -> None:
        phone.read("no2", "3.1")
        phone.read("alk", "31")
        page = phone.browser.get(phone.reading_url("alk")).content.decode()
        assert "Nitrite (3.10" not in page

    def test_first_time_and_not_measured(self, phone: Phone) -> None:
        assert "First time here" in phone.browser.get(phone.reading_url("gh")).content.decode()
        phone.read("gh", "", not_measured="1")
        assert leaf(phone, "gh", "value") is None
        assert "not measured" in phone.get("sheet").content.decode()
        phone.read("gh", "140")
        assert leaf(phone, "gh", "value") == 140


class TestSlips:
    def test_what_cannot_be_is_kept_as_typed_and_doubted(self, phone: Phone) -> None:
        answer = phone.read("ph", "71")
        page = phone.browser.get(answer.url).content.decode()
        assert "cannot be" in page
        assert "Did you mean 7.1?" in page
        assert leaf(phone, "ph", "value") == 71.0
        phone.read("do", "6.4")  # the others are judged all the same
        assert "in band" in phone.get("sheet").content.decode()

    def test_taking_the_suggestion(self, phone: Phone) -> None:
        phone.read("ph", "68")
        phone.read("ph", "6.8", unit="", stay="1")
        assert leaf(phone, "ph", "value") == 6.8
        assert "cannot be" not in phone.browser.get(phone.reading_url("ph")).content.decode()

    def test_fahrenheit_is_offered_as_fahrenheit(self, phone: Phone) -> None:
        phone.read("temp", "82")
        page = phone.browser.get(phone.reading_url("temp")).content.decode()
        assert "Did you mean 82\xa0°F?" in page
        assert '<input type="hidden" name="unit" value="°F">' in page

    def test_ion_for_nitrogen(self, phone: Phone) -> None:
        before(phone, "no3", 30, "mg/L")
        phone.read("no3", "130")
        page = phone.browser.get(phone.reading_url("no3")).content.decode()
        assert "the ion that the kit prints" in page
        assert "No dose rests on it" in page
        phone.read("no3", "130", basis="ion", stay="1")
        assert leaf(phone, "no3", "basis") == "ion"
        page = phone.browser.get(phone.reading_url("no3")).content.decode()
        assert "the ion that the kit prints" not in page

    def test_degrees_of_hardness(self, phone: Phone) -> None:
        before(phone, "alk", 85, "mg/L CaCO3")
        phone.read("alk", "5", unit="mg/L CaCO3")
        page = phone.browser.get(phone.reading_url("alk")).content.decode()
        assert "Did you mean 5\xa0dKH?" in page

    def test_microsiemens(self, phone: Phone) -> None:
        phone.read("ec", "850", unit="mS/cm")
        page = phone.browser.get(phone.reading_url("ec")).content.decode()
        assert "Did you mean 850\xa0µS/cm?" in page
        assert 'name="unit" value="uS/cm"' in page

    def test_checked_twice_settles_and_a_new_value_asks_again(self, phone: Phone) -> None:
        before(phone, "no2", 0.1, "mg/L")
        phone.read("no2", "1.9", basis="n")
        phone.read("no2", "1.9", basis="n", checked_twice="1")
        assert leaf(phone, "no2", "checked_twice") is True
        assert "Checked twice." in phone.browser.get(phone.reading_url("no2")).content.decode()
        phone.read("no2", "1.9", basis="n")
        assert leaf(phone, "no2", "checked_twice") is True
        phone.read("no2", "1.8", basis="n")
        assert leaf(phone, "no2", "checked_twice") is False

    def test_no_number_keeps_what_was_typed(self, phone: Phone) -> None:
        answer = phone.read("ph", "6,,8")
        assert answer.status_code == 422
        assert 'value="6,,8"' in answer.content.decode()
        assert not Value.objects.filter(sheet=phone.sheet).exists()

    def test_no_number_is_not_judged_by_what_stood_before(self, phone: Phone) -> None:
        phone.read("ph", "6.1")
        page = phone.read("ph", "6.1.2").content.decode()
        assert "Write one number" in page
        entry = page[page.index('class="entry"') :]
        for words in ("out of band", "Checked twice", "too acid"):
            assert words not in entry

    def test_unknown_unit_is_refused_not_broken(self, phone: Phone) -> None:
        phone.read("alk", "80", unit="bananas")
        page = phone.browser.get(phone.reading_url("alk"))
        assert page.status_code == 200
        assert phone.get("sheet").status_code == 200


class TestPlaces:
    def test_last_reading_of_a_line_ticks_it(self, phone: Phone) -> None:
        line = phone.sheet.lines.get(code="water_full_test")
        values = {"temp": "28", "ph": "6.8", "do": "6.4", "ec": "0.8", "alk": "80", "tan": "0.2",
                  "no2": "0.05", "no3": "35"}  # fmt: skip
        for measurand, value in values.items():
            phone.read(measurand, value)
        path = f"lines/{line.pk}/outcome"
        assert not Value.objects.filter(path=path).exists()
        phone.read("gh", "140")
        assert Value.objects.get(path=path).value == "done"

    def test_after_the_work_and_by_another_way(self, phone: Phone) -> None:
        phone.read("ph", "6.6")
        phone.browser.post(phone.reading_url("ph", "after"), {"value": "6.8"})
        phone.browser.post(phone.reading_url("ph", turn=2), {"value": "6.4", "method": "drops"})
        rows = Value.objects.filter(sheet=phone.sheet, path__endswith="/value")
        assert sorted(row.value for row in rows) == [6.4, 6.6, 6.8]
        page = phone.get("sheet").content.decode()
        assert "pH, after the work" in page
        assert phone.browser.get(phone.reading_url("ph", turn=4)).status_code == 404

    def test_besides_the_list(self, phone: Phone) -> None:
        phone.read("chlorine", "0")
        page = phone.get("sheet").content.decode()
        assert "Measured besides" in page
        assert "Total chlorine" in page

    def test_emptied_is_taken_back(self, phone: Phone) -> None:
        phone.read("ph", "6.8")
        phone.read("ph", "")
        assert leaf(phone, "ph", "gone") is True
        assert 'value="6.8"' not in phone.browser.get(phone.reading_url("ph")).content.decode()
        phone.read("ph", "6.9")
        assert leaf(phone, "ph", "gone") is False

    def test_undo_brings_the_value_before_back(self, phone: Phone) -> None:
        phone.read("ph", "6.8")
        phone.read("ph", "6.9")
        assert self._undo(phone) == "6.8"

    def test_undo_of_a_first_value_leaves_none(self, phone: Phone) -> None:
        phone.read("ph", "6.8")
        assert self._undo(phone) == ""
        assert self._undo(phone) == "6.8"  # and an undo can be taken back

    def _undo(self, phone: Phone) -> str:
        page = phone.get("sheet").content.decode()
        phone.post("undo", {"at": page.split('name="at" value="')[1].split('"')[0]})
        field = phone.browser.get(phone.reading_url("ph")).content.decode()
        return field.split('enterkeyhint="done" value="')[1].split('"')[0]

    @pytest.mark.parametrize("measurand", ["nh3", "mood"])
    def test_what_is_not_read_is_not_there(self, phone: Phone, measurand: str) -> None:
        assert phone.browser.get(phone.reading_url(measurand)).status_code == 404

    def test_a_plant_loop_is_asked_for_what_its_plants_need(self, phone: Phone) -> None:
        Loop.objects.create(system=phone.built.system, kind="plant")
        Loop.objects.filter(pk=phone.built.loop.pk).update(kind="fish")
        page = phone.get("sheet").content.decode()
        assert "pH, plant loop" in page
        assert "Total ammonia as N, plant loop" not in page
        assert "Total ammonia as N, fish loop" in page
