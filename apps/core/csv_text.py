"""CSV that a spreadsheet reads as text and numbers, never as formulas (RFC 4180, UTF-8 with BOM)."""

import csv
import datetime as dt
import re
from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal

from django.http import StreamingHttpResponse

Cell = str | int | float | Decimal | dt.date | dt.datetime | None
# what a spreadsheet takes for the beginning of a formula, with the full-width twins of the signs
STARTERS = "=+-@\t\r\uff1d\uff0b\uff0d\uff20"
# a spreadsheet of another country splits at these, and then a formula may begin behind them
_SPLIT = re.compile(f"(?<=[;|\t])(?=[{re.escape(STARTERS)}])")
_NUMBER = re.compile(r"-[0-9]{1,15}([.,][0-9]{1,9})?")


def safe_cell(value: Cell) -> str:
    """Return a cell's text; what would start a formula gets an apostrophe before it.

    A negative number stays a number. Source: OWASP, CSV Injection (also names the separators).

    >>> safe_cell("=SUM(A1)"), safe_cell("-5.2"), safe_cell("-5.2 or so"), safe_cell("a;=B1")
    ("'=SUM(A1)", '-5.2', "'-5.2 or so", "a;'=B1")
    """
    if value is None:
        return ""
    if isinstance(value, dt.date | dt.datetime):
        return value.isoformat()
    if isinstance(value, int | float | Decimal):
        return str(value)
    value = _SPLIT.sub("'", str(value))
    if value[:1] and value[0] in STARTERS and not _NUMBER.fullmatch(value):
        return f"'{value}"
    return value


class _Echo:
    """Hands each written line back instead of keeping it."""

    def write(self, line: str) -> str:
        """Return the line."""
        return line


def csv_lines(head: Sequence[str], rows: Iterable[Sequence[Cell]]) -> Iterator[str]:
    """Yield the lines of a table, neutralised, CRLF at the end of each."""
    writer = csv.writer(_Echo())
    yield "\ufeff"
    yield writer.writerow([safe_cell(cell) for cell in head])
    for row in rows:
        yield writer.writerow([safe_cell(cell) for cell in row])


def csv_answer(
    name: str, head: Sequence[str], rows: Iterable[Sequence[Cell]]
) -> StreamingHttpResponse:
    """Return a table as a file to keep; `name` is a plain name of our own, without ending."""
    answer = StreamingHttpResponse(csv_lines(head, rows), content_type="text/csv; charset=utf-8")
    answer["Content-Disposition"] = f'attachment; filename="{name}.csv"'
    answer["X-Content-Type-Options"] = "nosniff"
    return answer
