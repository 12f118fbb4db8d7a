"""The database itself holds still what was measured, done, reported and noted in the audit.

Each try goes past the models' own rules, as a stray statement would (SQL standard triggers; both
databases that the project runs on have them).
"""

import datetime as dt
from typing import Any
from uuid import uuid4

import pytest
from django.db import DatabaseError, models, transaction

from apps.accounts.models import AuditEntry
from apps.accounts.services import audit
from apps.advice.models import Advice
from apps.care.models import CareTask, Completion, FeedCount, MeterReading, MeterWithdrawal
from apps.core import clock
from apps.incidents.models import IncidentNote, IncidentPhoto
from apps.proposals.models import ProposalVersion
from apps.reports.models import Release, ReportCopy, ReportVersion
from apps.visits.models import (
    Assignment,
    Finding,
    Line,
    Operation,
    Photo,
    Reading,
    ReadingPhoto,
    Sheet,
    Value,
    Visit,
    VisitStep,
)
from tests import factories
from tests.trust.world import House, house

YEAR_ON = factories.NOW + dt.timedelta(days=365)


@pytest.fixture
def home(db: None, monkeypatch: pytest.MonkeyPatch) -> House:
    """A household with a visit that has a row of every kind."""
    monkeypatch.setattr(clock, "now", lambda: factories.NOW)
    factories.firm()
    home = house("PLOVER", factories.user("ana"), 1)
    sheet, visit = home.rows["sheet"], home.visit
    audit(at=factories.NOW, by="office", verb="looked", kind="visit", object_id=visit.pk)
    task = CareTask.objects.filter(system=home.built.system).first()
    assert task is not None
    Completion.objects.create(task=task, done_on=factories.TODAY, made_at=factories.NOW, by="ana")
    Value.objects.create(
        visit=visit, sheet=sheet, path=f"lines/{sheet.lines.first().pk}/note", value="a",
        op_id=uuid4(),
    )  # fmt: skip
    Operation.objects.create(
        id=uuid4(), visit=visit, sheet_id=sheet.pk, path="started_at", at=factories.NOW,
        received_at=factories.NOW, by="ana", outcome="applied",
    )  # fmt: skip
    VisitStep.objects.create(
        visit=visit, number=1, to_state="booked", at=factories.NOW, by="office"
    )
    return home


def refused(act: Any) -> None:
    """The statement fails and leaves nothing."""
    with pytest.raises(DatabaseError), transaction.atomic():
        act()


def rows(model: type[models.Model]) -> Any:
    return model._base_manager.all()


APPEND_ONLY: dict[type[models.Model], dict[str, Any]] = {
    Reading: {"value": 1.0},
    Finding: {"text": "other"},
    Completion: {"done_on": YEAR_ON.date()},
    MeterReading: {"value": 3.0},
    FeedCount: {"amount_g": 3.0},
    MeterWithdrawal: {"reason": "other"},
    ReportVersion: {"sha256": "0" * 64},
    ReportCopy: {"sha256": "0" * 64},
    Release: {"by": "somebody"},
    AuditEntry: {"verb": "slept"},
    Operation: {"outcome": "same"},
    VisitStep: {"reason": "other"},
    IncidentNote: {"text": "other"},
    IncidentPhoto: {"sha256": "0" * 64},
    ReadingPhoto: {"sha256": "0" * 64},
    ProposalVersion: {"sha256": "0" * 64},
}


@pytest.mark.parametrize("model", APPEND_ONLY, ids=lambda model: model.__name__)
class TestAppendOnly:
    def test_no_update(self, home: House, model: type[models.Model]) -> None:
        before = list(rows(model).values())
        assert before
        refused(lambda: rows(model).update(**APPEND_ONLY[model]))
        assert list(rows(model).values()) == before

    def test_no_delete(self, home: House, model: type[models.Model]) -> None:
        before = rows(model).count()
        refused(lambda: rows(model)._raw_delete(rows(model).db))
        refused(lambda: rows(model).first().delete())
        assert rows(model).count() == before


def of_visit(model: type[models.Model], home: House) -> Any:
    if model is Visit:
        return rows(model).filter(pk=home.visit.pk)
    own = "visit" if model in (Value, Sheet, Assignment) else "sheet__visit"
    return rows(model).filter(**{own: home.visit})


HELD: dict[type[models.Model], dict[str, Any]] = {
    Visit: {"reason": "other"},
    Value: {"value": "b"},
    Line: {"note": "other"},
    Sheet: {"system_id": uuid4()},
    Assignment: {"holds": False},
    Photo: {"caption": "other"},
    Advice: {"decision_text": "other"},
}


def report(home: House) -> None:
    rows(Visit).filter(pk=home.visit.pk).update(state="reported")


@pytest.mark.parametrize("model", HELD, ids=lambda model: model.__name__)
class TestReportedVisit:
    def test_free_before(self, home: House, model: type[models.Model]) -> None:
        change = {} if model is Sheet else HELD[model]
        if change:
            assert of_visit(model, home).update(**change)

    def test_no_update_after(self, home: House, model: type[models.Model]) -> None:
        report(home)
        before = list(of_visit(model, home).values())
        assert before
        refused(lambda: of_visit(model, home).update(**HELD[model]))
        assert list(of_visit(model, home).values()) == before

    def test_no_delete_after(self, home: House, model: type[models.Model]) -> None:
        report(home)
        before = of_visit(model, home).count()
        refused(lambda: of_visit(model, home)._raw_delete(rows(model).db))
        assert of_visit(model, home).count() == before

    def test_no_copy_after(self, home: House, model: type[models.Model]) -> None:
        if model is Visit:
            return
        report(home)
        row = of_visit(model, home).first()
        row.pk = None if isinstance(row, Assignment) else uuid4()
        row._state.adding = True
        # what would meet a unique constraint first gets a place of its own
        if isinstance(row, Value):
            row.path += "s"
        if isinstance(row, Assignment):
            row.user = factories.user("marek")
        if isinstance(row, Sheet):
            row.system = factories.system(home.visit.place, "second").system
        with pytest.raises(DatabaseError, match="reported"), transaction.atomic():
            row.save(force_insert=True)


class TestWhatStaysPossible:
    def test_correction_of_a_reading(self, home: House) -> None:
        report(home)
        old = home.rows["reading"]
        Reading.objects.create(
            loop=old.loop, sheet=old.sheet, measurand=old.measurand, value=6.9, unit=old.unit,
            taken_at=old.taken_at, received_at=YEAR_ON, word="in_band", corrects=old,
            correction_reason="read from the wrong line",
        )  # fmt: skip
        old.refresh_from_db()
        assert (old.value, old.corrected_by.value) == (6.4, 6.9)

    def test_second_correction_of_the_same_row(self, home: House) -> None:
        self.test_correction_of_a_reading(home)
        refused(lambda: self.test_correction_of_a_reading(home))

    def test_advice_is_closed_beside_its_words(self, home: House) -> None:
        report(home)
        held = rows(Advice).filter(pk=home.rows["advice"].pk)
        assert held.update(closed_at=YEAR_ON, closed_as="done") == 1
        refused(lambda: held.update(closed_at=YEAR_ON, dose=9.0))

    @pytest.mark.parametrize(
        "change",
        [
            {"rule": "other"}, {"urgency": "now"}, {"who": "office"}, {"by_at": YEAR_ON},
            {"dose": 5.0}, {"unit": "kg"}, {"parameters": {}}, {"made_at": YEAR_ON},
            {"decision": "keep"}, {"decision_text": ""}, {"decision_reason": "other"},
        ],
        ids=lambda change: next(iter(change)),
    )  # fmt: skip
    def test_no_word_of_advice_changes(self, home: House, change: dict[str, Any]) -> None:
        report(home)
        refused(lambda: rows(Advice).filter(pk=home.rows["advice"].pk).update(**change))

    def test_other_visits_go_on(self, home: House) -> None:
        report(home)
        assert rows(Visit).filter(pk=home.rows["old_visit"].pk).update(reason="other") == 1
