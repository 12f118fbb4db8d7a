"""Three designs from the wish to the supply list, through the office's pages."""

from typing import Any

import pytest

from apps.proposals.models import Proposal, ProposalVersion
from apps.proposals.rendering.document import html_of
from apps.proposals.selectors import sum_of
from apps.reports.rendering.child import CHILD
from apps.systems.models import Component
from tests.proposals.conftest import Desk
from tests.proposals.examples import EXAMPLES, PRICES, SITE, Example


@pytest.fixture(autouse=True)
def undrawn(monkeypatch: pytest.MonkeyPatch) -> None:
    """Draw nothing: what stands on the paper is looked at as a page."""
    monkeypatch.setattr(CHILD, "draw", lambda html, _style, _paper: b"%PDF-1.7 " + html.encode())


def proposed(desk: Desk, example: Example) -> Proposal:
    """Survey the place, set prices, design, write the proposal with a margin of a quarter."""
    answer = desk.post("survey_new", desk.place.pk, **(SITE | example.survey))
    assert answer.status_code == 302, answer.context["form"].errors
    desk.post("prices", **{f"price_{code}": price for code, price in PRICES.items()})
    query = "&".join(f"{name}={value}" for name, value in example.wish.items())
    where = f"/places/{desk.place.pk}/design/?{query}"
    answer = desk.browser.post(where, {"name": example.name, "proposal": "1"})
    assert answer.status_code == 302, answer.context["form"].errors
    row = Proposal.objects.get()
    terms = {f"price_{code}": price for code, price in PRICES.items()} | {
        "rev": "1", "name": example.name, "valid_until": "2026-07-15", "margin": "25",
    }  # fmt: skip
    assert desk.post("proposal_edit", row.pk, **terms).status_code == 302
    row.refresh_from_db()
    return row


def version_of(desk: Desk, row: Proposal) -> ProposalVersion:
    desk.post("proposal_draw", row.pk)
    return row.versions.get()


def sizes_of(version: ProposalVersion) -> dict[str, Any]:
    return {size["code"]: size for size in version.snapshot["sizes"]}


@pytest.mark.outside(
    source="FAO 589 (feed by area 40-50 g/m2, 1-2 % of body weight, 10-20 kg/m3), "
    "Timmons & Ebeling (92 g TAN a kg of protein, sludge), geometry; by hand",
    kind="read", tolerance=0.001,
)  # fmt: skip
@pytest.mark.parametrize("example", EXAMPLES, ids=lambda e: e.name)
def test_sizes_follow_the_published_rules(desk: Desk, example: Example, outside: Any) -> None:
    version = version_of(desk, proposed(desk, example))
    sizes = sizes_of(version)
    for code, (low, high) in example.sizes.items():
        outside(sizes[code]["low"], low)
        outside(sizes[code]["high"], high)
    quantities = {line["code"]: line["quantity"] / 1000 for line in version.snapshot["lines"]}
    for code, quantity in example.quantities.items():
        outside(quantities[code], quantity)


@pytest.mark.outside(
    source="FAO 589: 1-2 % of body weight, 40-50 g/m2 a day; thermal growth, Iwama & Tautz 1981",
    kind="read", tolerance=0.01,
)  # fmt: skip
def test_fish_a_year_carry_feed_and_beds(desk: Desk, outside: Any) -> None:
    """50 kg a year need 50 x months / 12 kg in the water; months by TGC from 20 g to the plate."""
    from apps.calc.species import species_table

    version = version_of(desk, proposed(desk, EXAMPLES[1]))
    sizes, kind = sizes_of(version), species_table()["common_carp"]
    grown = kind.market_g ** (1 / 3) - 20 ** (1 / 3)
    months = grown / (kind.tgc / 1000 * max(12.0, kind.best_low_c)) / 30.4
    biomass = 50 * months / 12
    outside(sizes["fish"]["chosen"], biomass)
    outside(sizes["feed"]["low"], biomass * 10)
    outside(sizes["feed"]["high"], biomass * 20)
    outside(sizes["beds"]["chosen"], biomass * 15 / 45)


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda e: e.name)
def test_the_price_is_the_sum_of_its_lines_by_hand(desk: Desk, example: Example) -> None:
    """Each line beside exact decimals: quantity x price x 1.25, paid to the cent, half up."""
    from decimal import ROUND_HALF_UP, Decimal

    row = proposed(desk, example)
    found, total = sum_of(row, "EUR"), Decimal(0)
    for line in found.lines:
        exact = (
            Decimal(str(line.quantity)) / 1000 * Decimal(PRICES[line.item.code]) * Decimal("1.25")
        )
        total += exact.quantize(Decimal("0.01"), rounding=ROUND_HALF_UP)
    assert Decimal(found.net) / 10_000 == total
    assert found.unpriced == []


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda e: e.name)
def test_the_paper_says_what_to_mind_and_no_more(desk: Desk, example: Example) -> None:
    html = html_of(version_of(desk, proposed(desk, example)).snapshot)
    text = " ".join(html.replace("\u00a0", " ").replace("&#x27;", "'").split())
    assert example.survey["wants"] in text
    for words in (example.name, "What stands where", "In all", *example.says):
        assert words in text, words
    for words in example.silent:
        assert words not in text, words


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda e: e.name)
def test_from_the_wish_to_the_supply_list(desk: Desk, example: Example) -> None:
    row = proposed(desk, example)
    version = version_of(desk, row)
    answer = {"answer": "accepted", "on": "2026-06-10", "version": "1", "said_by": "Robin"}
    desk.post("proposal_answer", row.pk, **answer)
    desk.post("proposal_build", row.pk, name=example.name)
    row.refresh_from_db()
    assert row.system is not None
    parts = Component.objects.filter(loop__system=row.system).order_by("place_in_flow")
    assert [p.kind for p in parts] == [p["kind"] for p in version.snapshot["plan"]["parts"]]
    listed = desk.get("supply_list", row.system.pk).context
    assert listed["of"].litres == pytest.approx(sum(part.litres or 0 for part in parts))
    assert {"Fish feed, pellets 2–6 mm", "Ammonia reagents"} <= {r["name"] for r in listed["rows"]}
    assert len(listed["parts"]) == len(parts)
