"""A position as people type it: degrees, or an Open Location Code."""

from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from apps.office.calculator_words import say
from apps.office.wording import upper_first
from apps.rounds.planning.coordinates import Position, position_of

HELP = _(
    "Latitude and longitude, such as 50.8503, 4.3517, or a whole Open Location Code (plus "
    "code), such as 9F26VC22+22."
)
HELP_IN_TOWN = _(
    "Latitude and longitude, such as 50.8503, 4.3517, or an Open Location Code (plus "
    "code), such as 9F26VC22+22. A short code counts from other places in the same town."
)


def position_typed(text: str, near: Position | None = None) -> Position | None:
    """Return where typed words lie; None where nothing was typed.

    `near`: from where a short code counts. Raises ValidationError for what names no place on earth.
    """
    if not text.strip():
        return None
    try:
        return position_of(text, near)
    except ValueError as error:
        raise ValidationError(upper_first(_plain(say(error.args[0])))) from None


def _plain(message: str) -> str:
    """Take the field's name off: the message stands beside its field."""
    head, mark, rest = message.partition(": ")
    return rest if mark and len(head.split()) == 1 else message
