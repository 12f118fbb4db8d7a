"""Paired timing: A and B in turn, CPU time, the median of the ratios."""

import os
import statistics
import time
from collections.abc import Callable
from dataclasses import dataclass

SLACK = 1.6


@dataclass(frozen=True)
class Claim:
    """What was measured. `limit` None: reported only."""

    name: str
    ours_ms: float
    baseline_ms: float
    ratio: float
    low: float
    high: float
    limit: float | None
    baseline: str

    @property
    def holds(self) -> bool:
        """Whether the ratio is within its limit."""
        return self.limit is None or self.ratio <= self.limit

    @property
    def far_over(self) -> bool:
        """Whether it is past its limit by more than a busy machine explains."""
        return self.limit is not None and self.ratio > self.limit * SLACK

    def line(self) -> str:
        """Return it as one line."""
        limit = f" (at most {self.limit:g})" if self.limit is not None else ""
        word = "" if self.holds else "  OVER"
        return (
            f"{self.name:46} {self.ours_ms:9.2f} ms  {self.ratio:6.2f} x{limit} "
            f"[{self.low:.2f} to {self.high:.2f}] of {self.baseline}, {self.baseline_ms:.2f} ms{word}"
        )


@dataclass(frozen=True)
class Told:
    """A line that is no ratio of times; `far_over` where what it claims does not hold."""

    text: str
    far_over: bool = False

    def line(self) -> str:
        """Return it."""
        return self.text


def paired(
    name: str,
    ours: Callable[[], object],
    baseline: Callable[[], object],
    *,
    rounds: int = 7,
    inner: int = 1,
    limit: float | None = None,
    against: str,
    clock: Callable[[], float] = time.process_time,
) -> Claim:
    """Time both in turn and return the claim. `clock` may be wall time where a child works."""

    def once(call: Callable[[], object]) -> float:
        began = clock()
        for _ in range(inner):
            call()
        return (clock() - began) / inner * 1000

    once(ours), once(baseline)
    mine, theirs = [], []
    for _ in range(rounds):
        mine.append(once(ours))
        theirs.append(once(baseline))
    ratios = [a / b for a, b in zip(mine, theirs, strict=True)]
    return Claim(
        name, statistics.median(mine), statistics.median(theirs), statistics.median(ratios),
        min(ratios), max(ratios), limit, against,
    )  # fmt: skip


def machine() -> str:
    """Return what stands beside each run."""
    import platform

    load = os.getloadavg()[0]
    return f"{os.cpu_count()} cores, Python {platform.python_version()}, load {load:.1f}"
