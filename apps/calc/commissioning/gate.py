"""The gate before the first fish: all of it must hold, and what is not known does not hold."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass

MET, UNMET, UNKNOWN = "met", "unmet", "unknown"
FRESH_DAYS = 7.0
# what must have been done, each once: the task's code
CYCLE_TESTS = ("cycle_test_first", "cycle_test_second")
SAFETY = ("backup_air_test", "rcd_test", "lid_and_net")
SKILLS_FIRST = ("skill_feed", "skill_top_up", "skill_gasping", "skill_backup_air")


@dataclass(frozen=True)
class Read:
    """The last trusted reading of a measurand, in its base unit, and its age [days]."""

    value: float
    age_days: float


@dataclass(frozen=True)
class Need:
    """A reading that must lie within limits: lowest and highest, None where there is none."""

    measurand: str
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True)
class Answer:
    """One point of the gate: its code, how it stands, and what stands in the way.

    ``reading``: the reading asked for, with ``low`` and ``high``; ``missing``: codes of tasks not
    done.
    """

    code: str
    state: str
    reading: Read | None = None
    need: Need | None = None
    missing: tuple[str, ...] = ()


NEEDS: tuple[tuple[str, Need], ...] = (
    ("no_chlorine", Need("chlorine", high=0.0)),
    ("ph_6_6_to_7_8", Need("ph", 6.6, 7.8)),
    ("alkalinity_60", Need("alk", low=60.0)),
    ("ammonia", Need("tan", high=0.5)),
    ("nitrite", Need("no2", high=0.3)),
    ("oxygen", Need("do", low=6.0)),
)


def gate(
    readings: Mapping[str, Read],
    done: Collection[str],
    temperature: tuple[float, float],
    nitrate_rose: bool | None,
) -> tuple[Answer, ...]:
    """Return the points of the gate in the order in which they are looked at.

    ``done``: codes of the tasks that were done; ``temperature``: the range that suits the fish
    [°C]; ``nitrate_rose``: whether nitrate is higher than when the filter was first dosed, None
    where it was not read twice. A reading older than seven days is not known. Source: practice.
    """
    points = [_cycle(done, nitrate_rose)]
    points += [_reading(code, need, readings) for code, need in NEEDS]
    points.append(_reading("temperature", Need("temp", *temperature), readings))
    points += [_tasks("safety", SAFETY, done), _tasks("client_can", SKILLS_FIRST, done)]
    return tuple(points)


def open_gate(answers: Collection[Answer]) -> bool:
    """Tell whether all of the gate holds."""
    return all(answer.state == MET for answer in answers)


def _cycle(done: Collection[str], nitrate_rose: bool | None) -> Answer:
    found = _tasks("cycle_passed", CYCLE_TESTS, done)
    if found.state != MET:
        return found
    state = UNKNOWN if nitrate_rose is None else MET if nitrate_rose else UNMET
    return Answer("cycle_passed", state)


def _tasks(code: str, wanted: tuple[str, ...], done: Collection[str]) -> Answer:
    missing = tuple(task for task in wanted if task not in done)
    return Answer(code, UNMET if missing else MET, missing=missing)


def _reading(code: str, need: Need, readings: Mapping[str, Read]) -> Answer:
    read = readings.get(need.measurand)
    if read is None or read.age_days > FRESH_DAYS:
        return Answer(code, UNKNOWN, read, need)
    low, high = need.low, need.high
    holds = (low is None or read.value >= low) and (high is None or read.value <= high)
    return Answer(code, MET if holds else UNMET, read, need)
