"""Photos that arrive in pieces: a file beside the others until it is whole and its hash is right."""

import datetime as dt
import hashlib
from pathlib import Path
from uuid import UUID

from django.conf import settings
from django.utils.translation import gettext as _

from apps.core.exceptions import Conflict, Invalid
from apps.visits.services.photos import MAX_BYTES

CHUNK = 262_144
KEPT = dt.timedelta(days=30)
# a phone sends one photo after the other; more beginnings than these are not a round's
MOST_BEGUN = 20


def _path(owner: str, key: UUID) -> Path:
    folder = Path(settings.MEDIA_ROOT) / "uploads"
    folder.mkdir(parents=True, exist_ok=True)
    return folder / f"{UUID(owner)}-{key}.part"


def offset_of(owner: str, key: UUID) -> int:
    """Return how many bytes of a photo are here."""
    path = _path(owner, key)
    return path.stat().st_size if path.exists() else 0


def forget(owner: str, key: UUID) -> None:
    """Take the pieces away."""
    _path(owner, key).unlink(missing_ok=True)


def _make_room(owner: str) -> None:
    """Take away the owner's oldest pieces over the most: their photos start again at 0."""
    folder = Path(settings.MEDIA_ROOT) / "uploads"
    begun = sorted(folder.glob(f"{UUID(owner)}-*.part"), key=lambda path: path.stat().st_mtime)
    for path in begun[: max(0, len(begun) - MOST_BEGUN + 1)]:
        path.unlink(missing_ok=True)


def piece_add(
    *, owner: str, key: UUID, data: bytes, offset: int, length: int, sha256: str
) -> bytes | None:
    """Add a piece; return the whole once it is there, None before.

    Raises Conflict with the true offset where this piece does not follow the last, Invalid for a
    piece or a photo that is too large, and for a whole whose hash is not the one that was told:
    then it starts anew.
    """
    if not 0 < length <= MAX_BYTES or len(data) > CHUNK or offset + len(data) > length:
        raise _refuse(_("at most 15 MB, in pieces of at most 256 kB"), "size")
    path = _path(owner, key)
    held = offset_of(owner, key)
    if offset != held:
        raise Conflict(_("This piece does not follow the last one."), "offset", offset=held)
    if not held:
        _make_room(owner)
    with path.open("ab") as file:
        file.write(data)
    if held + len(data) < length:
        return None
    whole = path.read_bytes()
    if hashlib.sha256(whole).hexdigest() != sha256.lower():
        forget(owner, key)
        raise _refuse(_("the photo was damaged on its way; it is sent again"), "hash")
    return whole


def _refuse(message: str, code: str) -> Invalid:
    error = Invalid([{"pointer": "/photo", "value": None, "message": f"photo: {message}"}])
    error.code = code
    return error


def uploads_restart() -> None:
    """Take away all pieces, which nothing but their phone knows whose they are: it sends them anew."""
    for path in (Path(settings.MEDIA_ROOT) / "uploads").glob("*.part"):
        path.unlink(missing_ok=True)


def uploads_forget_old(at: dt.datetime) -> int:
    """Take away pieces that nobody went on with for 30 days; return how many."""
    edge = (at - KEPT).timestamp()
    folder = Path(settings.MEDIA_ROOT) / "uploads"
    old = [path for path in folder.glob("*.part") if path.stat().st_mtime < edge]
    for path in old:
        path.unlink(missing_ok=True)
    return len(old)
