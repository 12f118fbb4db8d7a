"""What letters with reports have in common: files, the page's link, what a correction answers."""

import datetime as dt
from collections.abc import Sequence

from django.db.models import QuerySet
from django.utils.translation import gettext as _

from apps.accounts.choices import Purpose
from apps.accounts.selectors import firm_current
from apps.accounts.services import link_issue
from apps.clients.choices import ReportsAs
from apps.clients.models import Contact
from apps.core import files
from apps.flows.letter_parts import client_address, link_secret
from apps.reports.choices import Delivery
from apps.reports.models import Letter, ReportVersion
from apps.reports.services.copies import paper_for

# the reader may have it
ARRIVED = (Delivery.SENT, Delivery.UNSURE)


def versions_of(letter: Letter) -> list[ReportVersion]:
    """Return the versions that a letter brings, in the order of their numbers."""
    return list(
        ReportVersion.objects.filter(pk__in=letter.parameters["versions"])
        .select_related("report__system")
        .order_by("report__number")
    )


def page_link(letter: Letter, contact: Contact) -> str:
    """Return the address of the page on which a letter's reader finds their reports."""
    secret = link_issue(
        client_id=contact.client_id, purpose=Purpose.PAGE, at=letter.made_at,
        contact_id=contact.pk, secret=link_secret(letter.pk, Purpose.PAGE),
    )  # fmt: skip
    return client_address(secret)


def attached(
    versions: Sequence[ReportVersion], contact: Contact, letter: Letter, day: dt.date
) -> list[tuple[str, bytes, str]]:
    """Return the files of versions as (name, bytes, type), as their reader has them.

    None where they want a link only, or where all together are larger than the firm sends.
    """
    if contact.reports_as != ReportsAs.ATTACHED:
        return []
    papers = [paper_for(version, contact, letter.made_at) for version in versions]
    if sum(paper.pdf_size for paper in papers) > firm_current().attach_limit_mb * 1_000_000:
        return []
    return [
        (f"report-{version.report.number:04d}-{day.isoformat()}.pdf", files.read(paper.pdf),
         "application/pdf")
        for version, paper in zip(versions, papers, strict=True)
    ]  # fmt: skip


def corrected_subject(subject: str, versions: Sequence[ReportVersion]) -> str:
    """Return a letter's subject, which says so where it corrects one before."""
    if not any(version.number > 1 for version in versions):
        return subject
    return _("Corrected: %(subject)s") % {"subject": subject}


def references(
    versions: Sequence[ReportVersion], about: QuerySet[Letter], letter: Letter
) -> list[str]:
    """Return the Message-IDs of what a correction answers, oldest first (RFC 5322, 3.6.4).

    `about`: the letters about the same; of these the ones of its kind that its reader may have.
    """
    if not any(version.number > 1 for version in versions):
        return []
    before = about.filter(
        contact=letter.contact, kind=letter.kind, made_at__lt=letter.made_at, state__in=ARRIVED
    )
    return list(before.order_by("made_at").values_list("message_id", flat=True))
