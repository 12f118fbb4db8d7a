"""JSON as the standards say (RFC 8259, I-JSON in RFC 7493).

No NaN, no number beyond a double's range, no doubled names, no half characters, bounded depth.
"""

import json
import math
from typing import IO, Any

from django.utils.translation import gettext as _
from rest_framework.exceptions import ParseError
from rest_framework.parsers import BaseParser

MAX_BODY = 1_000_000
MAX_DEPTH = 40
MAX_DIGITS = 300


def _refuse(name: str) -> Any:
    raise ValueError(f"{name} is not JSON")


def _float(text: str) -> float:
    value = float(text)
    if not math.isfinite(value):
        raise ValueError(f"the number {text[:40]} is too large")
    return value


def _int(text: str) -> int:
    if len(text) > MAX_DIGITS:
        raise ValueError(f"the number {text[:40]}... is too large")
    return int(text)


def _unique(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    keys = [key for key, _value in pairs]
    if len(keys) != len(set(keys)):
        twice = next(key for key in keys if keys.count(key) > 1)
        raise ValueError(f"the name {twice!r} stands twice in one object")
    return dict(pairs)


def _too_deep(text: str) -> bool:
    depth = 0
    for char in text:
        if char in "[{":
            depth += 1
            if depth > MAX_DEPTH:
                return True
        elif char in "]}":
            depth -= 1
    return False


def _whole_characters(found: Any) -> None:
    """Raise ValueError where an escape stands for half a character: no UTF-8 can hold it."""
    try:
        json.dumps(found, ensure_ascii=False).encode()
    except UnicodeEncodeError:
        raise ValueError("a text holds one half of a surrogate pair") from None


def strict_loads(text: str) -> Any:
    """Return what a text says in JSON. Raises ValueError with the reason, or RecursionError."""
    found = json.loads(
        text, parse_constant=_refuse, parse_float=_float, parse_int=_int,
        object_pairs_hook=_unique,
    )  # fmt: skip
    if "\\u" in text:
        _whole_characters(found)
    return found


class StrictJSONParser(BaseParser):
    """Parses application/json (RFC 8259) and refuses what is not."""

    media_type = "application/json"

    def parse(
        self, stream: IO[bytes], media_type: str | None = None, parser_context: Any = None
    ) -> Any:
        """Return the parsed body. Raises ParseError (400) with the reason."""
        raw = stream.read(MAX_BODY + 1)
        if len(raw) > MAX_BODY:
            raise ParseError(_("the body is larger than 1 MB"))
        try:
            text = raw.decode("utf-8")
            if _too_deep(text):
                raise ValueError("nested too deep")
            return strict_loads(text)
        except (ValueError, RecursionError) as error:
            raise ParseError(_("the body is not JSON: %(error)s") % {"error": error}) from None
