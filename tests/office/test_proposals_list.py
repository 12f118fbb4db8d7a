"""All proposals in one list: where each is, whom it waits for, what it comes to; and as CSV."""

import csv
import datetime as dt
import io
from typing import Any

import pytest

from apps.core import clock
from apps.proposals.models import Price, Proposal, ProposalWord
from tests import factories
from tests.office.conftest import Desk
from tests.office.test_design import address
from tests.proposals.sending import proposal, send, undraw, version


@pytest.fixture(autouse=True)
def undrawn(monkeypatch: pytest.MonkeyPatch) -> None:
    undraw(monkeypatch)


@pytest.fixture
def all_stands(desk: Desk) -> dict[str, Proposal]:
    """One proposal in each place that it can be."""
    held = {}
    for stand in ("draft", "asked", "sent", "expired", "accepted", "built", "declined"):
        row = proposal(desk)
        Proposal.objects.filter(pk=row.pk).update(name=f"{stand} greens")
        held[stand] = row
        if stand == "draft":
            continue
        row.refresh_from_db()
        made = version(desk, row)
        send(desk, made)
        said = {"on": "2026-06-10", "version": "1", "words": "", "said_by": "Robin"}
        if stand == "asked":
            ProposalWord.objects.create(version=made, kind="wanted", at=factories.NOW)
        if stand == "expired":
            over = clock.today() - dt.timedelta(days=1)
            Proposal.objects.filter(pk=row.pk).update(valid_until=over)
        if stand in ("accepted", "built"):
            desk.post("proposal_answer", row.pk, answer="accepted", **said)
        if stand == "built":
            desk.post("proposal_build", row.pk, name="Mill end")
        if stand == "declined":
            desk.post("proposal_answer", row.pk, answer="declined", **said)
    return held


def shown(desk: Desk, **query: str) -> list[dict[str, Any]]:
    rows: list[dict[str, Any]] = desk.get("proposals", **query).context["rows"]
    return rows


def test_where_each_is_and_whom_it_waits_for(desk: Desk, all_stands: dict[str, Proposal]) -> None:
    found = {row["proposal"].name: (str(row["stand"]), row["waits"]) for row in shown(desk)}
    assert found == {
        "draft greens": ("not sent yet", "us"),
        "asked greens": ("the client has written", "us"),
        "sent greens": ("with the client", "the client"),
        "expired greens": ("no longer valid", "us"),
        "accepted greens": ("accepted, not built", "us"),
        "built greens": ("built", ""),
        "declined greens": ("declined", ""),
    }


def test_filters_count_and_keep(desk: Desk, all_stands: dict[str, Proposal]) -> None:
    words = desk.get("proposals").context["filters"]
    assert {word.code: word.count for word in words} == {"": 7, "ours": 4} | dict.fromkeys(
        all_stands, 1
    )
    for stand in all_stands:
        assert [row["proposal"].name for row in shown(desk, show=stand)] == [f"{stand} greens"]
    assert len(shown(desk, show="ours")) == 4
    assert desk.get("proposals", show="nonsense").status_code == 400


def test_an_expired_one_is_marked(desk: Desk, all_stands: dict[str, Proposal]) -> None:
    page = desk.get("proposals", show="expired").content.decode()
    assert '<span class="pen strong">no longer valid</span>' in page


def test_orders(desk: Desk, all_stands: dict[str, Proposal]) -> None:
    numbers = [row["proposal"].number for row in shown(desk)]
    assert numbers == sorted(numbers, reverse=True)
    assert shown(desk, sort="until")[0]["proposal"].name == "expired greens"


def test_the_price_is_what_the_client_was_shown(desk: Desk) -> None:
    row = proposal(desk)
    assert shown(desk)[0]["price"].replace("\u00a0", " ") == "1,811.83 EUR"
    version(desk, row)
    # the office works on; the client was shown the old one
    Proposal.objects.update(tax=None, hours=0)
    assert shown(desk)[0]["price"].replace("\u00a0", " ") == "1,811.83 EUR"


def test_without_prices_there_is_none(desk: Desk) -> None:
    Price.objects.all().delete()
    desk.browser.post(address(desk), {"name": "Patio greens", "proposal": "1"})
    assert shown(desk)[0]["price"] == ""


def test_as_csv(desk: Desk, all_stands: dict[str, Proposal]) -> None:
    answer = desk.get("proposals_csv", show="accepted")
    text = b"".join(answer.streaming_content).decode("utf-8-sig")
    head, row = csv.reader(io.StringIO(text))
    found = dict(zip(head, row, strict=True))
    assert found["name"] == "accepted greens"
    assert found["state"] == "accepted, not built"
    assert found["waits for"] == "us"
    assert (found["price"], found["currency"]) == ("1811.83", "EUR")
    assert (found["answered"], found["by"]) == ("2026-06-10", "Robin")
    assert found["sent"].startswith("2026-06-11")


def test_a_first_day_is_empty_and_says_what_to_do(desk: Desk) -> None:
    page = desk.get("proposals").content.decode()
    assert "No proposals here" in page
    assert 'href="/proposals/"' in desk.get("due").content.decode()


def test_a_page_asks_a_fixed_number_of_times(
    desk: Desk, all_stands: dict[str, Proposal], django_assert_max_num_queries: Any
) -> None:
    with django_assert_max_num_queries(14):
        desk.get("proposals")
