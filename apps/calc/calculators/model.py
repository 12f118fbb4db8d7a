"""A calculator: fields in, a result with its explanation out."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import cast

from apps.calc.calculators.fields import CalculatorError, Field, FieldError, read_fields
from apps.calc.sources import cite
from apps.calc.wording import text as _


class Inputs:
    """The fields as read, each by the type that its kind promises."""

    def __init__(self, values: Mapping[str, object]) -> None:
        self.values = values

    def given(self, name: str) -> bool:
        """Tell whether an optional field was given."""
        return self.values[name] is not None

    def number(self, name: str) -> float:
        """A number field that was given or has a default."""
        return cast(float, self.values[name])

    def maybe(self, name: str) -> float | None:
        """A number field that may be absent."""
        return cast(float | None, self.values[name])

    def whole(self, name: str) -> int:
        """A field of whole numbers."""
        return cast(int, self.values[name])

    def text(self, name: str) -> str:
        """A choice."""
        return cast(str, self.values[name])

    def day(self, name: str) -> date:
        """A date."""
        return cast(date, self.values[name])

    def numbers(self, name: str) -> list[float]:
        """A list of numbers."""
        return cast(list[float], self.values[name])

    def rows(self, name: str) -> list["Inputs"]:
        """Rows, each with its own fields."""
        return [Inputs(row) for row in cast(list[Mapping[str, object]], self.values[name])]


@dataclass(frozen=True)
class Outcome:
    """A result and what is to be said with it; texts are plain English, to be translated above."""

    result: dict[str, object]
    assumptions: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True)
class Calculator:
    """One calculator by name: what it takes, how it counts, where that comes from."""

    name: str
    title: str
    fields: tuple[Field, ...]
    compute: Callable[[Inputs], Outcome]
    formula: str
    sources: tuple[str, ...]
    valid_range: str
    assumptions: tuple[str, ...] = ()
    cautions: tuple[str, ...] = field(default=())

    def run(self, payload: Mapping[str, object]) -> dict[str, object]:
        """Return ``result``, ``explanation`` and ``cautions`` for a JSON object.

        Raises CalculatorError naming every field at fault; nothing is stored.
        """
        if not isinstance(payload, Mapping):
            raise CalculatorError(
                FieldError("", payload, _("the input must be an object with fields"))
            )
        values = read_fields(self.fields, payload)
        try:
            outcome = self.compute(Inputs(values))
        except ValueError as fault:
            message = _("these values do not go together: {reason}", reason=fault)
            raise CalculatorError(FieldError("", None, message)) from fault
        return {
            "result": outcome.result,
            "explanation": {
                "formula": self.formula,
                "inputs": {
                    name: _plain(value) for name, value in values.items() if value is not None
                },
                "source": cite(*self.sources),
                "valid_range": self.valid_range,
                "assumptions": [*self.assumptions, *outcome.assumptions],
            },
            "cautions": [*self.cautions, *outcome.cautions],
        }


def _plain(value: object) -> object:
    return value.isoformat() if isinstance(value, date) else value
