"""The calculators, by themselves; nothing is stored."""

from django.utils.translation import gettext as _
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiExample, OpenApiParameter, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from apps.calc.calculators import CALCULATORS, CalculatorError
from apps.core.exceptions import Invalid, NotFound
from apps.flows.operation import Operation, body_of
from apps.office.api import schemas
from apps.office.calculator_words import answer_said, say


class Calculators(Operation):
    """What can be worked out."""

    @extend_schema(operation_id="calculators", responses={200: schemas.CALCULATORS})
    def get(self, request: Request) -> Response:
        """Any staff: the calculators with their fields."""
        results = [
            {
                "name": item.name,
                "title": _(item.title),
                "fields": [
                    {"name": f.name, "kind": f.kind, "required": f.required, "default": f.default,
                     "unit": f.unit, "low": f.low, "high": f.high, "choices": list(f.choices)}
                    for f in item.fields
                ],
            }
            for item in CALCULATORS.values()
        ]  # fmt: skip
        return Response({"count": len(results), "next": None, "previous": None, "results": results})


class Calculate(Operation):
    """One calculation."""

    @extend_schema(
        operation_id="calculate",
        parameters=[OpenApiParameter("name", str, OpenApiParameter.PATH, enum=sorted(CALCULATORS))],
        request=OpenApiTypes.OBJECT,
        responses={200: schemas.CALCULATED},
        examples=[
            OpenApiExample("ammonia", {"tan_mg_l": 1.0, "ph": 8.0, "temp_c": 24}, request_only=True)
        ],
    )
    def post(self, request: Request, name: str) -> Response:
        """Any staff: work something out."""
        calculator = CALCULATORS.get(name)
        if calculator is None:
            raise NotFound(_("no calculator is called %(name)s") % {"name": repr(name[:40])})
        try:
            answer = calculator.run(body_of(request))
        except CalculatorError as error:
            faults = [{**fault, "message": say(fault["message"])} for fault in error.errors]
            raise Invalid(faults) from error
        return Response(answer_said(answer))
