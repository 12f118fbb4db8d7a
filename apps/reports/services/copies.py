"""A report's paper as each reader has it: their language, their units; drawn when first asked for."""

import datetime as dt
import logging

from django.db import IntegrityError, transaction

from apps.clients.models import Contact
from apps.core import files
from apps.reports.models import ReportCopy, ReportVersion
from apps.reports.rendering.child import CHILD, RenderFailed
from apps.reports.services.reports import photos_of

log = logging.getLogger(__name__)


def paper_for(
    version: ReportVersion, contact: Contact | None, at: dt.datetime
) -> ReportVersion | ReportCopy:
    """Return the row whose `pdf` a contact reads; the version itself where it is theirs already.

    Where a copy cannot be drawn, the version's own paper stands in for it.
    """
    snapshot = version.snapshot
    if contact is None or (contact.language, contact.units) == (
        version.language,
        snapshot["units"],
    ):
        return version
    whose = {"language": contact.language, "units": contact.units}
    held = version.copies.filter(**whose).first()
    if held is not None:
        return held
    try:
        pdf = CHILD.render(snapshot | whose, photos_of(snapshot)[0])
    except RenderFailed:
        log.exception("a copy of version %s could not be drawn", version.pk)
        return version
    name, digest = files.store("reports", pdf, "pdf")
    try:
        with transaction.atomic():
            return ReportCopy.objects.create(
                version=version, pdf=name, pdf_size=len(pdf), sha256=digest, made_at=at, **whose
            )
    except IntegrityError:
        # somebody else was quicker, with the same bytes
        return version.copies.get(**whose)
