"""Words put together as the reader's language does it."""

from collections.abc import Sequence

from babel.lists import format_list

from apps.core.numbers import babel_locale


def upper_first(text: str) -> str:
    """Return a sentence with its first letter as a capital; "pH" and "mS/cm" stay as they are.

    >>> upper_first("nitrate"), upper_first("pH over 7.2")
    ('Nitrate', 'pH over 7.2')
    """
    return text if text[1:2].isupper() else text[:1].upper() + text[1:]


def list_words(items: Sequence[str]) -> str:
    """Return several words as one: "iron, zinc and copper" as the reader's language joins them."""
    return format_list(items, locale=babel_locale())


def either_words(items: Sequence[str]) -> str:
    """Return several words as a choice: "iron, zinc or copper" as the reader's language joins them."""
    return format_list(items, style="or", locale=babel_locale())
