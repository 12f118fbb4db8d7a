"""The due list: its order, its reasons, and what it costs."""

import datetime as dt
from itertools import permutations
from typing import Any
from uuid import uuid4

import pytest

from apps.care.models import CareTask, Completion, Standing
from apps.care.selectors import due_rows, ranked
from apps.care.services import completions_set, task_save, tasks_recompute
from apps.core.exceptions import Invalid
from apps.core.scoping import Actor
from tests import factories
from tests.factories import NOW, TODAY

pytestmark = pytest.mark.django_db
OFFICE = Actor(role="office", at=NOW)


@pytest.fixture
def place() -> Any:
    return factories.place(factories.client("Okafor"))


def stand(place: Any, name: str, **values: Any) -> Standing:
    """A system with the given standing and nothing else."""
    built = factories.system(place, name)
    factories.quiet(built)
    row = Standing.objects.get(system=built.system)
    for key in ("due_from", "due_by", "late_a_from"):
        setattr(row, key, None)
    for key, value in values.items():
        setattr(row, key, value)
    row.save()
    return row


def test_order(place: Any) -> None:
    day = dt.timedelta(days=1)
    late = {"due_from": TODAY - 9 * day, "due_by": TODAY - 3 * day}
    stand(place, "quiet")
    stand(place, "due", due_from=TODAY, due_by=TODAY + 4 * day)
    stand(place, "late", **late)
    stand(place, "out", fixed_class=4, worst_judgement="out_of_band", worst={"measurand": "ph"})
    stand(place, "late a, 3", **late, late_a_from=TODAY - 3 * day)
    stand(place, "late a, 8", **late, late_a_from=TODAY - 8 * day)
    stand(place, "harmful", fixed_class=2, worst_judgement="harmful", worst={"measurand": "ph"})
    stand(place, "urgent", fixed_class=1, advice_urgency="today", advice={"text": "Do it"})
    rows = due_rows(ranked(OFFICE, TODAY), TODAY)
    assert [row.system.name for row in rows] == [
        "urgent", "harmful", "late a, 8", "late a, 3", "out", "late", "due",
    ]  # fmt: skip
    assert [row.rank for row in rows] == list(range(1, 8))
    assert rows[-2].days_late == 3


def test_ties_go_by_id(place: Any) -> None:
    first = stand(place, "b", fixed_class=1, advice_urgency="now", advice={"text": "x"})
    second = stand(place, "a", fixed_class=1, advice_urgency="today", advice={"text": "x"})
    rows = list(ranked(OFFICE, TODAY))
    assert [row.pk for row in rows] == sorted([first.pk, second.pk])


def test_a_page_says_what_the_whole_list_says(place: Any) -> None:
    for name in ("one", "two", "three"):
        factories.system(place, name)
    everyone = ranked(OFFICE, TODAY)
    whole = due_rows(everyone, TODAY)
    assert all(row.tasks for row in whole)
    assert due_rows(everyone[:2], TODAY) + due_rows(everyone[2:], TODAY, 3) == whole


def test_a_fixed_number_of_queries(place: Any, same_queries: Any) -> None:
    def call() -> None:
        due_rows(ranked(OFFICE, TODAY), TODAY)

    factories.system(place, "one")
    assert same_queries(call, lambda: [factories.system(place, f"s{n}") for n in range(3)]) == 2


class TestCompletions:
    def test_order_and_repeats_do_not_matter(self, place: Any) -> None:
        built = factories.system(place, "s")
        task = CareTask.objects.get(system=built.system, code="water_full_test")
        days = [TODAY - dt.timedelta(days=n) for n in (3, 17, 1, 30)]
        keys = [uuid4() for _ in days]
        for key, day in [*zip(keys, days, strict=True)] * 2:
            completions_set(
                visit_id=key, first=False, done=[(key, task.pk)], tasks={task.pk: task},
                done_on=day, by="t", at=NOW,
            )  # fmt: skip
        task.refresh_from_db()
        assert Completion.objects.filter(task=task).count() == 4
        assert task.last_done == TODAY - dt.timedelta(days=1)
        assert task.next_due == TODAY + dt.timedelta(days=13)
        before = (task.next_open, task.next_due, task.next_late)
        tasks_recompute(task_ids=[task.pk], at=NOW)
        task.refresh_from_db()
        assert (task.next_open, task.next_due, task.next_late) == before


@pytest.mark.parametrize("mode", ["fixed", "calendar"])
def test_a_series_goes_by_the_day_not_by_when_the_report_came(place: Any, mode: str) -> None:
    """Weekly from a Monday, open two days before: each order of arrival leads to the same state."""
    built = factories.system(place, "s")
    CareTask.objects.filter(system=built.system).delete()
    monday = TODAY - dt.timedelta(days=TODAY.weekday() + 21)
    days = [monday + dt.timedelta(days=n) for n in (0, 5, 16)]
    found = []
    for number, order in enumerate(permutations(days)):
        task = CareTask(
            system=built.system, code=f"x{number}", mode=mode, unit="week", anchor=monday,
            rrule="FREQ=WEEKLY" if mode == "calendar" else "", early_min_days=2, early_max_days=2,
        )  # fmt: skip
        task_save(task=task, at=NOW)
        for day in order:
            completions_set(
                visit_id=uuid4(), first=False, done=[(uuid4(), task.pk)], tasks={task.pk: task},
                done_on=day, by="t", at=NOW,
            )  # fmt: skip
        answered = dict(task.completions.values_list("done_on", "occurrence"))
        found.append((answered, task.last_done, task.last_occurrence, task.next_due))
    assert all(state == found[0] for state in found)
    answered, _last, occurrence, due = found[0]
    assert list(map(answered.get, days)) == [monday + dt.timedelta(days=n) for n in (0, 7, 14)]
    assert (occurrence, due) == (days[0] + dt.timedelta(days=14), monday + dt.timedelta(days=21))


@pytest.mark.parametrize("mode", ["condition", "forecast"])
def test_a_rule_by_a_limit_names_it(place: Any, mode: str) -> None:
    built = factories.system(place, "s")
    with pytest.raises(Invalid) as error:
        task_save(task=CareTask(system=built.system, code="x", mode=mode), at=NOW)
    assert error.value.errors[0]["pointer"] == "/condition"


@pytest.mark.parametrize(
    ("rule", "field"),
    [({"mode": "sometimes"}, "mode"), ({"mode": "fixed"}, "anchor"), ({"mode": "once"}, "anchor"),
     ({"mode": "calendar", "anchor": TODAY, "rrule": "FREQ=OFTEN"}, "rrule"),
     ({"mode": "calendar", "rrule": "FREQ=WEEKLY"}, "anchor"),
     ({"mode": "meter", "meter": "knots", "meter_limit": 5.0, "max_days": 9}, "meter"),
     ({"mode": "meter", "meter": "litres", "meter_limit": 0.0, "max_days": 9}, "meter_limit"),
     ({"mode": "meter", "meter": "litres", "meter_limit": 5.0}, "max_days"),
     ({"season_from": "04-15"}, "season_to"), ({"every_n": 0}, "every_n"),
     ({"mode": "condition"}, "condition")],
)  # fmt: skip
def test_a_bad_rule_names_its_field(place: Any, rule: dict[str, Any], field: str) -> None:
    built = factories.system(place, "s")
    with pytest.raises(Invalid) as error:
        task_save(task=CareTask(system=built.system, code="x", **rule), at=NOW)
    row = error.value.errors[0]
    assert row["pointer"] == f"/{field}"
    assert row["message"].startswith(f"{field}: ")
    assert not CareTask.objects.filter(code="x").exists()
