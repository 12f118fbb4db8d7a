"""The letter that brings the summary of a quarter or a year: how the time went, and whether we go on."""

import datetime as dt

from django.utils import timezone
from django.utils.translation import gettext as _

from apps.accounts.selectors import firm_current
from apps.care.models import CarePlan
from apps.clients.selectors import letter_contacts
from apps.core.dates import day_text
from apps.flows.letter_parts import greeting
from apps.flows.letters_with_papers import (
    attached,
    corrected_subject,
    page_link,
    references,
    versions_of,
)
from apps.reports.choices import LetterKind
from apps.reports.models import Letter, Release, Report, ReportVersion
from apps.reports.rendering import papers, summary
from apps.reports.rendering.household import night_lines
from apps.reports.rendering.mailing import Mail
from apps.reports.rendering.reader import Reader
from apps.reports.services.letters import letter_make


def summary_letters_drafted(report: Report, at: dt.datetime) -> list[Letter]:
    """Return the letters that releasing a summary would send, not kept and not sent."""
    version = report.versions.order_by("-number").first()
    if version is None or Release.objects.filter(version=version).exists():
        return []
    return [
        Letter(kind=LetterKind.SUMMARY, contact=contact, address=contact.email, made_at=at,
               parameters=_parameters(version))
        for contact in letter_contacts(report.system.place.client_id)
    ]  # fmt: skip


def summary_letters(version: ReportVersion, at: dt.datetime) -> list[Letter]:
    """Write one letter a contact about a released summary, once for each version."""
    report = version.report
    return [
        letter_make(
            kind=LetterKind.SUMMARY, key=f"summary:{report.pk}:{version.number}",
            address=contact.email, contact=contact, visit=None, parameters=_parameters(version),
            at=at,
        )
        for contact in letter_contacts(report.system.place.client_id)
    ]  # fmt: skip


def _parameters(version: ReportVersion) -> dict[str, object]:
    return {"report": str(version.report_id), "versions": [str(version.pk)]}


def _going_on(report: Report, on: dt.date) -> list[str]:
    """Return what the letter asks of the time to come, as the agreement stands when it is sent."""
    plan = CarePlan.objects.filter(system=report.system).first()
    day = plan.agreed_until if plan else None
    if day is None:
        return [_("Would you like anything otherwise from now on? Answer this letter, or call.")]
    words = _("Our agreement ended on %(day)s.") if day < on else _("Our agreement ends on %(day)s.")  # fmt: skip
    return [
        words % {"day": day_text(day, "year")},
        _("Would you like us to go on? Answer this letter, or call."),
    ]


def _said(version: ReportVersion) -> list[str]:
    """Return what the letter says of the time, line by line."""
    reader = Reader(version.snapshot)
    rows = [*papers.harvest_rows(reader), *summary.incident_rows(reader)]
    return [summary.headline(reader), *summary.counted(reader), *(": ".join(row) for row in rows)]


def _corrected(version: ReportVersion) -> list[str]:
    """Return what a version says that the one before did not; nothing of a first one."""
    before = version.report.versions.filter(number__lt=version.number).order_by("-number").first()
    if before is None:
        return []
    held = set(_said(before))
    changed = [line for line in _said(version) if line not in held]
    return changed or [_("Some of its figures were wrong; they are right now.")]


def compose_summary(letter: Letter) -> Mail:
    """Put the letter about a summary together, its file attached where it is small enough."""
    contact, firm = letter.contact, firm_current()
    assert contact is not None  # noqa: S101 - the kind asks for one
    (version,) = versions_of(letter)
    reader = Reader(version.snapshot)
    kept = reader.snapshot
    first, last = (reader.day(kept["period"][end], year=True) for end in ("from", "to"))
    subject = _("%(system)s from %(first)s to %(last)s") % {
        "system": kept["system"]["name"], "first": first, "last": last,
    }  # fmt: skip
    headline, counted = summary.headline(reader), summary.counted(reader)
    day = dt.date.fromisoformat(kept["period"]["to"])
    attachments = attached([version], contact, letter, day)
    renewal = _going_on(version.report, timezone.localdate(letter.made_at))
    return Mail(
        kind=letter.kind,
        subject=corrected_subject(subject, [version]),
        context={
            "firm": firm, "greeting": greeting(contact), "span": subject, "sentence": headline,
            "counted": counted, "harvest": papers.harvest_rows(reader),
            "incidents": summary.incident_rows(reader),
            "corrected": _corrected(version),
            "note": [line for line in kept["note"].splitlines() if line.strip()],
            "renewal": renewal, "attached": bool(attachments), "link": page_link(letter, contact),
            "night": night_lines(reader), "preheader": " ".join([headline, *counted[:1]]),
        },
        address=letter.address,
        message_id=letter.message_id,
        firm_name=firm.name,
        reply_to=firm.email,
        attachments=attachments,
        references=references(
            [version], Letter.objects.filter(parameters__report=str(version.report_id)), letter
        ),
    )  # fmt: skip
