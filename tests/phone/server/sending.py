"""A phone as the server sees it: a key, a count, and operations that it sends."""

import base64
import datetime as dt
import hashlib
import io
import json
from typing import Any
from uuid import UUID, uuid4

from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

from tests import factories
from tests.api.conftest import Caller

Json = dict[str, Any]


def jpeg(colour: int = 90, size: int = 64) -> bytes:
    """Return a small picture."""
    out = io.BytesIO()
    Image.new("RGB", (size, size), (colour, colour, 120)).save(out, "JPEG")
    return out.getvalue()


class Phone:
    """One phone of one person."""

    def __init__(self, caller: Caller, device: str = "") -> None:
        self.caller, self.device, self.seq = caller, device or str(uuid4()), 0

    def op(self, visit: Json, path: str, value: Any, **more: Any) -> Json:
        """Return an operation of the first sheet, or of the visit itself with sheet=None."""
        self.seq += 1
        row = {
            "id": str(uuid4()), "seq": self.seq, "visit": visit["id"],
            "sheet": visit["sheets"][0]["id"], "path": path, "value": value, "base_rev": 0,
            "at": (factories.NOW - dt.timedelta(minutes=5)).isoformat(),
        }  # fmt: skip
        return row | more

    def send(self, *ops: Json) -> list[Json]:
        """Send operations; return what became of each."""
        answer = self.caller("POST", "/field/operations", {"device": self.device, "ops": list(ops)})
        assert answer.status_code == 200, answer.content
        return list(answer.json()["results"])

    def lines(self, visit: Json) -> list[Json]:
        """Return operations that tick every line."""
        return [
            self.op(visit, f"lines/{line['id']}/outcome", "done")
            for line in visit["sheets"][0]["lines"]
        ]

    def readings(self, visit: Json, built: factories.Built, **values: float) -> list[Json]:
        """Return operations that give readings in their base units."""
        found = []
        for name, value in values.items():
            row, at = uuid4(), (factories.NOW - dt.timedelta(minutes=20)).isoformat()
            leaves = {"loop": str(built.loop.pk), "measurand": name, "value": value, "taken_at": at}
            found += [
                self.op(visit, f"readings/{row}/{leaf}", said) for leaf, said in leaves.items()
            ]
        return found

    def finish(self, visit: Json, photos: list[str] | None = None, **more: Any) -> Json:
        """Return the operation that ends a visit."""
        value = {"needs_seq": self.seq, "photos": photos or [], **more}
        return self.op(visit, "finish", value, sheet=None)

    def piece(self, photo: UUID | str, sheet: str, data: bytes, whole: bytes, offset: int) -> Any:
        """Send one piece of a photo."""
        return self.caller.browser.generic(
            "PATCH", f"/api/v1/field/photos/{photo}?sheet={sheet}", data,
            content_type="application/octet-stream",
            headers={**self.caller.headers, "Upload-Offset": str(offset),
                     "Upload-Length": str(len(whole)),
                     "X-Sha256": hashlib.sha256(whole).hexdigest()},
        )  # fmt: skip

    def copy(self, ops: list[Json], photos: list[Json] | None = None) -> SimpleUploadedFile:
        """Return the file that the phone saves."""
        body = {
            "kind": "backyard-phone-copy", "version": 1, "device": self.device, "user": None,
            "made_at": factories.NOW.isoformat(), "ops": ops, "photos": photos or [],
        }  # fmt: skip
        return SimpleUploadedFile("copy.json", json.dumps(body).encode(), "application/json")


def photo_row(visit: Json, data: bytes, key: str = "") -> Json:
    """Return a photo as it stands in a copy."""
    return {
        "id": key or str(uuid4()), "visit": visit["id"], "sheet": visit["sheets"][0]["id"],
        "caption": "Roots", "taken_at": factories.NOW.isoformat(),
        "sha256": hashlib.sha256(data).hexdigest(), "jpeg": base64.b64encode(data).decode(),
    }  # fmt: skip
