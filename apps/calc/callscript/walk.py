"""From the answers given so far to the next question, and what has to happen."""

from collections.abc import Mapping
from dataclasses import dataclass

from apps.calc.advice.results import URGENCIES
from apps.calc.callscript.model import END, Answer, Step
from apps.calc.callscript.steps import START, STEPS

# what the first sentence of a call already answers, by what was said
_OPENING: dict[str, dict[str, str]] = {
    "gasping": {"gasping": "yes"},
    "stopped": {"power": "stopped"},
    "power": {"power": "out"},
    "level": {"level": "low"},
}
# what it may ask for before anything was answered
_OPENING_SKILL = {"stopped": "pumps", "level": "pumps", "dead": "fish", "hurt": "electric"}


@dataclass(frozen=True)
class Walk:
    """Where a call stands: what was answered in order, the next step, what the answers ask for."""

    given: tuple[tuple[Step, Answer], ...]
    next: Step | None

    @property
    def branch(self) -> Step | None:
        """The step of the first bad answer, which sets the branch."""
        return next((step for step, answer in self.given if answer.bad), None)

    @property
    def urgency(self) -> str:
        """The most urgent of the answers, empty while all are good."""
        found = [answer.urgency for _, answer in self.given if answer.bad]
        return min(found, key=URGENCIES.index, default="")

    @property
    def who(self) -> tuple[str, ...]:
        """Who has to go or be called, each once, the most urgent first."""
        bad = sorted(
            (answer for _, answer in self.given if answer.bad),
            key=lambda answer: URGENCIES.index(answer.urgency),
        )
        return tuple(dict.fromkeys(code for answer in bad for code in answer.who))

    @property
    def skills(self) -> tuple[str, ...]:
        """What the technician who goes should be at home in, each once."""
        found = [answer.skill for _, answer in self.given if answer.skill]
        return tuple(dict.fromkeys(found))

    @property
    def cautions(self) -> tuple[str, ...]:
        """The cautions of all answers, each once."""
        return tuple(dict.fromkeys(code for _, answer in self.given for code in answer.cautions))


def opening_answers(said: str) -> dict[str, str]:
    """Return the answers that what was said at first already gives; none for other words.

    Whether somebody is hurt is never taken as answered.

    >>> opening_answers("power")
    {'power': 'out'}
    """
    return dict(_OPENING.get(said, {}))


def walk(answers: Mapping[str, str]) -> Walk:
    """Return where a call stands with ``answers`` (step code -> answer code).

    Follows the script from its start; an answer off the way, or one that the step does not know,
    is as if it had not been given.

    >>> walk({"people": "no"}).next.code
    'gasping'
    """
    given: list[tuple[Step, Answer]] = []
    code = START
    while code != END:
        step = STEPS[code]
        answer = step.answer(answers.get(code, ""))
        if answer is None:
            return Walk(tuple(given), step)
        given.append((step, answer))
        code = answer.next
    return Walk(tuple(given), None)


def skills_wanted(said: str, answers: Mapping[str, str]) -> tuple[str, ...]:
    """Return the codes of SKILL_WORDS that a call asks for: of its answers, else of its first words.

    >>> skills_wanted("stopped", {})
    ('pumps',)
    >>> skills_wanted("stopped", {"people": "wet"})
    ('electric',)
    """
    opening = _OPENING_SKILL.get(said, "")
    return walk(answers).skills or ((opening,) if opening else ())
