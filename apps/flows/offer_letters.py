"""The letter with times to choose from: who gets it, and how it is put together."""

import datetime as dt
from uuid import UUID

from django.utils import timezone
from django.utils.translation import gettext as _

from apps.accounts.choices import Purpose
from apps.accounts.selectors import firm_current
from apps.accounts.services import link_issue
from apps.clients.selectors import letter_contacts
from apps.core.dates import day_text
from apps.flows.letter_parts import (
    client_address,
    day_and_span,
    day_and_time,
    greeting,
    link_secret,
    time_of_day,
)
from apps.reports.choices import LetterKind
from apps.reports.models import Letter
from apps.reports.rendering.mailing import Mail
from apps.reports.services.letters import letter_make
from apps.rounds.choices import TimeState
from apps.rounds.models import TimesOffered
from apps.visits.choices import Answer, State
from apps.visits.models import Visit

LINK_DAYS = 120


def times_letters(offer: TimesOffered, at: dt.datetime) -> list[Letter]:
    """Write the times to each contact who gets letters, one letter a contact."""
    visit = offer.visit
    return [
        letter_make(
            kind=LetterKind.TIMES, key=f"times:{offer.pk}", address=contact.email,
            contact=contact, visit=visit, parameters={"offer": str(offer.pk)}, at=at,
        )
        for contact in letter_contacts(visit.place.client_id)
    ]  # fmt: skip


def compose_times(letter: Letter) -> Mail:
    """Put the times together as they stand when it is sent; its one link shows and changes nothing."""
    visit, contact, firm = letter.visit, letter.contact, firm_current()
    assert visit is not None and contact is not None  # noqa: S101, PT018 - the kind asks for both
    offer = TimesOffered.objects.get(pk=UUID(letter.parameters["offer"]))
    secret = link_issue(
        client_id=visit.place.client_id, purpose=Purpose.APPOINTMENT, at=letter.made_at,
        days=LINK_DAYS, contact_id=contact.pk, subject_id=visit.pk,
        secret=link_secret(letter.pk, Purpose.APPOINTMENT),
    )  # fmt: skip
    sentence = _asked(visit)
    times = [
        day_and_span(time.told_from, time.told_until)
        for time in offer.times.exclude(state=TimeState.GONE)
    ]
    systems = ", ".join(sheet.system.name for sheet in visit.sheets.select_related("system"))
    return Mail(
        kind=letter.kind,
        subject=sentence,
        context={
            "firm": firm, "greeting": greeting(contact), "sentence": sentence, "times": times,
            "preheader": "; ".join(times), "until": day_and_time(offer.until), "systems": systems,
            "place": f"{visit.place.name}, {visit.place.address}", "link": client_address(secret),
        },
        address=letter.address,
        message_id=letter.message_id,
        firm_name=firm.name,
        reply_to=firm.email,
    )  # fmt: skip


def _asked(visit: Visit) -> str:
    """Return what the letter asks; what was promised and cannot be kept is said first."""
    turned_down = visit.client_answer in (Answer.OTHER_TIME, Answer.DECLINED)
    if visit.state != State.BOOKED or turned_down:
        return _("Which of these times suits you for our visit?")
    # with its hour: one of the times may be on the same day
    return _("We cannot come on %(day)s at %(time)s after all. Which time suits you?") % {
        "day": day_text(timezone.localdate(visit.start)), "time": time_of_day(visit.start),
    }  # fmt: skip
