"""Days off: whose holidays are kept, closures, days on which the firm works anyway."""

import datetime as dt

import pytest
from django.db import IntegrityError, transaction

from apps.accounts.models import AuditEntry, Closure, Firm
from apps.accounts.selectors import closed_days, days_off
from apps.accounts.services import closure_add, closure_remove, country_set
from apps.core.exceptions import Invalid
from tests import factories
from tests.office.conftest import Desk

YEAR = (dt.date(2026, 1, 1), dt.date(2026, 12, 31))
# 5 U.S.C. 6103 with its rule for Saturdays: 4 July 2026 is one, so 3 July is kept
FEDERAL = {
    "2026-01-01", "2026-01-19", "2026-02-16", "2026-05-25", "2026-06-19", "2026-07-03",
    "2026-07-04", "2026-09-07", "2026-10-12", "2026-11-11", "2026-11-26", "2026-12-25",
}  # fmt: skip
# Austria's law on rest on holidays (Feiertagsruhegesetz 1957, section 7) and Easter on 5 April
AUSTRIA = {
    "2026-01-01", "2026-01-06", "2026-04-06", "2026-05-01", "2026-05-14", "2026-05-25",
    "2026-06-04", "2026-08-15", "2026-10-26", "2026-11-01", "2026-12-08", "2026-12-25",
    "2026-12-26",
}  # fmt: skip


def keep(desk: Desk, country: str, subdivision: str = "") -> None:
    country_set(country=country, subdivision=subdivision, by=desk.actor, at=factories.NOW)


def closed(desk: Desk, first: str, last: str, name: str = "Break", works: bool = False) -> Closure:
    return closure_add(
        first=dt.date.fromisoformat(first), last=dt.date.fromisoformat(last), name=name,
        works=works, by=desk.actor, at=factories.NOW,
    )  # fmt: skip


@pytest.mark.outside(
    source="5 U.S.C. 6103; Feiertagsruhegesetz 1957 section 7", kind="memory", tolerance=0,
    absolute=True,
)  # fmt: skip
@pytest.mark.parametrize(("country", "known"), [("US", FEDERAL), ("AT", AUSTRIA)])
def test_holidays_are_those_of_the_law(desk: Desk, country: str, known: set[str], outside) -> None:
    keep(desk, country)
    found = {day.isoformat() for day in closed_days(*YEAR)}
    outside(len(found ^ known), 0)


def test_without_a_country_there_are_no_holidays(desk: Desk) -> None:
    assert closed_days(*YEAR) == set()


def test_without_a_firm_closures_count_all_the_same(db: None) -> None:
    Closure.objects.create(first=YEAR[0], last=YEAR[0], name="Inventory")
    assert closed_days(*YEAR) == {YEAR[0]}


def test_a_closure_counts_both_ends_and_only_what_is_asked(desk: Desk) -> None:
    closed(desk, "2025-12-24", "2026-01-02")
    closed(desk, "2026-12-30", "2027-01-05")
    assert sorted(closed_days(*YEAR)) == [
        dt.date(2026, 1, 1), dt.date(2026, 1, 2), dt.date(2026, 12, 30), dt.date(2026, 12, 31),
    ]  # fmt: skip


def test_the_firm_works_on_a_holiday(desk: Desk) -> None:
    keep(desk, "AT")
    row = closed(desk, "2026-12-08", "2026-12-08", "Shops are open", works=True)
    assert dt.date(2026, 12, 8) not in closed_days(*YEAR)
    shown = next(day for day in days_off(*YEAR) if day.closure)
    assert (shown.day, shown.works) == (row.first, True)
    closure_remove(closure=row, by=desk.actor, at=factories.NOW)
    assert dt.date(2026, 12, 8) in closed_days(*YEAR)


def test_a_part_of_a_country_has_holidays_of_its_own(desk: Desk) -> None:
    keep(desk, "de", "DE-BY")
    firm = Firm.objects.get()
    assert (firm.country, firm.subdivision) == ("DE", "BY")
    bavaria = closed_days(*YEAR)
    keep(desk, "DE", "HH")
    assert dt.date(2026, 1, 6) in bavaria - closed_days(*YEAR)


@pytest.mark.parametrize(
    ("country", "part", "field"),
    [("QQ", "", "country"), ("A", "", "country"), ("", "9", "country"), ("os", "", "country"),
     ("AT", "99", "subdivision"), ("IS", "1", "subdivision")],
)  # fmt: skip
def test_an_unknown_code_is_refused_at_its_field(
    desk: Desk, country: str, part: str, field: str
) -> None:
    answer = desk.post("holidays", country=country, subdivision=part)
    assert answer.status_code == 422
    assert set(answer.context["form"].errors) == {field}
    assert Firm.objects.get().country == ""


@pytest.mark.parametrize(
    ("first", "last", "works", "field"),
    [("2026-07-02", "2026-07-01", False, "last"), ("2026-07-01", "2027-07-02", False, "last"),
     ("2026-08-09", "2026-08-10", False, "first"), ("2026-07-01", "2026-07-01", True, "works")],
)  # fmt: skip
def test_days_off_that_cannot_be_meant(
    desk: Desk, first: str, last: str, works: bool, field: str
) -> None:
    held = closed(desk, "2026-08-10", "2026-08-14")
    with pytest.raises(Invalid) as refused:
        closed(desk, first, last, works=works)
    assert refused.value.errors[0]["pointer"] == f"/{field}"
    assert list(Closure.objects.all()) == [held]


def test_ends_in_the_wrong_order_cannot_be_stored(desk: Desk) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        Closure.objects.create(first=YEAR[1], last=YEAR[0], name="x")


def test_the_page_lists_adds_and_removes(desk: Desk) -> None:
    keep(desk, "AT")
    answer = desk.post("closure_new", name="Summer break", first="2026-08-03", last="2026-08-14")
    assert answer.url == "/days-off/"
    row = Closure.objects.get()
    page = desk.get("days_off").content.decode()
    assert page.count("Summer break") > 12  # each day of it, and its row
    assert "AT" in page
    desk.post("closure_end", row.pk)
    assert not Closure.objects.exists()
    assert [entry.verb for entry in AuditEntry.objects.filter(kind="closure")] == [
        "added", "removed",
    ]  # fmt: skip


def test_a_single_day_needs_no_end(desk: Desk) -> None:
    desk.post("closure_new", name="Stocktaking", first="2026-07-01", last="")
    row = Closure.objects.get()
    assert row.first == row.last


def test_a_day_in_the_address_that_is_none_is_refused(desk: Desk) -> None:
    assert desk.get("closure_new", day="soon").status_code == 400
    assert desk.get("closure_new", day="2026-12-08", works="1").status_code == 200
