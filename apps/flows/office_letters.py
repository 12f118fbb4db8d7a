"""Letters to the office itself: the day's due list, somebody who works alone, a call for help."""

import datetime as dt

from django.conf import settings
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from apps.accounts.models import User
from apps.accounts.selectors import firm_current
from apps.care.selectors import due_rows, ranked
from apps.catalogue.selectors import catalogue_current
from apps.core.dates import day_text
from apps.core.scoping import system
from apps.flows.letter_parts import day_and_time
from apps.flows.wording import reason_text
from apps.incidents.choices import Said
from apps.incidents.models import IncidentNote
from apps.reports.choices import LetterKind
from apps.reports.models import Letter
from apps.reports.rendering.mailing import Mail
from apps.reports.services.letters import letter_make
from apps.visits.models import CheckIn

DUE_ROWS_IN_MAIL = 25


def due_list_letter(on: dt.date, at: dt.datetime) -> Letter:
    """Write the day's due list to the office."""
    return letter_make(
        kind=LetterKind.DUE_LIST, key=f"due_list:{on.isoformat()}", address=firm_current().email,
        contact=None, visit=None, parameters={"on": on.isoformat()}, at=at,
    )  # fmt: skip


def compose_due_list(letter: Letter) -> Mail:
    """Put the due list of a day together."""
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


def compose_check_in(letter: Letter) -> Mail:
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


def help_letter(note: IncidentNote, at: dt.datetime) -> Letter:
    """Write to the office that a client asks for help from their page; once a message."""
    return letter_make(
        kind=LetterKind.HELP, key=f"help:{note.pk}", address=firm_current().email, contact=None,
        visit=None, parameters={"note": str(note.pk)}, at=at,
    )  # fmt: skip


def compose_help(letter: Letter) -> Mail:
    """Write who asks for help, what they see and how to reach them."""
    firm = firm_current()
    rows = IncidentNote.objects.select_related("incident__system__place__client")
    note = rows.get(pk=letter.parameters["note"])
    system, photos = note.incident.system, int(note.what.get("photos", 0))
    signs = [str(Said(code).label) for code in note.what.get("signs", []) if code in Said.values]
    sentence = _("Help wanted at %(system)s: %(what)s.") % {
        "system": system.name, "what": ", ".join(signs) or _("no sign ticked"),
    }  # fmt: skip
    photo_words = ngettext("%(count)d photo", "%(count)d photos", photos) % {"count": photos}
    return Mail(
        kind=letter.kind,
        subject=sentence,
        context={
            "firm": firm, "sentence": sentence, "preheader": "", "words": note.text,
            "caller": note.what.get("caller", ""), "when": day_and_time(note.at),
            "photos": photo_words if photos else "",
            "place": f"{system.place.client.name}, {system.place.address}",
            "link": f"{settings.BACKYARD_BASE_URL}/incidents/{note.incident_id}/",
        },
        address=letter.address,
        message_id=letter.message_id,
        firm_name=firm.name,
        reply_to=firm.email,
    )  # fmt: skip
