"""Where a client is, from text that somebody pasted: decimal degrees or an Open Location Code.

A strict grammar that refuses what it does not know: a parser that guesses puts a garden in the sea.
"""

import re
from typing import NamedTuple

from openlocationcode import openlocationcode as codes

from apps.calc.wording import text as _

MAX_LENGTH = 100
MIN_DECIMALS = 3
"""Fewer would leave it open by more than a hundred metres."""
CODE_DIGITS = 10
"""An area of some 14 m by 14 m; a shorter code names a street or a town."""

_POINTS = re.compile(r"([+-]?\d{1,3}\.\d+)(?: ?[,;] ?| )([+-]?\d{1,3}\.\d+)", re.ASCII)
_COMMAS = re.compile(r"([+-]?\d{1,3},\d+)(?: ?; ?|, | )([+-]?\d{1,3},\d+)", re.ASCII)
_CODE = re.compile(r"[23456789CFGHJMPQRVWX0]{0,8}\+[23456789CFGHJMPQRVWX]*", re.IGNORECASE)


class Position(NamedTuple):
    """Latitude and longitude [°, WGS 84]."""

    lat: float
    lon: float


def position_of(typed: str, near: Position | None = None) -> Position:
    """Return the position that ``typed`` names; ValueError with the way out where it names none.

    Decimal degrees, latitude first: with points, separated by a comma, a semicolon or a space
    (``50.8503, 4.3517``), or with decimal commas, separated by a semicolon, a space, or a comma and
    a space (``50,8503; 4,3517``). Or an Open Location Code; a short one counts from ``near``.

    >>> position_of("50.8503, 4.3517")
    Position(lat=50.8503, lon=4.3517)
    >>> position_of("50,8503; 4,3517")
    Position(lat=50.8503, lon=4.3517)
    """
    tidy = _tidy(typed)
    if _CODE.fullmatch(tidy):
        return _of_code(tidy, near)
    for pattern in (_POINTS, _COMMAS):
        found = pattern.fullmatch(tidy)
        if found:
            return _of_numbers(found[1].replace(",", "."), found[2].replace(",", "."))
    raise ValueError(_not_understood(tidy))


def code_of(position: Position) -> str:
    """Return the full Open Location Code of a position.

    >>> code_of(Position(47.0000625, 8.0000625))
    '8FVC2222+22'
    """
    return str(codes.encode(position.lat, position.lon, CODE_DIGITS))


def _tidy(typed: str) -> str:
    """Return the text with one kind of space and of minus; ValueError when empty or too long."""
    if len(typed) > MAX_LENGTH:
        raise ValueError(
            _("position: {length} characters are too many; paste the position alone",
                 length=len(typed))
        )  # fmt: skip
    tidy = " ".join(typed.replace("\u2212", "-").split())
    if not tidy:
        raise ValueError(_("position: nothing was given; write 50.8503, 4.3517 or set the pin"))
    return tidy


def _not_understood(tidy: str) -> str:
    if not tidy.isascii() or re.search(r"[A-Za-z'\"]", tidy):
        return _(
            "position {value}: write decimal degrees without letters or degree signs, south and west "
            "with a minus, as in 50.8503, 4.3517, or a plus code alone",
            value=tidy,
        )
    return _(
        "position {value}: write latitude and longitude as in 50.8503, 4.3517 (with decimal commas: "
        "50,8503; 4,3517)",
        value=tidy,
    )


def _of_numbers(lat: str, lon: str) -> Position:
    values = []
    for field, typed, limit in (("latitude", lat, 90), ("longitude", lon, 180)):
        value = float(typed)
        if abs(value) > limit:
            raise ValueError(
                _(
                    "{field} {value} must lie from -{limit} to {limit}; latitude comes first",
                    field=field, value=typed, limit=limit,
                )
            )  # fmt: skip
        if len(typed.partition(".")[2]) < MIN_DECIMALS:
            raise ValueError(
                _(
                    "{field} {value} is too coarse; give at least {count} decimals",
                    field=field, value=typed, count=MIN_DECIMALS,
                )
            )  # fmt: skip
        values.append(value)
    if values == [0.0, 0.0]:
        raise ValueError(
            _("position 0, 0 lies in the sea off Africa: the value is missing; set the pin")
        )
    return Position(*values)


def _of_code(code: str, near: Position | None) -> Position:
    if not codes.isValid(code):
        raise ValueError(_("plus code {value} is not valid; copy it again", value=code))
    if codes.isShort(code):
        if near is None:
            raise ValueError(
                _("plus code {value} is short; give the full code, as in 8FVC9G8F+6W", value=code)
            )
        full = codes.recoverNearest(code, near.lat, near.lon)
    else:
        full = code
    area = codes.decode(full)
    if area.codeLength < CODE_DIGITS:
        raise ValueError(
            _("plus code {value} names too wide an area; give all ten digits", value=code)
        )
    return Position(round(area.latitudeCenter, 7), round(area.longitudeCenter, 7))
