"""Reads of this app."""

from django.db.models import QuerySet
from django.utils.translation import gettext as _

from apps.accounts.choices import Role
from apps.accounts.models import Firm, User
from apps.core.exceptions import DomainError
from apps.core.scoping import Actor


def firm_current() -> Firm:
    """Return the firm. Raises DomainError where none is set up."""
    firm = Firm.objects.first()
    if firm is None:
        raise DomainError(_("no firm is set up yet; run manage.py firm_setup"), "no_firm")
    return firm


def technicians(actor: Actor | None = None) -> QuerySet[User]:
    """Return the active technicians by name; where an actor asks, those that they may see."""
    rows = User.objects.visible_to(actor) if actor else User.objects.all()
    return rows.filter(role=Role.TECHNICIAN, is_active=True).order_by("first_name", "username")
