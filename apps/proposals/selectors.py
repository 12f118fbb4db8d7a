"""Reads of this app: the newest survey, what it says, prices, a proposal's lines, where it is."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.db.models import Case, CharField, Exists, OuterRef, QuerySet, Subquery, Value, When
from django.db.models.fields.json import KT

from apps.calc.design import survey as science
from apps.calc.design.takeoff import Item, items
from apps.calc.pricing import QUANTITY, labour_total, line_total, payable, tax_on
from apps.core.money import decimals_of
from apps.proposals.choices import Answer, Stand
from apps.proposals.designs import design_of, site_of
from apps.proposals.models import (
    Price,
    Proposal,
    ProposalVersion,
    ProposalWord,
    Sending,
    SiteSurvey,
)
from apps.proposals.survey_words import LABELS, WATER


def survey_newest(place_id: UUID) -> SiteSurvey | None:
    """Return the last survey of a place with its water."""
    rows = SiteSurvey.objects.filter(place=place_id).select_related("water")
    return rows.order_by("-on", "-made_at").first()


def supply_w(row: SiteSurvey | None) -> float | None:
    """Return what the circuit that a survey found gives at most [W]; None where nobody looked."""
    if row is None or not row.volts or not row.amps:
        return None
    return row.volts * row.amps


def survey_seen(row: SiteSurvey) -> dict[str, science.Value]:
    """Return what a survey says, field by field, its water readings among them."""
    return {
        name: getattr(row.water, name, None) if name in WATER else getattr(row, name)
        for name in LABELS
    }


def prices_now() -> dict[str, int]:
    """Return the firm's prices, code -> ten-thousandths of its currency a unit."""
    return dict(Price.objects.values_list("code", "amount"))


@dataclass(frozen=True)
class Line:
    """One line of a proposal: an item, its price a unit if there is one, what it comes to."""

    item: Item
    quantity: int
    price: int | None
    total: int | None


@dataclass(frozen=True)
class Sum:
    """What a proposal comes to, all in ten-thousandths; `tax` None: not counted in."""

    lines: tuple[Line, ...]
    labour: int
    extras: tuple[tuple[str, int], ...]
    net: int
    tax: int | None
    gross: int

    @property
    def unpriced(self) -> list[str]:
        """The codes of what has no price."""
        return [line.item.code for line in self.lines if line.total is None]


def sum_of(row: Proposal, currency: str) -> Sum:
    """Return a proposal's lines and what they come to in a currency."""
    decimals = decimals_of(currency)
    made, drawn = design_of(row)
    lines = tuple(
        _line(item, row.prices, row.margin, decimals)
        for item in items(drawn, made, site_of(row.site))
    )
    labour = labour_total(row.hours, row.rate, decimals)
    extras = tuple((str(e["text"]), payable(int(e["amount"]), 1, decimals)) for e in row.extras)
    amounts = [line.total or 0 for line in lines] + [labour] + [amount for _t, amount in extras]
    net = sum(amounts)
    tax = None if row.tax is None else tax_on([net], row.tax, decimals)
    return Sum(lines, labour, extras, net, tax, net + (tax or 0))


def _line(item: Item, prices: Mapping[str, Any], margin: int, decimals: int) -> Line:
    quantity, price = round(item.quantity * QUANTITY), prices.get(item.code)
    total = None if price is None else line_total(quantity, int(price), margin, decimals)
    return Line(item, quantity, price, total)


def with_stand(rows: QuerySet[Proposal], on: dt.date) -> QuerySet[Proposal]:
    """Return proposals with where each is on a day (`stand`), and when it was sent last (`sent_at`)."""
    sent = Sending.objects.filter(version__proposal=OuterRef("pk"))
    unseen = ProposalWord.objects.filter(version__proposal=OuterRef("pk"), seen_at=None)
    stand = Case(
        When(system__isnull=False, then=Value(Stand.BUILT)),
        When(answer=Answer.ACCEPTED, then=Value(Stand.ACCEPTED)),
        When(answer=Answer.DECLINED, then=Value(Stand.DECLINED)),
        When(Exists(unseen), then=Value(Stand.ASKED)),
        When(valid_until__lt=on, then=Value(Stand.EXPIRED)),
        When(Exists(sent), then=Value(Stand.SENT)),
        default=Value(Stand.DRAFT), output_field=CharField(),
    )  # fmt: skip
    last = sent.order_by("-version__number")
    return rows.annotate(stand=stand, sent_at=Subquery(last.values("at")[:1]))


def with_shown(rows: QuerySet[Proposal]) -> QuerySet[Proposal]:
    """Return proposals with the sum of their last version and its currency; None where none is."""
    last = ProposalVersion.objects.filter(proposal=OuterRef("pk")).order_by("-number")
    return rows.annotate(
        shown_gross=Subquery(last.values(gross=KT("snapshot__gross"))[:1]),
        shown_currency=Subquery(last.values(currency=KT("snapshot__currency"))[:1]),
    )


def versions_sent(rows: QuerySet[ProposalVersion]) -> list[ProposalVersion]:
    """Return of each proposal the version that counts for its client: accepted, else the last sent.

    The newest proposal first: two queries.
    """
    sent = (
        rows.filter(sending__isnull=False)
        .select_related("proposal__place", "sending")
        .prefetch_related("words_said")
        .order_by("-proposal__number", "-number")
    )
    found: dict[UUID, ProposalVersion] = {}
    for version in sent:
        first = found.setdefault(version.proposal_id, version)
        if first is not version and version.pk == version.proposal.accepted_id:
            found[version.proposal_id] = version
    return list(found.values())
