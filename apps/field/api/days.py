"""The day that a phone works from."""

import hashlib
import json
from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from apps.field.api import shapes
from apps.field.api.base import PhoneOperation
from apps.field.phone.day import day_of


class Day(PhoneOperation):
    """Today and tomorrow."""

    @extend_schema(operation_id="phone_day", responses={200: shapes.DAY})
    def get(self, request: Request) -> Response:
        """Technician: the visits of today and tomorrow with all that a visit needs offline."""
        self.technician()
        body = day_of(self.actor)
        # the time at which it was made is no change of what it says
        said: dict[str, Any] = {name: value for name, value in body.items() if name != "made_at"}
        mark = hashlib.sha256(json.dumps(said, sort_keys=True, default=str).encode()).hexdigest()
        etag = f'"{mark[:32]}"'
        if request.headers.get("If-None-Match") == etag:
            return Response(status=304, headers={"ETag": etag})
        return Response(body, headers={"ETag": etag})
