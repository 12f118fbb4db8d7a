"""Climate normals in the office: entered, pasted, refused at their box, taken away."""

from typing import Any

import pytest
from django.db import IntegrityError, transaction

from apps.accounts.models import AuditEntry
from apps.calc.climate_months import LIMITS
from apps.clients.models import Climate, ClimateMonth
from apps.clients.selectors import climates, months_of
from apps.core.models import Job
from apps.office.forms.climate import ClimateForm, table_read
from tests.ahead.climates import MONTHS, climate
from tests.office.conftest import Desk

pytestmark = pytest.mark.django_db
BOXES = {
    name: f"{value:g}"
    for name, value in ClimateForm.initial_of(MONTHS).items()
    if value is not None
}


def rows(sep: str, point: str = ".", head: str = "", first: str = "") -> str:
    lines = [head] if head else []
    for number, month in enumerate(MONTHS, start=1):
        cells = [f"{value:.1f}" for value in (month.low_c, month.high_c, month.rain_mm)]
        name = {"name": ["Jan"], "number": [str(number)]}.get(first, [])
        lines.append(sep.join([*name, *cells]).replace(".", point))
    return "\n".join(lines)


def test_entered_and_shown(desk: Desk) -> None:
    assert "No climate normals yet" in desk.get("climate").content.decode()
    answer = desk.post("climate_edit", **BOXES, source="Weir Hill, 1991 to 2020")
    assert answer.status_code == 302
    row = Climate.objects.get()
    assert (row.place, row.source, row.rev) == (None, "Weir Hill, 1991 to 2020", 1)
    assert months_of(row) == MONTHS
    said = desk.get("climate").content.decode()
    assert (
        '<th scope="row">July</th><td class="number">15.0</td><td class="number">26.0</td>' in said
    )
    assert "Weir Hill" in said
    # forecasts of the whole firm wait for the night
    assert not Job.objects.filter(kind="ahead.make").exists()


def test_a_place_has_its_own_and_its_forecast_is_made_anew(desk: Desk) -> None:
    climate()
    Job.objects.all().delete()
    assert desk.post("climate_place", desk.place.pk, **BOXES | {"low_c_1": "-8"}).status_code == 302
    known = climates([desk.place.pk])
    assert known[None][0].low_c == -1
    assert known[desk.place.pk][0].low_c == -8
    assert Job.objects.filter(kind="ahead.make").count() == 1
    assert str(desk.place.client.name) in desk.get("climate").content.decode()


@pytest.mark.parametrize(
    ("box", "value", "words"),
    [
        ("low_c_1", "", "required"),
        ("low_c_1", "cold", "write a number"),
        ("high_c_7", "86", "write 30.0"),
        ("high_c_7", "14", "the wrong way round"),
        ("high_c_7", "41", "records of the month"),
        ("low_c_3", "-80", "\u221280: a number from \u221260 to 40"),
        ("rain_mm_2", "-1", "\u22121: a number from 0 to 3,000"),
        ("rain_mm_2", "4000", "4,000: a number from 0 to 3,000"),
        ("wet_days_2", "30.5", "no 30.5 days"),
        ("wet_days_7", "70", "from 0 to 31"),
        ("et0_mm_7", "900", "from 0 to 400"),
    ],
)
def test_what_cannot_be_is_refused_at_its_box_and_nothing_is_kept(
    desk: Desk, box: str, value: str, words: str
) -> None:
    answer = desk.post("climate_edit", **BOXES | {box: value})
    assert answer.status_code == 422
    errors = answer.context["form"].errors
    assert list(errors) == [box]
    assert words in str(errors[box]).lower() or words in str(errors[box])
    assert not Climate.objects.exists()


def test_rainy_days_need_rain(desk: Desk) -> None:
    answer = desk.post("climate_edit", **BOXES | {"rain_mm_7": "5", "wet_days_7": "9"})
    assert "make more than 5" in str(answer.context["form"].errors["wet_days_7"])


@pytest.mark.parametrize(
    "text",
    [
        rows("\t"), rows(";"), rows(";", ","), rows(" "), rows("  ", ","), rows(","), rows(", "),
        rows("\t", ".", "month\tlow\thigh\train", "name"), rows(";", ",", "", "number"),
        rows(" ").replace("-", "\u2212"), "\n\n" + rows("\t") + "\n",
    ],
)  # fmt: skip
def test_a_table_in_any_spelling_fills_the_boxes(text: str) -> None:
    assert table_read(text) == MONTHS


def test_what_was_pasted_is_looked_over_before_it_is_kept(desk: Desk) -> None:
    answer = desk.post("climate_edit", pasted=rows("\t"), source="Weir Hill")
    assert answer.status_code == 200
    assert not Climate.objects.exists()
    form = answer.context["form"]
    assert form["low_c_1"].value() == "-1"
    assert form["source"].value() == "Weir Hill"
    assert not form["pasted"].value()
    # else the browser keeps a pasted table back while the boxes are empty
    assert " required" not in str(form["low_c_1"])


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("1 2 3", "Twelve lines are needed, January to December, not 1."),
        (rows("\t").replace("26.0", "many", 1), "Line 7: 'many' is no number"),
        (rows("\t").replace("15.0\t26.0", "26.0\t15.0", 1), "Line 7: "),
        (rows("\t") + "\t1\t2\t3", "Line 12: three to five figures are needed, not 6"),
        (rows("\t") + "\n1\t2\t3", "not 13"),
    ],
)
def test_a_table_that_cannot_be_read_names_its_line(desk: Desk, text: str, words: str) -> None:
    answer = desk.post("climate_edit", pasted=text)
    assert answer.status_code == 422
    assert list(answer.context["form"].errors) == ["pasted"]
    assert words in answer.context["form"].errors["pasted"][0]


def test_two_at_once_see_each_other(desk: Desk) -> None:
    climate()
    answer = desk.post("climate_edit", **BOXES, rev="1")
    assert answer.status_code == 302
    answer = desk.post("climate_edit", **BOXES | {"low_c_1": "-3"}, rev="1")
    assert answer.status_code == 422
    assert answer.context["both"]
    assert months_of(Climate.objects.get())[0].low_c == -1
    # and where the other was the first of all
    Climate.objects.all().delete()
    climate()
    assert desk.post("climate_edit", **BOXES).status_code == 422


def test_of_two_that_begin_at_the_same_moment_one_is_told(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(Climate, "full_clean", lambda self: Climate(whole_firm=True).save())
    answer = desk.post("climate_edit", **BOXES)
    assert answer.status_code == 422
    assert "Somebody else changed this" in answer.content.decode()


def test_taken_away_it_stays_in_the_audit(desk: Desk) -> None:
    row = climate()
    assert "usual year of the latitude" in desk.get("climate_end", row.pk).content.decode()
    assert desk.post("climate_end", row.pk).status_code == 302
    assert not ClimateMonth.objects.exists()
    kept = AuditEntry.objects.filter(kind="climate", verb="set climate").get()
    assert kept.change["months"][6]["high_c"] == 26
    assert AuditEntry.objects.filter(kind="climate", verb="removed").exists()


def test_the_table_holds_its_limits_whatever_writes_to_it(desk: Desk) -> None:
    row = climate()
    for name, (low, high) in LIMITS.items():
        for value in (low - 1, high + 1):
            with pytest.raises(IntegrityError), transaction.atomic():
                row.months.filter(month=1).update(**{name: value})
    with pytest.raises(IntegrityError), transaction.atomic():
        Climate.objects.create(whole_firm=True)
    with pytest.raises(IntegrityError), transaction.atomic():
        Climate.objects.create(whole_firm=False)


def test_the_place_and_the_places_lead_there(desk: Desk) -> None:
    assert f"/places/{desk.place.pk}/climate/" in desk.get("place", desk.place.pk).content.decode()
    assert "/climate/" in desk.get("places").content.decode()


def test_how_much_of_a_loop_is_rained_on(desk: Desk) -> None:
    loop: Any = desk.built.loop
    answer = desk.post("loop_edit", loop.pk, volume_known_within_pct="10", rain_area_m2="3.5")
    assert answer.status_code == 302
    loop.refresh_from_db()
    assert loop.rain_area_m2 == 3.5
    assert "open to rain" in desk.get("system", desk.built.system.pk).content.decode()
    answer = desk.post("loop_edit", loop.pk, volume_known_within_pct="10", rain_area_m2="-1")
    assert "rain_area_m2" in answer.context["form"].errors


IN_FAHRENHEIT = "\n".join(
    f"{month.low_c * 1.8 + 32:.2f}\t{month.high_c * 1.8 + 32:.2f}\t{month.rain_mm / 25.4:.4f}"
    for month in MONTHS
)


@pytest.mark.parametrize(
    "text",
    [
        rows(" °C;").replace("\n", " mm\n") + " mm",
        rows("\u202f°C\t"),
        rows(" °C "),
        rows("\t", head="Lowest (°C)\tHighest, °C\tRain [mm]"),
        rows("\t", head="Month\tLow °C\tHigh °C\tRain mm", first="name"),
        # spaces part it, so that the heading has more cells: its units are those of the boxes
        rows(" ", head="Low (°C) High (°C) Rain (mm)"),
    ],
)
def test_units_that_are_known_are_taken(text: str) -> None:
    assert table_read(text) == MONTHS


@pytest.mark.parametrize(
    "text",
    [
        "Low (°F)\tHigh (°F)\tRain (in)\n" + IN_FAHRENHEIT,
        "\n".join(
            "\t".join((f"{low} °F", f"{high}F", f"{rain} in"))
            for low, high, rain in (line.split("\t") for line in IN_FAHRENHEIT.splitlines())
        ),
    ],
)
def test_degrees_fahrenheit_and_inches_become_ours(text: str) -> None:
    for found, month in zip(table_read(text), MONTHS, strict=True):
        assert found.low_c == pytest.approx(month.low_c, abs=0.01)
        assert found.high_c == pytest.approx(month.high_c, abs=0.01)
        assert found.rain_mm == pytest.approx(month.rain_mm, abs=0.01)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (rows("\t").replace("26.0", "26.0 K", 1), "Line 7: 'K' is no unit of highest that is known here; it is kept in °C"),
        (rows("\t").replace("26.0", "26.0 mm", 1), "Line 7: 'mm' is no unit of highest"),
        ("Low (°F)\tHigh (mm)\tRain\n" + rows("\t"), "Line 1: 'mm' is no unit of highest"),
        ("Low (°F)\tHigh (°F)\n" + rows("\t"), "Line 1: it names units but has 2 cells, and January has 3"),
        (rows("\t").replace("26.0", "26.0*", 1), "Line 7: '*' is no unit"),
    ],
)  # fmt: skip
def test_a_unit_that_is_not_known_names_its_line(desk: Desk, text: str, words: str) -> None:
    answer = desk.post("climate_edit", pasted=text)
    assert answer.status_code == 422
    assert words in answer.context["form"].errors["pasted"][0]
