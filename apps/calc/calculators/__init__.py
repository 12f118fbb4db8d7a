"""The calculators by name: strict JSON in, a result with its explanation out."""

from apps.calc.calculators import chemistry, fish, flows, water, works
from apps.calc.calculators.fields import CalculatorError, Field
from apps.calc.calculators.model import Calculator

CALCULATORS: dict[str, Calculator] = {
    calculator.name: calculator
    for group in (chemistry, water, fish, flows, works)
    for calculator in group.CALCULATORS
}

__all__ = ["CALCULATORS", "Calculator", "CalculatorError", "Field"]
