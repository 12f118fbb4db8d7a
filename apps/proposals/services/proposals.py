"""Changes: prices set, proposals made, drawn, answered and built."""

import datetime as dt
from collections.abc import Collection, Mapping
from typing import Any

from django.db import IntegrityError, transaction
from django.db.models import Max
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as _noop

from apps.accounts.selectors import firm_current
from apps.accounts.services import audit, firm_hold
from apps.calc.design.sizing import Rules, size
from apps.calc.design.takeoff import PRICED
from apps.calc.design.wish import Site, Wish
from apps.clients.models import Place
from apps.clients.selectors import letter_contacts, numbers_gone
from apps.core import files
from apps.core.exceptions import Conflict, DomainError, StaleVersion
from apps.core.measures import METRIC
from apps.core.scoping import Actor
from apps.proposals.choices import Answer
from apps.proposals.designs import kept, rules_kept
from apps.proposals.models import Price, Proposal, ProposalVersion, ProposalWord
from apps.proposals.rendering.document import html_of
from apps.proposals.selectors import prices_now, survey_newest
from apps.proposals.snapshots import TEMPLATE, snapshot_of
from apps.reports.choices import LetterKind
from apps.reports.models import Letter
from apps.reports.rendering.child import CHILD
from apps.reports.rendering.pdf import PROPOSAL
from apps.reports.services.letters import letters_withhold
from apps.systems.models import System
from apps.visits.services.steps import author

VALID_DAYS = 30  # (common practice)
# what makes two versions different papers
APART = frozenset({"version", "made_at"})
# what hangs on who reads letters there
READER = frozenset({"contact", "language", "units"})


@transaction.atomic
def prices_set(*, prices: Mapping[str, int | None], by: Actor, at: dt.datetime) -> None:
    """Set the firm's prices by code, ten-thousandths a unit; None takes one away.

    Raises DomainError for a code that no design asks for.
    """
    strange = sorted(set(prices) - set(PRICED))
    if strange:
        raise DomainError(_("Nothing is called %(code)s here.") % {"code": strange[0]}, "unknown")
    # two at once would both make the row of a price that is new
    firm_hold()
    held = prices_now()
    for code, amount in prices.items():
        if amount == held.get(code):
            continue
        if amount is None:
            Price.objects.filter(code=code).delete()
        else:
            row = Price.objects.filter(code=code).first() or Price(code=code)
            row.amount, row.changed_at, row.changed_by = amount, at, author(by)
            row.full_clean()
            row.save()
        audit(at=at, by=by, verb="priced", kind="price", object_id=code,
              change={"amount": [held.get(code), amount]})  # fmt: skip


def proposal_make(
    *,
    place: Place,
    name: str,
    wish: Wish,
    site: Site,
    rules: Rules,
    crop: str,
    by: Actor,
    at: dt.datetime,
    today: dt.date,
) -> Proposal:
    """Keep a design as a proposal with the next number and the firm's prices of today.

    Raises ValueError where the wish cannot be built at the site.
    """
    size(wish, site, rules)
    for _try in range(5):
        last = Proposal.objects.aggregate(Max("number"))["number__max"] or 0
        last = max(last, numbers_gone("last_proposal"))
        row = Proposal(
            number=last + 1, place=place, survey=survey_newest(place.pk), name=name,
            wish=kept(wish), site=kept(site), rules=rules_kept(rules), crop=crop,
            prices=prices_now(), valid_until=today + dt.timedelta(days=VALID_DAYS), made_at=at,
            made_by=author(by),
        )  # fmt: skip
        try:
            with transaction.atomic():
                row.full_clean(validate_unique=False)
                row.save(force_insert=True)
                audit(at=at, by=by, verb="made", kind="proposal", object_id=row.pk)
                return row
        except IntegrityError:
            continue
    raise DomainError(_("The proposal could not be numbered; try again."), "busy")


@transaction.atomic
def proposal_change(
    *, proposal: Proposal, changes: Mapping[str, Any], rev: int, by: Actor, at: dt.datetime
) -> Proposal:
    """Change name, words, prices and terms, based on a version of them.

    Raises Conflict once it is answered, StaleVersion, ValidationError naming the field.
    """
    row = Proposal.objects.select_for_update().get(pk=proposal.pk)
    must_be_open(row)
    if row.rev != rev:
        raise StaleVersion(_("Somebody else changed this; read it again."))
    for name, value in changes.items():
        setattr(row, name, value)
    row.rev += 1
    row.full_clean()
    row.save()
    audit(at=at, by=by, verb="changed", kind="proposal", object_id=row.pk)
    return row


def must_be_open(row: Proposal) -> None:
    """Raise Conflict for a proposal that the client has answered."""
    if row.answer != Answer.OPEN:
        raise Conflict(
            _("The client has answered this proposal: set its answer back to open first."),
            "answered",
        )


def version_make(*, proposal: Proposal, by: Actor, at: dt.datetime) -> tuple[ProposalVersion, bool]:
    """Draw a proposal and keep it as a new version; (version, whether it is new).

    Where the last version says the same, it stays the last. Nothing is stored before the PDF
    exists. Raises Conflict once it is answered, RenderFailed.
    """
    must_be_open(proposal)
    last = proposal.versions.order_by("-number").first()
    snapshot = _snapshot_now(proposal, (last.number if last else 0) + 1, at)
    if last is not None and _said(last.snapshot) == _said(snapshot):
        return last, False
    pdf = CHILD.draw(html_of(snapshot), PROPOSAL, snapshot["paper"])
    name, digest = files.store("proposals", pdf, "pdf")
    try:
        with transaction.atomic():
            version = ProposalVersion.objects.create(
                proposal=proposal, number=snapshot["version"], snapshot=snapshot,
                template=TEMPLATE, language=snapshot["language"], pdf=name, pdf_size=len(pdf),
                sha256=digest, made_at=at, made_by=author(by),
            )  # fmt: skip
            audit(at=at, by=by, verb="made version", kind="proposal", object_id=proposal.pk)
    except IntegrityError as error:
        raise Conflict(_("This version is being made already."), "busy") from error
    return version, True


def version_is_current(version: ProposalVersion, at: dt.datetime) -> bool:
    """Tell whether a version says what its proposal says now, to whomever and in which language."""
    now = _snapshot_now(version.proposal, version.number, at)
    return _said(version.snapshot, READER) == _said(now, READER)


def _snapshot_now(row: Proposal, number: int, at: dt.datetime) -> dict[str, Any]:
    contacts = letter_contacts(row.place.client_id)
    return snapshot_of(
        row, version=number, firm=firm_current(), contact=contacts[0] if contacts else None, at=at
    )


def _said(snapshot: Mapping[str, Any], more: Collection[str] = ()) -> dict[str, Any]:
    # those of before had no units of their own
    kept = {"units": METRIC, **snapshot}
    left = {name: value for name, value in kept.items() if name not in APART}
    return {name: value for name, value in left.items() if name not in more}


@transaction.atomic
def proposal_answer(
    *,
    proposal: Proposal,
    answer: str,
    on: dt.date | None,
    words: str,
    said_by: str,
    version: ProposalVersion | None,
    by: Actor,
    at: dt.datetime,
) -> Proposal:
    """Note what the client said to which version, and who of them, or that it is open again.

    What they wrote on their page is looked at with that, and a letter with it that still waits is
    let go. Raises Conflict once a system was made of it, DomainError where what was accepted, or
    who accepted it, is not said.
    """
    row = Proposal.objects.select_for_update().get(pk=proposal.pk)
    if row.system_id is not None:
        raise Conflict(_("A system was made of this proposal already: its answer stays."), "built")
    if answer == Answer.ACCEPTED and (version is None or version.proposal_id != row.pk):
        raise DomainError(
            _("A client accepts a version: make its PDF first, and say which one."), "no_version"
        )
    if answer == Answer.ACCEPTED and not said_by.strip():
        raise DomainError(_("Say who accepted it, and on which day."), "no_name")
    row.answer = answer
    row.answered_on = None if answer == Answer.OPEN else on
    row.answer_words = words
    row.answered_by = "" if answer == Answer.OPEN else said_by
    row.accepted = version if answer == Answer.ACCEPTED else None
    row.full_clean()
    row.save()
    if answer != Answer.OPEN:
        _settle(row, by, at)
    audit(at=at, by=by, verb=f"answer {answer}", kind="proposal", object_id=row.pk,
          change={"on": str(row.answered_on), "by": row.answered_by})  # fmt: skip
    return row


def _settle(row: Proposal, by: Actor, at: dt.datetime) -> None:
    """Let go of what an answer has overtaken: words to look at, letters that wait."""
    ProposalWord.objects.filter(version__proposal=row, seen_at=None).update(
        seen_at=at, seen_by=author(by)
    )
    letters_withhold(
        rows=Letter.objects.filter(kind=LetterKind.PROPOSAL, parameters__proposal=str(row.pk)),
        words=_noop("the proposal is answered"), at=at,
    )  # fmt: skip


@transaction.atomic
def proposal_build_begin(*, proposal: Proposal) -> Mapping[str, Any]:
    """Hold an accepted proposal and return the parts and flows of the version that was accepted.

    For one transaction with `proposal_built`. Raises Conflict where it was not accepted, or a
    system was made of it already.
    """
    row = (
        Proposal.objects.select_for_update(of=("self",))
        .select_related("accepted")
        .get(pk=proposal.pk)
    )
    if row.accepted is None:
        raise Conflict(
            _("A system is made of an accepted proposal: note the answer first."), "open"
        )
    if row.system_id is not None:
        raise Conflict(_("A system was made of this proposal already."), "built")
    plan: Mapping[str, Any] = row.accepted.snapshot["plan"]
    return plan


@transaction.atomic
def proposal_built(*, proposal: Proposal, system: System, by: Actor, at: dt.datetime) -> None:
    """Note which system was made of a proposal."""
    proposal.system = system
    proposal.save(update_fields=["system"])
    audit(at=at, by=by, verb="built", kind="proposal", object_id=proposal.pk,
          change={"system": str(system.pk)})  # fmt: skip
