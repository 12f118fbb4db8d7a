"""How the truth is read: each meter and kit with its noise and its steps."""

import random
from dataclasses import dataclass

from demo.firm.truth import Day


@dataclass(frozen=True)
class Kit:
    """Spread as a share and in units, the step it is read in, and what it is called."""

    share: float
    spread: float
    step: float
    method: str
    instrument: str = ""


KITS: dict[str, Kit] = {
    "temp": Kit(0, 0.12, 0.1, "probe", "Dellory handheld"),
    "do": Kit(0.008, 0.05, 0.1, "optical probe", "Dellory handheld"),
    "ph": Kit(0, 0.03, 0.01, "glass probe", "Dellory pH pen"),
    "ec": Kit(0.012, 0, 0.01, "probe", "Dellory handheld"),
    "alk": Kit(0.02, 0.8, 2, "titration drops"),
    "gh": Kit(0.03, 3, 10, "titration drops"),
    "tan": Kit(0.08, 0.015, 0.05, "salicylate drops"),
    "no2": Kit(0.06, 0.006, 0.01, "azo dye drops"),
    "no3": Kit(0.05, 0.8, 1, "reduction drops"),
    "fe": Kit(0.04, 0.03, 0.1, "photometer"),
    "k": Kit(0.05, 2, 5, "turbidity tube"),
    "feed": Kit(0.03, 0, 5, "client's log"),
}
FULL_TEST = {
    "whole": ("temp", "do", "ph", "ec", "alk", "gh", "tan", "no2", "no3"),
    "fish": ("temp", "do", "ph", "ec", "alk", "gh", "tan", "no2", "no3"),
    "plant": ("temp", "do", "ph", "ec", "no3"),
}
MINUTES_IN = {"temp": 6, "do": 7, "ph": 9, "ec": 11, "alk": 16, "gh": 19, "tan": 26, "no2": 28,
              "no3": 33, "fe": 38, "k": 41, "feed": 4}  # fmt: skip


def read(code: str, day: Day, rng: random.Random) -> float:
    """Return what a kit shows of the truth on a day."""
    kit = KITS[code]
    value = day[code] + rng.gauss(0, kit.spread + kit.share * abs(day[code]))
    steps = round(max(0.0, value) / kit.step)
    return round(steps * kit.step, 2)
