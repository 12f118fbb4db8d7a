"""The letter that somebody else comes than was told, at the time that stays."""

import datetime as dt

from django.db.models import F

from apps.clients.selectors import letter_contacts
from apps.reports.choices import LetterKind
from apps.reports.models import Letter
from apps.reports.services.letters import letter_make
from apps.visits.choices import Answer
from apps.visits.models import Visit


def hands_letters(visit: Visit, at: dt.datetime) -> list[Letter]:
    """Tell a client that somebody else comes, at the time they know; what they answered stands."""
    Visit.objects.filter(pk=visit.pk).update(
        appointment_sequence=F("appointment_sequence") + 1, rev=F("rev") + 1
    )
    visit.refresh_from_db()
    kind, confirmed = LetterKind.APPOINTMENT, visit.client_answer == Answer.CONFIRMED
    return [
        letter_make(
            kind=kind, key=f"{kind}:{visit.pk}:{visit.appointment_sequence}",
            address=contact.email, contact=contact, visit=visit,
            parameters={
                "sequence": visit.appointment_sequence, "picked": confirmed,
                "told": confirmed or visit.place.client.just_tell, "other_hands": True,
            },
            at=at,
        )
        for contact in letter_contacts(visit.place.client_id)
    ]  # fmt: skip
