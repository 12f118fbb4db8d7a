"""A proposal with a drawn version in a desk's world, nothing drawn for real."""

from typing import Any

import pytest

from apps.proposals.models import Proposal, ProposalVersion
from apps.reports.rendering.child import CHILD
from tests.office.conftest import Desk
from tests.office.test_design import address

TERMS = {
    "rev": "1", "name": "Patio greens", "words": "With pleasure.", "valid_until": "2026-07-15",
    "margin": "25", "hours": "12.5", "rate": "48", "tax": "21", "left_out": "The pergola.",
    "price_tank": "0.45", "price_raft": "62,50", "price_pump": "79.9", "extra_1": "Delivery",
    "extra_1_amount": "35",
}  # fmt: skip


def undraw(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let a paper be its HTML."""

    def draw(html: str, _style: str, _paper: str, _photos: Any = None) -> bytes:
        return b"%PDF-1.7 " + html.encode()

    monkeypatch.setattr(CHILD, "draw", draw)


def proposal(desk: Desk) -> Proposal:
    """A priced proposal written of a design."""
    desk.browser.post(address(desk), {"name": "Patio greens", "proposal": "1"})
    row = Proposal.objects.latest("number")
    answer = desk.post("proposal_edit", row.pk, **(TERMS | {"rev": str(row.rev)}))
    assert answer.status_code == 302, answer.context["form"].errors
    row.refresh_from_db()
    return row


def version(desk: Desk, row: Proposal) -> ProposalVersion:
    """Its next version."""
    assert desk.post("proposal_draw", row.pk).status_code == 302
    made: ProposalVersion = row.versions.latest("number")
    return made


def send(desk: Desk, row: ProposalVersion, **more: str) -> Any:
    """Press Send it."""
    return desk.post("version_send", row.pk, **({"words": "", "send": "1"} | more))
