"""Files of a client's form: several at once, without a script."""

from collections.abc import Mapping
from typing import Any

from django import forms
from django.core.files.uploadedfile import UploadedFile

ACCEPT = "image/jpeg,image/png,image/webp"


class Photos(forms.FileInput):
    """A choice of several pictures; what a telephone keeps in another format it sends as JPEG."""

    allow_multiple_selected = True

    def __init__(self) -> None:
        super().__init__(attrs={"accept": ACCEPT, "multiple": True})

    def value_from_datadict(self, data: Any, files: Any, name: str) -> list[UploadedFile]:
        """Return the files that were chosen."""
        return list(files.getlist(name)) if hasattr(files, "getlist") else []


class PhotosField(forms.Field):
    """Some pictures, or none; whether they are pictures is seen when they are drawn."""

    widget = Photos

    def clean(self, value: Any) -> list[UploadedFile]:
        """Return the files that hold something."""
        return [row for row in value or [] if isinstance(row, UploadedFile) and row.size]


class OnePhoto(forms.FileInput):
    """A choice of one picture."""

    def __init__(self) -> None:
        super().__init__(attrs={"accept": ACCEPT})

    def value_from_datadict(
        self, data: Mapping[str, Any], files: Any, name: str
    ) -> UploadedFile | None:
        """Return the file that was chosen, None where it holds nothing."""
        found = files.get(name)
        return found if isinstance(found, UploadedFile) and found.size else None
