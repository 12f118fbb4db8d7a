"""What a calculator takes: fields, their strict reading, and the errors that name each fault."""

import math
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from apps.calc.quantities import PARAMETERS
from apps.calc.wording import text as _

NUMBER = "number"
INTEGER = "integer"
CHOICE = "choice"
LIST = "list"
DATE = "date"
ROWS = "rows"

_NUMBER_TEXT = re.compile(r"-?[0-9]{1,6}([.,][0-9]{1,4})?")
_DATE_TEXT = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_MOST_ITEMS = 1000
_LARGEST_INT = 10**15

_TYPE_TEXT: dict[str, str] = {
    NUMBER: _("{field} must be a number"),
    INTEGER: _("{field} must be a whole number"),
    LIST: _("{field} must be a list of numbers"),
    DATE: _("{field} must be a day as YYYY-MM-DD"),
    ROWS: _("{field} must be a list of rows"),
}


@dataclass(frozen=True)
class FieldError:
    """One fault: where, what was given, why, and what is allowed."""

    pointer: str
    value: object
    message: str
    allowed: tuple[str, ...] | None = None

    def as_dict(self) -> dict[str, object]:
        """Return the fault for JSON, ``allowed`` only where there is a list of values."""
        found: dict[str, object] = {
            "pointer": self.pointer,
            "value": _echo(self.value),
            "message": self.message,
        }
        if self.allowed is not None:
            found["allowed"] = list(self.allowed)
        return found


def _echo(value: object) -> object:
    if isinstance(value, float) and not math.isfinite(value):
        return str(value)
    if value is None or isinstance(value, bool | float):
        return value
    if isinstance(value, int):
        return (
            value
            if abs(value) < 10**15
            else f"{str(value)[:20]}…"
            if abs(value) < 10**4000
            else "…"
        )
    text = value if isinstance(value, str) else repr(value)
    return text if len(text) <= 80 else text[:80] + "…"


class CalculatorError(Exception):
    """The input of a calculator is refused; ``errors`` name every fault."""

    def __init__(self, *errors: FieldError) -> None:
        super().__init__("; ".join(f"{error.pointer}: {error.message}" for error in errors))
        self.errors: list[dict[str, object]] = [error.as_dict() for error in errors]


def refuse(name: str, value: object, message: str) -> CalculatorError:
    """Return the error for one field whose value does not go with the others."""
    return CalculatorError(FieldError(f"/{name}", value, message))


@dataclass(frozen=True)
class Field:
    """One field of a calculator's input. ``columns`` are the fields of a row."""

    name: str
    kind: str = NUMBER
    required: bool = True
    default: object = None
    unit: str = ""
    low: float | None = None
    high: float | None = None
    choices: tuple[str, ...] = ()
    help: str = ""
    columns: tuple["Field", ...] = ()

    def read(self, value: object, pointer: str) -> object:
        """Return the value as a number, text, day, list or rows; raise CalculatorError."""
        if self.kind == CHOICE:
            return self._choice(value, pointer)
        if self.kind == DATE:
            return self._day(value, pointer)
        if self.kind == LIST:
            items = self._items(value, pointer)
            return _gather([(self._number, item, f"{pointer}/{i}") for i, item in enumerate(items)])
        if self.kind == ROWS:
            items = self._items(value, pointer)
            return _gather([(self._row, item, f"{pointer}/{i}") for i, item in enumerate(items)])
        return self._number(value, pointer)

    def _fault(
        self, value: object, pointer: str, msgid: str = "", **params: object
    ) -> CalculatorError:
        name = self.name if not pointer.rsplit("/", 1)[-1].isdigit() else pointer.strip("/")
        message = _(msgid or _TYPE_TEXT[self.kind], field=name, **params)
        return CalculatorError(FieldError(pointer, value, message, self.choices or None))

    def _number(self, value: object, pointer: str) -> float | int:
        number = _as_number(value)
        if number is None:
            raise self._fault(value, pointer, _TYPE_TEXT[INTEGER if self.whole else NUMBER])
        if not self._holds(number):
            raise self._fault(
                value, pointer, self._range_msgid, low=self.low, high=self.high, unit=self.unit
            )
        if self.whole:
            if number != int(number):
                raise self._fault(value, pointer)
            return int(number)
        return float(number)

    @property
    def whole(self) -> bool:
        """Tell whether only whole numbers are taken."""
        return self.kind == INTEGER

    def _holds(self, number: float) -> bool:
        low = -math.inf if self.low is None else self.low
        high = math.inf if self.high is None else self.high
        return low <= number <= high

    @property
    def _range_msgid(self) -> str:
        if self.low is not None and self.high is not None:
            return _("{field} must be between {low} and {high} {unit}")
        if self.low is not None:
            return _("{field} must be at least {low} {unit}")
        return _("{field} must be at most {high} {unit}")

    def _choice(self, value: object, pointer: str) -> str:
        text = str(value) if isinstance(value, int) and not isinstance(value, bool) else value
        if isinstance(value, float) and value.is_integer():
            text = str(int(value))
        if not isinstance(text, str) or text not in self.choices:
            raise self._fault(
                value,
                pointer,
                _("{field} must be one of {choices}"),
                choices=", ".join(self.choices),
            )
        return text

    def _day(self, value: object, pointer: str) -> date:
        if not isinstance(value, str) or not _DATE_TEXT.fullmatch(value):
            raise self._fault(value, pointer)
        try:
            return date.fromisoformat(value)
        except ValueError:
            raise self._fault(value, pointer) from None

    def _items(self, value: object, pointer: str) -> Sequence[object]:
        if not isinstance(value, list | tuple):
            raise self._fault(value, pointer)
        if not 1 <= len(value) <= _MOST_ITEMS:
            raise self._fault(
                value, pointer, _("{field} must hold 1 to {most} items"), most=_MOST_ITEMS
            )
        return value

    def _row(self, value: object, pointer: str) -> dict[str, object]:
        if not isinstance(value, Mapping):
            raise self._fault(value, pointer, _("{field} must be a row with its fields"))
        return read_fields(self.columns, value, pointer)


def _as_number(value: object) -> float | None:
    """Return a JSON number or a number in text, None for anything else."""
    if isinstance(value, bool):
        return None
    if isinstance(value, int):
        return max(-_LARGEST_INT, min(_LARGEST_INT, value))
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, str) and _NUMBER_TEXT.fullmatch(value):
        return float(value.replace(",", "."))
    return None


def _gather(calls: list[tuple[Callable[[object, str], object], object, str]]) -> list[object]:
    """Call each reader, collecting the faults of all before raising."""
    found: list[object] = []
    faults: list[CalculatorError] = []
    for reader, value, pointer in calls:
        try:
            found.append(reader(value, pointer))
        except CalculatorError as fault:
            faults.append(fault)
    if faults:
        raise joined(faults)
    return found


def joined(faults: Sequence[CalculatorError]) -> CalculatorError:
    """Return one error with the faults of all."""
    whole = CalculatorError()
    whole.errors = [error for fault in faults for error in fault.errors]
    whole.args = ("; ".join(str(fault) for fault in faults),)
    return whole


def read_fields(
    fields: Sequence[Field], payload: Mapping[str, object], pointer: str = ""
) -> dict[str, object]:
    """Return every field of ``fields`` read from ``payload``, absent optional ones as default.

    Raises CalculatorError with all faults: unknown, missing, null, wrong type, out of range.
    """
    faults: list[CalculatorError] = []
    names = tuple(field.name for field in fields)
    for key in payload:
        if key not in names:
            message = _("{field} is not a field of this calculator", field=_echo(key))
            faults.append(
                CalculatorError(FieldError(_point(pointer, key), payload[key], message, names))
            )
    found: dict[str, object] = {}
    for field in fields:
        where = f"{pointer}/{field.name}"
        if field.name not in payload:
            if field.required:
                faults.append(
                    CalculatorError(
                        FieldError(where, None, _("{field} is required", field=field.name))
                    )
                )
            found[field.name] = field.default
            continue
        try:
            found[field.name] = field.read(payload[field.name], where)
        except CalculatorError as fault:
            faults.append(fault)
    if faults:
        raise joined(faults)
    return found


def _point(pointer: str, key: object) -> str:
    escaped = str(key).replace("~", "~0").replace("/", "~1")
    return f"{pointer}/{escaped[:80]}"


def number(
    name: str,
    *,
    of: str = "",
    low: float | None = None,
    high: float | None = None,
    required: bool = True,
    default: float | None = None,
    kind: str = NUMBER,
    text: str = "",
) -> Field:
    """Return a number field with title, unit and range of the quantity ``of`` (its own name)."""
    quantity = PARAMETERS[of or name]
    return Field(
        name,
        kind,
        required=required and default is None,
        default=default,
        unit=quantity.unit,
        low=quantity.low if low is None else low,
        high=quantity.high if high is None else high,
        help=text or quantity.title,
    )


def choice(name: str, choices: Sequence[str], text: str, *, required: bool = True) -> Field:
    """Return a field that takes one of ``choices``."""
    return Field(name, CHOICE, required=required, choices=tuple(choices), help=text)
