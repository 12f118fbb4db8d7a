"""Many rows written at once."""

import datetime as dt

import pytest
from django.db import IntegrityError, transaction

from apps.care.models import CareTask, Standing
from apps.core.bulk import rows_insert, rows_update
from apps.core.models import Job
from tests import factories

pytestmark = pytest.mark.django_db


def job(key: str) -> Job:
    """A row with text, JSON, times and an empty column."""
    at = factories.NOW.replace(microsecond=123456)
    return Job(kind="t", key=key, args={"ü": [1, 2.5, None]}, run_at=at, made_at=at)


class TestRowsInsert:
    def test_writes_what_django_itself_writes(self) -> None:
        rows_insert([job("ours"), job("ours too")])
        Job.objects.bulk_create([job("theirs")])
        rows = Job.objects.values("kind", "args", "state", "run_at", "lease_until", "last_error")
        assert len(rows) == 3
        assert rows[0] == rows[1] == rows[2]

    def test_a_row_can_be_saved_again(self) -> None:
        row = job("once")
        rows_insert([row])
        row.last_error = "late"
        row.save()
        assert Job.objects.get().last_error == "late"

    def test_all_or_none(self) -> None:
        with pytest.raises(IntegrityError), transaction.atomic():
            rows_insert([job("one"), job("two"), job("one")])
        assert not Job.objects.exists()

    def test_nothing_is_no_statement(self, django_assert_num_queries: object) -> None:
        with django_assert_num_queries(0):
            rows_insert([])


class TestRowsUpdate:
    def test_writes_dates_numbers_json_and_none(self) -> None:
        built = factories.system(factories.place(factories.client("Bulk")))
        tasks = list(CareTask.objects.filter(system=built.system))
        for number, task in enumerate(tasks):
            task.last_done = dt.date(2026, 1, 1) + dt.timedelta(days=number)
            task.minutes = number + 1
            task.condition = {"n": number}
            task.next_open = task.next_due = task.next_late = None
        names = ["last_done", "minutes", "condition", "next_open", "next_due", "next_late"]
        rows_update(tasks, names)
        fresh = {task.pk: task for task in CareTask.objects.filter(system=built.system)}
        assert all(
            getattr(fresh[task.pk], name) == getattr(task, name) for task in tasks for name in names
        )

    def test_leaves_other_fields_alone(self) -> None:
        built = factories.system(factories.place(factories.client("Bulk")))
        row = Standing.objects.get(system=built.system)
        before = row.due_by
        row.due_by, row.fixed_class = None, 2
        rows_update([row], ["fixed_class"])
        row.refresh_from_db()
        assert (row.due_by, row.fixed_class) == (before, 2)

    def test_nothing_is_no_statement(self, django_assert_num_queries: object) -> None:
        with django_assert_num_queries(0):
            rows_update([], ["x"])
