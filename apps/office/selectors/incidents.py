"""An incident as the office reads it: where the script stands, what was said, who waits."""

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from apps.accounts.models import User
from apps.calc.callscript import (
    CAUTIONS,
    CLOSING,
    SKILL_WORDS,
    STEPS,
    WHO_WORDS,
    Answer,
    Step,
    Walk,
    opening_answers,
    skills_wanted,
    walk,
)
from apps.calc.sources import SOURCES
from apps.catalogue.choices import EntryKind
from apps.catalogue.selectors import Catalogue
from apps.core.drawing.words import URGENCY_WORDS
from apps.core.numbers import format_figure, with_unit
from apps.core.scoping import Actor
from apps.flows.letters_on_the_way import late_key
from apps.flows.nearest import AT, LAST, NEXT, Candidate, Late, candidates, emergency_minutes
from apps.incidents.choices import ASKED, Cause, Entry, Said, Stand, Weather
from apps.incidents.models import Incident, IncidentNote, IncidentPhoto, PutOff
from apps.office.selectors.call_tank import Tank, step_figures
from apps.office.selectors.due import FilterWord
from apps.office.wording import count_word, day_words, people_by_author, place_label, upper_first
from apps.reports.models import Letter
from apps.systems.models import System
from apps.visits.choices import HOLDING

FILTERS: dict[str, Q] = {
    "open": Q(state=Stand.OPEN), "watching": Q(state=Stand.WATCHING),
    "closed": Q(state=Stand.CLOSED),
}  # fmt: skip
MOST_HERE = 5


def filter_words(counts: Mapping[str, int], kept: str) -> list[FilterWord]:
    """Return the filters of the list with their counts."""
    labels = {
        "": _("All"),
        "open": _("Open"),
        "watching": _("Being watched"),
        "closed": _("Closed"),
    }
    return [
        FilterWord(code, label, counts[code or "all"], code == kept)
        for code, label in labels.items()
    ]


def opening(counts: Mapping[str, int]) -> str:
    """Return the first sentence of the list."""
    if not counts["all"]:
        return _("Nobody has called for help yet.")
    if counts["open"]:
        words = {"count": upper_first(count_word(counts["open"]))}
        return ngettext("%(count)s is open.", "%(count)s are open.", counts["open"]) % words
    return _("None is open.")


@dataclass(frozen=True)
class StepShown:
    """A question of the script in words, or one that was answered."""

    code: str
    ask: str
    answers: list[tuple[str, str, bool]]
    figures: list[tuple[str, str]]
    card: str
    source: str
    answer: str = ""
    bad: bool = False
    tell: tuple[str, ...] = ()


@dataclass(frozen=True)
class ScriptShown:
    """Where the script stands."""

    now: StepShown | None
    given: list[StepShown]
    tell: list[str]
    urgency: str
    urgency_word: str
    who: list[str]
    cautions: list[str]
    closing: list[str]


def script_of(incident: Incident, tank: Tank, catalogue: Catalogue, again: str = "") -> ScriptShown:
    """Return the script as far as an incident's answers go; `again`: a step to ask once more."""
    found: Walk = walk(incident.answers)
    given = [_step(step, tank, catalogue, answer) for step, answer in found.given]
    asked = next((step for step, _answer in found.given if step.code == again), found.next)
    return ScriptShown(
        now=_step(asked, tank, catalogue) if asked else None,
        given=given,
        tell=_said_now(found, incident.kind),
        urgency=found.urgency,
        urgency_word=str(URGENCY_WORDS[found.urgency]) if found.urgency else "",
        who=[_(WHO_WORDS[code]) for code in found.who],
        cautions=[_(CAUTIONS[code]) for code in found.cautions],
        closing=[_(text) for text in CLOSING] if found.next is None else [],
    )


def _said_now(found: Walk, kind: str) -> list[str]:
    """Return what to tell the caller now: after the last answer, and after those taken as given."""
    taken = opening_answers(kind)
    told: list[str] = []
    for step, answer in reversed(found.given):
        told = [_(text) for text in answer.tell] + told
        if taken.get(step.code) != answer.code:
            break
    return told


def _step(step: Step, tank: Tank, catalogue: Catalogue, answer: Answer | None = None) -> StepShown:
    card = catalogue.get(EntryKind.EMERGENCY, step.card) or {} if step.card else {}
    return StepShown(
        code=step.code,
        ask=_(step.ask),
        answers=[(one.code, _(one.words), one.bad) for one in step.answers],
        figures=step_figures(tank, step.figures),
        card=_(str(card.get("say") or "")) if card.get("say") else "",
        source="; ".join(SOURCES[key].citation for key in step.sources),
        answer=_(answer.words) if answer else "",
        bad=answer.bad if answer else False,
        tell=tuple(_(text) for text in answer.tell) if answer else (),
    )


@dataclass(frozen=True)
class NoteShown:
    """One line of what happened."""

    row: IncidentNote
    by: str
    lead: str
    text: str
    photos: list[IncidentPhoto]


def notes_of(actor: Actor, incident: Incident) -> list[NoteShown]:
    """Return what was said and done, newest first: four queries."""
    found = IncidentNote.objects.visible_to(actor).filter(incident=incident)
    found = found.prefetch_related("photos")
    # it opens first, and what was typed came before the button that kept it too
    rows = sorted(
        found,
        key=lambda row: (row.at, row.what.get("act") != "opened", row.kind != Entry.NOTE, row.pk),
    )
    names = people_by_author([row.by for row in rows])
    sent = [row.what["technician"] for row in rows if row.what.get("technician")]
    people = {str(user.pk): str(user) for user in User.objects.filter(pk__in=sent)}
    return [
        NoteShown(row, names.get(row.by, ""), *_words(row, people), list(row.photos.all()))
        for row in reversed(rows)
    ]


def _words(row: IncidentNote, people: Mapping[str, str]) -> tuple[str, str]:
    if row.kind == Entry.ANSWER:
        return _answer_words(row.what)
    if row.kind == Entry.ACT:
        return _act_words(row.what, people), row.text
    return "", row.text


def _answer_words(what: Mapping[str, Any]) -> tuple[str, str]:
    step = STEPS.get(str(what.get("step")))
    answer = step.answer(str(what.get("answer"))) if step else None
    if step is None or answer is None:
        return _("An answer to a question that is asked no more."), ""
    return _(step.ask), _(answer.words)


def _act_words(what: Mapping[str, Any], people: Mapping[str, str]) -> str:
    act = what.get("act")
    if act == ASKED:
        signs = [str(Said(code).label) for code in what.get("signs", []) if code in Said.values]
        words = {
            "what": ", ".join(signs) or _("no sign ticked"),
            "who": str(what.get("caller", "")),
        }
        return _("%(who)s, from their page: %(what)s.") % words
    if act == "opened":
        return _("Opened: %(what)s.") % {"what": Said(what["said"]).label}
    if act == "sent" or "technician" in what:
        name = people.get(str(what.get("technician")), _("Somebody"))
        there = timezone.localtime(dt.datetime.fromisoformat(what["there"]))
        return _("%(name)s sent, there by about %(time)s.") % {
            "name": name, "time": f"{there:%H:%M}",
        }  # fmt: skip
    if act == "stands":
        return _("Now %(state)s.") % {"state": Stand(what["to"]).label}
    if act == "closed":
        return _("Closed: %(cause)s.") % {"cause": Cause(what["cause"]).label}
    return ""


def weather_of(incident: Incident) -> str:
    """Return the weather that the caller named, for its list; empty where there is none."""
    kind = str(incident.answers.get("weather", ""))
    return kind if kind in Weather.values else ""


def on_the_way(incident: Incident) -> bool:
    """Whether somebody goes there, or is there."""
    return incident.visit is not None and incident.visit.state in HOLDING


@dataclass(frozen=True)
class Near:
    """A technician who could go, in words."""

    candidate: Candidate
    where: str
    drive: str
    late: list[str]
    leaves: str
    skills: str


@dataclass(frozen=True)
class SkillWanted:
    """What a call asks for, and whether somebody of the firm has all of it."""

    words: str
    nobody: bool


def skill_wanted(incident: Incident, near: Sequence[Near]) -> SkillWanted | None:
    """Return the skills that a call asks for; None where it asks for none or nobody can go."""
    skills = skills_wanted(incident.kind, incident.answers)
    if not skills or not near:
        return None
    return SkillWanted(_skills(skills), all(row.candidate.lacks for row in near))


def _skills(codes: Iterable[str]) -> str:
    return ", ".join(_(SKILL_WORDS[code]) for code in codes)


def nearest_of(actor: Actor, incident: Incident, catalogue: Catalogue) -> list[Near]:
    """Return who could go, who has the skills first, of those the soonest: five queries."""
    place, skills = incident.system.place, skills_wanted(incident.kind, incident.answers)
    found = candidates(actor, place, emergency_minutes(catalogue), skills)
    return [
        Near(one, _where(one), _drive(one), [late_words(row) for row in one.late],
             place_label(one.leaves.place) if one.leaves else "", _skill_words(one, skills))
        for one in found
    ]  # fmt: skip


def _skill_words(one: Candidate, skills: Sequence[str]) -> str:
    """Return what somebody has of the skills that are wanted, or lacks."""
    if not skills:
        return ""
    if not one.lacks:
        return _("Has the skill: %(skills)s") % {"skills": _skills(skills)}
    return _("Does not have: %(skills)s") % {"skills": _skills(one.lacks)}


def _where(one: Candidate) -> str:
    if one.place is None:
        return _("Nothing is on their list today; nobody knows here where they are.")
    words = {
        AT: _("Now at %(place)s"), LAST: _("Last at %(place)s"), NEXT: _("First stop: %(place)s"),
    }  # fmt: skip
    text = words[one.whence] % {"place": place_label(one.place)}
    if one.seconds is not None:
        return text
    return f"{text}. " + _("One of the two places is not on the map.")


def _drive(one: Candidate) -> str:
    if one.metres is None or one.minutes is None:
        return ""
    return _("%(minutes)s by road, about %(km)s") % {
        "minutes": with_unit(str(one.minutes), _("min")),
        "km": with_unit(format_figure(one.metres / 1000, 1 if one.metres < 10_000 else 0), "km"),
    }  # fmt: skip


def late_words(row: Late) -> str:
    """Return what a visit that has to wait means for its client."""
    words = {"place": place_label(row.visit.place), "was": f"{timezone.localtime(row.was):%H:%M}"}
    if row.now is None:
        return _("%(place)s at %(was)s goes on without them") % words
    words["now"] = f"{timezone.localtime(row.now):%H:%M}"
    return _("%(place)s moves from %(was)s to %(now)s") % words


@dataclass(frozen=True)
class Waits:
    """A client who has to wait, and whether they were told."""

    row: PutOff
    text: str
    told: str


def waits_of(actor: Actor, incident: Incident) -> list[Waits]:
    """Return the visits that wait for an incident, with the letters about it: two queries."""
    rows = list(
        PutOff.objects.visible_to(actor)
        .filter(incident=incident)
        .select_related("visit__place__client")
    )
    letters = list(
        Letter.objects.visible_to(actor).filter(visit__in=[row.visit_id for row in rows])
    )
    return [
        Waits(row, late_words(Late(row.visit, row.was, row.now)), _told(row, letters))
        for row in rows
    ]


def _told(row: PutOff, letters: Sequence[Letter]) -> str:
    begins = late_key(row.visit, row.incident_id)
    found = [letter for letter in letters if letter.key.startswith(begins)]
    return str(found[0].get_state_display()) if found else ""


def state_sentence(incident: Incident) -> str:
    """Return where an incident stands, as a person would say it."""
    since = timezone.localtime(incident.opened_at)
    words = {
        "what": upper_first(str(Said(incident.kind).label)),
        "day": day_words(since.date()), "time": f"{since:%H:%M}",
    }  # fmt: skip
    if incident.state == Stand.CLOSED:
        return _("%(what)s, %(day)s at %(time)s; closed.") % words
    if incident.state == Stand.WATCHING:
        return _("%(what)s, called %(day)s at %(time)s; being watched.") % words
    return _("%(what)s, called %(day)s at %(time)s.") % words


def callers(actor: Actor, hits: Any) -> list[System]:
    """Return the running systems that a search leads to, each once, systems named first: one query."""
    places = [place.pk for place in hits.places]
    places += [place.pk for row in hits.contacts for place in row.client.places.all()]
    named: list[UUID] = [row.pk for row in hits.systems]
    rows = (
        System.objects.visible_to(actor)
        .filter(Q(pk__in=named) | Q(place__in=places), active=True)
        .select_related("place__client")
        .prefetch_related("place__client__contacts")
    )
    return sorted(rows, key=lambda row: (row.pk not in named, row.name))
