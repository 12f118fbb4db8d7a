"""The day that a phone works from."""

import hashlib
import json
from typing import Any

from django.utils.decorators import method_decorator
from django.views.decorators.gzip import gzip_page
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from apps.field.api import shapes
from apps.field.api.base import PhoneOperation
from apps.field.phone.day import day_of
from apps.flows.middleware import visits_seen

# what only says how late it is: no change of what the day says
PASSING = frozenset({"made_at", "age_h"})


def _lasting(value: Any) -> Any:
    if isinstance(value, dict):
        return {name: _lasting(item) for name, item in value.items() if name not in PASSING}
    if isinstance(value, list):
        return [_lasting(item) for item in value]
    return value


def _mark(body: dict[str, Any]) -> str:
    text = json.dumps(_lasting(body), sort_keys=True, default=str)
    return f'"{hashlib.sha256(text.encode()).hexdigest()[:32]}"'


@method_decorator(gzip_page, name="dispatch")
class Day(PhoneOperation):
    """Today and tomorrow."""

    @extend_schema(operation_id="phone_day", responses={200: shapes.DAY, 304: None})
    def get(self, request: Request) -> Response:
        """Technician: the visits of today and tomorrow with all that a visit needs offline.

        Send If-None-Match with the last ETag: 304 where nothing has changed.
        """
        self.technician()
        body = day_of(self.actor)
        mark = _mark(body)
        # packed on its way, a mark comes back as a weak one
        if request.headers.get("If-None-Match", "").removeprefix("W/") == mark:
            return Response(status=304, headers={"ETag": mark})
        visits_seen(request, [row["id"] for row in body["visits"]])
        return Response(body, headers={"ETag": mark})
