"""Systems: parts, flows, life and care plans as the office enters them."""

import datetime as dt
import html
import re
from typing import Any

import pytest
from django.urls import reverse

from apps.accounts.models import AuditEntry
from apps.batches.models import FishBatch, HarvestHold, Picking, Planting, Weighing
from apps.care.models import CarePlan, CareTask, MeterReading, Standing
from apps.core.models import Job
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


def test_the_visits_agreed_are_kept_and_their_days_planned_anew(desk: Desk, bare: System) -> None:
    asked = Job.objects.filter(kind="care.visit_days")
    asked.delete()
    assert desk.post("plan_agreed", bare.pk, visits_a_year="0").status_code == 422
    assert desk.post("plan_agreed", bare.pk, visits_a_year="many").status_code == 422
    assert not asked.exists()
    assert desk.post("plan_agreed", bare.pk, visits_a_year="12").status_code == 302
    assert CarePlan.objects.get(system=bare).visits_a_year == 12
    assert asked.count() == 1
    assert "12 visits a year are agreed." in desk.get("plan", bare.pk).content.decode()
    assert desk.post("plan_agreed", bare.pk, visits_a_year="").status_code == 302
    assert CarePlan.objects.get(system=bare).visits_a_year is None


def test_a_task_gets_its_dates(desk: Desk, bare: System) -> None:
    desk.post("task_new", bare.pk, **task())
    row = CareTask.objects.get()
    assert row.next_due == dt.date(2026, 6, 20)
    assert (row.next_open, row.next_late) == (dt.date(2026, 6, 19), dt.date(2026, 6, 23))
    twice = desk.post("task_new", bare.pk, **task())
    assert "This task is in the plan already." in twice.content.decode()


def test_what_the_plan_has_for_the_whole_system_is_not_offered_again(
    desk: Desk, bare: System
) -> None:
    def offered() -> set[str]:
        page = desk.get("task_new", bare.pk).content.decode()
        return set(re.findall(r'<option value="([a-z_]+)"', page.split('name="code"')[1]))

    # one of the whole system, one of pumps, one that is read in a loop
    codes = {"records_read", "pump_service", "water_full_test"}
    assert codes <= offered()
    for code in codes:
        desk.post("task_new", bare.pk, **task(code=code))
    assert CareTask.objects.count() == 3
    assert codes & offered() == {"pump_service"}
    Loop.objects.create(system=bare, kind="plant")
    assert codes & offered() == {"pump_service", "water_full_test"}
    CareTask.objects.update(active=False)
    assert codes <= offered()


def test_a_number_out_of_range_hears_the_range(desk: Desk, bare: System) -> None:
    for every in ("99999999", "9" * 400):
        answer = desk.post("task_new", bare.pk, **task(every_n=every))
        assert "A number from 1 to 3,650 is needed." in answer.content.decode()
    assert (
        "rite a number such as"
        in desk.post("task_new", bare.pk, **task(every_n="often")).content.decode()
    )


def test_a_rule_by_the_forecast_needs_its_limit(desk: Desk, bare: System) -> None:
    answer = desk.post("task_new", bare.pk, **task(mode="forecast"))
    assert answer.status_code == 422
    assert "measurand" in answer.context["form"].errors
    desk.post("task_new", bare.pk, **task(mode="forecast", measurand="no2", above="0.5"))
    row = CareTask.objects.get()
    assert (row.condition, row.next_due, row.basis) == (
        {"measurand": "no2", "above": 0.5}, None, "forecast",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("wrong", "field"),
    [({"mode": "fixed", "anchor": ""}, "anchor"), ({"mode": "condition"}, "measurand"),
     ({"mode": "condition", "measurand": "ph", "below": "low"}, "below"),
     ({"mode": "condition", "measurand": "no2", "below": "0.8", "above": "0.5"}, "below"),
     ({"mode": "once", "anchor": ""}, "anchor"),
     ({"mode": "calendar"}, "rrule"), ({"mode": "calendar", "rrule": "FREQ=OFTEN"}, "rrule"),
     ({"mode": "calendar", "rrule": "FREQ=WEEKLY", "anchor": ""}, "anchor"),
     ({"mode": "meter", "meter": "knots", "meter_limit": "5", "max_days": "9"}, "meter"),
     ({"mode": "meter", "meter": "litres", "meter_limit": "0", "max_days": "9"}, "meter_limit"),
     ({"mode": "meter", "meter": "litres", "meter_limit": "5"}, "max_days"),
     ({"meter": "litres"}, "meter_limit"), ({"meter_limit": "5"}, "meter"),
     ({"measurand": "no2"}, "below"), ({"above": "5"}, "measurand"),
     ({"season_from": "04-15"}, "season_to"), ({"season_from": "13-40"}, "season_from"),
     ({"every_n": "0"}, "every_n"), ({"every_n": "1_0"}, "every_n")],
)  # fmt: skip
def test_half_a_rule_is_refused(
    desk: Desk, bare: System, wrong: dict[str, str], field: str
) -> None:
    answer = desk.post("task_new", bare.pk, **task(**wrong))
    assert answer.status_code == 422
    assert next(iter(answer.context["form"].errors)) == field
    assert f'id="id_{field}_error"' in answer.content.decode()
    assert not CareTask.objects.exists()
    asked = desk.post("task_new", bare.pk, **task(**wrong), preview="1")
    assert asked.context["form"].errors == answer.context["form"].errors


def test_the_dates_are_shown_before_and_nothing_is_kept(desk: Desk, bare: System) -> None:
    """The first Mondays from June 2026 on, by the wall calendar: 6 July, 3 August, 7 September."""
    rule = task(mode="calendar", rrule="FREQ=MONTHLY;BYDAY=1MO", early_days="2", late_days="3")
    audited = AuditEntry.objects.count()
    answer = desk.post("task_new", bare.pk, **rule, preview="1")
    assert answer.status_code == 200
    due = [dates.due for dates in answer.context["ahead"]]
    assert due[:3] == [dt.date(2026, 7, 6), dt.date(2026, 8, 3), dt.date(2026, 9, 7)]
    assert len(due) == 10
    page = answer.content.decode()
    assert "Mon 6 July 2026" in page
    assert "open from Sat 4 July, late after Thu 9 July" in page
    assert "FREQ=MONTHLY;BYDAY=1MO" in page
    assert not CareTask.objects.exists()
    assert AuditEntry.objects.count() == audited
    desk.post("task_new", bare.pk, **rule)
    assert CareTask.objects.get().next_due == due[0]


def test_the_dates_of_a_changed_rule_are_shown_and_it_stays(desk: Desk, bare: System) -> None:
    desk.post("task_new", bare.pk, **task())
    row = CareTask.objects.get()
    answer = desk.post("task_edit", row.pk, **task(every_n="5"), preview="1")
    assert len(answer.context["ahead"]) == 10
    assert CareTask.objects.values().get() == {
        name: getattr(row, name) for name in CareTask.objects.values().get()
    }
    asleep = desk.post("task_edit", row.pk, **task(mode="every_visit"), preview="1")
    assert "names no day of its own" in asleep.content.decode()


def test_what_another_mode_asks_for_is_not_looked_at(desk: Desk, bare: System) -> None:
    rule = task(mode="every_visit", every_n="0", rrule="OFTEN", season_from="13-40", below="low")
    desk.post("task_new", bare.pk, **rule)
    row = CareTask.objects.get()
    assert (row.every_n, row.rrule, row.season_from, row.condition) == (1, "", "", {})


def test_a_counter_is_read_on_the_page_of_its_system(desk: Desk, bare: System) -> None:
    desk.post(
        "task_new", bare.pk,
        **task(mode="meter", meter="run_hours", meter_limit="500", max_days="200"),
    )  # fmt: skip
    row = CareTask.objects.get()
    address = reverse("office:meter_new", args=[row.pk])
    page = desk.get("system", bare.pk).content.decode()
    assert address in page
    assert "every 500 hours run" in page
    assert "hours run" in desk.get("meter_new", row.pk).content.decode()
    desk.post("meter_new", row.pk, taken_on="2026-06-01", value="1200")
    desk.post("meter_new", row.pk, taken_on="2026-06-11", value="1400,5")
    assert list(MeterReading.objects.order_by("taken_on").values_list("value", flat=True)) == [
        1200.0, 1400.5,
    ]  # fmt: skip
    back = desk.post("meter_new", row.pk, taken_on="2026-06-11", value="1300")
    assert back.status_code == 422
    assert "runs backwards" in back.context["form"].errors["value"][0]
    assert MeterReading.objects.count() == 2
    new = desk.post("meter_new", row.pk, taken_on="2026-06-11", value="3", is_reset="on")
    assert new.status_code == 302


def test_a_task_comes_by_days_by_its_counter_or_by_a_reading(desk: Desk, bare: System) -> None:
    rule = task(
        every_n="90", unit="day", meter="feed_g", meter_limit="20000", measurand="no3", above="150"
    )
    assert len(desk.post("task_new", bare.pk, **rule, preview="1").context["ahead"]) == 10
    desk.post("task_new", bare.pk, **rule)
    row = CareTask.objects.get()
    assert (row.meter, row.meter_limit, row.max_days) == ("feed_g", 20000.0, None)
    page = desk.get("system", bare.pk).content.decode()
    said = (
        "every 90 days, every 20,000 grams of feed, or once nitrate as N reads over 150\u00a0mg/L"
    )
    assert f"{said}, whichever comes first" in html.unescape(page)
    assert reverse("office:meter_new", args=[row.pk]) in page
    assert desk.get("meter_new", row.pk).status_code == 200


def test_a_reading_that_was_wrong_is_withdrawn_and_stays_seen(desk: Desk, bare: System) -> None:
    desk.post(
        "task_new", bare.pk,
        **task(mode="meter", meter="run_hours", meter_limit="500", max_days="200"),
    )  # fmt: skip
    row = CareTask.objects.get()
    desk.post("meter_new", row.pk, taken_on="2026-06-01", value="1200")
    desk.post("meter_new", row.pk, taken_on="2026-06-10", value="13140")
    wrong = MeterReading.objects.get(value=13140.0)
    assert (
        reverse("office:meter_end", args=[wrong.pk])
        in desk.get("meter_new", row.pk).content.decode()
    )
    asked = desk.get("meter_end", wrong.pk).context["lead"]
    assert asked.startswith("13,140 hours run, read on Wed 10 June 2026.")
    assert desk.post("meter_end", wrong.pk, reason=" ").status_code == 422
    answer = desk.post("meter_end", wrong.pk, reason="A digit too many")
    assert answer.url == reverse("office:meter_new", args=[row.pk])
    page = desk.get("meter_new", row.pk).content.decode()
    assert "<s>13,140</s>" in page
    assert "A digit too many" in page
    assert reverse("office:meter_end", args=[wrong.pk]) not in page
    again = desk.post("meter_end", wrong.pk, reason="Once more")
    assert again.status_code == 422
    assert "withdrawn already" in again.content.decode()


def test_the_page_of_a_counter_takes_as_many_queries_for_many(
    desk: Desk, bare: System, same_queries: Any
) -> None:
    desk.post(
        "task_new", bare.pk,
        **task(mode="meter", meter="run_hours", meter_limit="500", max_days="200"),
    )  # fmt: skip
    row = CareTask.objects.get()

    def more() -> None:
        last = MeterReading.objects.count()
        for n in range(last, last + 3):
            desk.post("meter_new", row.pk, taken_on="2026-06-10", value=str(100 + n))
        wrong = MeterReading.objects.order_by("-value").first()
        desk.post("meter_end", wrong.pk, reason="wrong")

    more()
    same_queries(lambda: desk.get("meter_new", row.pk), more)


def test_a_task_without_a_counter_has_no_page_for_one(desk: Desk, bare: System) -> None:
    desk.post("task_new", bare.pk, **task())
    assert desk.get("meter_new", CareTask.objects.get().pk).status_code == 404


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
