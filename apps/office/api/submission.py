"""The shape of a submission; what stands in it is checked where answers are."""

from typing import Any
from uuid import UUID

from apps.core.exceptions import Invalid
from apps.visits.services.answers import LEAVES

TOP = ("started_at", "finished_at", "finish", "sheets")
NEEDED = {
    "lines": ("id", "outcome"),
    "readings": ("id", "loop", "measurand", "value", "unit", "taken_at"),
    "findings": ("id",),
    "advice": ("id", "decision"),
}
LONGEST = {"lines": 200, "readings": 300, "findings": 100, "advice": 100}


class _Errors(list[dict[str, Any]]):
    def add(self, pointer: str, value: Any, message: str, **more: Any) -> None:
        """Note one error."""
        plain = None if isinstance(value, dict | list) else value
        self.append({"pointer": pointer, "value": plain, "message": message, **more})


def submission_check(body: dict[str, Any]) -> None:
    """Raise Invalid with a JSON pointer for each part that is missing, unknown or of another shape."""
    errors = _Errors()
    _fields(body, TOP, ("finish", "sheets"), "", errors)
    if not isinstance(body.get("finish", False), bool):
        errors.add("/finish", body["finish"], "finish: true or false is needed")
    sheets = body.get("sheets", [])
    if not isinstance(sheets, list) or len(sheets) > 20:
        errors.add("/sheets", None, "sheets: a list of at most 20 is needed")
        sheets = []
    for index, sheet in enumerate(sheets):
        _sheet(sheet, f"/sheets/{index}", errors)
    if errors:
        raise Invalid(list(errors))


def _fields(
    row: dict[str, Any],
    known: tuple[str, ...],
    needed: tuple[str, ...],
    where: str,
    errors: _Errors,
) -> None:
    for name in row:
        if name not in known:
            errors.add(f"{where}/{name}", row[name], f"{name}: not known here", allowed=list(known))
    for name in needed:
        if row.get(name) is None:
            errors.add(f"{where}/{name}", None, f"{name}: is missing")


def _uuid(row: dict[str, Any], name: str, where: str, errors: _Errors) -> None:
    value = row.get(name)
    if value is None:
        return
    try:
        UUID(str(value))
    except ValueError:
        errors.add(f"{where}/{name}", value, f"{name}: a UUID is needed")


def _sheet(sheet: Any, where: str, errors: _Errors) -> None:
    if not isinstance(sheet, dict):
        errors.add(where, sheet, "an object is needed")
        return
    _fields(sheet, ("system", *NEEDED), ("system",), where, errors)
    _uuid(sheet, "system", where, errors)
    for group, needed in NEEDED.items():
        rows = sheet.get(group)
        if rows is None:
            continue
        if not isinstance(rows, list) or len(rows) > LONGEST[group]:
            errors.add(
                f"{where}/{group}", None, f"{group}: a list of at most {LONGEST[group]} is needed"
            )
            continue
        for index, row in enumerate(rows):
            place = f"{where}/{group}/{index}"
            if not isinstance(row, dict):
                errors.add(place, row, "an object is needed")
                continue
            known = ("id", *(leaf for leaf in LEAVES[group] if leaf != "gone"))
            _fields(row, known, needed, place, errors)
            _uuid(row, "id", place, errors)
