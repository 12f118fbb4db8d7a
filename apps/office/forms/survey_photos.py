"""Photos of a site, and what they show."""

from typing import Any

from django import forms
from django.core.files.uploadedfile import UploadedFile
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from apps.core.fields import WordsField

MOST_AT_ONCE = 12


class FilesInput(forms.ClearableFileInput):
    """A field for several files."""

    allow_multiple_selected = True


class FilesField(forms.FileField):
    """Several files; a list."""

    widget = FilesInput

    def clean(self, data: Any, initial: Any = None) -> list[UploadedFile]:
        """Return the files. Raises ValidationError where there is none, or an empty one."""
        several = data if isinstance(data, list | tuple) else [data]
        return [super(FilesField, self).clean(item, initial) for item in several or [None]]


class SurveyPhotosForm(forms.Form):
    """Photos from somebody's device."""

    photo = FilesField(
        label=_("Photos"),
        widget=FilesInput(attrs={"accept": "image/jpeg,image/png,image/webp"}),
        help_text=_("JPEG, PNG or WebP, up to 15 MB each: to the north, east, south and west, the "
                    "socket, the tap, the way in."),
        error_messages={"required": _("Choose a photo first.")},
    )  # fmt: skip
    caption = WordsField(label=_("What they show"), max_length=200, required=False)

    def clean_photo(self) -> list[UploadedFile]:
        """Refuse more than can be taken at once."""
        photos: list[UploadedFile] = self.cleaned_data["photo"]
        if len(photos) > MOST_AT_ONCE:
            raise forms.ValidationError(_now("At most twelve photos at once."))
        return photos
