"""A proposal from a design to the system: prices, versions, the answer, and what is refused."""

import datetime as dt
import json
import re
from typing import Any

import pytest
from django.db import DatabaseError, transaction

from apps.accounts.models import Firm
from apps.care.models import CareTask
from apps.core import clock
from apps.proposals.models import Price, Proposal, ProposalVersion
from apps.proposals.selectors import sum_of
from apps.reports.rendering.child import CHILD, RenderFailed
from apps.systems.models import Component, System
from tests.office.conftest import Desk
from tests.office.test_design import WISH, address

TERMS = {
    "rev": "1", "name": "Patio greens", "words": "With pleasure.", "valid_until": "2026-07-15",
    "margin": "25", "hours": "12.5", "rate": "48", "tax": "21", "left_out": "The pergola.",
    "price_tank": "0.45", "price_raft": "62,50", "price_pump": "79.9", "extra_1": "Delivery",
    "extra_1_amount": "35",
}  # fmt: skip


@pytest.fixture(autouse=True)
def drawn(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Keep what is to be drawn, and draw nothing."""
    pages: list[str] = []

    def draw(html: str, style: str, _paper: str) -> bytes:
        assert style == "proposal"
        pages.append(html)
        return b"%PDF-1.7 " + html.encode()

    monkeypatch.setattr(CHILD, "draw", draw)
    return pages


@pytest.fixture
def written(desk: Desk) -> Proposal:
    """A proposal written of a design."""
    answer = desk.browser.post(address(desk), {"name": "Patio greens", "proposal": "1"})
    row = Proposal.objects.get()
    assert answer.url == f"/proposals/{row.pk}/"
    return row


def priced(desk: Desk, row: Proposal, **change: str) -> Proposal:
    """Give a proposal its prices and terms."""
    row.refresh_from_db()
    answer = desk.post("proposal_edit", row.pk, **(TERMS | {"rev": str(row.rev)} | change))
    assert answer.status_code == 302, answer.context["form"].errors
    row.refresh_from_db()
    return row


def drawn_version(desk: Desk, row: Proposal) -> ProposalVersion:
    """Have its PDF made."""
    assert desk.post("proposal_draw", row.pk).status_code == 302
    return row.versions.latest("number")


def answered(desk: Desk, row: Proposal, answer: str, **more: str) -> Any:
    """Note what the client said."""
    values = {"answer": answer, "on": "2026-06-10", "words": "", "version": "1",
              "said_by": "Robin Alder"} | more  # fmt: skip
    return desk.post("proposal_answer", row.pk, **values)


def test_a_design_becomes_a_numbered_proposal_and_no_system(desk: Desk) -> None:
    before = System.objects.count()
    for number in (1, 2):
        desk.browser.post(address(desk), {"name": "Patio greens", "proposal": "1"})
        assert Proposal.objects.latest("number").number == number
    assert System.objects.count() == before
    row = Proposal.objects.latest("number")
    assert row.wish["amount"] == 4
    assert row.crop == "lettuce_loose_leaf"
    assert row.valid_until == clock.today() + dt.timedelta(days=30)
    assert row.rules["feed_per_leafy_area"] == [40, 50]


def test_prices_of_the_firm_are_where_a_proposal_begins(desk: Desk) -> None:
    assert desk.post("prices", price_tank="0.45", price_feed_pellets="2,2").status_code == 302
    assert Price.objects.get(code="tank").amount == 4_500
    desk.browser.post(address(desk), {"name": "Patio greens", "proposal": "1"})
    row = Proposal.objects.get()
    assert row.prices == {"tank": 4_500, "feed_pellets": 22_000}
    # the firm's prices move on, the proposal keeps its own
    desk.post("prices", price_tank="0.60")
    row.refresh_from_db()
    assert row.prices["tank"] == 4_500
    assert list(Price.objects.values_list("code", "amount")) == [("tank", 6_000)]


@pytest.mark.parametrize("typed", ["-1", "free", "0.00001", "1000000"])
def test_a_price_that_cannot_be_is_refused_beside_its_field(desk: Desk, typed: str) -> None:
    answer = desk.post("prices", price_tank=typed, price_raft="60")
    assert answer.status_code == 422
    assert answer.context["form"].errors["price_tank"]
    assert not Price.objects.exists()


def test_what_it_comes_to(desk: Desk, written: Proposal) -> None:
    """By hand: 800 L x 0.45 x 1.25 = 450; 4 m² x 62.50 x 1.25 = 312.50; 79.90 x 1.25 = 99.875,
    paid 99.88; 12.5 h x 48 = 600; delivery 35; in all 1,497.38; 21 % of it 314.4498, paid 314.45.
    """
    found = sum_of(priced(desk, written), "EUR")
    totals = {line.item.code: line.total for line in found.lines if line.total is not None}
    assert totals == {"tank": 4_500_000, "raft": 3_125_000, "pump": 998_800}
    assert (found.labour, found.extras) == (6_000_000, (("Delivery", 350_000),))
    assert found.net == 14_973_800
    assert (found.tax, found.gross) == (3_144_500, 18_118_300)
    page = desk.get("proposal", written.pk).content.decode().replace("\u00a0", " ")
    assert "1,811.83 EUR" in page


def test_tax_is_on_all_lines_together(desk: Desk, written: Proposal) -> None:
    """Two lines of 0.02 at 21 %: 0.0084 in all is paid as 0.01; 0.0042 each would be nothing."""
    found = sum_of(
        priced(
            desk, written, price_tank="", price_raft="", price_pump="", hours="", rate="",
            extra_1="Clip", extra_1_amount="0.02", extra_2="Clip", extra_2_amount="0.02",
        ), "EUR",
    )  # fmt: skip
    assert (found.net, found.tax) == (400, 100)


def test_a_currency_without_small_coins_is_paid_whole(desk: Desk, written: Proposal) -> None:
    found = sum_of(priced(desk, written), "JPY")
    assert [line.total for line in found.lines if line.total][2] == 1_000_000
    assert found.gross % 10_000 == 0


@pytest.mark.parametrize(
    ("change", "field"),
    [({"rate": ""}, "rate"), ({"extra_1_amount": ""}, "extra_1_amount"), ({"extra_1": ""}, "extra_1"),
     ({"valid_until": "soon"}, "valid_until"), ({"margin": "600"}, "margin"), ({"tax": "x"}, "tax"),
     ({"price_tank": "-3"}, "price_tank"), ({"name": ""}, "name")],
)  # fmt: skip
def test_terms_that_cannot_be_are_refused_and_nothing_is_kept(
    desk: Desk, written: Proposal, change: dict[str, str], field: str
) -> None:
    answer = desk.post("proposal_edit", written.pk, **(TERMS | change))
    assert answer.status_code == 422
    assert answer.context["form"].errors[field]
    written.refresh_from_db()
    assert (written.rev, written.margin) == (1, 0)


def test_somebody_who_was_slower_sees_both(desk: Desk, written: Proposal) -> None:
    priced(desk, written)
    answer = desk.post("proposal_edit", written.pk, **(TERMS | {"margin": "30"}))
    assert answer.status_code == 422
    assert answer.context["both"] == [("Margin on parts and supplies", "25", "30")]


class TestVersions:
    def test_a_version_stays_as_it_was_shown(self, desk: Desk, written: Proposal) -> None:
        first = drawn_version(desk, priced(desk, written))
        shown = desk.browser.get(f"/proposals/versions/{first.pk}/pdf/")
        assert shown["Content-Disposition"] == 'inline; filename="proposal-0001-1.pdf"'
        second = drawn_version(desk, priced(desk, written, margin="10"))
        assert (first.number, second.number) == (1, 2)
        again = desk.browser.get(f"/proposals/versions/{first.pk}/pdf/")
        assert again.content == shown.content
        assert first.sha256 != second.sha256

    def test_the_same_said_twice_is_one_version(self, desk: Desk, written: Proposal) -> None:
        drawn_version(desk, priced(desk, written))
        drawn_version(desk, written)
        assert written.versions.count() == 1

    def test_the_database_holds_it_still(self, desk: Desk, written: Proposal) -> None:
        version = drawn_version(desk, priced(desk, written))
        with pytest.raises(DatabaseError), transaction.atomic():
            ProposalVersion.objects.filter(pk=version.pk).update(sha256="0" * 64)

    def test_neither_cost_nor_margin_is_told(
        self, desk: Desk, written: Proposal, drawn: list[str]
    ) -> None:
        version = drawn_version(desk, priced(desk, written, price_tank="0.4321", margin="37.25"))
        said = json.dumps(version.snapshot) + re.sub(r"<[^>]*>", " ", drawn[0])
        for secret in ("4321", "37.25", "3725", "margin", "Margin"):
            assert secret not in said

    def test_the_paper_says_price_validity_and_what_is_not_in_it(
        self, desk: Desk, written: Proposal, drawn: list[str]
    ) -> None:
        drawn_version(desk, priced(desk, written, tax=""))
        html = " ".join(drawn[0].replace("\u00a0", " ").split())
        for words in (
            "You want 4 m² of beds. Plants: lettuce, loose leaf. Fish: Nile tilapia.", "1,497.38 EUR", "Wed 15 July 2026",
            "Not priced yet: ", "Taxes.", "The pergola.", "by a licensed electrician", "<svg",
            "I accept proposal 0001, version 1", "has not been surveyed", "160 to 200 g/day",
        ):  # fmt: skip
            assert words in html, words

    def test_nothing_is_kept_where_it_cannot_be_drawn(
        self, desk: Desk, written: Proposal, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        def draw(*_args: Any) -> bytes:
            raise RenderFailed("the paper could not be drawn: no memory")

        monkeypatch.setattr(CHILD, "draw", draw)
        answer = desk.browser.post(f"/proposals/{written.pk}/draw/", follow=True)
        assert "could not be drawn" in answer.content.decode()
        assert not ProposalVersion.objects.exists()

    def test_without_prices_it_is_a_list(
        self, desk: Desk, written: Proposal, drawn: list[str]
    ) -> None:
        drawn_version(desk, written)
        assert "What it is built of" in drawn[0]
        assert "What it costs" not in drawn[0]
        assert "0.00" not in drawn[0]

    def test_it_speaks_the_contacts_language_and_the_firms_currency(
        self, desk: Desk, written: Proposal
    ) -> None:
        Firm.objects.update(currency="CHF")
        version = drawn_version(desk, priced(desk, written))
        assert version.language == "en"
        assert version.snapshot["currency"] == "CHF"


class TestAnswer:
    def test_accepted_and_built_with_one_press(self, desk: Desk, written: Proposal) -> None:
        version = drawn_version(desk, priced(desk, written))
        assert answered(desk, written, "accepted").status_code == 302
        written.refresh_from_db()
        assert (written.answer, written.accepted) == ("accepted", version)
        assert written.answered_on == dt.date(2026, 6, 10)
        answer = desk.post("proposal_build", written.pk, name="Mill end")
        system = System.objects.get(name="Mill end", proposal=written)
        assert answer.url == f"/systems/{system.pk}/"
        kinds = Component.objects.filter(loop__system=system).order_by("place_in_flow")
        assert [part.kind for part in kinds] == [
            "tank", "settler", "moving_bed", "raft", "sump", "pump", "air_pump", "backup_air",
        ]  # fmt: skip
        assert CareTask.objects.filter(system=system).exists()

    def test_what_is_built_is_what_was_accepted(self, desk: Desk, written: Proposal) -> None:
        drawn_version(desk, priced(desk, written))
        answered(desk, written, "accepted")
        # the row's own wish moves; the accepted version does not
        Proposal.objects.filter(pk=written.pk).update(wish=written.wish | {"amount": 40})
        desk.post("proposal_build", written.pk, name="Mill end")
        raft = Component.objects.get(loop__system__name="Mill end", kind="raft")
        assert raft.area_m2 == 4

    def test_its_first_fish_are_those_that_were_accepted(
        self, desk: Desk, written: Proposal
    ) -> None:
        Proposal.objects.filter(pk=written.pk).update(
            wish=written.wish | {"species": "rainbow_trout"}
        )
        drawn_version(desk, priced(desk, written))
        answered(desk, written, "accepted")
        desk.post("proposal_build", written.pk, name="Mill end")
        system = System.objects.get(name="Mill end")
        desk.post("first_weeks_start", system.pk, started="2026-07-06", temp_c="20")
        shown = desk.get("first_weeks", system.pk).context
        assert shown["form"]["species"].value() == "rainbow_trout"
        assert shown["gate_fish"] == "Rainbow trout"

    def test_built_once(self, desk: Desk, written: Proposal) -> None:
        drawn_version(desk, priced(desk, written))
        answered(desk, written, "accepted")
        desk.post("proposal_build", written.pk, name="Mill end")
        count = System.objects.count()
        assert desk.post("proposal_build", written.pk, name="Patio 2").status_code == 422
        assert answered(desk, written, "declined").status_code == 422
        assert System.objects.count() == count

    def test_nothing_is_accepted_without_a_version(self, desk: Desk, written: Proposal) -> None:
        answer = answered(desk, written, "accepted", version="")
        assert answer.status_code == 422
        assert "make its PDF first" in str(answer.context["form"].errors["version"])

    def test_only_what_was_accepted_is_built(self, desk: Desk, written: Proposal) -> None:
        drawn_version(desk, priced(desk, written))
        answered(desk, written, "declined")
        answer = desk.post("proposal_build", written.pk, name="Mill end")
        assert answer.status_code == 422
        assert "note the answer first" in str(answer.context["form"].non_field_errors())
        assert not System.objects.filter(name="Mill end").exists()

    def test_an_answered_proposal_changes_no_more_until_it_is_open(
        self, desk: Desk, written: Proposal
    ) -> None:
        drawn_version(desk, priced(desk, written))
        answered(desk, written, "declined")
        refused = desk.post("proposal_edit", written.pk, **(TERMS | {"rev": "2"}))
        assert refused.status_code == 422
        assert "set its answer back to open" in str(refused.context["form"].non_field_errors())
        assert answered(desk, written, "open").status_code == 302
        written.refresh_from_db()
        assert (written.answer, written.answered_on) == ("open", None)
        priced(desk, written, margin="5")

    def test_an_answer_lies_behind_us(self, desk: Desk, written: Proposal) -> None:
        drawn_version(desk, written)
        answer = answered(desk, written, "accepted", on="2031-01-01")
        assert answer.status_code == 422
        assert answer.context["form"].errors["on"]


def test_its_design_is_one_press_away(desk: Desk, written: Proposal) -> None:
    page = desk.browser.get(desk.get("proposal", written.pk).context["design"])
    sizes = [s["chosen"] for s in page.context["answer"]["groups"][0][1]]
    assert sizes[1].replace("\u00a0", " ") == "180 g/day"


def test_an_old_offer_says_so(desk: Desk, written: Proposal) -> None:
    Proposal.objects.update(valid_until=clock.today() - dt.timedelta(days=1))
    assert "no longer valid" in desk.get("proposal", written.pk).content.decode()


def test_a_wish_that_is_refused_becomes_no_proposal(desk: Desk) -> None:
    query = "&".join(f"{k}={v}" for k, v in (WISH | {"amount": "900"}).items())
    desk.browser.post(f"/places/{desk.place.pk}/design/?{query}", {"name": "x", "proposal": "1"})
    assert not Proposal.objects.exists()


def test_a_typed_nought_is_asked_about_once(desk: Desk, written: Proposal) -> None:
    noughts = TERMS | {"hours": "0", "rate": "", "margin": "0", "tax": "0"}
    answer = desk.post("proposal_edit", written.pk, **noughts)
    assert answer.status_code == 422
    doubted = answer.context["form"].doubted
    for what in ("keep it at 0 hours?", "margin", "the tax is 0 %"):
        assert what in doubted
    assert 'name="all_the_same"' in answer.content.decode()
    written.refresh_from_db()
    assert written.rev == 1
    # another nought than the one that was ticked away is asked about anew
    other = noughts | {"margin": "20", "all_the_same": doubted}
    assert desk.post("proposal_edit", written.pk, **other).status_code == 422
    kept = desk.post("proposal_edit", written.pk, **(noughts | {"all_the_same": doubted}))
    assert kept.status_code == 302
    written.refresh_from_db()
    assert (written.hours, written.margin, written.tax) == (0, 0, 0)


def test_its_page_names_what_stands_at_nought(desk: Desk, written: Proposal) -> None:
    asked = "No work is in the price: keep it at 0 hours?"
    said = desk.get("proposal", written.pk).content.decode()
    assert asked in said
    assert "No margin is on parts and supplies" in said
    # an empty tax is no nought: the paper says that taxes are not in the price
    assert "the tax is 0" not in said
    priced(desk, written)
    assert asked not in desk.get("proposal", written.pk).content.decode()
