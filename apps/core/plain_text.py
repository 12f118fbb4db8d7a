"""Text as it is kept: composed, without control and direction marks."""

import unicodedata

from django.utils.translation import gettext as _

BIDI = dict.fromkeys([*range(0x202A, 0x202F), *range(0x2066, 0x206A), 0x200E, 0x200F])


def plain_text(value: str, limit: int) -> str:
    """Return a text up to a length, control and direction marks taken out. Raises ValueError."""
    text = unicodedata.normalize("NFC", value.translate(BIDI))
    text = "".join(c for c in text if c in "\n\t" or unicodedata.category(c) not in ("Cc", "Cs"))
    if len(text) > limit:
        raise ValueError(
            _("at most %(limit)s characters; this has %(value)s")
            % {"limit": f"{limit:,}", "value": f"{len(text):,}"}
        )
    return text.strip()
