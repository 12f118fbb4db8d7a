"""What is asked and said while somebody calls: the questions in their order, as data."""

from apps.calc.callscript.first_aid import FIRST_AID
from apps.calc.callscript.model import END, Answer, Step
from apps.calc.callscript.steps import (
    CAUTIONS,
    CLOSING,
    FIRST_WORDS,
    SKILL_WORDS,
    START,
    STEPS,
    WHO_WORDS,
)
from apps.calc.callscript.walk import Walk, opening_answers, skills_wanted, walk

__all__ = [
    "CAUTIONS", "CLOSING", "END", "FIRST_AID", "FIRST_WORDS", "SKILL_WORDS", "START", "STEPS", "WHO_WORDS", "Answer", "Step",
    "Walk", "opening_answers", "skills_wanted", "walk",
]  # fmt: skip
