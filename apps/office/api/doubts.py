"""What speaks against a time, asked of programs as the booking form asks people."""

import datetime as dt
from collections.abc import Iterable
from typing import Any

from django.utils import timezone
from django.utils.translation import gettext as _

from apps.accounts.models import User
from apps.core.exceptions import Invalid
from apps.office.selectors.time_doubts import time_doubts_coded
from apps.visits.exceptions import TimeDoubted

FIELD = "all_the_same"
MOST = 20


def doubts_check(
    body: dict[str, Any], people: Iterable[User], start: dt.datetime, end: dt.datetime
) -> None:
    """Raise TimeDoubted (409) for each doubt about a time that the body does not name.

    ``all_the_same`` holds the codes that were looked at; another doubt is asked about anew. Raises
    Invalid where it is no list of texts. A time out of order is left to whoever books it.
    """
    taken = _codes(body)
    if end <= start:
        return
    first, last = timezone.localtime(start), timezone.localtime(end)
    until = last.time() if last.date() == first.date() else dt.time.max
    found = time_doubts_coded(people, first.date(), first.time(), until)
    asked = [doubt for doubt in found if doubt.code not in taken]
    if not asked:
        return
    way_out = _(
        "Choose another time or another technician, or send the codes of these doubts as "
        "all_the_same to come then all the same."
    )
    raise TimeDoubted(
        " ".join([*(doubt.text for doubt in asked), way_out]),
        doubts=[{"code": doubt.code, "message": doubt.text} for doubt in found],
    )


def _codes(body: dict[str, Any]) -> set[str]:
    said = body.get(FIELD, [])
    texts = isinstance(said, list) and all(isinstance(code, str) for code in said)
    if not texts or len(said) > MOST:
        message = f"{FIELD}: " + _("a list of at most %(most)d codes of doubts is needed")
        value = said if isinstance(said, str | int) else None
        raise Invalid(
            [{"pointer": f"/{FIELD}", "value": value, "message": message % {"most": MOST}}]
        )
    return set(said)
