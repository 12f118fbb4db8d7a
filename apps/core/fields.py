"""Fields of text that the forms of the office and of clients share."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from apps.core.plain_text import plain_text


class WordsField(forms.CharField):
    """One line of text without control and direction marks, in composed form."""

    lines = False

    def to_python(self, value: Any) -> str:
        """Return the text."""
        text = super().to_python(value) or ""
        if not self.lines:
            text = " ".join(text.splitlines())
        try:
            return plain_text(text, self.max_length or 4000)
        except ValueError as error:
            raise ValidationError(str(error)) from None


class LongWordsField(WordsField):
    """Text of several lines."""

    lines = True
    widget = forms.Textarea(attrs={"rows": 5})
