"""The grammar of answers: which paths a sheet has and what may stand there.

One answer is one leaf: `lines/<id>/outcome`, `readings/<id>/value`, `findings/<id>/text`,
`advice/<id>/decision`; of the visit itself `started_at` and `finished_at`.
"""

import datetime as dt
import re
from collections.abc import Callable
from typing import Any
from uuid import UUID

from django.utils.dateparse import parse_datetime
from django.utils.translation import gettext as _

from apps.core.plain_text import plain_text

NUMBER = re.compile(r"-?[0-9]{1,6}([.,][0-9]{1,4})?")
# in one finding; the phone offers no more (finding.js)
MOST_PHOTOS = 40
LATEST_FUTURE = dt.timedelta(minutes=10)


class BadAnswer(ValueError):
    """Says what is wrong with one answer."""

    def __init__(self, message: str, allowed: list[str] | None = None) -> None:
        super().__init__(message)
        self.allowed = allowed


def number(value: Any) -> float:
    """Return a number typed as JSON number or as text with one point or comma."""
    if isinstance(value, bool) or value is None:
        raise BadAnswer(_("a number is needed"))
    if isinstance(value, int | float):
        # compared first: a whole number may be too large for isfinite
        if not -1e6 < value < 1e6:
            raise BadAnswer(_("a number from -999,999 to 999,999 is needed"))
        return float(value) + 0.0
    if isinstance(value, str) and NUMBER.fullmatch(value.strip()):
        return float(value.strip().replace(",", ".")) + 0.0
    raise BadAnswer(_("write a number such as 7.1 or 1234.5; no thousands mark, no unit"))


def typed_number(text: str) -> str:
    """Return what a person typed as a plain number: comma or point, no blanks, a plain minus.

    >>> typed_number(" −0,5 "), typed_number(".5"), typed_number("7."), typed_number("7,1 ")
    ('-0.5', '0.5', '7', '7.1')
    """
    plain = re.sub(r"\s", "", text).replace("−", "-").replace(",", ".")
    plain = plain.removesuffix(".") if plain.count(".") == 1 else plain
    return re.sub(r"^(-?)\.", r"\g<1>0.", plain)


def value_of(text: str) -> float:
    """Return the number that was typed. Raises BadAnswer."""
    plain = typed_number(text)
    if plain.count(".") > 1 or not plain:
        raise BadAnswer(_("write one number such as 7.1"))
    return number(plain)


def words(limit: int) -> Callable[[Any], str]:
    """Return a check for text up to a length; control and direction marks are taken out."""

    def check(value: Any) -> str:
        if value is None:
            return ""
        if not isinstance(value, str):
            raise BadAnswer(_("text is needed"))
        try:
            return plain_text(value, limit)
        except ValueError as error:
            raise BadAnswer(str(error)) from None

    return check


def one_of(*allowed: str) -> Callable[[Any], str]:
    """Return a check for a word out of a list; spaces and underscores are the same."""

    def check(value: Any) -> str:
        text = value.strip().replace(" ", "_") if isinstance(value, str) else value
        if text not in allowed:
            raise BadAnswer(
                _("one of %(allowed)s") % {"allowed": ", ".join(a for a in allowed if a)},
                list(allowed),
            )
        return str(text)

    return check


def key(value: Any) -> str:
    """Return a UUID in its usual spelling."""
    try:
        return str(UUID(str(value)))
    except ValueError:
        raise BadAnswer(_("a UUID is needed")) from None


def maybe_key(value: Any) -> str | None:
    """Return a UUID or None."""
    return None if value in (None, "") else key(value)


def keys(value: Any, most: int) -> list[str]:
    """Return a list of at most so many UUIDs."""
    if not isinstance(value, list) or len(value) > most:
        raise BadAnswer(_("a list of at most %(most)s UUIDs is needed") % {"most": most})
    return [key(item) for item in value]


def photo_keys(value: Any) -> list[str]:
    """Return the photos of a finding."""
    if isinstance(value, list) and len(value) > MOST_PHOTOS:
        raise BadAnswer(
            _("a finding holds at most %(most)s photos; note another finding for more")
            % {"most": MOST_PHOTOS}
        )
    return keys(value, MOST_PHOTOS)


def moment(value: Any) -> str:
    """Return a time with an offset (RFC 3339)."""
    parsed = None
    if isinstance(value, str) and value.isascii():
        try:
            parsed = parse_datetime(value)
        except ValueError:
            parsed = None
    if parsed is None or parsed.tzinfo is None:
        raise BadAnswer(_("a time with its offset is needed, such as 2026-06-11T08:20:00+02:00"))
    if not 2000 <= parsed.year <= 2100:
        raise BadAnswer(_("a year from 2000 to 2100 is needed"))
    return parsed.isoformat()


def tick(value: Any) -> bool:
    """Return true or false."""
    if not isinstance(value, bool):
        raise BadAnswer(_("true or false is needed"))
    return value


def minutes(value: Any) -> float | None:
    """Return minutes from 0 to 1,440, or None."""
    if value is None:
        return None
    found = number(value)
    if not 0 <= found <= 1440:
        raise BadAnswer(_("minutes from 0 to 1440 are needed"))
    return found


def typed(value: Any) -> float | None:
    """Return a reading's number; None is 'not measured'."""
    return None if value is None else number(value)


def strokes(value: Any) -> list[list[list[float]]]:
    """Return the lines of a signature: points from 0 to 1, at most 4,000 of them."""
    lines = value if isinstance(value, list) else None
    points = [point for line in lines or [] if isinstance(line, list) for point in line]
    good = all(
        isinstance(point, list)
        and len(point) == 2
        and all(type(part) in (int, float) and 0 <= part <= 1 for part in point)
        for point in points
    )
    if lines is None or len(lines) > 400 or len(points) > 4000 or not good:
        raise BadAnswer(_("lines of points from 0 to 1 are needed, at most 4000 points"))
    return [[[round(x, 3), round(y, 3)] for x, y in line] for line in lines if line]


def amount(value: Any) -> float | None:
    """Return an amount, zero or more, or None."""
    if value is None:
        return None
    found = number(value)
    if found < 0:
        raise BadAnswer(_("an amount of zero or more is needed"))
    return found


LEAVES: dict[str, dict[str, Callable[[Any], Any]]] = {
    "lines": {
        "outcome": one_of("done", "not_done", "not_here", ""),
        "reason": words(40),
        "minutes": minutes,
        "note": words(4000),
    },
    "readings": {
        "loop": words(40),
        "measurand": words(40),
        "value": typed,
        "unit": words(20),
        "basis": one_of("n", "ion", ""),
        "when": one_of("before", "after"),
        "method": words(80),
        "instrument": words(80),
        "taken_at": moment,
        "as_typed": words(40),
        "checked_twice": tick,
        "gone": tick,
    },
    "findings": {
        "sign": words(60),
        "text": words(4000),
        "component": maybe_key,
        "photo_ids": photo_keys,
        "gone": tick,
    },
    "advice": {
        "decision": one_of("keep", "edit", "strike"),
        "text": words(2000),
        "reason": words(400),
    },
    "supplies": {
        "item": words(120),
        "amount": amount,
        "unit": one_of("g", "kg", "mL", "L", "pieces", ""),
        "gone": tick,
    },
    "swaps": {
        "component": maybe_key,
        "make": words(80),
        "serial": words(80),
        "reason": words(400),
        "gone": tick,
    },
    "signature": {"name": words(120), "strokes": strokes, "at": moment},
    # of the visit itself
    "checkin": {"fine_by": moment, "fine_at": moment, "who": maybe_key},
}
VISIT_LEAVES: dict[str, Callable[[Any], Any]] = {"started_at": moment, "finished_at": moment}


def check(path: str, value: Any) -> tuple[str, Any]:
    """Return the path in its usual spelling and the cleaned value. Raises BadAnswer."""
    parts = path.split("/")
    if len(parts) == 1 and parts[0] in VISIT_LEAVES:
        return path, VISIT_LEAVES[parts[0]](value)
    if len(parts) != 3 or parts[0] not in LEAVES:
        raise BadAnswer(
            _("no such place on a sheet; places are lines, readings, findings and advice")
        )
    group, row, leaf = parts
    if leaf not in LEAVES[group]:
        allowed = list(LEAVES[group])
        raise BadAnswer(
            f"{leaf}: "
            + _("not known here; known are %(allowed)s") % {"allowed": ", ".join(allowed)},
            allowed,
        )
    return f"{group}/{key(row)}/{leaf}", LEAVES[group][leaf](value)
