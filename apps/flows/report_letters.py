"""The letter about a visit's reports: who gets it, and how it is put together."""

import datetime as dt
from typing import Any

from django.utils import timezone
from django.utils.translation import gettext as _

from apps.accounts.choices import Purpose
from apps.accounts.selectors import firm_current
from apps.accounts.services import link_issue
from apps.clients.choices import ReportsAs
from apps.clients.selectors import letter_contacts
from apps.core import files
from apps.core.drawing.ink import PRINT
from apps.core.drawing.png import svg_png
from apps.core.numbers import unit_word
from apps.flows.letter_parts import client_address, greeting, link_secret
from apps.reports.choices import Delivery, LetterKind
from apps.reports.models import Letter, Release, Report, ReportVersion
from apps.reports.rendering import wording
from apps.reports.rendering.mailing import Mail
from apps.reports.services.copies import paper_for
from apps.reports.services.letters import letter_make
from apps.visits.choices import WORST_FIRST
from apps.visits.models import Visit

LINES_IN_MAIL = 4
# the reader may have it
ARRIVED = (Delivery.SENT, Delivery.UNSURE)


def report_letters_drafted(visit: Visit, at: dt.datetime) -> list[Letter]:
    """Return the letters that releasing a visit's reports would send, not kept and not sent."""
    versions = [
        version
        for report in Report.objects.filter(visit=visit).order_by("number")
        if (version := report.versions.order_by("-number").first())
        and not Release.objects.filter(version=version).exists()
    ]
    ids = sorted(str(version.pk) for version in versions)
    return [
        Letter(kind=LetterKind.REPORT, contact=contact, address=contact.email, visit=visit,
               made_at=at, parameters={"versions": ids})
        for contact in letter_contacts(visit.place.client_id)
        if ids
    ]  # fmt: skip


def report_letters(visit: Visit, versions: list[ReportVersion], at: dt.datetime) -> list[Letter]:
    """Write one letter a contact about a visit's released reports."""
    if not versions:
        return []
    ids = sorted(str(version.pk) for version in versions)
    numbers = "+".join(str(version.number) for version in versions)
    return [
        letter_make(
            kind=LetterKind.REPORT, key=f"report:{visit.pk}:{numbers}", address=contact.email,
            contact=contact, visit=visit, parameters={"versions": ids}, at=at,
        )
        for contact in letter_contacts(visit.place.client_id)
    ]  # fmt: skip


def _sheet_context(version: ReportVersion, pictures: dict[str, bytes]) -> dict[str, Any]:
    reader = wording.Reader(version.snapshot)
    items = sorted(
        (item for item in reader.readings() if item.data["trusted"] and item.judged),
        key=lambda item: WORST_FIRST.index(item.word) if item.word in WORST_FIRST else 9,
    )[:LINES_IN_MAIL]
    lines = []
    for index, item in enumerate(items):
        cid = f"line-{version.report.number}-{index}"
        pictures[cid] = svg_png(str(item.line(190, 34, PRINT)))
        lines.append(
            {"name": item.name, "figure": item.figure, "unit": unit_word(item.unit), "word": item.word_text,
             "bad": item.word in ("out_of_band", "harmful"), "sentence": item.sentence, "cid": cid}
        )  # fmt: skip
    return {
        "name": version.snapshot["system"]["name"],
        "day": reader.day(version.snapshot["visit"]["started"]),
        "verdict": wording.verdict(reader),
        "why": wording.why(reader),
        "actions": wording.actions(reader)[: wording.MAX_ACTIONS],
        "eat": wording.eat_lines(reader),
        "next": wording.next_lines(reader),
        "lines": lines,
        "night": wording.night_lines(reader),
    }


def compose_report(letter: Letter) -> Mail:
    """Put the letter about reports together, their files attached where they are small enough."""
    visit, contact, firm = letter.visit, letter.contact, firm_current()
    assert visit is not None and contact is not None  # noqa: S101, PT018 - the kind asks for both
    versions = list(
        ReportVersion.objects.filter(pk__in=letter.parameters["versions"])
        .select_related("report__system")
        .order_by("report__number")
    )
    pictures: dict[str, bytes] = {}
    sheets = [_sheet_context(version, pictures) for version in versions]
    secret = link_issue(
        client_id=visit.place.client_id, purpose=Purpose.PAGE, at=letter.made_at,
        contact_id=contact.pk, secret=link_secret(letter.pk, Purpose.PAGE),
    )  # fmt: skip
    wanted = versions if contact.reports_as == ReportsAs.ATTACHED else []
    papers = [paper_for(version, contact, letter.made_at) for version in wanted]
    small = sum(paper.pdf_size for paper in papers) <= firm.attach_limit_mb * 1_000_000
    attach = bool(papers) and small
    day = timezone.localdate(visit.finished_at or visit.end)
    corrected = any(version.number > 1 for version in versions)
    before = (
        Letter.objects.filter(
            visit=visit, contact=contact, kind=LetterKind.REPORT, made_at__lt=letter.made_at,
            state__in=ARRIVED,
        ).order_by("made_at").values_list("message_id", flat=True)
    )  # fmt: skip
    subject = sheets[0]["verdict"] if sheets else ""
    if corrected:
        subject = _("Corrected: %(subject)s") % {"subject": subject}
    return Mail(
        kind=letter.kind,
        subject=subject,
        context={
            "firm": firm, "greeting": greeting(contact), "sheets": sheets, "attached": attach,
            "link": client_address(secret), "night": sheets[0]["night"] if sheets else ["", ""],
            "preheader": " ".join(sheets[0]["why"]) if sheets else "",
        },
        address=letter.address,
        message_id=letter.message_id,
        firm_name=firm.name,
        reply_to=firm.email,
        pictures=pictures,
        attachments=[
            (f"report-{version.report.number:04d}-{day.isoformat()}.pdf", files.read(paper.pdf),
             "application/pdf")
            for version, paper in zip(versions, papers, strict=True)
        ] if attach else (),
        references=list(before) if corrected else (),
    )  # fmt: skip
