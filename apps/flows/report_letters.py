"""The letter about a visit's reports: who gets it, and how it is put together."""

import datetime as dt
from typing import Any

from django.utils import timezone
from django.utils.translation import gettext as _

from apps.accounts.selectors import firm_current
from apps.clients.selectors import letter_contacts
from apps.core.drawing.ink import PRINT
from apps.core.drawing.png import svg_png
from apps.core.numbers import unit_word
from apps.flows.letter_parts import greeting
from apps.flows.letters_with_papers import (
    attached,
    corrected_subject,
    page_link,
    references,
    versions_of,
)
from apps.reports.choices import LetterKind, ReportKind
from apps.reports.models import Letter, Release, Report, ReportVersion
from apps.reports.rendering import papers, wording
from apps.reports.rendering.mailing import Mail
from apps.reports.services.letters import letter_make
from apps.visits.choices import WORST_FIRST
from apps.visits.models import Visit

LINES_IN_MAIL = 4


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


def sheet_context(version: ReportVersion, pictures: dict[str, bytes]) -> dict[str, Any]:
    """Return what a letter says of one report; its drawings are added to `pictures`, by content id."""
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
        "corrected": corrected_lines(version, reader),
        "called": papers.incident_lines(reader),
        "handed_over": hand_over_lists(reader),
        "actions": wording.actions(reader)[: wording.MAX_ACTIONS],
        "eat": wording.eat_lines(reader),
        "next": wording.next_lines(reader),
        "lines": lines,
        "night": wording.night_lines(reader),
    }


def corrected_lines(version: ReportVersion, reader: wording.Reader) -> list[str]:
    """Return what a version says otherwise than the one before; nothing of a first one."""
    if version.number == 1:
        return []
    return papers.corrections(reader) or [line for line in [version.snapshot.get("reason")] if line]


def hand_over_lists(reader: wording.Reader) -> list[tuple[str, list[str]]]:
    """Return what a client can do by now and what not yet, each under its title.

    Empty for a report that hands nothing over.
    """
    held = papers.hand_over(reader)
    if held is None:
        return []
    return [(_("Learnt so far"), held["learnt"]), (_("Still to learn"), held["to_learn"])]


def subject_of(version: ReportVersion, verdict: str) -> str:
    """Return what a letter is about, by the kind of its first report."""
    kind = version.snapshot.get("kind", ReportKind.VISIT)
    if kind == ReportKind.CALL_OUT:
        return _("After your call: %(verdict)s") % {"verdict": verdict}
    if kind == ReportKind.HAND_OVER:
        return _("Your system is handed over: %(name)s") % {
            "name": version.snapshot["system"]["name"],
        }  # fmt: skip
    return verdict


def compose_report(letter: Letter) -> Mail:
    """Put the letter about reports together, their files attached where they are small enough."""
    visit, contact, firm = letter.visit, letter.contact, firm_current()
    assert visit is not None and contact is not None  # noqa: S101, PT018 - the kind asks for both
    versions = versions_of(letter)
    pictures: dict[str, bytes] = {}
    sheets = [sheet_context(version, pictures) for version in versions]
    attachments = attached(versions, contact, letter, timezone.localdate(visit.finished_at or visit.end))  # fmt: skip
    subject = subject_of(versions[0], sheets[0]["verdict"]) if sheets else ""
    return Mail(
        kind=letter.kind,
        subject=corrected_subject(subject, versions),
        context={
            "firm": firm, "greeting": greeting(contact), "sheets": sheets,
            "attached": bool(attachments), "link": page_link(letter, contact),
            "night": sheets[0]["night"] if sheets else ["", ""],
            "preheader": " ".join(sheets[0]["why"]) if sheets else "",
        },
        address=letter.address,
        message_id=letter.message_id,
        firm_name=firm.name,
        reply_to=firm.email,
        pictures=pictures,
        attachments=attachments,
        references=references(versions, Letter.objects.filter(visit=visit), letter),
    )  # fmt: skip
