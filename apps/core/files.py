"""Files under content-hashed names; written whole or not at all."""

import hashlib
import os

from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.http import Http404, HttpResponse


def store(folder: str, data: bytes, suffix: str) -> tuple[str, str]:
    """Store bytes under folder/<sha256>.<suffix>; return (name, sha256). Same bytes, same file."""
    digest = hashlib.sha256(data).hexdigest()
    name = f"{folder}/{digest[:2]}/{digest}.{suffix}"
    if not _made_young(name):
        default_storage.save(name, ContentFile(data))
    return name, digest


def _made_young(name: str) -> bool:
    """Return whether a file is there; whoever looks for those of nobody goes by their age."""
    if not default_storage.exists(name):
        return False
    try:
        os.utime(default_storage.path(name))
    except FileNotFoundError:
        # it was nobody's, and went at this moment; or the store is no folder, and has it still
        return default_storage.exists(name)
    except (NotImplementedError, OSError):
        return True
    return True


def read(name: str) -> bytes:
    """Return a stored file's bytes. Raises FileNotFoundError."""
    with default_storage.open(name) as handle:
        return bytes(handle.read())


def jpeg_answer(name: str, shown_as: str) -> HttpResponse:
    """Return a stored photo as an answer, under a file name of our own making. Raises Http404."""
    return _answer(name, f"{shown_as}.jpg", "image/jpeg")


def pdf_answer(name: str, shown_as: str) -> HttpResponse:
    """Return a stored paper as an answer likewise. Raises Http404."""
    return _answer(name, f"{shown_as}.pdf", "application/pdf")


def _answer(name: str, shown_as: str, kind: str) -> HttpResponse:
    try:
        data = read(name)
    except OSError as error:
        raise Http404 from error
    answer = HttpResponse(data, content_type=kind)
    answer["Content-Disposition"] = f'inline; filename="{shown_as}"'
    answer["X-Content-Type-Options"] = "nosniff"
    return answer
