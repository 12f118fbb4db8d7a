"""Proposals: the firm's prices, a proposal with its versions, the client's answer, the system."""

import datetime as dt
from typing import Any
from urllib.parse import urlencode
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from apps.accounts.actors import office_of
from apps.accounts.selectors import firm_current
from apps.calc.design.takeoff import PRICED
from apps.calc.pricing import QUANTITY
from apps.catalogue.selectors import Catalogue, catalogue_current
from apps.core import clock, files
from apps.core.exceptions import DomainError
from apps.core.money import money_words
from apps.core.numbers import format_plain, with_unit
from apps.core.phrases import upper_first
from apps.core.refusing import attempt
from apps.core.scoping import Actor
from apps.office import services
from apps.office.forms.design import DesignNameForm
from apps.office.forms.proposals import ZEROS, AnswerForm, PricesForm, ProposalForm, zeros
from apps.office.views.common import POSTED, attempt_based, form_page, found, posted
from apps.office.views.system_edits import system_url
from apps.office.wording import place_label
from apps.proposals.choices import Answer, Said
from apps.proposals.design_words import PIECES, kind_name
from apps.proposals.models import Proposal, ProposalVersion, ProposalWord
from apps.proposals.selectors import prices_now, sum_of
from apps.proposals.services import prices_set, proposal_answer, proposal_change, version_make
from apps.systems.choices import ComponentKind


def _proposal(request: HttpRequest, pk: UUID) -> tuple[Actor, Proposal]:
    actor = office_of(request)
    rows = Proposal.objects.visible_to(actor)
    rows = rows.select_related("place__client", "survey__water", "accepted", "system")
    return actor, found(rows, pk)


def _url(row: Proposal) -> str:
    return reverse("office:proposal", args=[row.pk])


def _design_url(row: Proposal) -> str:
    """Return the page of a proposal's design, with its wish and site in the boxes."""
    names = ("winter_c", "summer_c", "lift_m", "pipe_m", "floor_kg_m2")
    asked = {name: row.wish[name] for name in ("by", "amount", "crop_group", "bed_kind", "species")}
    asked |= {name: row.site[name] for name in names if row.site[name] is not None}
    where = reverse("office:design", args=[row.place_id])
    return f"{where}?{urlencode(asked | {'crop': row.crop})}"


def item_name(code: str, catalogue: Catalogue) -> str:
    """Return what something that has a price is called."""
    if code in PIECES or code in ComponentKind.values:
        return kind_name(code)
    return upper_first(_(catalogue.name("consumables", code)))


@require_http_methods(POSTED)
def prices(request: HttpRequest) -> HttpResponse:
    """Office: what the firm pays for parts and supplies; new proposals begin with it."""
    actor, catalogue = office_of(request), catalogue_current()
    named = [(code, item_name(code, catalogue), unit) for code, unit in PRICED.items()]
    form = PricesForm(
        posted(request), named=named, currency=firm_current().currency,
        initial=PricesForm.initial_of(prices_now()),
    )  # fmt: skip
    if request.method == "POST" and form.is_valid():

        def act() -> bool:
            prices_set(prices=form.prices(), by=actor, at=actor.at)
            return True

        if attempt(form, act):
            messages.success(request, _("The prices are kept; proposals that are there keep theirs."))  # fmt: skip
            return redirect("office:prices")
    return form_page(
        request, form, "office/place_form.html", heading=_("Prices"), button=_("Keep them"),
        back=reverse("office:places"), groups=[("", list(form))],
        links=[(_("Another currency"), reverse("office:currency"))],
        lead=_("What the firm pays, without tax. The margin comes on top in each proposal; what "
               "has no price is named there as not priced."),
    )  # fmt: skip


@require_safe
def proposal(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: a proposal with its lines, its versions and the client's answer."""
    actor, row = _proposal(request, pk)
    currency, catalogue = firm_current().currency, catalogue_current()
    found_sum = sum_of(row, currency)
    versions = ProposalVersion.objects.visible_to(actor).filter(proposal=row)
    said = ProposalWord.objects.visible_to(actor).filter(version__proposal=row)
    context = {
        "proposal": row,
        "place": row.place,
        "trail": [(place_label(row.place), reverse("office:place", args=[row.place_id]))],
        "design": _design_url(row),
        "open": row.answer == Answer.OPEN,
        "late": row.answer == Answer.OPEN and row.valid_until < clock.today(),
        "versions": list(versions.select_related("sending").order_by("-number")),
        "said": said.select_related("contact", "version").order_by("-at", "id"),
        "lines": [
            {
                "name": item_name(line.item.code, catalogue),
                "quantity": with_unit(format_plain(line.quantity / QUANTITY), line.item.unit),
                "total": "" if line.total is None else money_words(line.total, currency),
            }
            for line in found_sum.lines
        ],
        "labour": money_words(found_sum.labour, currency) if found_sum.labour else "",
        "extras": [(text, money_words(amount, currency)) for text, amount in found_sum.extras],
        "net": money_words(found_sum.net, currency),
        "tax": "" if found_sum.tax is None else money_words(found_sum.tax, currency),
        "gross": money_words(found_sum.gross, currency),
        "unpriced": len(found_sum.unpriced),
        "zeros": zeros({name: getattr(row, name) for name in ZEROS}),
    }
    return render(request, "office/proposal.html", context)


@require_http_methods(POSTED)
def proposal_edit(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: change a proposal's words, prices and terms."""
    actor, row = _proposal(request, pk)
    firm, catalogue = firm_current(), catalogue_current()
    lines = sum_of(row, firm.currency).lines
    form = ProposalForm(
        posted(request), initial=ProposalForm.initial_for(row), currency=firm.currency,
        named=[
            (line.item.code, item_name(line.item.code, catalogue), line.item.unit)
            for line in lines
        ],
    )  # fmt: skip
    both: list[Any] = []
    if request.method == "POST" and form.is_valid() and not form.doubt(form.zeros()):
        done, both = attempt_based(
            form, row, {},
            lambda rev: proposal_change(
                proposal=row, changes=form.changes(), rev=rev, by=actor, at=actor.at
            ),
            ProposalForm.initial_for,
        )  # fmt: skip
        if done:
            messages.success(request, _("Kept. Make its PDF when it is ready to be shown."))
            return redirect(_url(row))
    return form_page(
        request, form, "office/place_form.html", heading=_("Prices and terms"),
        button=_("Keep it"), back=_url(row), both=both, groups=form.groups(),
        lead=_("Proposal %(number)s, %(name)s.") % {"number": str(row), "name": row.name},
    )  # fmt: skip


@require_POST
def proposal_draw(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: keep what the proposal says now as a version, with its PDF."""
    actor, row = _proposal(request, pk)
    try:
        version, new = version_make(proposal=row, by=actor, at=actor.at)
    except DomainError as error:
        messages.error(request, error.message)
        return redirect(_url(row))
    said = _("Version %(number)s is there.") if new else _("Version %(number)s says just this.")
    messages.success(request, said % {"number": version.number})
    return redirect(_url(row))


@require_safe
def proposal_pdf(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: a version of a proposal as it was shown to the client."""
    rows = ProposalVersion.objects.visible_to(office_of(request)).select_related("proposal")
    version = found(rows, pk)
    return files.pdf_answer(version.pdf, f"proposal-{version.proposal}-{version.number}")


@require_http_methods(POSTED)
def proposal_answered(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: note what the client said to a proposal, or that it is open again."""
    actor, row = _proposal(request, pk)
    versions = ProposalVersion.objects.visible_to(actor).filter(proposal=row)
    initial: dict[str, Any] = {
        "on": row.answered_on or clock.today(), "words": row.answer_words,
        "said_by": row.answered_by,
    }  # fmt: skip
    if row.answer != Answer.OPEN:
        initial["answer"] = row.answer
    else:
        initial |= _as_written(actor, row)
    form = AnswerForm(posted(request), initial=initial, versions=list(versions.order_by("-number")))
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        done = attempt(form, lambda: _answer(row, data, form.chosen(), actor))
        if done is not None:
            messages.success(request, _("The answer is noted."))
            return redirect(_url(row))
    return form_page(
        request, form, heading=_("What the client said"), button=_("Note it"), back=_url(row),
        lead=_("Proposal %(number)s, %(name)s.") % {"number": str(row), "name": row.name},
    )  # fmt: skip


def _as_written(actor: Actor, row: Proposal) -> dict[str, Any]:
    """Return what the client last wrote on their page, as the values of the boxes."""
    words = ProposalWord.objects.visible_to(actor).filter(version__proposal=row, kind=Said.WANTED)
    last = words.select_related("contact", "version").order_by("-at").first()
    if last is None:
        return {}
    return {
        "answer": Answer.ACCEPTED, "version": str(last.version.number), "words": last.words,
        "said_by": last.contact.name if last.contact else "", "on": timezone.localdate(last.at),
    }  # fmt: skip


def _answer(
    row: Proposal, data: dict[str, Any], version: ProposalVersion | None, actor: Actor
) -> Proposal:
    on: dt.date = data["on"]
    return proposal_answer(
        proposal=row,
        answer=data["answer"],
        on=on,
        words=data["words"],
        said_by=data["said_by"],
        version=version,
        by=actor,
        at=actor.at,
    )


@require_http_methods(POSTED)
def proposal_build(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: make the system that the client accepted, with its parts and its care plan."""
    actor, row = _proposal(request, pk)
    form = DesignNameForm(posted(request), initial={"name": row.name})
    if request.method == "POST" and form.is_valid():
        system = attempt(
            form,
            lambda: services.proposal_make_system(
                proposal=row, name=form.cleaned_data["name"],
                names={kind.value: upper_first(str(kind.label)) for kind in ComponentKind},
                catalogue=catalogue_current(), by=actor, at=actor.at,
            ),
        )  # fmt: skip
        if system is not None:
            messages.success(request, _("The system is there with its parts. Its care sleeps until you plan its first weeks; put in what was really built."))  # fmt: skip
            return redirect(system_url(system))
    return form_page(
        request, form, heading=_("Make the system"), button=_("Make it a system of this place"),
        back=_url(row),
        lead=_("Parts, flows and care plan as in the version that was accepted; each can be "
               "changed afterwards."),
    )  # fmt: skip
