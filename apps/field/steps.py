"""The checklist as a person walks it: each line, and each reading that a line asks for."""

import re
from dataclasses import dataclass
from typing import Any

from django.urls import reverse
from django.utils.translation import gettext as _

from apps.core.numbers import format_figure, with_unit
from apps.field.work import Row, Work, loops_for, past_of
from apps.systems.models import Loop
from apps.visits.choices import LEFT_RUNNING, Outcome, When, Word
from apps.visits.models import Line, Reading
from apps.visits.shown import loop_name

GROUPS = (
    (99, "meters"), (199, "test"), (299, "fish"), (499, "machines"), (599, "plants"),
    (629, "stores"), (699, "doses"), (9999, "clean"),
)  # fmt: skip
PENNED = (Word.OUT_OF_BAND, Word.HARMFUL)


@dataclass
class Step:
    """One thing to answer. `state`: open, done, not_done, not_here, not_measured, refused."""

    kind: str
    name: str
    url: str
    group: str
    state: str
    sub: str
    short: str = ""
    word: str = ""
    line: Line | None = None
    loop: Loop | None = None
    measurand: str = ""
    when: str = When.BEFORE
    turn: int = 1
    number: int = 0

    @property
    def answered(self) -> bool:
        """It has an answer, whatever it is."""
        return self.state != "open"

    @property
    def penned(self) -> bool:
        """Its reading is out of its band, or cannot be."""
        return self.word in PENNED or self.state == "refused"


def group_name(code: str) -> str:
    """Return the heading of a group of lines."""
    return {
        "meters": _("Read and calibrate"),
        "test": _("Test"),
        "fish": _("Fish"),
        "machines": _("Power and machines"),
        "plants": _("Plants"),
        "stores": _("Stores"),
        "doses": _("Doses and changes"),
        "clean": _("Clean"),
        "more": _("Measured besides"),
        LEFT_RUNNING: _("Leave running"),
    }[code]


def line_name(line: Line, work: Work) -> str:
    """Return what a line asks for."""
    if line.code == LEFT_RUNNING:
        return _("Left running")
    return _(work.catalogue.name("tasks", line.code))


def measurand_name(code: str, work: Work) -> str:
    """Return a measurand's name as a heading: its first letter is a capital but for pH."""
    name = _(work.catalogue.name("measurands", code))
    return name if name[:2] == "pH" else name[:1].upper() + name[1:]


def asked(line: Line, work: Work) -> list[tuple[Loop, str]]:
    """Return the readings that a line asks for."""
    template = work.catalogue.task(line.code) or {}
    return [
        (loop, str(code))
        for code in template.get("readings", [])
        if work.catalogue.measurand(str(code))
        for loop in loops_for(work, line, str(code))
    ]


def steps_of(work: Work) -> list[Step]:
    """Return the steps of a sheet in working order, numbered."""
    steps: list[Step] = []
    places: set[tuple[Any, str]] = set()
    lines = [line for line in work.lines if line.code != LEFT_RUNNING]
    for line in lines:
        steps.append(_line_step(line, work))
        for loop, code in asked(line, work):
            if (loop.pk, code) not in places:
                places.add((loop.pk, code))
                steps += _reading_steps(loop, code, steps[-1].group, line, work)
    steps += _besides(places, work)
    steps += [_line_step(line, work) for line in work.lines if line.code == LEFT_RUNNING]
    for number, step in enumerate(steps, 1):
        step.number = number
    return steps


def _line_step(line: Line, work: Work) -> Step:
    row = work.row("lines", line.pk)
    outcome = line.outcome or row.get("outcome") or ""
    return Step(
        kind="line",
        name=line_name(line, work),
        url=_line_url(line, work),
        group=step_group(line),
        state=outcome if outcome in Outcome.values else "open",
        sub=_line_sub(line, row, outcome, work),
        short=short_name(line_name(line, work)),
        line=line,
    )


def _line_url(line: Line, work: Work) -> str:
    where = {"pk": work.visit.pk, "sheet": work.sheet.pk}
    if line.code == LEFT_RUNNING:
        return reverse("field:left_running", kwargs=where)
    return reverse("field:line", kwargs={**where, "line": line.pk})


def step_group(line: Line) -> str:
    """Return the group in which a line stands."""
    if line.code == LEFT_RUNNING:
        return LEFT_RUNNING
    return next(code for last, code in GROUPS if line.position <= last)


def _line_sub(line: Line, row: Row, outcome: str, work: Work) -> str:
    if outcome == Outcome.NOT_DONE:
        reason = line.reason or row.get("reason") or ""
        name = _(work.catalogue.name("reasons", reason)) if reason else ""
        return _("not done: %(reason)s") % {"reason": name[:1].lower() + name[1:]}
    if outcome == Outcome.NOT_HERE:
        return _("not here")
    if line.code == LEFT_RUNNING:
        return "" if outcome else _("cannot be skipped")
    parts = [] if outcome else [with_unit(str(line.minutes_planned), _("min"))]
    note = line.note or row.get("note") or ""
    return ", ".join([*parts, *([note[:60]] if note else [])])


def short_name(name: str) -> str:
    """Return a name short enough for a button: up to its first pause, in small letters.

    >>> short_name("Prune, take side shoots, clip to the trellis"), short_name("pH")
    ('prune', 'pH')
    """
    head = re.split(r"[,:;(]", name)[0].strip()
    words = head.split()
    # a cut name must not end on a small word such as "at the"
    while len(" ".join(words)) > 20 or (len(words) < len(head.split()) and len(words[-1]) < 4):
        words.pop()
    short = " ".join(words)
    keep = short[:2] == "pH" or short[1:2].isupper()
    return short if keep else short[:1].lower() + short[1:]


def reading_url(
    work: Work, loop: Loop, measurand: str, when: str = When.BEFORE, turn: int = 1
) -> str:
    """Return the page on which a reading is entered."""
    return reverse(
        "field:reading",
        kwargs={"pk": work.visit.pk, "sheet": work.sheet.pk, "loop": loop.pk,
                "measurand": measurand, "when": when, "turn": turn},
    )  # fmt: skip


def reading_name(work: Work, loop: Loop, measurand: str, when: str = When.BEFORE) -> str:
    """Return "pH, fish loop, after the work" as far as it must be said."""
    parts = [measurand_name(measurand, work)]
    if len(work.loops) > 1:
        name = loop_name(loop.kind)
        parts.append(name[:1].lower() + name[1:])
    if when == When.AFTER:
        parts.append(_("after the work"))
    return ", ".join(parts)


def _reading_steps(loop: Loop, code: str, group: str, line: Line | None, work: Work) -> list[Step]:
    befores = work.place_rows(loop, code, When.BEFORE)
    afters = work.place_rows(loop, code, When.AFTER)
    wanted = [(When.BEFORE, turn) for turn in range(1, max(1, len(befores)) + 1)] if line else [
        (When.BEFORE, turn) for turn in range(1, len(befores) + 1)
    ]  # fmt: skip
    wanted += [(When.AFTER, turn) for turn in range(1, len(afters) + 1)]
    rows = {When.BEFORE: befores, When.AFTER: afters}
    steps = []
    for when, turn in wanted:
        held = rows[when]
        steps.append(
            _reading_step(loop, code, when, turn, held[turn - 1] if turn <= len(held) else None,
                          group, line, work)
        )  # fmt: skip
    return steps


def _reading_step(
    loop: Loop, code: str, when: str, turn: int, row: Row | None, group: str, line: Line | None,
    work: Work,
) -> Step:  # fmt: skip
    state, sub, word = "open", "", ""
    reading = work.readings.get(row.key) if row else None
    if row is None:
        past = past_of(work, loop, code)
        if past:
            sub = _("last %(figure)s") % {"figure": reading_figure(past[-1], work)}
    elif reading is not None:
        state, sub, word = "done", reading_figure(reading, work), reading.word
    elif row.key in work.refused:
        state = "refused"
        sub = _("%(value)s cannot be") % {"value": row.get("as_typed") or row.get("value")}
    else:
        state, sub = "not_measured", _("not measured")
    return Step(
        kind="reading", name=reading_name(work, loop, code, when),
        url=reading_url(work, loop, code, when, turn), group=group, state=state, sub=sub,
        short=short_name(measurand_name(code, work)), word=word, line=line, loop=loop, measurand=code,
        when=when, turn=turn,
    )  # fmt: skip


def reading_figure(row: Reading, work: Work) -> str:
    """Return a reading's figure with its unit."""
    entry = work.catalogue.measurand(row.measurand) or {}
    return with_unit(format_figure(row.value, int(entry.get("decimals") or 0)), row.unit)


def _besides(places: set[tuple[Any, str]], work: Work) -> list[Step]:
    """Return readings that were given though no line asks for them."""
    steps: list[Step] = []
    for row in work.rows.get("readings", {}).values():
        code = str(row.get("measurand") or "").lower()
        if row.get("gone") or work.catalogue.measurand(code) is None:
            continue
        for loop in work.loops:
            if (loop.pk, code) in places or not any(
                found.key == row.key
                for when in When.values
                for found in work.place_rows(loop, code, when)
            ):
                continue
            places.add((loop.pk, code))
            steps += _reading_steps(loop, code, "more", None, work)
    return steps


def next_open(steps: list[Step], after: int) -> Step | None:
    """Return the next step without an answer behind a number, then from the beginning."""
    behind = [step for step in steps if step.number > after and not step.answered]
    before = [step for step in steps if step.number < after and not step.answered]
    return next(iter([*behind, *before]), None)


def grouped(steps: list[Step]) -> list[tuple[str, list[Step]]]:
    """Return the steps under their headings, in order."""
    groups: list[tuple[str, list[Step]]] = []
    for step in steps:
        if not groups or groups[-1][1][0].group != step.group:
            groups.append((group_name(step.group), []))
        groups[-1][1].append(step)
    return groups
