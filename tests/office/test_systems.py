"""Systems: parts, flows, life and care plans as the office enters them."""

import datetime as dt
from typing import Any

import pytest

from apps.batches.models import FishBatch, HarvestHold, Picking, Planting, Weighing
from apps.care.models import CareTask, Standing
from apps.systems.models import Component, Flow, Loop, System
from tests.office.conftest import Desk


@pytest.mark.parametrize(
    ("kind", "loops"),
    [("coupled", ["whole"]), ("decoupled", ["fish", "plant"]), ("fish_only", ["fish"]),
     ("plants_only", ["plant"])],
)  # fmt: skip
def test_the_loops_follow_from_the_kind(desk: Desk, kind: str, loops: list[str]) -> None:
    desk.post("system_new", desk.place.pk, name="Roof", kind=kind, started_on="2026-06-01")
    system = System.objects.get(name="Roof")
    assert sorted(system.loops.values_list("kind", flat=True)) == loops
    assert Standing.objects.filter(system=system).exists()


def test_a_system_is_changed_and_two_see_both(desk: Desk) -> None:
    system = desk.built.system
    mine = {"name": "Patio, south", "rev": system.rev, "active": "on", "started_on": "2025-03-01"}
    assert desk.post("system_edit", system.pk, **mine).status_code == 302
    answer = desk.post("system_edit", system.pk, **(mine | {"name": "Patio, north"}))
    assert answer.status_code == 422
    assert ("Name", "Patio, south", "Patio, north") in answer.context["both"]


def test_it_cannot_end_before_it_began(desk: Desk) -> None:
    values = {"name": "P", "rev": 1, "started_on": "2025-03-01", "ended_on": "2024-03-01"}
    answer = desk.post("system_edit", desk.built.system.pk, **values)
    assert "ended_on" in answer.context["form"].errors


def part(desk: Desk, **more: Any) -> dict[str, Any]:
    return {
        "loop": str(desk.built.loop.pk), "kind": "sump", "name": "Second sump",
        "place_in_flow": "7", "litres": "250",
    } | more  # fmt: skip


def test_a_part_is_added_changed_and_taken_off(desk: Desk) -> None:
    answer = desk.post("component_new", desk.built.system.pk, **part(desk, again="1"))
    assert answer.url.endswith("/parts/new/")
    row = Component.objects.get(name="Second sump")
    desk.post("component_edit", row.pk, **part(desk, litres="300,5"))
    row.refresh_from_db()
    assert row.litres == 300.5
    desk.post("component_remove", row.pk, on="2026-06-11")
    row.refresh_from_db()
    assert row.removed_on == dt.date(2026, 6, 11)
    assert desk.get("component_edit", row.pk).status_code == 404


def test_media_and_its_litres_go_together(desk: Desk) -> None:
    answer = desk.post("component_new", desk.built.system.pk, **part(desk, media="moving_bed"))
    assert answer.status_code == 422
    assert "media_litres" in answer.context["form"].errors


def test_a_swap_moves_the_flows_and_keeps_the_old_part(desk: Desk) -> None:
    tank = desk.built.tank
    values = {
        "on": "2026-06-10", "name": "Tank 2", "litres": "1200", "serial": "T-77",
        "warranty_until": "2028-06-10",
    }  # fmt: skip
    desk.post("component_swap", tank.pk, **values)
    fresh = Component.objects.get(replaces=tank)
    assert (fresh.kind, fresh.serial, fresh.place_in_flow) == ("tank", "T-77", tank.place_in_flow)
    assert Flow.objects.filter(source=fresh).exists()
    page = desk.get("system", desk.built.system.pk).content.decode()
    assert "Tank 2 T-77 in the place of Tank." in page


def test_flows_are_joined_once_and_undone(desk: Desk) -> None:
    system = desk.built.system
    values = {
        "source": str(desk.built.raft.pk), "target": str(desk.built.tank.pk), "kind": "by_hand",
        "litres_per_day": "40", "one_way": "on",
    }  # fmt: skip
    desk.post("flow_new", system.pk, **values)
    flow = Flow.objects.get(kind="by_hand")
    assert flow.one_way
    assert desk.post("flow_new", system.pk, **values).status_code == 422
    itself = values | {"target": values["source"]}
    assert desk.post("flow_new", system.pk, **itself).status_code == 422
    desk.post("flow_remove", flow.pk)
    assert not Flow.objects.filter(pk=flow.pk).exists()


def test_a_loops_litres_are_measured(desk: Desk) -> None:
    desk.post("loop_edit", desk.built.loop.pk, measured_litres="1450", volume_known_within_pct="3")
    assert Loop.objects.get().measured_litres == 1450


def test_fish_are_stocked_weighed_and_counted_dead(desk: Desk) -> None:
    system, loop = desk.built.system, desk.built.loop
    values = {
        "loop": str(loop.pk), "species_code": "koi", "count": "12", "mean_weight_g": "80",
        "stocked_on": "2026-06-01",
    }  # fmt: skip
    desk.post("fish_stock", system.pk, **values)
    koi = FishBatch.objects.get(species_code="koi")
    bad = desk.post("fish_weigh", koi.pk, on="2026-06-10", weights_g="80 ninety")
    assert "&#x27;ninety&#x27; is not a number." in bad.content.decode()
    desk.post("fish_weigh", koi.pk, on="2026-06-10", weights_g="80 90,5\n85")
    assert Weighing.objects.get(batch=koi).mean_g == pytest.approx(85.1667, rel=1e-4)
    desk.post("fish_deaths", koi.pk, on="2026-06-11", count="2", note="jumped")
    assert koi.deaths.get().count == 2


def test_plants_are_sown_set_out_and_picked_to_the_last(desk: Desk) -> None:
    values = {
        "component": str(desk.built.raft.pk), "crop_code": "basil", "count": "20",
        "sown_on": "2026-06-01",
    }  # fmt: skip
    nothing = values | {"sown_on": ""}
    assert desk.post("plant_new", desk.built.system.pk, **nothing).status_code == 422
    desk.post("plant_new", desk.built.system.pk, **values)
    basil = Planting.objects.get(crop_code="basil")
    desk.post("plant_out", basil.pk, transplanted_on="2026-06-08")
    assert desk.post("plant_pick", basil.pk, on="2026-06-11").status_code == 422
    desk.post("plant_pick", basil.pk, on="2026-06-11", mass_kg="0,4", finished="on")
    basil.refresh_from_db()
    assert basil.ended_on == dt.date(2026, 6, 11)
    assert Picking.objects.get().mass_kg == 0.4


def test_a_treatment_puts_its_hold_on_the_page(desk: Desk) -> None:
    values = {
        "loop": str(desk.built.loop.pk), "product": "Salt bath", "lot": "S-118",
        "on_whose_word": "Dr Lindqvist", "began_on": "2026-06-04", "touches": "fish",
        "hold_until": "2026-06-01",
    }  # fmt: skip
    assert desk.post("treat", desk.built.system.pk, **values).status_code == 422
    desk.post("treat", desk.built.system.pk, **(values | {"hold_until": "2026-06-14"}))
    assert HarvestHold.objects.get().touches == "fish"
    page = desk.get("system", desk.built.system.pk).content.decode()
    assert "Harvest hold until Sun 14 June." in page
    assert desk.get("systems", show="hold").context["page"].paginator.count == 1


def task(**more: Any) -> dict[str, Any]:
    return {
        "code": "water_full_test", "mode": "after_done", "every_n": "2", "unit": "week",
        "anchor": "2026-06-20", "month_end": "clamp", "early_days": "1", "late_days": "3",
        "off_season": "hold", "minutes": "25", "who": "technician", "criticality": "B",
        "active": "on",
    } | more  # fmt: skip


@pytest.fixture
def bare(desk: Desk) -> System:
    """A system without a plan."""
    CareTask.objects.all().delete()
    return desk.built.system


def test_the_plan_is_made_from_the_catalogue_once(desk: Desk, bare: System) -> None:
    desk.post("plan_make", bare.pk)
    count = CareTask.objects.filter(system=bare).count()
    assert count > 20
    desk.post("plan_make", bare.pk)
    assert CareTask.objects.filter(system=bare).count() == count


def test_a_task_gets_its_dates(desk: Desk, bare: System) -> None:
    desk.post("task_new", bare.pk, **task())
    row = CareTask.objects.get()
    assert row.next_due == dt.date(2026, 6, 20)
    assert (row.next_open, row.next_late) == (dt.date(2026, 6, 19), dt.date(2026, 6, 23))
    twice = desk.post("task_new", bare.pk, **task())
    assert "This task is in the plan already." in twice.content.decode()


@pytest.mark.parametrize("mode", ["meter", "forecast"])
def test_rules_that_are_not_built_are_refused_at_their_field(
    desk: Desk, bare: System, mode: str
) -> None:
    answer = desk.post("task_new", bare.pk, **task(mode=mode))
    assert answer.status_code == 422
    assert f"Rules by a {mode} are not built yet" in answer.context["form"].errors["mode"][0]


@pytest.mark.parametrize(
    ("wrong", "field"),
    [({"mode": "fixed", "anchor": ""}, "anchor"), ({"mode": "condition"}, "measurand"),
     ({"season_from": "04-15"}, "season_to"), ({"season_from": "13-40"}, "season_from"),
     ({"every_n": "0"}, "every_n"), ({"every_n": "1_0"}, "every_n")],
)  # fmt: skip
def test_half_a_rule_is_refused(
    desk: Desk, bare: System, wrong: dict[str, str], field: str
) -> None:
    answer = desk.post("task_new", bare.pk, **task(**wrong))
    assert answer.status_code == 422
    assert field in answer.context["form"].errors


def test_a_task_after_a_reading_sleeps_until_it(desk: Desk, bare: System) -> None:
    desk.post("task_new", bare.pk, **task(mode="condition", measurand="alk", below="40"))
    row = CareTask.objects.get()
    assert row.condition == {"measurand": "alk", "below": 40.0}
    assert row.next_due is None


def test_a_task_is_changed_and_taken_out(desk: Desk, bare: System) -> None:
    desk.post("task_new", bare.pk, **task())
    row = CareTask.objects.get()
    values = task(every_n="3", season_from="04-15", season_to="10-31")
    del values["active"]
    desk.post("task_edit", row.pk, **values)
    row.refresh_from_db()
    assert (row.every_n, row.season_from, row.active, row.rule_version) == (3, "04-15", False, 2)
    assert "Taken out" in desk.get("plan", bare.pk).content.decode()


@pytest.mark.parametrize("page", ["component_swap", "component_remove"])
def test_a_part_cannot_go_on_a_day_that_lies_ahead(desk: Desk, page: str) -> None:
    answer = desk.post(page, desk.built.tank.pk, on="2026-06-12", name="Tank 2", litres="1200")
    assert answer.status_code == 422
    assert "lies ahead" in answer.context["form"].errors["on"][0]
    assert Component.objects.get(pk=desk.built.tank.pk).removed_on is None
