"""Letters about an appointment: made or moved, called off."""

import datetime as dt
from typing import Any

from django.db.models import F
from django.utils.translation import gettext as _

from apps.accounts.choices import Purpose
from apps.accounts.selectors import firm_current
from apps.accounts.services import link_issue
from apps.catalogue.selectors import catalogue_current
from apps.clients.models import Contact
from apps.clients.selectors import letter_contacts
from apps.flows.letter_parts import client_address, day_and_time, greeting, link_secret
from apps.reports.choices import LetterKind
from apps.reports.models import Letter
from apps.reports.rendering.appointment import Appointment, calendar_text
from apps.reports.rendering.mailing import Mail
from apps.reports.services.letters import letter_make
from apps.visits.choices import Answer
from apps.visits.models import Visit


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


def visit_facts(
    letter: Letter, visit: Visit, contact: Contact, *, told: bool
) -> dict[str, Any]:  # fmt: skip
    """Return what a letter says of a visit, with the link that answers to it.

    `told`: the client is not asked. A visit that is called off has neither link nor preparation.
    """
    link, called_off = "", letter.kind == LetterKind.CALLED_OFF
    if not called_off:
        # a letter that holds several visits has a link for each
        mark = "" if visit.pk == letter.visit_id else f":{visit.pk}"
        secret = link_issue(
            client_id=visit.place.client_id, purpose=Purpose.APPOINTMENT, at=letter.made_at,
            days=120, contact_id=contact.pk, subject_id=visit.pk,
            secret=link_secret(letter.pk, f"{Purpose.APPOINTMENT}{mark}"),
        )  # fmt: skip
        link = client_address(secret)
    return {
        "when": day_and_time(visit.start),
        "place": f"{visit.place.name}, {visit.place.address}",
        "systems": ", ".join(sheet.system.name for sheet in visit.sheets.select_related("system")),
        "people": people_of(visit),
        "preparation": [] if called_off else preparation_lines(visit),
        "link": link,
        "link_words": _("See it, or ask for another time") if told
        else _("Confirm, move or decline"),
    }  # fmt: skip


def people_of(visit: Visit) -> str:
    """Return who comes."""
    return ", ".join(str(row.user) for row in visit.assignments.select_related("user"))


def compose_visit(letter: Letter) -> Mail:
    """Put a letter about an appointment together as it stands when it is sent."""
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
        LetterKind.CALLED_OFF: _("Our visit on %(when)s is called off.") % {"when": when},
    }[LetterKind(letter.kind)]
    if letter.parameters.get("other_hands"):
        sentence = _("%(people)s will come on %(when)s; day and hour stay as they were.") % {
            "people": people_of(visit), "when": when,
        }  # fmt: skip
    facts = visit_facts(letter, visit, contact, told=told)
    item = Appointment(
        uid=f"{visit.pk}@backyard", sequence=int(letter.parameters["sequence"]), start=visit.start,
        end=visit.end, stamp=letter.made_at, summary=f"{firm.name}: {facts['systems']}",
        location=visit.place.address, description=sentence, organizer_name=firm.name,
        organizer=firm.email, attendee_name=contact.name, attendee=contact.email,
        accepted=bool(letter.parameters.get("picked")),
    )  # fmt: skip
    method = "CANCEL" if called_off else "REQUEST"
    calendar = calendar_text(item, method)
    return Mail(
        kind=letter.kind,
        subject=sentence,
        context={
            "firm": firm, "greeting": greeting(contact), "sentence": sentence, "visits": [facts],
            "called_off": called_off,
            "preheader": facts["systems"],
        },
        address=letter.address,
        message_id=letter.message_id,
        firm_name=firm.name,
        reply_to=firm.email,
        calendar=(calendar, method),
        attachments=[("appointment.ics", calendar, "text/calendar")],
    )  # fmt: skip
