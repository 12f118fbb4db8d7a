"""What the script of a call is made of."""

from dataclasses import dataclass

END = ""
"""The step after the last one."""


@dataclass(frozen=True)
class Answer:
    """One answer of the caller, and what follows from it.

    ``next`` is the step after it, END for none; ``tell`` is said to the caller at once, in order;
    ``skill`` (a code of SKILL_WORDS) is what the technician who goes should be at home in;
    ``who`` goes there (codes of WHO_WORDS) and how soon (``urgency``, a code of URGENCIES, empty
    for a good answer); ``cautions`` are codes of CAUTIONS.
    """

    code: str
    words: str
    next: str
    tell: tuple[str, ...] = ()
    urgency: str = ""
    who: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    skill: str = ""

    @property
    def bad(self) -> bool:
        """Whether somebody has to act on it."""
        return bool(self.urgency)


@dataclass(frozen=True)
class Step:
    """One question. ``card`` names the entry of the client's own card that asks the same.

    ``figures`` names what of the tank stands beside the question; ``sources`` are keys of
    :data:`apps.calc.sources.SOURCES`.
    """

    code: str
    ask: str
    answers: tuple[Answer, ...]
    card: str = ""
    figures: tuple[str, ...] = ()
    sources: tuple[str, ...] = ("practice",)

    def answer(self, code: str) -> Answer | None:
        """Return the answer with this code, None where the step has no such answer."""
        return next((one for one in self.answers if one.code == code), None)
