"""Who is written to about what, and how each kind of letter is put together."""

import datetime as dt
from collections.abc import Callable
from typing import Any
from uuid import UUID

from django.conf import settings
from django.core.mail import EmailMultiAlternatives
from django.db.models import F
from django.utils import timezone, translation
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from apps.accounts.choices import Purpose
from apps.accounts.models import User
from apps.accounts.selectors import firm_current
from apps.accounts.services import link_issue
from apps.calc.weather import CAUTIONS, CHECKLISTS
from apps.care.selectors import due_rows, ranked
from apps.catalogue.selectors import catalogue_current
from apps.clients.selectors import letter_contacts
from apps.core import files
from apps.core.dates import day_text
from apps.core.drawing.ink import PRINT
from apps.core.drawing.png import svg_png
from apps.core.numbers import unit_word
from apps.core.scoping import system
from apps.flows.letter_parts import client_address, day_and_time, greeting, link_secret
from apps.flows.letters_on_the_way import compose_on_my_way, compose_running_late
from apps.flows.offer_letters import compose_times
from apps.flows.wording import reason_text
from apps.incidents.choices import Weather
from apps.incidents.models import WeatherAsk, WeatherWatch
from apps.reports.choices import LetterKind
from apps.reports.models import Letter, ReportVersion
from apps.reports.rendering import wording
from apps.reports.rendering.appointment import Appointment, calendar_text
from apps.reports.rendering.mailing import Mail, message_of
from apps.reports.services.letters import letter_make
from apps.visits.choices import WORST_FIRST, Answer
from apps.visits.models import CheckIn, Visit

LINES_IN_MAIL = 4
DUE_ROWS_IN_MAIL = 25


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


def appointment_letters(
    visit: Visit, kind: str, at: dt.datetime, *, picked: bool = False, at_once: bool = False
) -> list[Letter]:
    """Write to a client about an appointment; the calendar's sequence grows each time.

    Who wants no question is told, and counts as told whether a letter can go or not. Who has
    `picked` this time is not asked either: it is confirmed. `at_once`, and where they picked: it
    answers what the client has just done, and they look out for it.
    """
    client, asks = visit.place.client, kind != LetterKind.CALLED_OFF
    contacts = letter_contacts(client.pk)
    answer: dict[str, Any] = {}
    if picked:
        answer = {"client_answer": Answer.CONFIRMED, "client_words": "", "answered_at": at}
    elif asks and client.just_tell:
        answer = {"told_at": at}
    elif asks and contacts:
        answer = {"client_answer": Answer.ASKED}
    Visit.objects.filter(pk=visit.pk).update(
        appointment_sequence=F("appointment_sequence") + 1, rev=F("rev") + 1, **answer
    )
    visit.refresh_from_db()
    return [
        letter_make(
            kind=kind, key=f"{kind}:{visit.pk}:{visit.appointment_sequence}",
            address=contact.email, contact=contact, visit=visit,
            parameters={
                "sequence": visit.appointment_sequence, "picked": picked,
                "told": picked or (asks and client.just_tell),
            },
            at=at, at_once=at_once or picked,
        )
        for contact in contacts
    ]  # fmt: skip


def reminder_letters(visit: Visit, at: dt.datetime) -> list[Letter]:
    """Remind a client of a visit, once for each of its times."""
    return [
        letter_make(
            kind=LetterKind.REMINDER, key=f"reminder:{visit.pk}:{visit.start.isoformat()}",
            address=contact.email, contact=contact, visit=visit,
            parameters={"sequence": visit.appointment_sequence}, at=at,
        )
        for contact in letter_contacts(visit.place.client_id)
    ]  # fmt: skip


def late_letters_drafted(
    visit: Visit, incident_id: UUID, was: dt.datetime, at: dt.datetime
) -> list[Letter]:
    """Return the letters that tell a client that we come later, not kept and not sent."""
    parameters = {"incident": str(incident_id), "was": was.isoformat()}
    return [
        Letter(kind=LetterKind.RUNNING_LATE, contact=contact, visit=visit, address=contact.email,
               parameters=parameters, made_at=at)
        for contact in letter_contacts(visit.place.client_id)
    ]  # fmt: skip


def late_letters(
    visit: Visit, incident_id: UUID, was: dt.datetime, at: dt.datetime
) -> list[Letter]:
    """Tell a client that we come later, one letter a contact, once for each incident."""
    return [
        letter_make(
            kind=draft.kind, key=late_key(visit, incident_id), address=draft.address,
            contact=draft.contact, visit=visit, parameters=draft.parameters, at=at,
        )
        for draft in late_letters_drafted(visit, incident_id, was, at)
    ]  # fmt: skip


def weather_letters(watch: WeatherWatch, at: dt.datetime) -> list[Letter]:
    """Write the list of a weather to each contact who was asked, one letter a contact."""
    asks = watch.asks.select_related("contact").order_by("contact__name", "id")
    return [
        letter_make(
            kind=LetterKind.WEATHER, key=f"weather:{ask.pk}", address=ask.contact.email,
            contact=ask.contact, visit=None, parameters={"ask": str(ask.pk)}, at=at,
        )
        for ask in asks
    ]  # fmt: skip


def late_key(visit: Visit, incident_id: UUID) -> str:
    """Return what the keys of the letters about one delay begin with."""
    return f"running_late:{visit.pk}:{incident_id}"


def due_list_letter(on: dt.date, at: dt.datetime) -> Letter:
    """Write the day's due list to the office."""
    return letter_make(
        kind=LetterKind.DUE_LIST, key=f"due_list:{on.isoformat()}", address=firm_current().email,
        contact=None, visit=None, parameters={"on": on.isoformat()}, at=at,
    )  # fmt: skip


def preparation_lines(visit: Visit) -> list[str]:
    """Return what the client should do before a visit, from the tasks and the place."""
    catalogue = catalogue_current()
    hours, lines = 0, []
    for sheet in visit.sheets.prefetch_related("lines"):
        for line in sheet.lines.all():
            task = catalogue.task(line.code) or {}
            no_feed = int(task.get("no_feed_hours") or 0)
            hours = max(hours, no_feed)
            if task.get("preparation") and not no_feed:
                lines.append(_(task["preparation"]))
    if hours:
        moment = day_and_time(visit.start - dt.timedelta(hours=hours))
        lines.insert(0, _("Please give no feed from %(moment)s.") % {"moment": moment})
    if visit.place.gate_code or "gate" in visit.place.access_notes.lower():
        lines.append(_("Please see that we can get through the gate."))
    if visit.place.dog:
        lines.append(_("Please keep the dog inside while we are there."))
    return list(dict.fromkeys(lines))


def _compose_visit(letter: Letter) -> Mail:
    visit, contact, firm = letter.visit, letter.contact, firm_current()
    assert visit is not None and contact is not None  # noqa: S101, PT018 - the kind asks for both
    when = day_and_time(visit.start)
    called_off = letter.kind == LetterKind.CALLED_OFF
    told = bool(letter.parameters.get("told"))
    sentence = {
        LetterKind.APPOINTMENT: (
            _("We come on %(when)s.") if told else _("We would like to come on %(when)s.")
        )
        % {"when": when},
        LetterKind.REMINDER: _("We come on %(when)s.") % {"when": when},
        LetterKind.CALLED_OFF: _("Our visit on %(when)s is called off.") % {"when": when},
    }[LetterKind(letter.kind)]
    people = ", ".join(str(row.user) for row in visit.assignments.select_related("user"))
    if letter.parameters.get("other_hands"):
        sentence = _("%(people)s will come on %(when)s; day and hour stay as they were.") % {
            "people": people, "when": when,
        }  # fmt: skip
    systems = ", ".join(sheet.system.name for sheet in visit.sheets.select_related("system"))
    link = ""
    if not called_off:
        secret = link_issue(
            client_id=visit.place.client_id, purpose=Purpose.APPOINTMENT, at=letter.made_at,
            days=120, contact_id=contact.pk, subject_id=visit.pk,
            secret=link_secret(letter.pk, Purpose.APPOINTMENT),
        )  # fmt: skip
        link = client_address(secret)
    item = Appointment(
        uid=f"{visit.pk}@backyard", sequence=int(letter.parameters["sequence"]), start=visit.start,
        end=visit.end, stamp=letter.made_at, summary=f"{firm.name}: {systems}",
        location=visit.place.address, description=sentence, organizer_name=firm.name,
        organizer=firm.email, attendee_name=contact.name, attendee=contact.email,
        accepted=bool(letter.parameters.get("picked")),
    )  # fmt: skip
    calendar = calendar_text(item, "CANCEL" if called_off else "REQUEST")
    is_reminder = letter.kind == LetterKind.REMINDER
    return Mail(
        kind=letter.kind,
        subject=sentence,
        context={
            "firm": firm, "greeting": greeting(contact), "sentence": sentence, "link": link,
            "link_words": _("See it, or ask for another time") if told
            else _("Confirm, move or decline"),
            "preheader": systems, "place": f"{visit.place.name}, {visit.place.address}",
            "systems": systems, "people": people,
            "preparation": [] if called_off else preparation_lines(visit),
        },
        address=letter.address,
        message_id=letter.message_id,
        firm_name=firm.name,
        reply_to=firm.email,
        calendar=None if is_reminder else (calendar, "CANCEL" if called_off else "REQUEST"),
        attachments=() if is_reminder else (("appointment.ics", calendar, "text/calendar"),),
    )  # fmt: skip


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


def _compose_report(letter: Letter) -> Mail:
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
    attach = sum(version.pdf_size for version in versions) <= firm.attach_limit_mb * 1_000_000
    day = timezone.localdate(visit.finished_at or visit.end)
    corrected = any(version.number > 1 for version in versions)
    before = (
        Letter.objects.filter(
            visit=visit, contact=contact, kind=LetterKind.REPORT, made_at__lt=letter.made_at
        )
        .order_by("-made_at")
        .first()
    )
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
            (f"report-{version.report.number:04d}-{day.isoformat()}.pdf", files.read(version.pdf),
             "application/pdf")
            for version in versions
        ] if attach else (),
        in_reply_to=before.message_id if before and corrected else "",
    )  # fmt: skip


def _compose_due_list(letter: Letter) -> Mail:
    on = dt.date.fromisoformat(letter.parameters["on"])
    firm = firm_current()
    everyone = ranked(system("due list letter", letter.made_at), on)
    count = everyone.count()
    rows = due_rows(everyone[:DUE_ROWS_IN_MAIL], on)
    catalogue = catalogue_current()
    day = day_text(on, "long")
    sentence = ngettext(
        "%(day)s: one system needs somebody.", "%(day)s: %(count)s systems need somebody.", count
    ) % {"day": day, "count": count}
    return Mail(
        kind=letter.kind,
        subject=sentence,
        context={
            "firm": firm, "sentence": sentence, "preheader": "",
            "link": f"{settings.BACKYARD_BASE_URL}/",
            "rows": [
                {"rank": row.rank, "system": row.system.name,
                 "place": row.system.address,
                 "reasons": " ".join(reason_text(reason, catalogue) for reason in row.reasons)}
                for row in rows
            ],
        },
        address=letter.address,
        message_id=letter.message_id,
        firm_name=firm.name,
        reply_to=firm.email,
    )  # fmt: skip


def _compose_check_in(letter: Letter) -> Mail:
    """Write about somebody who works alone: late, or fine after all; as it stands when it is sent."""
    visit, firm = letter.visit, firm_current()
    assert visit is not None  # noqa: S101 - the kind asks for it
    row = CheckIn.objects.get(pk=letter.parameters["check_in"])
    key = row.by.partition(":")[2]
    person = User.objects.filter(pk=key).first() if len(key) == 36 else None
    name = str(person or _("Somebody"))
    by = day_and_time(row.fine_by)
    if row.fine_at is None:
        minutes = max(1, round((letter.made_at - row.fine_by).total_seconds() / 60))
        sentence = ngettext(
            "%(name)s works alone and has not said fine: %(minutes)s minute late.",
            "%(name)s works alone and has not said fine: %(minutes)s minutes late.", minutes,
        ) % {"name": name, "minutes": minutes}  # fmt: skip
    else:
        sentence = _("%(name)s is fine; nothing to do.") % {"name": name}
    return Mail(
        kind=letter.kind,
        subject=sentence,
        context={
            "firm": firm, "sentence": sentence, "preheader": "", "by": by,
            "late": row.fine_at is None, "name": name, "phone": person.phone if person else "",
            "fine": day_and_time(row.fine_at) if row.fine_at else "",
            "client": visit.place.client.name, "place": f"{visit.place.name}, {visit.place.address}",
            "link": f"{settings.BACKYARD_BASE_URL}/visits/{visit.pk}/",
        },
        address=letter.address,
        message_id=letter.message_id,
        firm_name=firm.name,
        reply_to=firm.email,
    )  # fmt: skip


def weather_sentence(kind: str) -> str:
    """Return what is coming, as the letter and the client's page begin."""
    return {
        Weather.HEAT: _("Heat is coming: please get your system ready."),
        Weather.FROST: _("Frost is coming: please get your system ready."),
        Weather.STORM: _(
            "A storm is coming, and the power may fail: please get your system ready."
        ),
    }[Weather(kind)]


def _compose_weather(letter: Letter) -> Mail:
    contact, firm = letter.contact, firm_current()
    assert contact is not None  # noqa: S101 - the kind asks for it
    ask = WeatherAsk.objects.select_related("watch").get(pk=letter.parameters["ask"])
    checklist = CHECKLISTS[ask.watch.kind]
    secret = link_issue(
        client_id=contact.client_id, purpose=Purpose.PAGE, at=letter.made_at,
        contact_id=contact.pk, secret=link_secret(letter.pk, Purpose.PAGE),
    )  # fmt: skip
    sentence = weather_sentence(ask.watch.kind)
    return Mail(
        kind=letter.kind,
        subject=sentence,
        context={
            "firm": firm, "greeting": greeting(contact), "sentence": sentence,
            "preheader": ask.watch.words, "words": ask.watch.words,
            "systems": ", ".join(row.name for row in ask.systems.order_by("name")),
            "before": [_(line) for line in checklist.before],
            "after": [_(line) for line in checklist.after],
            "cautions": [_(line) for line in CAUTIONS], "link": client_address(secret),
        },
        address=letter.address,
        message_id=letter.message_id,
        firm_name=firm.name,
        reply_to=firm.email,
    )  # fmt: skip


COMPOSERS: dict[str, Callable[[Letter], Mail]] = {
    LetterKind.REPORT: _compose_report,
    LetterKind.APPOINTMENT: _compose_visit,
    LetterKind.CALLED_OFF: _compose_visit,
    LetterKind.REMINDER: _compose_visit,
    LetterKind.DUE_LIST: _compose_due_list,
    LetterKind.CHECK_IN: _compose_check_in,
    LetterKind.RUNNING_LATE: compose_running_late,
    LetterKind.WEATHER: _compose_weather,
    LetterKind.TIMES: compose_times,
    LetterKind.ON_MY_WAY: compose_on_my_way,
}


def compose(letter: Letter) -> EmailMultiAlternatives:
    """Return a letter as a mail in its reader's language."""
    language = letter.contact.language if letter.contact else firm_current().language
    with translation.override(language):
        return message_of(COMPOSERS[letter.kind](letter))
