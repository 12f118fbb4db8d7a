"""A design out of its form: sized for a place, and kept as a proposal."""

from dataclasses import replace

from django.utils.translation import gettext as _

from apps.calc.design.parts import Plan, plan
from apps.calc.design.sizing import Design, size
from apps.calc.design.wish import Site
from apps.catalogue.selectors import Catalogue
from apps.clients.models import Place
from apps.clients.selectors import source_waters
from apps.core import clock
from apps.core.scoping import Actor
from apps.office.forms.design import DesignForm
from apps.proposals.designs import rules_of
from apps.proposals.models import Proposal
from apps.proposals.selectors import supply_w, survey_newest
from apps.proposals.services import proposal_make


def _site(form: DesignForm, place: Place) -> Site:
    source = source_waters([place.pk], clock.today()).get(place.pk)
    site = form.site(place.altitude_m or 0.0, source)
    return replace(site, supply_w=supply_w(survey_newest(place.pk)))


def sized(form: DesignForm, place: Place, catalogue: Catalogue) -> tuple[Design, Plan] | None:
    """Return what a wish comes to at a place; None, and why on the form, where it cannot be built."""
    try:
        wish, site = form.wish(), _site(form, place)
        found = size(wish, site, rules_of(catalogue))
    except ValueError as fault:
        form.add_error(None, _("These figures do not go together: %(why)s.") % {"why": fault})
        return None
    return found, plan(found, wish, site)


def written(
    form: DesignForm, place: Place, name: str, catalogue: Catalogue, actor: Actor
) -> Proposal:
    """Keep a design that was sized as a proposal."""
    return proposal_make(
        place=place, name=name, wish=form.wish(), site=_site(form, place),
        rules=rules_of(catalogue), crop=form.cleaned_data["crop"], by=actor, at=actor.at,
        today=clock.today(),
    )  # fmt: skip
