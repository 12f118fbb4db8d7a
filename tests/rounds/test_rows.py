"""What the tables of the planning take, and what holds still."""

import datetime as dt
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.db import DatabaseError, IntegrityError, transaction

from apps.clients.models import Place
from apps.flows.rounds import plan_accept, plan_drop
from apps.rounds.models import Absence, Crew, PlanningSettings, RoundPlan, WorkingHours
from tests import factories
from tests.rounds.world import MONDAY, TODAY, Town, wants


def refused(row: Any, match: str) -> None:
    """Both the forms and the database refuse it."""
    with pytest.raises(ValidationError):
        row.full_clean()
    with pytest.raises(IntegrityError, match=match), transaction.atomic():
        row.save(force_insert=True)


def test_a_place_has_both_coordinates_or_none(firm: Town) -> None:
    place = firm.garden("Heron").system.place
    for half in ({"latitude": None}, {"longitude": None}, {"latitude": 95.0}):
        with pytest.raises(IntegrityError, match="place_on_earth"), transaction.atomic():
            Place.objects.filter(pk=place.pk).update(**half)
    Place.objects.filter(pk=place.pk).update(latitude=None, longitude=None)


def test_crew(firm: Town) -> None:
    refused(Crew(user=firm.ana, latitude=50.0), "crew_on_earth")
    refused(Crew(user=firm.ana, latitude=95.0, longitude=4.0), "crew_on_earth")
    refused(Crew(user=firm.ana, starts_from="road"), "crew_starts_from_known")
    refused(Crew(user=firm.ana, overtime_minutes=500), "crew_overtime_minutes")
    refused(Crew(user=firm.ana, overtime_share="-0.1"), "crew_overtime_share")
    Crew.objects.create(user=firm.ana, latitude=50.0, longitude=4.0)
    refused(Crew(user=firm.ana), "user_id")


@pytest.mark.parametrize("skills", ["electric", {"a": 1}, [1], [""], ["x" * 41], [" fish"]])
def test_skills_are_a_list_of_words(firm: Town, skills: Any) -> None:
    with pytest.raises(ValidationError, match="give a list of words"):
        Crew(user=firm.ana, skills=skills).full_clean()


def test_hours_and_absences(firm: Town) -> None:
    hours = {"user": firm.ana, "weekday": 1, "starts": dt.time(8), "ends": dt.time(16)}
    refused(WorkingHours(**hours | {"ends": dt.time(7)}), "working_hours_in_order")
    refused(WorkingHours(**hours | {"weekday": 8}), "working_weekday")
    refused(WorkingHours(**hours, lunch_until=dt.time(9)), "lunch_in_order")
    WorkingHours.objects.create(**hours)
    refused(WorkingHours(**hours), "weekday")
    refused(Absence(user=firm.ana, first=MONDAY, last=TODAY), "absence_in_order")
    refused(Absence(user=firm.ana, first=TODAY, last=MONDAY, part="night"), "absence_part_known")


def test_one_row_of_settings(firm: Town) -> None:
    refused(PlanningSettings(pk=2), "planning_one_row")
    row = PlanningSettings.objects.get()
    for change, name in (
        ({"detour": 0.5}, "planning_detour"), ({"town_kmh": 0}, "planning_speeds"),
        ({"base_latitude": None}, "base_on_earth"), ({"days_ahead": 0}, "planning_days"),
        ({"per_km": -1}, "planning_per_km"), ({"parking_minutes": 90}, "planning_parking"),
    ):  # fmt: skip
        with pytest.raises(IntegrityError, match=name), transaction.atomic():
            PlanningSettings.objects.filter(pk=row.pk).update(**change)


@pytest.mark.parametrize("how", ["accepted", "dropped"])
def test_a_plan_that_has_ended_holds_still(firm: Town, how: str) -> None:
    wants(firm.garden("Heron"), MONDAY)
    plan = firm.plan()
    rows = RoundPlan.objects.filter(pk=plan.pk)
    assert rows.update(share=0.9) == 1
    if how == "accepted":
        plan_accept(plan=plan, today=TODAY, by=firm.by, at=factories.NOW)
    else:
        plan_drop(plan=plan, by=firm.by, at=factories.NOW)
    for change in ({"state": "ready"}, {"plan": {}}, {"ended_by": "nobody"}):
        with pytest.raises(DatabaseError, match="the plan has ended"), transaction.atomic():
            rows.update(**change)
    with pytest.raises(DatabaseError, match="the plan has ended"), transaction.atomic():
        rows._raw_delete(rows.db)


def test_effort_is_seconds_or_iterations(firm: Town) -> None:
    plan = firm.plan()
    for change in ({"seconds": 5}, {"iterations": None}):
        with pytest.raises(IntegrityError, match="plan_effort_once"), transaction.atomic():
            RoundPlan.objects.filter(pk=plan.pk).update(**change)
