"""Advice: from the readings of a system to what to do about them."""

from apps.calc.advice.assess import assess
from apps.calc.advice.registry import RULES
from apps.calc.advice.results import (
    Advice,
    Assessment,
    Derived,
    Explanation,
    Held,
    Judgement,
    NotTrusted,
    Step,
)
from apps.calc.advice.situation import (
    Crop,
    Event,
    Fish,
    Germination,
    Hold,
    Loop,
    Media,
    Past,
    Reading,
    Situation,
    Source,
)

__all__ = [
    "RULES", "Advice", "Assessment", "Crop", "Derived", "Event", "Explanation", "Fish",
    "Germination", "Held", "Hold", "Judgement", "Loop", "Media", "NotTrusted", "Past", "Reading",
    "Situation", "Source", "Step", "assess",
]  # fmt: skip
