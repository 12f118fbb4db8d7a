"""A gate code is shown to whoever goes there, on the day of the visit, and on no other and to nobody else.

The office, which keeps it, reads it on its own pages; a client's file of all that is held on them
has it as theirs (`test_client_data.py`).
"""

import datetime as dt
import re
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.test import Client as Browser
from django.urls import reverse

from apps.core import clock
from apps.flows.letters import compose
from apps.reports.choices import Channel, LetterKind
from apps.reports.models import Letter
from apps.visits.models import Assignment, Visit
from tests import factories
from tests.trust.policy import LINK, POLICIES
from tests.trust.test_matrix import Case, ask
from tests.trust.world import Canaries, build

pytestmark = pytest.mark.django_db
DAY = dt.timedelta(days=1)
# who may read the code, by the file that reads it
READERS = {
    # the office's own pages: where it is kept, and where a call is answered
    "apps/office/views/places.py", "apps/office/forms/places.py", "templates/office/place.html",
    "templates/office/_tank.html", "templates/office/system/_getting_in.html",
    # whoever goes there: each asks whether it is the day
    "apps/field/paper.py", "apps/field/phone/day.py", "templates/field/visit.html",
    "templates/field/_stop.html",
    # that there is a gate, not its code
    "apps/flows/visit_letters.py",
    "apps/clients/models.py",
}  # fmt: skip


@pytest.fixture
def world(db: None, monkeypatch: pytest.MonkeyPatch) -> Canaries:
    monkeypatch.setattr(clock, "now", lambda: factories.NOW)
    return build()


def code_of(world: Canaries) -> str:
    return f"code-{world.first.canary}"


def visit_on(world: Canaries, days: int) -> Visit:
    """Let the household's visit be so many days from today, at nine."""
    start = factories.NOW + days * DAY
    visits = Visit.objects.filter(pk=world.first.visit.pk)
    visits.update(start=start, end=start + dt.timedelta(hours=1))
    Assignment.objects.filter(visit__in=visits).update(
        start=start, end=start + dt.timedelta(hours=1)
    )
    return visits.get()


def telling(world: Canaries, actor: str, code: str) -> set[str]:
    """Return the addresses whose answer holds the code, of all that somebody may ask for."""
    wanted = LINK if actor == "link" else frozenset({"technician", "link"})
    found = set()
    for name, policy in POLICIES.items():
        if "GET" not in policy.methods or not (policy.who & wanted):
            continue
        answer: Any = ask(Case(name, "GET", actor, "own"), world)
        body = b"".join(answer.streaming_content) if answer.streaming else answer.content
        if code.encode() in body:
            found.add(name)
    return found


# what a technician is shown of today; the paper is drawn by a child and looked at by itself
TODAY = {"field:round", "field:visit", "api:phone_day"}


@pytest.mark.parametrize("days", [-1, 1])
@pytest.mark.parametrize("actor", ["ana", "link"])
def test_on_another_day_nobody_is_told(world: Canaries, actor: str, days: int) -> None:
    visit_on(world, days)
    assert telling(world, actor, code_of(world)) == set()


@pytest.mark.parametrize(("actor", "told"), [("ana", TODAY), ("link", set()), ("marek", set())])
def test_on_the_day_whoever_goes_there(world: Canaries, actor: str, told: set[str]) -> None:
    visit_on(world, 0)
    assert telling(world, actor, code_of(world)) == told


@pytest.mark.parametrize(("days", "gate"), [(-1, ""), (0, "code"), (1, "")])
def test_the_phone_s_copy(world: Canaries, days: int, gate: str) -> None:
    """One that was begun yesterday is on the phone still; tomorrow's is there already."""
    visit_on(world, days)
    if days < 0:
        Visit.objects.filter(pk=world.first.visit.pk).update(
            state="under_way", started_at=factories.NOW - DAY
        )
    answer: Any = Browser().get(
        reverse("api:phone_day"), headers={"Authorization": f"Bearer {world.tokens['ana']}"}
    )
    (visit,) = [row for row in answer.json()["visits"] if row["id"] == str(world.first.visit.pk)]
    assert visit["place"]["gate"] == (code_of(world) if gate else "")
    assert visit["place"]["gate_later"] is (not gate)


@pytest.mark.parametrize("days", [0, 1])
@pytest.mark.parametrize("channel", [Channel.MAIL, Channel.TEXT])
@pytest.mark.parametrize(
    "kind", [LetterKind.APPOINTMENT, LetterKind.CALLED_OFF, LetterKind.REMINDER]
)
def test_no_letter_about_a_visit(world: Canaries, kind: str, channel: str, days: int) -> None:
    visit = visit_on(world, days)
    letter = Letter.objects.create(
        kind=kind, key=f"{kind} {days}", visit=visit, contact=world.first.rows["contact"],
        channel=channel, address="a@a.example", message_id=f"<{kind}>", made_at=factories.NOW,
        parameters={"sequence": 1},
    )  # fmt: skip
    made: Any = compose(letter)
    parts = [made.body] if channel == Channel.TEXT else decoded(made.message())
    assert channel == Channel.TEXT or world.first.built.system.name in " ".join(parts)
    assert all(parts)
    assert not [part for part in parts if code_of(world) in part]


def decoded(message: Any) -> list[str]:
    """Return head and parts of a mail as they are read."""
    parts = [part for part in message.walk() if not part.is_multipart()]
    payloads = [part.get_payload(decode=True).decode(errors="replace") for part in parts]
    return [str(message["Subject"]), *payloads]


@pytest.mark.parametrize("days", [-1, 0, 1])
def test_no_calendar(world: Canaries, days: int) -> None:
    visit = visit_on(world, days)
    text = Browser().get(reverse("calendar", args=[world.first.calendar])).content.decode()
    assert str(visit.pk) in text
    assert "code-" not in text


def test_nobody_else_reads_it() -> None:
    """A new page, letter or export that reads the code has to stand above with its reason."""
    root = Path(settings.BASE_DIR)
    paths = [
        path
        for folder in ("apps", "templates")
        for path in (root / folder).rglob("*")
        if path.suffix in {".py", ".html", ".txt"} and "migrations" not in path.parts
    ]
    found = {
        str(path.relative_to(root))
        for path in paths
        if re.search(r"\bgate_code\b", path.read_text(encoding="utf-8"))
    }
    assert found == READERS
