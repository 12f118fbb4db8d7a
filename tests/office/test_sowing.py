"""Sowings: seed, days and bed for so many heads a week, and what will be picked."""

import datetime as dt

import pytest

from apps.batches.models import Planting
from tests.factories import TODAY
from tests.office.conftest import Desk

pytestmark = pytest.mark.django_db
ASKED = {
    "crop": "lettuce_loose_leaf", "heads": "20", "first": TODAY.isoformat(), "temp_c": "20",
    "tested_pct": "", "age_years": "", "area_m2": "10",
}  # fmt: skip


def page(desk: Desk, **query: str) -> str:
    answer = desk.get("sowings", desk.built.system.pk, **query)
    assert answer.status_code == 200
    return str(answer.content.decode())


def test_seed_days_and_bed(desk: Desk) -> None:
    said = page(desk, **ASKED)
    # 20 / 0.99 / 0.9 = 22.4; 20 x 32 / 7 = 91.4 plants on 91.4 / 25 to 91.4 / 20 m2
    assert "Sow 23 seeds a week: 99 % come up, and nine of ten" in said
    assert "At 20 °C they come up in about 3 days." in said
    assert "92 plants then stand in the bed, on 3.7 to 4.6\u00a0m²." in said
    # sown on 11 June: planted out from day 18 to 21, picked from day 42 to 53
    assert "<td>29 June – 2 July</td><td>23 July – 3 August</td>" in said
    assert "too small" not in said


def test_heat_old_seed_and_a_small_bed_are_named(desk: Desk) -> None:
    said = page(desk, **ASKED | {"temp_c": "29", "age_years": "5", "area_m2": "1"})
    assert "over 26 °C few come up" in said
    assert "past its 3 years" in said
    assert "it gives about 5 heads a week" in said


def test_a_crop_of_which_nothing_is_published_says_so(desk: Desk) -> None:
    assert "80 % come up (assumed, for nothing is published)" in page(
        desk, **ASKED | {"crop": "basil"}
    )


def test_a_bad_figure_stays_and_says_what_to_write(desk: Desk) -> None:
    answer = desk.get("sowings", desk.built.system.pk, **ASKED | {"heads": "many"})
    assert answer.status_code == 422
    assert 'value="many"' in answer.content.decode()


def test_what_will_be_picked_of_what_stands(desk: Desk) -> None:
    Planting.objects.all().delete()
    assert "Nothing stands in the beds" in page(desk)
    Planting.objects.create(
        component=desk.built.raft, crop_code="lettuce_loose_leaf", count=18,
        transplanted_on=TODAY - dt.timedelta(days=24),
    )  # fmt: skip
    said = page(desk)
    # nine days of picking from today: two a day, so 14 this week and 4 in the next
    assert '<td class="number">14</td><td class="number">4</td>' in said
