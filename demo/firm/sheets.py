"""What each visit left behind: lines, readings, findings, weighings, completions."""

import datetime as dt
import random
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID, uuid5

from apps.batches.models import Weighing
from apps.care.choices import Mode
from apps.care.models import CareTask, Completion
from apps.care.services import condition_set, dates_set
from apps.catalogue.selectors import Catalogue
from apps.visits.choices import LEFT_RUNNING, Outcome
from apps.visits.models import Finding, Line, Reading, Sheet, Visit
from apps.visits.services.judging import Ground, readings_build
from apps.visits.services.lines import lines_wanted
from demo.firm import fish
from demo.firm.care import open_on
from demo.firm.diary import Appointment
from demo.firm.keys import chance, key
from demo.firm.kits import FULL_TEST, KITS, MINUTES_IN, read
from demo.firm.lives import lives_on
from demo.firm.rows import Life, Works
from demo.firm.story import Seen, story_of
from demo.firm.truth import Truth
from demo.firm.weather import wave_visit

TOO_COLD_TO_HANDLE = 10.0
HANDLING = ("fish_sample_weigh", "fish_count", "fish_health_look")
# small things seen at an ordinary visit
ORDINARY = (
    "All pumps quiet, level at the mark.", "Fish came up at once.", "Roots white and firm.",
    "Two yellow leaves taken off.", "Lid left open on the sunny side; closed it.",
    "Net over the tank patched with twine.", "A little string algae at the outlet, taken out.",
    "Client's log is complete.", "Log has three empty days.", "Slugs under one tray.",
    "Seedlings stand well.", "Feed bin dry and closed.", "One net pot was empty, filled again.",
    "Strainer held a handful of roots.", "Water clear, faint tea colour.",
    "Top-up barrel full and treated.",
)  # fmt: skip
REASONS = ("no_time", "weather", "client_did_it", "declined")


@dataclass
class Made:
    """All rows of the visits' sheets so far."""

    sheets: list[Sheet] = field(default_factory=list)
    lines: list[Line] = field(default_factory=list)
    readings: list[Reading] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)
    completions: list[Completion] = field(default_factory=list)
    pictures: list[tuple[Sheet, Finding, Seen, dt.datetime]] = field(default_factory=list)


@dataclass
class Bench:
    """One system on its way through the year."""

    works: Works
    truth: Truth
    tasks: list[CareTask]
    life: Life
    days: list[dt.date]
    weighings: list[Weighing] = field(default_factory=list)
    last: dict[tuple[UUID, str], float] = field(default_factory=dict)
    seen: dict[dt.date, list[Seen]] = field(default_factory=dict)


HEAT = Seen(0, "Fish high in the water in the heat. Second air stone hung in, feed stopped until "
            "the evening, shade pulled over the tank.")  # fmt: skip


def seen_by_day(bench: Bench, today: dt.date) -> None:
    """Put what the story saw on the visit nearest to its day."""
    story = story_of(bench.works.spec.key)
    if story.wave_drop:
        bench.seen.setdefault(wave_visit(today), []).append(HEAT)
    for seen in story.seen:
        wanted = today - dt.timedelta(days=seen.ago)
        day = min(bench.days, key=lambda d: (abs((d - wanted).days), d))
        bench.seen.setdefault(day, []).append(seen)


def sheet_of(row: Appointment, visit: Visit, bench: Bench) -> Sheet:
    """Return a visit's unsaved sheet for one system."""
    spec = bench.works.spec
    return Sheet(pk=key("sheet", row.key, spec.key), visit=visit, system=bench.works.system)


def plan_lines(sheet: Sheet, bench: Bench, day: dt.date, catalogue: Catalogue) -> list[Line]:
    """Return the lines that the day asks for."""
    return lines_wanted(sheet, open_on(bench.tasks, day), catalogue)


def work_sheet(
    row: Appointment, visit: Visit, bench: Bench, catalogue: Catalogue, today: dt.date, by: str,
    made: Made,
) -> None:  # fmt: skip
    """Do a visit to one system: fill its lines, read, look, and move the tasks on."""
    spec = bench.works.spec
    rng = chance(today, spec.key, row.key)
    sheet = sheet_of(row, visit, bench)
    made.sheets.append(sheet)
    day = row.day
    lines = plan_lines(sheet, bench, day, catalogue)
    done = _answer(lines, row, bench, today, rng)
    made.lines += lines
    readings = _readings(sheet, row, bench, catalogue, today, by, rng, done)
    made.readings += readings
    _findings(sheet, row, bench, today, rng, made)
    for line in done:
        if line.task is None:
            continue
        made.completions.append(
            Completion(
                pk=uuid5(line.pk, "done"), task=line.task, done_on=day, by=by, visit_id=visit.pk,
                made_at=row.finished or visit.end,
            )
        )  # fmt: skip
        line.task.last_done = day
        dates_set(line.task, row.finished or visit.end)
    _conditions(bench, readings, row)


def _conditions(bench: Bench, readings: list[Reading], row: Appointment) -> None:
    """Raise or drop what waits for a reading, after the day's work."""
    put_right = {reading.corrects_id for reading in readings if reading.corrects_id}
    values = {r.measurand: r.value for r in readings if r.trusted and r.pk not in put_right}
    for task in bench.tasks:
        if task.mode == Mode.CONDITION:
            condition_set(task, values, row.day, row.finished or row.end)


def _answer(
    lines: list[Line], row: Appointment, bench: Bench, today: dt.date, rng: random.Random
) -> list[Line]:
    """Answer each line; return those that count as done."""
    planned = sum(line.minutes_planned for line in lines) or 1
    pace = min(1.15, max(0.35, row.minutes / planned))
    done = []
    for line in lines:
        line.outcome = Outcome.DONE
        line.minutes = float(max(1, round(line.minutes_planned * pace * rng.uniform(0.85, 1.15))))
        reason = _why_not(line, row, bench, today, rng)
        if reason:
            line.outcome, line.reason, line.minutes = Outcome.NOT_DONE, reason, None
        if not reason or reason == "client_did_it":
            done.append(line)
    return done


def _why_not(line: Line, row: Appointment, bench: Bench, today: dt.date, rng: random.Random) -> str:
    if line.task is None or line.code == LEFT_RUNNING:
        return ""
    since, reason = story_of(bench.works.spec.key).skipped.get(line.code, (-1, ""))
    if (today - row.day).days <= since:
        return reason
    loop = next(iter(bench.truth.loops.values()))
    if line.code in HANDLING and loop[row.day]["temp"] < TOO_COLD_TO_HANDLE and row.number > 2:
        return "too_cold"
    if line.task.criticality != "A" and row.number > 1 and rng.random() < 0.025:
        return rng.choice(REASONS)
    return ""


def _moment(row: Appointment, code: str) -> dt.datetime:
    assert row.started is not None
    return row.started + dt.timedelta(minutes=MINUTES_IN.get(code, 45))


def _typed(
    bench: Bench, kind: str, code: str, value: float, row: Appointment, **more: Any
) -> dict[str, Any]:
    kit = KITS.get(code)
    return {
        "loop": str(bench.works.loops[kind].pk), "measurand": code, "value": value,
        "unit": UNITS.get(code, ""), "method": kit.method if kit else "",
        "instrument": kit.instrument if kit else "", "taken_at": _moment(row, code).isoformat(),
        "as_typed": f"{value:g}", "checked_twice": True, **more,
    }  # fmt: skip


UNITS = {
    "temp": "°C", "do": "mg/L", "ec": "mS/cm", "alk": "mg/L CaCO3", "gh": "mg/L CaCO3",
    "tan": "mg/L", "no2": "mg/L", "no3": "mg/L", "fe": "mg/L", "k": "mg/L", "feed": "g/day",
    "batt": "V", "bw": "g", "siphon_fill": "min", "larvae": "per dip", "flow": "L/min",
}  # fmt: skip


def _readings(
    sheet: Sheet, row: Appointment, bench: Bench, catalogue: Catalogue, today: dt.date, by: str,
    rng: random.Random, done: list[Line],
) -> list[Reading]:  # fmt: skip
    rows: dict[UUID, dict[str, Any]] = {}

    def take(kind: str, code: str, value: float, mark: str = "", **more: Any) -> None:
        pk = key("reading", sheet.pk, kind, code, mark)
        rows[pk] = _typed(bench, kind, code, value, row, **more)

    spec, works = bench.works.spec, bench.works
    codes = {line.code for line in done}
    for kind, days in bench.truth.loops.items():
        truth = days[row.day]
        for code in FULL_TEST[kind]:
            value = read(code, truth, rng)
            if code == "tan" and row.number == 0 and "tan" not in story_of(spec.key).paths:
                # three kit readings may rise by chance; the day's list speaks of the stories alone
                value = min(value, bench.last.get((works.loops[kind].pk, code), value))
            take(kind, code, value)
        if kind == "plant" and row.number % 2 == 0:
            take(kind, "fe", read("fe", truth, rng))
            take(kind, "k", read("k", truth, rng))
        if kind != "plant" and truth["feed"] > 0:
            take(kind, "feed", read("feed", truth, rng))
    main = next(iter(bench.truth.loops))
    if "iron_dose" in codes or ("iron_dose" in story_of(spec.key).skipped):
        take(main, "fe", read("fe", bench.truth.loops[main][row.day], rng))
    _by_task(take, main, codes, bench, row, rng)
    truly = {typed["measurand"]: typed["value"] for typed in rows.values()}
    _spoil(rows, row, bench, today)
    ground = Ground(
        system=bench.works.system, loops={loop.pk: loop for loop in bench.works.loops.values()},
        lives=lives_on(bench.works, bench.life, bench.weighings, row.day, catalogue),
        catalogue=catalogue, last=bench.last,
        altitude_m=sheet.visit.place.altitude_m,
    )  # fmt: skip
    readings = readings_build(
        sheet=sheet, rows=rows, ground=ground, now=row.finished or row.end, by=by
    )
    for wrong, more, reason in _wrong(readings, row, bench, today, truly):
        fresh = readings_build(
            sheet=sheet, rows={key("corrected", wrong.pk): more}, ground=ground,
            now=row.finished or row.end, by=by,
        )[0]  # fmt: skip
        fresh.corrects, fresh.correction_reason = wrong, reason
        readings.append(fresh)
    for reading in readings:
        if reading.trusted:
            bench.last[(reading.loop_id, reading.measurand)] = reading.value
    return readings


def _by_task(
    take: Any, main: str, codes: set[str], bench: Bench, row: Appointment, rng: random.Random
) -> None:
    """Readings that single tasks ask for."""
    if "backup_air_test" in codes:
        take(main, "batt", round(rng.uniform(12.5, 12.9), 1))
    if "fish_feeding_response" in codes:
        take(main, "feed_response", float(rng.choice((2, 2, 3, 3, 3))))
    if "siphon_cycles" in codes:
        take(main, "siphon_fill", float(rng.randrange(12, 18)))
    if "mosquito_look" in codes:
        take(main, "larvae", 0.0)
    if "meters_ph_calibrate" in codes:
        take(main, "meter_check", round(rng.uniform(-0.05, 0.05), 2))
    pump = bench.works.find("pump") or bench.works.find("plant_pump")
    if "flow_test" in codes and pump is not None and pump.flow_l_h:
        take(main, "flow", round(pump.flow_l_h / 60 * rng.uniform(0.92, 1.0), 1))
    if "fish_sample_weigh" in codes:
        _weigh(take, main, bench, row, rng)


def _weigh(take: Any, main: str, bench: Bench, row: Appointment, rng: random.Random) -> None:
    alive = [b for b in bench.truth.batches if b.alive(row.day) and row.day in b.weights]
    for batch in alive:
        weights = fish.sample(batch, row.day, rng)
        mean = sum(weights) / len(weights)
        bench.weighings.append(
            Weighing(
                pk=key("weighing", batch.key, row.day), batch_id=key("batch", batch.key),
                on=row.day, weights_g=weights, mean_g=mean,
            )
        )  # fmt: skip
        if batch is alive[0]:
            take(main, "bw", round(mean, 1))


def _spoil(
    rows: dict[UUID, dict[str, Any]], row: Appointment, bench: Bench, today: dt.date
) -> None:
    """Two readings that went wrong: a probe that drifted, and degrees typed as mg/L."""
    if bench.works.spec.key == "tennant" and _nearest(bench, row, today, 35):
        for typed in rows.values():
            if typed["measurand"] == "ph":
                typed.update(value=9.04, as_typed="9.04")
            if typed["measurand"] == "meter_check":
                typed.update(value=0.61, as_typed="0.61")
    if bench.works.spec.key == "fischer" and row.number == 1:
        for typed in rows.values():
            if typed["measurand"] == "alk":
                degrees = round(typed["value"] / 17.8, 1)
                typed.update(value=degrees, as_typed=f"{degrees:g}", checked_twice=False)


def _nearest(bench: Bench, row: Appointment, today: dt.date, ago: int) -> bool:
    wanted = today - dt.timedelta(days=ago)
    return row.day == min(bench.days, key=lambda d: (abs((d - wanted).days), d))


def _wrong(
    readings: list[Reading], row: Appointment, bench: Bench, today: dt.date,
    truly: dict[str, float],
) -> Iterator[tuple[Reading, dict[str, Any], str]]:  # fmt: skip
    """Yield readings that were put right, with what is true and why."""
    if bench.works.spec.key == "rao" and row.number == 3:
        # nitrate typed from the card of a kit that gives the ion
        wrong = next(reading for reading in readings if reading.measurand == "no3")
        wrong.value = round(wrong.value * 4.43)
        wrong.typed = f"{wrong.value:g}"
        typed = _typed(bench, "whole", "no3", wrong.value, row, basis="ion")
        yield wrong, typed, "typed from the kit's card, which gives the nitrate ion, not N"
    if bench.works.spec.key == "tennant" and _nearest(bench, row, today, 35):
        wrong = next(reading for reading in readings if reading.measurand == "ph")
        drops = round(truly["ph"] * 5) / 5
        typed = _typed(bench, "whole", "ph", drops, row, method="drops", instrument="")
        yield wrong, typed, "the probe failed in the third buffer; read again with drops"


def _findings(
    sheet: Sheet, row: Appointment, bench: Bench, today: dt.date, rng: random.Random, made: Made
) -> None:
    assert row.started is not None
    story = bench.seen.get(row.day, [])
    for number, seen in enumerate(story):
        part = bench.works.find(seen.component) if seen.component else None
        finding = Finding(
            pk=key("finding", sheet.pk, number), sheet=sheet, sign=seen.sign, text=seen.text,
            component=part, seen_at=row.started + dt.timedelta(minutes=20 + 3 * number),
        )  # fmt: skip
        made.findings.append(finding)
        if seen.picture:
            photo = key("photo", finding.pk)
            finding.photo_ids = [str(photo)]
            made.pictures.append((sheet, finding, seen, finding.seen_at))
    if not story and rng.random() < 0.55:
        made.findings.append(
            Finding(
                pk=key("finding", sheet.pk, "ordinary"), sheet=sheet, text=rng.choice(ORDINARY),
                seen_at=row.started + dt.timedelta(minutes=31),
            )
        )  # fmt: skip
