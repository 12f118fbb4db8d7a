"""Proposals as plain JSON, and the changes of one as its form takes them."""

from collections.abc import Mapping
from typing import Any

from django.utils.translation import gettext as _

from apps.calc.pricing import HOURS, QUANTITY
from apps.core.money import MONEY
from apps.flows.operation import only
from apps.office.api.bodies import as_typed, fault, held_typed, number_typed
from apps.office.api.shapes import iso
from apps.office.forms.proposals import EXTRAS, SHARE, ProposalForm
from apps.proposals.models import Proposal, ProposalVersion
from apps.proposals.selectors import Sum, sum_of


def _amount(value: int | None) -> float | None:
    return None if value is None else value / MONEY


def proposal_shape(row: Proposal, currency: str) -> dict[str, Any]:
    """Return a proposal with its lines and where it is; amounts in the firm's currency."""
    sent_at = getattr(row, "sent_at", None)
    return {
        "id": str(row.pk), "number": row.number, "place": str(row.place_id),
        "survey": str(row.survey_id) if row.survey_id else None, "name": row.name,
        "wish": row.wish, "site": row.site, "crop": row.crop, "words": row.words,
        "left_out": row.left_out, "valid_until": iso(row.valid_until),
        "prices": {code: amount / MONEY for code, amount in row.prices.items()},
        "margin": row.margin / SHARE, "hours": row.hours / HOURS, "rate": row.rate / MONEY,
        "tax": None if row.tax is None else row.tax / SHARE,
        "extras": [{"text": e["text"], "amount": e["amount"] / MONEY} for e in row.extras],
        "sum": _sum(sum_of(row, currency), currency), "stand": getattr(row, "stand", ""),
        "sent_at": iso(sent_at), "answer": row.answer, "answered_on": iso(row.answered_on),
        "answered_by": row.answered_by, "answer_words": row.answer_words,
        "accepted": str(row.accepted_id) if row.accepted_id else None,
        "system": str(row.system_id) if row.system_id else None, "rev": row.rev,
        "made_at": iso(row.made_at), "made_by": row.made_by,
    }  # fmt: skip


def _sum(made: Sum, currency: str) -> dict[str, Any]:
    return {
        "currency": currency,
        "lines": [
            {"group": line.item.group, "code": line.item.code,
             "quantity": line.quantity / QUANTITY, "unit": str(line.item.unit),
             "total": _amount(line.total)}
            for line in made.lines
        ],
        "work": made.labour / MONEY, "net": made.net / MONEY, "tax": _amount(made.tax),
        "gross": made.gross / MONEY, "unpriced": made.unpriced,
    }  # fmt: skip


def version_shape(row: ProposalVersion) -> dict[str, Any]:
    """Return a version with when it was sent and what the client wrote to it."""
    sending = getattr(row, "sending", None)
    return {
        "id": str(row.pk), "number": row.number, "proposal": str(row.proposal_id),
        "language": row.language, "pdf_size": row.pdf_size, "sha256": row.sha256,
        "made_at": iso(row.made_at), "made_by": row.made_by,
        "sent_at": iso(sending.at) if sending else None, "sent_by": sending.by if sending else "",
        "words": [
            {"id": str(w.pk), "kind": w.kind, "words": w.words, "at": iso(w.at),
             "contact": str(w.contact_id) if w.contact_id else None, "seen_at": iso(w.seen_at)}
            for w in row.words_said.all()
        ],
    }  # fmt: skip


def terms_typed(row: Proposal, body: Mapping[str, Any], codes: set[str]) -> dict[str, str]:
    """Return a proposal's terms with a body's changes, as its form has them. Raises Invalid."""
    plain = {n: value for n, value in body.items() if n not in ("prices", "extras")}
    held = held_typed(ProposalForm.initial_for(row))
    if "extras" in body:
        held = {n: value for n, value in held.items() if not n.startswith("extra_")}
        held |= _extras(body["extras"])
    return (
        held
        | as_typed(ProposalForm.base_fields, plain)
        | prices_typed(body.get("prices", {}), codes)
    )


def prices_typed(given: Any, codes: set[str]) -> dict[str, str]:
    """Return prices by code as their form has them, null as an empty box. Raises Invalid."""
    if not isinstance(given, dict):
        raise fault("/prices", _("an object is needed"))
    only(given, sorted(codes), (), "/prices")
    return {
        f"price_{code}": "" if amount is None else number_typed(f"/prices/{code}", amount)
        for code, amount in given.items()
    }


def _extras(given: Any) -> dict[str, str]:
    if not isinstance(given, list) or len(given) > EXTRAS:
        raise fault("/extras", _("a list of at most %(most)s is needed") % {"most": EXTRAS})
    found: dict[str, str] = {}
    for number, item in enumerate(given, 1):
        pointer = f"/extras/{number - 1}"
        if not isinstance(item, dict):
            raise fault(pointer, _("an object is needed"))
        only(item, ("text", "amount"), ("text", "amount"), pointer)
        if not isinstance(item["text"], str) or "\x00" in item["text"]:
            raise fault(f"{pointer}/text", _("text is needed"))
        found[f"extra_{number}"] = item["text"]
        found[f"extra_{number}_amount"] = number_typed(f"{pointer}/amount", item["amount"])
    return found


def place_of(name: str) -> str:
    """Return where a field of the proposal's form stands in a body.

    >>> place_of("price_tank"), place_of("extra_2_amount"), place_of("rate")
    ('/prices/tank', '/extras/1/amount', '/rate')
    """
    if name.startswith("price_"):
        return f"/prices/{name.removeprefix('price_')}"
    if name.startswith("extra_"):
        number, _mark, part = name.removeprefix("extra_").partition("_")
        return f"/extras/{int(number) - 1}/{part or 'text'}"
    return f"/{name}"
