"""What reports and printed days are drawn for."""

import datetime as dt

from django.db import transaction

from apps.accounts.models import Firm
from apps.accounts.services import audit
from apps.core.scoping import Actor


@transaction.atomic
def paper_set(*, paper: str, by: Actor, at: dt.datetime) -> None:
    """Say what the firm prints on. Raises ValidationError for a paper that is not known."""
    firm = Firm.objects.select_for_update().get(pk=1)
    firm.paper = paper
    firm.full_clean()
    firm.save(update_fields=["paper"])
    audit(at=at, by=by, verb="set paper", kind="firm", object_id=firm.pk, change={"paper": paper})
