"""Letters of the day itself: somebody is on the way, or comes later than was said."""

import datetime as dt
from uuid import UUID

from django.utils.translation import gettext as _

from apps.accounts.models import User
from apps.accounts.selectors import firm_current
from apps.clients.selectors import letter_contacts
from apps.flows.letter_parts import day_and_time, greeting, time_of_day
from apps.flows.text_letters import text_letters
from apps.reports.choices import LetterKind
from apps.reports.models import Letter
from apps.reports.rendering.mailing import Mail
from apps.reports.services.letters import letter_make
from apps.visits.models import Visit


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
    """Tell a client that we come later, one letter a contact, once for each incident.

    Who gets text messages gets one besides.
    """
    text_letters(
        kind=LetterKind.RUNNING_LATE, key=f"text:{late_key(visit, incident_id)}", visit=visit,
        parameters={"incident": str(incident_id), "was": was.isoformat()}, at=at,
    )  # fmt: skip
    return [
        letter_make(
            kind=draft.kind, key=late_key(visit, incident_id), address=draft.address,
            contact=draft.contact, visit=visit, parameters=draft.parameters, at=at,
        )
        for draft in late_letters_drafted(visit, incident_id, was, at)
    ]  # fmt: skip


def late_key(visit: Visit, incident_id: UUID) -> str:
    """Return what the keys of the letters about one delay begin with."""
    return f"running_late:{visit.pk}:{incident_id}"


def on_my_way_sentence(name: str, there: dt.datetime) -> str:
    """Return that somebody is on the way, for the letter and the client's page."""
    return _("%(name)s is on the way, about %(time)s.") % {
        "name": name, "time": time_of_day(there),
    }  # fmt: skip


def running_late_sentence(there: dt.datetime) -> str:
    """Return that we come later on the same day, for the letter and the client's page."""
    return _("We come later: about %(time)s.") % {"time": time_of_day(there)}


def compose_on_my_way(letter: Letter) -> Mail:
    """Write who is on the way and about when they are there."""
    there = dt.datetime.fromisoformat(letter.parameters["there"])
    name = str(User.objects.filter(pk=letter.parameters["by"]).first() or _("Somebody"))
    return _mail(letter, on_my_way_sentence(name, there))


def compose_running_late(letter: Letter) -> Mail:
    """Write that we come later than was said.

    Told from the road it holds what was promised there; because of a call for help, the visit's
    time as it stands when the letter is sent.
    """
    assert letter.visit is not None  # noqa: S101 - the kind asks for it
    if "there" in letter.parameters:
        sentence = running_late_sentence(dt.datetime.fromisoformat(letter.parameters["there"]))
    else:
        when = day_and_time(letter.visit.start)
        sentence = _("We come later: on %(when)s.") % {"when": when}
    return _mail(letter, sentence)


def _mail(letter: Letter, sentence: str) -> Mail:
    visit, firm = letter.visit, firm_current()
    assert visit is not None  # noqa: S101 - the kinds ask for it
    return Mail(
        kind=letter.kind,
        subject=sentence,
        context={
            "firm": firm, "greeting": greeting(letter.contact), "sentence": sentence,
            "preheader": visit.place.address, "help": "incident" in letter.parameters,
            "was": day_and_time(dt.datetime.fromisoformat(letter.parameters["was"])),
            "place": f"{visit.place.name}, {visit.place.address}",
            "people": ", ".join(str(row.user) for row in visit.assignments.select_related("user")),
        },
        address=letter.address,
        message_id=letter.message_id,
        firm_name=firm.name,
        reply_to=firm.email,
    )  # fmt: skip
