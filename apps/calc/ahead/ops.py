"""The few functions that the mass balance needs, on floats here and on arrays in the engine."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

# A float, or an array of systems and members that broadcasts with the others.
Value = Any


@dataclass(frozen=True)
class Ops:
    """Functions on values. ``where`` takes both branches worked out already."""

    sqrt: Callable[[Value], Value]
    exp: Callable[[Value], Value]
    log: Callable[[Value], Value]
    maximum: Callable[[Value, Value], Value]
    minimum: Callable[[Value, Value], Value]
    where: Callable[[Value, Value, Value], Value]


def _where(condition: bool, yes: float, no: float) -> float:
    return yes if condition else no


FLOATS = Ops(math.sqrt, math.exp, math.log, max, min, _where)
