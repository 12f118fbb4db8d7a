"""Changes: surveys kept, prices set, proposals made, drawn and answered."""

import datetime as dt
from collections.abc import Mapping
from typing import Any

from django.db import IntegrityError, transaction
from django.db.models import F, Max
from django.utils.translation import gettext as _

from apps.accounts.selectors import firm_current
from apps.accounts.services import audit
from apps.calc.design.sizing import Rules, size
from apps.calc.design.takeoff import PRICED
from apps.calc.design.wish import Site, Wish
from apps.clients.models import Place, SourceWater
from apps.clients.selectors import letter_contacts
from apps.core import files
from apps.core.exceptions import Conflict, DomainError, StaleVersion
from apps.core.scoping import Actor
from apps.proposals.choices import Answer
from apps.proposals.designs import kept, rules_kept
from apps.proposals.models import Price, Proposal, ProposalVersion, SiteSurvey
from apps.proposals.rendering.document import html_of
from apps.proposals.selectors import prices_now, survey_newest
from apps.proposals.snapshots import TEMPLATE, snapshot_of
from apps.proposals.survey_words import WATER
from apps.reports.rendering.child import CHILD
from apps.reports.rendering.pdf import PROPOSAL
from apps.systems.models import System
from apps.visits.services.steps import author

VALID_DAYS = 30  # (common practice)
# what makes two versions different papers
APART = frozenset({"version", "made_at"})


@transaction.atomic
def survey_save(
    *,
    place: Place,
    values: Mapping[str, Any],
    by: Actor,
    at: dt.datetime,
    survey: SiteSurvey | None = None,
    rev: int = 0,
) -> SiteSurvey:
    """Keep a survey of a place, or a change of one that is based on `rev`; its water beside it.

    Raises ValidationError naming the field, StaleVersion where somebody else was quicker.
    """
    row = survey or SiteSurvey(place=place, made_at=at, made_by=author(by))
    if survey is not None and not SiteSurvey.objects.filter(pk=row.pk, rev=rev).update(
        rev=F("rev") + 1
    ):
        raise StaleVersion(_("Somebody else changed this; read it again."))
    for name, value in values.items():
        if name not in WATER:
            setattr(row, name, value)
    row.changed_at, row.changed_by = at, author(by)
    row.water = _water(row, {name: values.get(name) for name in WATER}, by, at)
    row.rev = rev + 1
    row.full_clean()
    row.save()
    verb = "made" if survey is None else "changed"
    audit(at=at, by=by, verb=verb, kind="sitesurvey", object_id=row.pk)
    return row


def _water(
    survey: SiteSurvey, typed: dict[str, Any], by: Actor, at: dt.datetime
) -> SourceWater | None:
    """Return the day's measurement of the place's source water, made or brought up to date."""
    if typed["ph"] is None:
        return None
    same_day = SourceWater.objects.filter(place=survey.place, on=survey.on).first()
    row = same_day or SourceWater(place=survey.place, on=survey.on)
    for name, value in typed.items():
        setattr(row, name, bool(value) if name == "chloramine" else value)
    row.full_clean()
    row.save()
    audit(at=at, by=by, verb="measured", kind="sourcewater", object_id=row.pk, change=typed)
    return row


@transaction.atomic
def prices_set(*, prices: Mapping[str, int | None], by: Actor, at: dt.datetime) -> None:
    """Set the firm's prices by code, ten-thousandths a unit; None takes one away.

    Raises DomainError for a code that no design asks for.
    """
    strange = sorted(set(prices) - set(PRICED))
    if strange:
        raise DomainError(_("Nothing is called %(code)s here.") % {"code": strange[0]}, "unknown")
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
    _open(row)
    if row.rev != rev:
        raise StaleVersion(_("Somebody else changed this; read it again."))
    for name, value in changes.items():
        setattr(row, name, value)
    row.rev += 1
    row.full_clean()
    row.save()
    audit(at=at, by=by, verb="changed", kind="proposal", object_id=row.pk)
    return row


def _open(row: Proposal) -> None:
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
    _open(proposal)
    last = proposal.versions.order_by("-number").first()
    contacts = letter_contacts(proposal.place.client_id)
    snapshot = snapshot_of(
        proposal, version=(last.number if last else 0) + 1, firm=firm_current(),
        contact=contacts[0] if contacts else None, at=at,
    )  # fmt: skip
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


def _said(snapshot: Mapping[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in snapshot.items() if name not in APART}


@transaction.atomic
def proposal_answer(
    *,
    proposal: Proposal,
    answer: str,
    on: dt.date | None,
    words: str,
    version: ProposalVersion | None,
    by: Actor,
    at: dt.datetime,
) -> Proposal:
    """Note what the client said to which version, or that it is open again.

    Raises Conflict once a system was made of it, DomainError where what was accepted is not said.
    """
    row = Proposal.objects.select_for_update().get(pk=proposal.pk)
    if row.system_id is not None:
        raise Conflict(_("A system was made of this proposal already: its answer stays."), "built")
    if answer == Answer.ACCEPTED and (version is None or version.proposal_id != row.pk):
        raise DomainError(
            _("A client accepts a version: make its PDF first, and say which one."), "no_version"
        )
    row.answer = answer
    row.answered_on = None if answer == Answer.OPEN else on
    row.answer_words = words
    row.accepted = version if answer == Answer.ACCEPTED else None
    row.full_clean()
    row.save()
    audit(at=at, by=by, verb=f"answer {answer}", kind="proposal", object_id=row.pk,
          change={"on": str(row.answered_on)})  # fmt: skip
    return row


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
