"""Lines of the checklist: done, not done, not here, notes, taking back, meeting somebody."""

from typing import Any

import pytest

from apps.accounts.models import User
from apps.visits.models import Line, Operation, Value
from tests.field.conftest import Phone, signed_in


@pytest.fixture
def line(phone: Phone) -> Line:
    """A line that asks for no reading."""
    found = phone.sheet.lines.filter(code="cables_look").first()
    assert found is not None
    return found


def value(line: Line, leaf: str) -> Any:
    row = Value.objects.filter(path=f"lines/{line.pk}/{leaf}").first()
    return row.value if row else None


def test_done_goes_on_to_the_next_line(phone: Phone, line: Line) -> None:
    answer = phone.post("line", {"outcome": "done", "note": ""}, line=line.pk)
    assert answer.status_code == 302
    assert answer.url != phone.url("line", line=line.pk)
    assert value(line, "outcome") == "done"
    phone.visit.refresh_from_db()
    assert phone.visit.state == "under_way"  # the first answer starts the visit


def test_not_done_needs_a_reason_of_its_own_list(phone: Phone, line: Line) -> None:
    typed = {"outcome": "not_done", "note": "box is locked"}
    answer = phone.post("line", typed, line=line.pk)
    assert answer.status_code == 422
    assert "box is locked" in answer.content.decode()  # what was typed is kept
    assert value(line, "outcome") is None
    assert phone.post("line", {"reason": "too_cold"}, line=line.pk).status_code == 422
    phone.post("line", {"reason": "no_access", "note": "box is locked"}, line=line.pk)
    assert (value(line, "outcome"), value(line, "reason")) == ("not_done", "no_access")
    page = phone.get("sheet").content.decode()
    assert "not done: no access to the place" in page


def test_own_skip_reasons_are_offered(phone: Phone) -> None:
    weigh = phone.sheet.lines.get(code="fish_sample_weigh")
    page = phone.get("line", line=weigh.pk).content.decode()
    assert "The water is too cold to handle fish" in page
    assert "Lightning or heavy rain" not in page


def test_done_after_not_done_drops_the_reason(phone: Phone, line: Line) -> None:
    phone.post("line", {"reason": "no_time"}, line=line.pk)
    phone.post("line", {"outcome": "done"}, line=line.pk)
    assert (value(line, "outcome"), value(line, "reason")) == ("done", "")


def test_undo_takes_the_last_answer_back_and_again(phone: Phone, line: Line) -> None:
    phone.post("line", {"outcome": "done"}, line=line.pk)
    page = phone.get("sheet").content.decode()
    at = page.split('name="at" value="')[1].split('"')[0]
    assert phone.post("undo", {"at": at}).status_code == 302
    assert value(line, "outcome") == ""
    assert phone.post("undo", {"at": at}).status_code == 302  # an old word does nothing
    assert value(line, "outcome") == ""
    assert Operation.objects.filter(visit=phone.visit).count() == 2


def test_meeting_somebody_shows_both_and_keeps_the_chosen(
    phone: Phone, line: Line, staff: dict[str, User]
) -> None:
    office = signed_in(staff["office"])
    office.post(phone.url("line", line=line.pk), {"outcome": "not_here", "base-outcome": "0"})
    mine = {"outcome": "done", "base-outcome": "0"}
    met = phone.post("line", mine, line=line.pk)
    page = met.content.decode()
    assert met.status_code == 409
    assert "Office" in page
    assert "Keep theirs: not here" in page
    assert value(line, "outcome") == "not_here"
    assert Operation.objects.filter(outcome="conflict").count() == 1
    rev = page.split('name="base-outcome" value="')[1].split('"')[0]
    phone.post("line", {"outcome": "done", "base-outcome": rev}, line=line.pk)
    assert value(line, "outcome") == "done"


def test_a_closed_visit_takes_no_answer(phone: Phone, line: Line) -> None:
    phone.visit.state = "written_up"
    type(phone.visit).objects.filter(pk=phone.visit.pk).update(state="written_up")
    answer = phone.post("line", {"outcome": "done"}, line=line.pk)
    assert answer.status_code == 302
    assert value(line, "outcome") is None
    assert "to be read only" in phone.get("sheet").content.decode()


def test_note_with_too_many_letters_is_kept_on_the_page(phone: Phone, line: Line) -> None:
    answer = phone.post("line", {"note": "x" * 4001, "keep": "1"}, line=line.pk)
    assert answer.status_code == 422
    assert "4,000" in answer.content.decode()
