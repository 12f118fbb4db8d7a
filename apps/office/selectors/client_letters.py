"""What a client has had: letters, and calls and messages noted by hand beside them."""

import datetime as dt
from dataclasses import dataclass

from apps.clients.models import Client
from apps.core.scoping import Actor
from apps.office.wording import people_by_author
from apps.reports.models import Letter
from apps.visits.models import CallNote

MOST = 400


@dataclass(frozen=True)
class Word:
    """One letter, or one note with who took it."""

    at: dt.datetime
    letter: Letter | None = None
    note: CallNote | None = None
    by: str = ""


def words_with(actor: Actor, client: Client) -> list[Word]:
    """Return letters and notes, newest first: a fixed number of queries."""
    letters = (
        Letter.objects.visible_to(actor)
        .filter(contact__client=client)
        .select_related("contact", "visit")
        .order_by("-made_at", "id")[:MOST]
    )
    notes = list(
        CallNote.objects.visible_to(actor)
        .filter(client=client)
        .select_related("system")
        .order_by("-at", "id")[:MOST]
    )
    names = people_by_author([note.by for note in notes if note.by])
    found = [Word(letter.made_at, letter=letter) for letter in letters]
    found += [Word(note.at, note=note, by=names.get(note.by, "")) for note in notes]
    return sorted(found, key=lambda word: word.at, reverse=True)
