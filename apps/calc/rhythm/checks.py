"""Whether a rule can be worked out, asked before it is stored: each fault names its field."""

import math
from collections.abc import Iterator
from dataclasses import replace
from itertools import chain

from apps.calc.rhythm.days import UNIT_DAYS
from apps.calc.rhythm.expansion import FIRST_YEARS, hits
from apps.calc.rhythm.model import Rhythm, RuleError
from apps.calc.rhythm.occurrences import SERIES, occurrence_after
from apps.calc.rhythm.recurrence import recurrence_of
from apps.calc.rhythm.windows import MODES
from apps.calc.wording import text as _

METERS = ("run_hours", "feed_g", "litres")
MOST_EVERY = 3650
MOST_DAYS = 3650
MOST_ALSO = 4
_WORDS = {
    "mode": MODES,
    "unit": tuple(UNIT_DAYS),
    "month_end": ("clamp", "skip", "last"),
    "off_season": ("hold", "skip"),
}
_MONTH_DAYS = (31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)


def rule_check(rhythm: Rhythm) -> None:
    """Raise RuleError for the first fault of a rule; it carries field, value and message.

    >>> rule_check(Rhythm("fixed"))
    Traceback (most recent call last):
    apps.calc.rhythm.model.RuleError: anchor: a fixed rule needs the day that it counts from
    """
    for fault in faults(rhythm):
        raise fault


def faults(rhythm: Rhythm, *, alone: bool = True) -> list[RuleError]:
    """Return every fault of a rule. What depends on a broken field is not looked at.

    `alone`: no other rule brings the task round, should this one's counter stand still.
    """
    plain = list(chain(_words(rhythm), _numbers(rhythm), _season(rhythm), _also(rhythm)))
    return (
        plain
        or list(chain(_anchor(rhythm), _meter(rhythm, alone), _calendar(rhythm)))
        or list(_never(rhythm))
    )


def _words(rhythm: Rhythm) -> Iterator[RuleError]:
    for name, allowed in _WORDS.items():
        value = getattr(rhythm, name)
        if value not in allowed:
            message = _("must be one of {allowed}, not {value}",
                        allowed=", ".join(allowed), value=value)  # fmt: skip
            yield RuleError(name, value, message)


def _numbers(rhythm: Rhythm) -> Iterator[RuleError]:
    if not 1 <= rhythm.every_n <= MOST_EVERY:
        yield RuleError("every_n", rhythm.every_n, _between(1, MOST_EVERY))
    if rhythm.max_days is not None and not 1 <= rhythm.max_days <= MOST_DAYS:
        yield RuleError("max_days", rhythm.max_days, _between(1, MOST_DAYS))
    for side in ("early", "late"):
        share = getattr(rhythm, f"{side}_share")
        if not 0 <= share <= 1:
            yield RuleError(f"{side}_share", share, _between(0, 1))
        low, high = getattr(rhythm, f"{side}_min_days"), getattr(rhythm, f"{side}_max_days")
        if not 0 <= low <= MOST_DAYS:
            yield RuleError(f"{side}_min_days", low, _between(0, MOST_DAYS))
        if not low <= high <= MOST_DAYS:
            yield RuleError(f"{side}_max_days", high, _between(max(low, 0), MOST_DAYS))


def _between(low: int, high: int) -> str:
    return _("must be between {low} and {high}", low=low, high=high)


def _season(rhythm: Rhythm) -> Iterator[RuleError]:
    ends = {"season_from": rhythm.season_from, "season_to": rhythm.season_to}
    for name, value in ends.items():
        if value is None:
            if any(ends.values()):
                yield RuleError(name, None, _("a season needs both ends"))
            continue
        month, day = value
        if not (1 <= month <= 12 and 1 <= day <= _MONTH_DAYS[month - 1]):
            yield RuleError(name, value, _("must be a month and a day of it"))


def _also(rhythm: Rhythm) -> Iterator[RuleError]:
    if len(rhythm.also) > MOST_ALSO:
        message = _("a rule has at most {most} more triggers", most=MOST_ALSO)
        yield RuleError("also", len(rhythm.also), message)
        return
    if rhythm.also and rhythm.mode in ("every_visit", "once"):
        message = _("a task that is done {mode} has no other trigger", mode=rhythm.mode)
        yield RuleError("also", len(rhythm.also), message)
    for rule in rhythm.also:
        if rule.also or rule.mode in ("every_visit", "once"):
            message = _(
                "a further trigger is one rule that comes round, not {value}", value=rule.mode
            )
            yield RuleError("also", rule.mode, message)
        else:
            found = faults(rule, alone=False)
            yield from (RuleError(f"also.{f.field}", f.value, f.message) for f in found)


def _anchor(rhythm: Rhythm) -> Iterator[RuleError]:
    if rhythm.mode in (*SERIES, "once") and rhythm.anchor is None:
        message = _("a {mode} rule needs the day that it counts from", mode=rhythm.mode)
        yield RuleError("anchor", None, message)


def _meter(rhythm: Rhythm, alone: bool) -> Iterator[RuleError]:
    if rhythm.mode != "meter":
        return
    if rhythm.meter not in METERS:
        message = _("must be one of {allowed}, not {value}",
                    allowed=", ".join(METERS), value=rhythm.meter or "–")  # fmt: skip
        yield RuleError("meter", rhythm.meter, message)
    limit = rhythm.meter_limit
    if limit is None or not math.isfinite(limit) or limit <= 0:
        message = _("after how much of what the meter counts? A number above 0 is needed")
        yield RuleError("meter_limit", limit, message)
    if alone and rhythm.max_days is None:
        message = _("after how many days at the latest, should the meter stand still?")
        yield RuleError("max_days", None, message)


def _calendar(rhythm: Rhythm) -> Iterator[RuleError]:
    if rhythm.mode != "calendar":
        return
    try:
        recurrence_of(rhythm.rrule)
    except RuleError as fault:
        yield fault


def _never(rhythm: Rhythm) -> Iterator[RuleError]:
    """Refuse a rule that does not come up in its first years, or never in its season."""
    if rhythm.mode not in SERIES or rhythm.anchor is None:
        return
    if rhythm.mode == "calendar" and not hits(recurrence_of(rhythm.rrule), rhythm.anchor):
        message = _("this rule does not come up once in its first {years} years", years=FIRST_YEARS)
        yield RuleError("rrule", rhythm.rrule, message)
    elif occurrence_after(replace(rhythm, also=()), None) is None:
        message = _("no day of this rule falls into the season")
        yield RuleError("season_from", rhythm.season_from, message)
