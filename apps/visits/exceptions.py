"""What can go wrong with a visit."""

from typing import Any

from django.utils.translation import gettext as _

from apps.core.exceptions import Conflict


class IllegalTransition(Conflict):
    """The state does not allow that step."""

    code = "illegal_transition"

    def __init__(self, current: str, wanted: str, allowed: list[str]) -> None:
        names = ", ".join(allowed) or _("none")
        super().__init__(
            _(
                "a visit that is %(current)s cannot become %(wanted)s; allowed from here: %(allowed)s"
            )
            % {"current": current, "wanted": wanted, "allowed": names},
            current=current,
            allowed=allowed,
        )


class LinesStay(Conflict):
    """The checklist of a visit that has begun or is off is not brought up to date."""

    code = "lines_stay"


class TimeDoubted(Conflict):
    """Something speaks against a time, and nobody has said yet that it is taken all the same."""

    code = "time_doubted"


class DoubleBooked(Conflict):
    """The technician is somewhere else at that time."""

    code = "double_booked"

    def __init__(self, message: str, **extra: Any) -> None:
        super().__init__(message, **extra)
