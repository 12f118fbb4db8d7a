"""The supply list of a new system: its parts, and the first supplies."""

import csv
import io

import pytest

from apps.clients.models import SourceWater
from apps.systems.models import Component
from tests.factories import TODAY
from tests.office.conftest import Desk

pytestmark = pytest.mark.django_db


def page(desk: Desk) -> str:
    answer = desk.get("supply_list", desk.built.system.pk)
    assert answer.status_code == 200
    return str(answer.content.decode())


def test_parts_and_supplies(desk: Desk) -> None:
    SourceWater.objects.all().delete()
    said = page(desk)
    # tank 1,000, moving bed 80, sump 120 and raft 300 L
    assert "For 1500\u00a0L of water" in said or "For 1,500\u00a0L of water" in said
    assert "Moving bed" in said
    # two square metres: 45 g a day for each, for 45 days
    assert "4.1\u00a0kg" in said
    assert "The source water was not measured" in said


def test_source_water_counts(desk: Desk) -> None:
    SourceWater.objects.all().delete()
    SourceWater.objects.create(
        place=desk.place, on=TODAY, ph=7.5, alkalinity_mg_l_caco3=120, total_chlorine_mg_l=1.0
    )
    said = page(desk)
    assert "Sodium thiosulfate" in said
    # 7.0 g and a tenth more for each gram of chlorine: 11.55 g in 1,500 L
    assert "12\u00a0g" in said
    assert "was not measured" not in said


def test_without_parts_or_litres_it_says_what_to_do(desk: Desk) -> None:
    Component.objects.filter(loop=desk.built.loop).update(litres=None)
    assert "The litres are not known" in page(desk)
    Component.objects.filter(loop=desk.built.loop).update(removed_on=TODAY)
    assert "No parts are entered" in page(desk)


def test_for_a_spreadsheet(desk: Desk) -> None:
    answer = desk.get("supply_list_csv", desk.built.system.pk)
    rows = list(csv.DictReader(io.StringIO(b"".join(answer).decode("utf-8-sig"))))
    assert {"part", "supply"} == {row["what"] for row in rows}
    assert any(row["name"] == "Ammonium chloride (cycling)" for row in rows)
