"""What the page of a system's first weeks shows: steps, the curve with its readings, the gate."""

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.utils import timezone
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _later
from django.utils.translation import ngettext

from apps.batches.models import FishBatch
from apps.calc.ahead.steps import WIDEST
from apps.calc.commissioning.curve import DAYS, Expected, as_expected, curve
from apps.calc.commissioning.gate import MET, NEEDS, UNKNOWN, Answer, Read, gate, open_gate
from apps.calc.commissioning.stocking import Crossing, Stage
from apps.care.models import CareTask
from apps.care.services.first_weeks import FIRST_WEEKS
from apps.catalogue.selectors import Catalogue
from apps.core.dates import day_text
from apps.core.drawing.chart import ChartPoint
from apps.core.drawing.fan import Course, fan_chart
from apps.core.drawing.scale import Band
from apps.core.numbers import format_figure, format_plain, with_unit
from apps.core.scoping import Actor
from apps.office.selectors.ahead_page import NARROW, WIDE
from apps.office.wording import list_words, upper_first
from apps.proposals.models import Proposal
from apps.systems.choices import LoopKind
from apps.systems.models import Loop, System
from apps.visits.choices import When
from apps.visits.models import Reading
from apps.visits.selectors import history

# what the gate asks of those that are drawn
_GATE = {need.measurand: need.high for _code, need in NEEDS}
# the first ammonia comes on the third day, where its task says nothing
_DOSE_DAY = 3
_SAID = {
    "cycle_passed": _later("A dose of ammonia is eaten within a day, twice"),
    "no_chlorine": _later("No chlorine"),
    "ph_6_6_to_7_8": _later("pH from 6.6 to 7.8"),
    "alkalinity_60": _later("Alkalinity 60 mg/L CaCO3 or more"),
    "ammonia": _later("Ammonia at most 0.5 mg/L N"),
    "nitrite": _later("Nitrite at most 0.3 mg/L N"),
    "oxygen": _later("Oxygen 6 mg/L or more"),
    "temperature": _later("As warm as the fish need it"),
    "safety": _later("Backup air and RCD tested, lid and net on"),
    "client_can": _later("The client can feed, top up, see gasping fish and start the air"),
}
FEEDING = _later(
    "Feed nothing on the first day; on the second 5 g for each kg of fish; from the fourth half of "
    "the table; from the eighth all of it."
)


@dataclass(frozen=True)
class CurveShown:
    """One measurand while the filter comes in: pictures, sentence, and whether it asks for something."""

    name: str
    unit: str
    wide: SafeString
    narrow: SafeString
    text: str
    off: bool


@dataclass(frozen=True)
class PointShown:
    """One point of the gate in words."""

    name: str
    state: str
    said: str


def first_tasks(system: System, catalogue: Catalogue) -> list[CareTask]:
    """Return the tasks of the first weeks in the order of their days: one query."""
    templates = catalogue.of("tasks")
    rows = CareTask.objects.filter(system=system, active=True).order_by("pk")
    first = [row for row in rows if templates.get(row.code, {}).get("rhythm") == FIRST_WEEKS]
    return sorted(first, key=lambda row: (row.anchor or dt.date.max, _order(templates, row.code)))


def _order(templates: Mapping[str, Any], code: str) -> int:
    return int(templates[code]["order"])


def tasks_shown(
    tasks: Iterable[CareTask], catalogue: Catalogue, on: dt.date
) -> list[dict[str, Any]]:
    """Return the tasks with their names and how they stand."""
    return [
        {
            "task": task, "name": _(catalogue.name("tasks", task.code)),
            "day": task.last_done or task.next_due or task.anchor,
            "done": bool(task.last_done) and task.next_due is None,
            "late": task.next_late is not None and task.next_late < on,
        }
        for task in tasks
    ]  # fmt: skip


def water_loop(loops: Sequence[Loop]) -> Loop | None:
    """Return the loop that fish will live in."""
    return next((loop for loop in loops if loop.kind != LoopKind.PLANT), None)


def dosed_on(system: System, tasks: Iterable[CareTask]) -> dt.date | None:
    """Return the day of the first ammonia: as done, else as planned; None where nothing says."""
    start = next((task for task in tasks if task.code == "filter_start"), None)
    if start is not None:
        return start.last_done or start.anchor
    return system.started_on + dt.timedelta(days=_DOSE_DAY) if system.started_on else None


def ammonia_words(tasks: Iterable[CareTask], dosed: dt.date, on: dt.date) -> str:
    """Return how long ago the first ammonia was given, or for when it is planned."""
    start = next((task for task in tasks if task.code == "filter_start"), None)
    if dosed > on and (start is None or start.last_done is None):
        return _("The first ammonia is planned for %(day)s.") % {"day": day_text(dosed)}
    return _("Day %(day)s since the first ammonia.") % {"day": (on - dosed).days}


def fish_meant(actor: Actor, system: System) -> str:
    """Return the species that the first fish are of: those there, else what was proposed."""
    there = FishBatch.objects.visible_to(actor).filter(loop__system=system)
    code = there.order_by("-stocked_on", "pk").values_list("species_code", flat=True).first()
    if code:
        return code
    wish = Proposal.objects.visible_to(actor).filter(system=system).values_list("wish", flat=True)
    return str((wish.first() or {}).get("species", ""))


def readings_from(loop: Loop, first: dt.date, now: dt.datetime) -> list[Reading]:
    """Return the trusted readings of a loop since a day, oldest first: one query."""
    since = timezone.make_aware(dt.datetime.combine(first, dt.time.min))
    return [
        row for row in history([loop.pk], now, since) if row.trusted and row.when == When.BEFORE
    ]


def mean_temp(rows: Iterable[Reading], otherwise: float) -> float:
    """Return the mean of the temperatures read, within what the curve is known for [°C]."""
    read = [row.value for row in rows if row.measurand == "temp"]
    return min(32.0, max(10.0, sum(read) / len(read) if read else otherwise))


def curves_shown(
    rows: Sequence[Reading], temp_c: float, dosed: dt.date, on: dt.date, catalogue: Catalogue
) -> list[CurveShown]:
    """Return what is expected of ammonia, nitrite and nitrate, with what was read."""
    return [
        _curve(one, [row for row in rows if row.measurand == one.measurand], dosed, on, catalogue)
        for one in curve(round(temp_c, 1))
    ]


def _curve(
    one: Expected, rows: Sequence[Reading], dosed: dt.date, on: dt.date, catalogue: Catalogue
) -> CurveShown:
    entry = catalogue.measurand(one.measurand) or {}
    days = [dosed + dt.timedelta(days=day) for day in range(DAYS + 1)]
    name = upper_first(_(catalogue.name("measurands", one.measurand)))
    text, off = _course_words(one, rows, dosed, name, entry)
    shared: dict[str, Any] = {
        "points": [ChartPoint(timezone.localdate(row.taken_at), row.value) for row in rows],
        "courses": [Course(days, one.middle, one.low, one.high)],
        "band": Band(good_high=_GATE.get(one.measurand)),
        "first": days[0] - dt.timedelta(days=2), "final": days[-1], "title": text,
        "today": min(max(on, days[0]), days[-1] - dt.timedelta(days=1)), "today_word": _("today"),
    }  # fmt: skip
    return CurveShown(
        name, str(entry.get("unit") or ""),
        fan_chart(**shared, **WIDE, date_text=day_text),
        fan_chart(**shared, **NARROW, date_text=lambda day: day_text(day, "bare")),
        text, off,
    )  # fmt: skip


def _course_words(
    one: Expected, rows: Sequence[Reading], dosed: dt.date, name: str, entry: Mapping[str, Any]
) -> tuple[str, bool]:
    if not rows:
        return _("%(name)s: nothing was read yet.") % {"name": name}, False
    last = rows[-1]
    day = (timezone.localdate(last.taken_at) - dosed).days
    side = as_expected(one, day, last.value, WIDEST.get(one.measurand, 0.0))
    words = {
        "name": name, "day": day,
        "figure": with_unit(
            format_figure(last.value, int(entry.get("decimals") or 0)), str(entry.get("unit") or "")
        ),
    }  # fmt: skip
    if side == 0:
        return _("%(name)s was %(figure)s on day %(day)s: as expected.") % words, False
    if side > 0:
        return _("%(name)s was %(figure)s on day %(day)s: higher than expected.") % words, True
    return _("%(name)s was %(figure)s on day %(day)s: lower than expected.") % words, True


def gate_of(
    rows: Sequence[Reading], done: Iterable[str], species: Mapping[str, Any], now: dt.datetime
) -> tuple[Answer, ...]:
    """Return the gate of a loop for a species."""
    last = {row.measurand: row for row in rows}
    nitrate = [row.value for row in rows if row.measurand == "no3"]
    return gate(
        {code: Read(row.value, (now - row.taken_at).total_seconds() / 86400)
         for code, row in last.items()},
        set(done), (float(species["feed_min"]), float(species["feed_max"])),
        nitrate[-1] > nitrate[0] if len(nitrate) > 1 else None,
    )  # fmt: skip


def done_codes(system_id: UUID) -> list[str]:
    """Return the codes of a system's tasks that were done at least once: one query."""
    return list(
        CareTask.objects.filter(system_id=system_id, last_done__isnull=False).values_list(
            "code", flat=True
        )
    )


def gate_shown(answers: Iterable[Answer], catalogue: Catalogue) -> list[PointShown]:
    """Return the gate in words, what stands in the way first."""
    order = sorted(answers, key=lambda answer: answer.state == MET)
    return [
        PointShown(str(_SAID[answer.code]), answer.state, _why(answer, catalogue))
        for answer in order
    ]


def gate_words(answers: Sequence[Answer]) -> str:
    """Return the gate in one sentence."""
    if open_gate(answers):
        return _("All of the gate holds: the first fish may come.")
    missing = sum(answer.state != MET for answer in answers)
    return ngettext(
        "One point of the gate stands in the way of fish.",
        "%(count)d points of the gate stand in the way of fish.", missing,
    ) % {"count": missing}  # fmt: skip


def _why(answer: Answer, catalogue: Catalogue) -> str:
    if answer.missing:
        names = [_(catalogue.name("tasks", code)) for code in answer.missing]
        return _("Not done yet: %(names)s.") % {"names": list_words(names)}
    if answer.need is None:
        if answer.state == UNKNOWN:
            return _("Nitrate was not read twice since the first dose.")
        return "" if answer.state == MET else _("Nitrate has not risen since the first dose.")
    if answer.reading is None:
        return _("Not read yet.")
    entry = catalogue.measurand(answer.need.measurand) or {}
    figure = with_unit(
        format_figure(answer.reading.value, int(entry.get("decimals") or 0)),
        str(entry.get("unit") or ""),
    )
    days = int(answer.reading.age_days)
    if answer.state == UNKNOWN:
        return ngettext(
            "Read too long ago: %(figure)s, %(days)d day back.",
            "Read too long ago: %(figure)s, %(days)d days back.", days,
        ) % {"figure": figure, "days": days}  # fmt: skip
    if answer.need.measurand == "temp" and answer.state != MET:
        low, high = (format_plain(value or 0) for value in (answer.need.low, answer.need.high))
        return _("It is %(figure)s; these fish need %(low)s to %(high)s.") % {
            "figure": figure, "low": low, "high": high,
        }  # fmt: skip
    return _("It is %(figure)s.") % {"figure": figure}


def stages_shown(rows: Iterable[Stage], first: dt.date) -> list[dict[str, Any]]:
    """Return the stages of stocking with their days."""
    found, before = [], 0
    for row in rows:
        found.append(
            {"day": first + dt.timedelta(days=row.day), "more": row.count - before,
             "count": row.count, "kg": with_unit(format_figure(row.biomass_kg, 2), "kg")}
        )  # fmt: skip
        before = row.count
    return found


def crossing_words(found: Crossing) -> list[str]:
    """Return how the fish come across, step by step."""
    said = []
    if found.ph_days:
        said.append(
            ngettext(
                "The pH of the two waters is %(apart)s apart: too much for one day. The supplier "
                "brings theirs nearer over %(days)d day, or take other fish.",
                "The pH of the two waters is %(apart)s apart: too much for one day. The supplier "
                "brings theirs nearer over %(days)d days, or take other fish.", found.ph_days,
            ) % {"apart": format_figure(found.ph_apart, 1), "days": found.ph_days}
        )  # fmt: skip
    if found.float_min:
        said += [
            _("Float the closed bags for %(minutes)s minutes, shaded.")
            % {"minutes": found.float_min},
            _("Open them, net the fish across at once and throw their water away: with air its "
              "ammonia turns poisonous."),
        ]  # fmt: skip
    else:
        said += [
            _("Mix the system's water in over %(minutes)s minutes, with air all the time.")
            % {"minutes": found.mix_min},
            _("Net the fish across; their water does not come into the system."),
        ]
    said.append(str(FEEDING))
    return said
