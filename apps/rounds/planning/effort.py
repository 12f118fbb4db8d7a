"""How long to search, and what is said while searching."""

import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import NamedTuple

from apps.calc.wording import text as _


@dataclass(frozen=True, slots=True)
class Effort:
    """Search for ``seconds``, or for ``iterations``, which gives the same plan for the same ``seed``."""

    seconds: float | None = None
    iterations: int | None = None
    seed: int = 1

    def __post_init__(self) -> None:
        if (self.seconds is None) == (self.iterations is None):
            raise ValueError(_("effort: give either seconds or iterations"))
        if self.seconds is not None and not 0 < self.seconds <= 3600:
            raise ValueError(
                _("effort: seconds {value} must lie above 0 and up to 3600", value=self.seconds)
            )
        if self.iterations is not None and self.iterations < 1:
            raise ValueError(
                _("effort: iterations {value} must be at least 1", value=self.iterations)
            )


class Progress(NamedTuple):
    """The best value so far, and the share of the search that is done (0 to 1)."""

    value: int
    share: float


Told = Callable[[Progress], None]
Asked = Callable[[], bool]


def nobody(_: Progress) -> None:
    """Nobody listens."""


def never() -> bool:
    """Nobody asks to stop."""
    return False


ASK_EVERY_S = 0.25


class Seldom:
    """A question that is passed on at most four times a second, and no more once it was yes."""

    def __init__(self, asked: Asked) -> None:
        self._asked = asked
        self._at = -ASK_EVERY_S
        self._said = False

    def __call__(self) -> bool:
        now = time.monotonic()
        if not self._said and now - self._at >= ASK_EVERY_S:
            self._at = now
            self._said = self._asked()
        return self._said
