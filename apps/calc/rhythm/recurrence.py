"""The text of a calendar rule, read strictly: RFC 5545 section 3.3.10, on dates.

Times of the day, UNTIL with a time, extensions and parts that the standard forbids together are
refused, as is what would read in two ways.
"""

import datetime as dt
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache

from apps.calc.rhythm.model import RuleError
from apps.calc.wording import text as _

LONGEST = 200
MOST_INTERVAL = 1000
MOST_COUNT = 1000
WEEKDAYS = ("MO", "TU", "WE", "TH", "FR", "SA", "SU")
FREQUENCIES = ("DAILY", "WEEKLY", "MONTHLY", "YEARLY")
TIMES = ("BYHOUR", "BYMINUTE", "BYSECOND")

_NUMBER = re.compile(r"[+-]?[0-9]{1,4}")
_DAY = re.compile(r"([+-]?[0-9]{1,2})?(MO|TU|WE|TH|FR|SA|SU)")
_DATE = re.compile(r"[0-9]{8}")


@dataclass(frozen=True)
class Recurrence:
    """A calendar rule's parts. `by_day`: pairs of which one (0 for each) and weekday (0 Monday)."""

    freq: str
    interval: int = 1
    count: int | None = None
    until: dt.date | None = None
    by_month: tuple[int, ...] = ()
    by_week: tuple[int, ...] = ()
    by_year_day: tuple[int, ...] = ()
    by_month_day: tuple[int, ...] = ()
    by_day: tuple[tuple[int, int], ...] = ()
    by_position: tuple[int, ...] = ()
    week_start: int = 0


def _refuse(value: str, message: str) -> RuleError:
    return RuleError("rrule", value, message)


def _one_of(name: str, value: str, words: tuple[str, ...]) -> str:
    if value not in words:
        message = _(
            "{part} must be one of {allowed}, not {value}",
            part=name, allowed=", ".join(words), value=value or "–",
        )  # fmt: skip
        raise _refuse(value, message)
    return value


def _whole(name: str, value: str, low: int, high: int, *, signed: bool = False) -> int:
    number = int(value) if _NUMBER.fullmatch(value) else 0
    size = abs(number) if signed else number
    if not low <= size <= high:
        message = _(
            "{part} must be a whole number from {low} to {high}, not {value}",
            part=name, low=low, high=high, value=value or "–",
        )  # fmt: skip
        raise _refuse(value, message)
    return number


def _wholes(name: str, value: str, high: int, *, signed: bool = True) -> tuple[int, ...]:
    numbers = {_whole(name, item, 1, high, signed=signed) for item in value.split(",")}
    return tuple(sorted(numbers))


def _days(name: str, value: str) -> tuple[tuple[int, int], ...]:
    found = set()
    for item in value.split(","):
        match = _DAY.fullmatch(item)
        if match is None:
            message = _(
                "{part} must be weekdays such as MO,TH or 1FR or -1SU, not {value}",
                part=name, value=item or "–",
            )  # fmt: skip
            raise _refuse(item, message)
        which = _whole(name, match[1], 1, 53, signed=True) if match[1] else 0
        found.add((which, WEEKDAYS.index(match[2])))
    return tuple(sorted(found))


def _until(name: str, value: str) -> dt.date:
    try:
        if _DATE.fullmatch(value):
            return dt.date(int(value[:4]), int(value[4:6]), int(value[6:]))
    except ValueError:
        pass
    message = _("{part} must be a day such as 20271231 with no time, not {value}", part=name,
                value=value or "–")  # fmt: skip
    raise _refuse(value, message)


_READERS: Mapping[str, tuple[str, Callable[[str, str], object]]] = {
    "FREQ": ("freq", lambda name, value: _one_of(name, value, FREQUENCIES)),
    "INTERVAL": ("interval", lambda name, value: _whole(name, value, 1, MOST_INTERVAL)),
    "COUNT": ("count", lambda name, value: _whole(name, value, 1, MOST_COUNT)),
    "UNTIL": ("until", _until),
    "BYMONTH": ("by_month", lambda name, value: _wholes(name, value, 12, signed=False)),
    "BYWEEKNO": ("by_week", lambda name, value: _wholes(name, value, 53)),
    "BYYEARDAY": ("by_year_day", lambda name, value: _wholes(name, value, 366)),
    "BYMONTHDAY": ("by_month_day", lambda name, value: _wholes(name, value, 31)),
    "BYDAY": ("by_day", _days),
    "BYSETPOS": ("by_position", lambda name, value: _wholes(name, value, 366)),
    "WKST": ("week_start", lambda name, value: WEEKDAYS.index(_one_of(name, value, WEEKDAYS))),
}


def _parts(text: str) -> dict[str, str]:
    parts: dict[str, str] = {}
    for item in text.split(";"):
        name, mark, value = item.partition("=")
        if name in TIMES:
            raise _refuse(
                item, _("{part} does not belong in a rule on days; leave it out", part=name)
            )
        if not mark or name not in _READERS:
            known = ", ".join(_READERS)
            message = _("{part} is not a part of a rule; known are {known}",
                        part=item[:40] or "–", known=known)  # fmt: skip
            raise _refuse(item, message)
        if name in parts:
            raise _refuse(item, _("{part} stands twice; keep one", part=name))
        parts[name] = value
    if "FREQ" not in parts:
        raise _refuse(text, _("a rule begins with FREQ=, such as FREQ=MONTHLY;BYDAY=1MO"))
    return parts


def _clashes(parts: Mapping[str, str], rule: Recurrence) -> None:
    """Refuse parts that the standard does not allow together (section 3.3.10)."""
    freq = rule.freq
    numbered = any(which for which, _weekday in rule.by_day)
    if "COUNT" in parts and "UNTIL" in parts:
        raise _refuse(parts["UNTIL"], _("COUNT and UNTIL do not go together; keep one"))
    wrong = (
        ("BYWEEKNO", freq != "YEARLY"),
        ("BYYEARDAY", freq != "YEARLY"),
        ("BYMONTHDAY", freq == "WEEKLY"),
    )
    for name, bad in wrong:
        if name in parts and bad:
            message = _("{part} does not go with FREQ={freq}; leave it out", part=name, freq=freq)
            raise _refuse(parts[name], message)
    if numbered and (freq not in ("MONTHLY", "YEARLY") or rule.by_week):
        message = _(
            "a number before a weekday goes with FREQ=MONTHLY or FREQ=YEARLY without BYWEEKNO"
        )
        raise _refuse(parts["BYDAY"], message)
    if rule.by_week and not rule.by_day:
        raise _refuse(parts["BYWEEKNO"], _("BYWEEKNO needs BYDAY: which day of that week?"))
    if rule.by_position and not (
        rule.by_month or rule.by_year_day or rule.by_month_day or rule.by_day
    ):
        raise _refuse(
            parts["BYSETPOS"], _("BYSETPOS picks among days; name them, such as BYDAY=MO,TU")
        )


@lru_cache(maxsize=512)  # a firm has few different rules, asked for again and again
def recurrence_of(text: str) -> Recurrence:
    """Return the parts of a calendar rule.

    `text`: FREQ=…;… as in RFC 5545, at most 200 characters, capitals or not. Raises RuleError
    with the field rrule, the part that is wrong and what would be right.

    >>> recurrence_of("FREQ=MONTHLY;BYDAY=-1FR").by_day
    ((-1, 4),)
    """
    if len(text) > LONGEST:
        message = _(
            "a rule has at most {most} characters, not {size}", most=LONGEST, size=len(text)
        )
        raise _refuse(text[:40], message)
    parts = _parts(text.strip().upper())
    values = {_READERS[name][0]: _READERS[name][1](name, value) for name, value in parts.items()}
    rule = Recurrence(**values)  # type: ignore[arg-type]
    _clashes(parts, rule)
    return rule
