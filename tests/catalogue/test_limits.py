"""Limits of an entry stay in order, whoever changes them and whichever of them."""

from typing import Any

import pytest

from apps.accounts.models import AuditEntry
from apps.catalogue.limits import out_of_order
from apps.catalogue.models import Entry
from apps.catalogue.services import entry_edit
from apps.core.exceptions import Invalid
from apps.core.scoping import system
from tests import factories

BY = system("test", factories.NOW)


@pytest.fixture
def tilapia(db: None) -> Entry:
    return Entry.objects.get(kind="species", code="nile_tilapia")


def edit(entry: Entry, **changes: Any) -> Entry:
    return entry_edit(entry=entry, changes=changes, rev=entry.rev, by=BY, at=factories.NOW)


def test_every_loaded_entry_is_in_order(db: None) -> None:
    wrong = {str(entry): out_of_order(entry.figures) for entry in Entry.objects.all()}
    assert {name: pairs for name, pairs in wrong.items() if pairs} == {}


@pytest.mark.parametrize(
    ("changes", "where", "words"),
    [
        ({"opt_low": 31}, "/opt_low", "opt_low: 31 is on the wrong side of opt_high; write at most 30,"),
        ({"opt_high": 20}, "/opt_high", "write at least 27, or change opt_low too"),
        ({"ph_high": 5.5}, "/ph_high", "write at least 6.5, or change ph_low too"),
        ({"do_min": 6}, "/do_min", "write at most 5, or change do_target too"),
    ],
)  # fmt: skip
def test_a_limit_on_the_wrong_side_is_refused(
    tilapia: Entry, changes: dict[str, Any], where: str, words: str
) -> None:
    before = dict(tilapia.figures)
    with pytest.raises(Invalid) as refused:
        edit(tilapia, **changes)
    error = refused.value.errors[0]
    assert (error["pointer"], error["value"]) == (where, next(iter(changes.values())))
    assert words in error["message"]
    tilapia.refresh_from_db()
    assert (tilapia.figures, tilapia.rev) == (before, 1)
    assert not AuditEntry.objects.filter(verb="edited").exists()


def test_limits_move_together_and_may_meet(tilapia: Entry) -> None:
    edit(tilapia, opt_low=31, opt_high=31, feed_max=34)
    assert tilapia.figures["opt_low"] == tilapia.figures["opt_high"] == 31


def test_an_old_slip_elsewhere_does_not_stand_in_the_way(tilapia: Entry) -> None:
    Entry.objects.filter(pk=tilapia.pk).update(figures=tilapia.figures | {"ph_low": 9})
    tilapia.refresh_from_db()
    edit(tilapia, market_g=450)
    assert tilapia.figures["market_g"] == 450
