"""What a phone is given to work with for today and tomorrow, with no signal."""

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict
from typing import Any
from uuid import UUID

from django.conf import settings
from django.utils import timezone
from django.utils.translation import get_language
from django.utils.translation import gettext as _

from apps.accounts.selectors import firm_current
from apps.advice.known import before_of
from apps.advice.models import Advice
from apps.advice.selectors import advice_text, ingredients_of, open_advice
from apps.catalogue.choices import EntryKind
from apps.catalogue.selectors import Catalogue, catalogue_current
from apps.clients.selectors import times_away
from apps.core.drawing.words import JUDGEMENT_WORDS, URGENCY_WORDS
from apps.core.numbers import unit_word, with_unit
from apps.core.scoping import Actor
from apps.core.templatetags.look import weekday_date
from apps.field.entry import METHODS, method_name
from apps.field.meaning import hold_text
from apps.field.selectors import geo_uri, tools_of
from apps.field.steps import asked, group_name, line_name, measurand_name, short_name, step_group
from apps.field.views.closing import running_items
from apps.field.work import Work, past_of, works_of
from apps.flows.on_the_way import tellings_of
from apps.flows.phone_wording import differs_words
from apps.flows.times_away import getting_in_words
from apps.reports.rendering.wording import meanings
from apps.systems.models import Component, Flow, Loop
from apps.systems.selectors import flows_of
from apps.visits.choices import LEFT_RUNNING, Outcome, Remark, State
from apps.visits.labels import doubt_texts
from apps.visits.models import Line, PhoneRemark, Reading, Value, Visit
from apps.visits.selectors import bands_of, latest, visits_full
from apps.visits.shown import loop_name, reading_data, sketch, sketch_data

DAYS = 2
HELD = (State.BOOKED, State.UNDER_WAY, State.WRITTEN_UP)
UNITS = ("fish", "per leaf", "per dip", "per card", "score 0–3")


def day_of(actor: Actor) -> dict[str, Any]:
    """Return the visits of a technician for today and tomorrow, and those begun before."""
    on = timezone.localdate(actor.at)
    first = timezone.make_aware(dt.datetime.combine(on, dt.time()))
    rows = Visit.objects.visible_to(actor).filter(
        assignments__user_id=str(actor.user_id),
        state__in=HELD,
        start__lt=first + dt.timedelta(days=DAYS),
    )
    visits = [
        visit
        for visit in visits_full(rows).order_by("start", "id")
        if visit.start >= first or visit.state == State.UNDER_WAY
    ]
    catalogue = catalogue_current()
    drawn = _Day(actor, visits, catalogue).visits()
    firm = firm_current()
    codes = [
        line["code"] for visit in drawn for sheet in visit["sheets"] for line in sheet["lines"]
    ]
    return {
        "made_at": actor.at.isoformat(),
        "day": on.isoformat(),
        "language": get_language() or "en",
        "zone": settings.TIME_ZONE,
        "firm": {"name": firm.name if firm else "", "phone": firm.phone if firm else ""},
        "load": tools_of(codes, catalogue),
        "words": _words(catalogue),
        "catalogue": _catalogue(catalogue, set(codes)),
        "bands": _bands(catalogue),
        "cards": _cards(catalogue),
        "visits": drawn,
    }


class _Day:
    """Visits with what each of their sheets needs, read together: a fixed number of queries."""

    def __init__(self, actor: Actor, visits: Sequence[Visit], catalogue: Catalogue) -> None:
        self.all, self.catalogue, self.at = visits, catalogue, actor.at
        self.works, backgrounds = works_of(actor, visits, catalogue)
        sheets = [work.sheet for work in self.works.values()]
        self.known = ingredients_of(sheets, backgrounds, actor.at)
        systems = list(backgrounds)
        self.advice: dict[UUID, list[Advice]] = {pk: [] for pk in systems}
        for row in open_advice(systems):
            self.advice[row.system_id].append(row)
        parts = {part.pk: pk for pk in systems for part in _parts(backgrounds[pk].loops)}
        self.flows: dict[UUID, list[Flow]] = {pk: [] for pk in systems}
        for flow in flows_of(parts):
            self.flows[parts[flow.source_id]].append(flow)
        own = Value.objects.visible_to(actor).filter(visit__in=visits, sheet__isnull=True)
        self.values: dict[UUID, list[Value]] = {visit.pk: [] for visit in visits}
        for value in own:
            self.values[value.visit_id].append(value)

        days = [timezone.localdate(visit.start) for visit in visits]
        places = [visit.place_id for visit in visits]
        self.away = times_away(places, min(days), max(days)) if days else []
        self.tellings = tellings_of(visits)
        differs = PhoneRemark.objects.filter(kind=Remark.DIFFERS, visit__in=visits)
        self.differs = {row.visit_id: row.says for row in differs.order_by("made_at")}

    def visits(self) -> list[dict[str, Any]]:
        """Return the visits as a phone keeps them."""
        return [self._visit(visit) for visit in self.all]

    def _visit(self, visit: Visit) -> dict[str, Any]:
        place, day = visit.place, timezone.localdate(visit.start)
        on_the_day = day == timezone.localdate(self.at)
        works = [self.works[sheet.pk] for sheet in visit.sheets.all()]
        lines = [line.code for work in works for line in work.lines]
        return {
            "id": str(visit.pk),
            "rev": visit.rev,
            "state": visit.state,
            "state_words": visit.get_state_display(),
            "start": visit.start.isoformat(),
            "end": visit.end.isoformat(),
            "reason": visit.reason,
            "place": {
                "name": place.name,
                "address": place.address,
                "access": getting_in_words(place, self.away, day),
                # a phone that is lost tonight opens no gate tomorrow
                "gate": place.gate_code if on_the_day else "",
                "gate_later": bool(place.gate_code) and not on_the_day,
                "dog": place.dog,
                "geo": geo_uri(place.latitude, place.longitude),
            },
            "client": {
                "name": place.client.name,
                "words": visit.client_words,
                "photos": place.client.photos,
                "photos_words": place.client.photos_words,
            },
            "load": tools_of(lines, self.catalogue),
            "differs": differs_words(self.differs.get(visit.pk, []), self.catalogue),
            "values": _values(self.values[visit.pk]) | self._said(visit),
            "sheets": [self._sheet(work) for work in works],
        }

    def _said(self, visit: Visit) -> dict[str, Any]:
        """Return what was said from the road last, of each kind, beside the values."""
        rows = reversed(self.tellings.get(visit.pk, []))
        return {row.path: {"v": row.as_json(), "r": 0} for row in rows}

    def _sheet(self, work: Work) -> dict[str, Any]:
        system, own = work.sheet.system, self.known[work.sheet.pk]
        loops, known = own.loops, before_of(own)
        last = {key: row for key, row in latest(work.past).items() if row.trusted}
        items, _without = running_items(work)
        return {
            "id": str(work.sheet.pk),
            "visit": str(work.visit.pk),
            "system": {"id": str(system.pk), "name": system.name, "kind": system.kind},
            "loops": [
                {"id": str(loop.pk), "kind": loop.kind, "name": loop_name(loop.kind)}
                for loop in loops
            ],
            "steps": _steps(work),
            "lines": [{"id": str(line.pk), "code": line.code} for line in work.lines],
            "left_running": [{"code": code, "name": name} for code, name in items],
            "components": [
                {"id": str(part.pk), "name": part.name, "kind": part.kind, "serial": part.serial}
                for part in _parts(loops)
            ],
            "last": {f"{loop}/{code}": _last(row) for (loop, code), row in last.items()},
            "contexts": {str(pk): asdict(life.context) for pk, life in own.lives.items()},
            "situation": _plain(asdict(known)),
            "advice": [
                {"id": str(row.pk), "urgency": str(URGENCY_WORDS[row.urgency]),
                 "text": row.decision_text or advice_text(row.rule, row.parameters)}
                for row in self.advice[system.pk]
                if row.sheet_id != work.sheet.pk
            ],
            "holds": [hold_text(hold) for hold in known.holds],
            "values": _values(
                value for rows in work.rows.values() for row in rows.values()
                for value in row.leaves.values()
            ),
            # last: a phone on a weak line has all that it works with before the drawing
            "sketch": str(_sketch(work, loops, self.flows[system.pk], last)),
        }  # fmt: skip


def _parts(loops: Iterable[Loop]) -> list[Component]:
    return [part for loop in loops for part in loop.fitted]  # type: ignore[attr-defined]


def _values(rows: Iterable[Value]) -> dict[str, Any]:
    return {row.path: {"v": row.value, "r": row.rev} for row in rows}


def _sketch(
    work: Work,
    loops: Sequence[Loop],
    flows: Sequence[Flow],
    last: Mapping[tuple[UUID, str], Reading],
) -> str:
    rows = {key: reading_data(row, None, [], work.catalogue) for key, row in last.items()}
    return sketch(sketch_data(loops, flows, rows), layout="stacked")


def _last(row: Reading) -> dict[str, Any]:
    return {
        "value": row.value, "unit": row.unit, "typed_unit": row.typed_unit, "basis": row.basis,
        "method": row.method, "instrument": row.instrument, "word": row.word,
        "on_words": weekday_date(row.taken_at),
    }  # fmt: skip


def _steps(work: Work) -> list[dict[str, Any]]:
    """Return lines and the readings that they ask for, in working order, as the checklist has them."""
    steps: list[dict[str, Any]] = []
    places: set[tuple[UUID, str]] = set()
    for line in sorted(work.lines, key=lambda line: line.code == LEFT_RUNNING):
        readings = asked(line, work)
        steps.append(_line(line, work, readings))
        for loop, code in readings:
            if (loop.pk, code) not in places:
                places.add((loop.pk, code))
                steps.append(_reading(loop, code, line, work))
    return steps


def _line(line: Line, work: Work, readings: Sequence[tuple[Any, str]]) -> dict[str, Any]:
    name = line_name(line, work)
    last = line.code == LEFT_RUNNING
    done = line.task.last_done if line.task else None
    return {
        "kind": "line", "line": str(line.pk), "code": line.code, "name": name,
        "short": short_name(name), "group": group_name(step_group(line)), "last": last,
        "minutes_words": with_unit(str(line.minutes_planned), _("min")),
        "last_words": _("last on %(day)s") % {"day": weekday_date(done)} if done else "",
        "readings": [[str(loop.pk), code] for loop, code in readings],
    }  # fmt: skip


def _reading(loop: Any, code: str, line: Line, work: Work) -> dict[str, Any]:
    name = measurand_name(code, work)
    if len(work.loops) > 1:
        own = loop_name(loop.kind)
        name = f"{name}, {own[:1].lower()}{own[1:]}"
    past = past_of(work, loop, code)
    return {
        "kind": "reading", "loop": str(loop.pk), "measurand": code, "name": name,
        "short": short_name(measurand_name(code, work)), "group": group_name(step_group(line)),
        "of": str(line.pk),
        "last_words": _("last %(figure)s") % {"figure": with_unit(f"{past[-1].value:g}", past[-1].unit)}
        if past else "",
    }  # fmt: skip


def _plain(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(item) for item in value]
    if isinstance(value, frozenset | set):
        return sorted(value)
    if isinstance(value, dt.date):
        return value.isoformat()
    return round(value, 6) if isinstance(value, float) else value


def _bands(catalogue: Catalogue) -> list[list[Any]]:
    return [
        [measurand, context, {k: v for k, v in asdict(band).items() if k != "context"}]
        for (measurand, context), band in bands_of(catalogue).items()
    ]


def _catalogue(catalogue: Catalogue, codes: set[str]) -> dict[str, Any]:
    measurands = catalogue.of(EntryKind.MEASURAND)
    waits = {
        str(code): [[_("The kit's waiting time"), 60 * int(task["waits"])]]
        for task in catalogue.of(EntryKind.TASK).values()
        if task.get("waits")
        for code in task.get("readings", [])
        if (measurands.get(code) or {}).get("basis_choices")
    }
    return {
        "measurands": {
            code: {
                "name": _(str(row["name"])), "unit": str(row["unit"]), "units": row["units"],
                "decimals": int(row.get("decimals") or 0), "derived": bool(row.get("derived")),
                "hard_low": row.get("hard_low"), "hard_high": row.get("hard_high"),
                "ask_low": row.get("ask_low"), "ask_high": row.get("ask_high"),
                "basis_choices": row.get("basis_choices") or [],
                "misread": _(str(row["misread"])) if row.get("misread") else "",
                "waits": waits.get(code, []),
            }
            for code, row in measurands.items()
        },
        "tasks": {
            code: {
                "done_when": _(str(row["done_when"])) if row.get("done_when") else "",
                "caution": _(str(row["caution"])) if row.get("caution") else "",
                "tools": [_(str(tool)) for tool in row.get("tools", [])],
            }
            for code, row in catalogue.of(EntryKind.TASK).items()
            if code in codes
        },
        "signs": {
            code: {"name": _(str(row["name"])), "about": _(str(row["about"])).capitalize()}
            for code, row in catalogue.of(EntryKind.SIGN).items()
        },
        "sources": {
            code: str(row.get("title") or "") for code, row in catalogue.of("sources").items()
        },
    }  # fmt: skip


def _cards(catalogue: Catalogue) -> list[dict[str, Any]]:
    """Return what to do when something goes wrong, in the order of asking."""
    return [
        {"title": _(str(row["ask"])),
         "steps": [_(str(row["say"])), _("Send: %(who)s.") % {"who": _(str(row["send"]))}]}
        for row in catalogue.of(EntryKind.EMERGENCY).values()
    ]  # fmt: skip


def _words(catalogue: Catalogue) -> dict[str, Any]:
    told: dict[str, dict[str, str]] = {}
    for (measurand, side), text in meanings().items():
        told.setdefault(measurand, {})[side] = text
    return {
        "texts": {},
        "units": {unit: unit_word(unit) for unit in UNITS if unit_word(unit) != unit},
        "meanings": told,
        "doubts": doubt_texts(),
        "judgements": {code: str(text) for code, text in JUDGEMENT_WORDS.items()},
        "urgencies": {code: str(text) for code, text in URGENCY_WORDS.items()},
        "methods": {code: method_name(code) for code in METHODS},
        "reasons": {
            code: _(str(row["name"])) for code, row in catalogue.of(EntryKind.REASON).items()
        },
        "outcomes": {str(code): str(Outcome(code).label) for code in Outcome.values},
        "measurands": {
            code: _(str(row["name"])) for code, row in catalogue.of(EntryKind.MEASURAND).items()
        },
    }
