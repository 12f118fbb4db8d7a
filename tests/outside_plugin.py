"""Checks against the outside: a marker with its source, a fixture that compares, a printed table.

A check carries ``@pytest.mark.outside(source=..., kind=..., tolerance=...)`` and compares through
the fixture ``outside``: ``outside(got, expected)``. The error is relative, or absolute with
``absolute=True`` in the marker. ``--outside`` runs these checks alone and prints for each source
the number of cases and the worst error against the tolerance.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import pytest

KINDS = ("read", "computed", "memory", "common practice")


@dataclass
class Check:
    """One marked test: what was compared and how far it was off at worst."""

    subject: str
    source: str
    kind: str
    tolerance: float
    absolute: bool
    cases: int = 0
    worst: float = 0.0

    def compare(self, got: float, expected: float) -> None:
        error = abs(got - expected)
        if not self.absolute:
            error = error / abs(expected) if expected else math.inf * error if error else 0.0
        self.cases += 1
        self.worst = max(self.worst, error)
        assert error <= self.tolerance, (
            f"{got!r} is {self.show(error)} off {expected!r} of {self.source}; "
            f"allowed {self.show(self.tolerance)}"
        )

    def show(self, error: float) -> str:
        return f"{error:.3g}" if self.absolute else f"{100 * error:.3g} %"


CHECKS = pytest.StashKey[list[Check]]()


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--outside", action="store_true", help="run the checks against outside sources alone"
    )


def pytest_configure(config: pytest.Config) -> None:
    config.stash[CHECKS] = []


def _marked(item: pytest.Item) -> Check | None:
    marker = item.get_closest_marker("outside")
    if marker is None:
        return None
    details: dict[str, Any] = dict(marker.kwargs)
    kind = details["kind"]
    if kind not in KINDS:
        message = f"{item.nodeid}: kind must be one of {', '.join(KINDS)}, not {kind}"
        raise pytest.UsageError(message)
    subject = item.nodeid.split("/")[-1].split("[")[0].replace(".py::", " ").replace("::", " ")
    return Check(
        subject=subject.removeprefix("test_"),
        source=details["source"],
        kind=kind,
        tolerance=details["tolerance"],
        absolute=details.get("absolute", False),
    )


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    if not config.getoption("--outside"):
        return
    apart = [item for item in items if item.get_closest_marker("outside") is None]
    config.hook.pytest_deselected(items=apart)
    items[:] = [item for item in items if item.get_closest_marker("outside") is not None]


@pytest.fixture
def outside(request: pytest.FixtureRequest) -> Callable[[float, float], None]:
    """Compare a value of ours with the source's own, within the marker's tolerance."""
    check = _marked(request.node)
    assert check is not None, "the fixture needs the marker outside(source, kind, tolerance)"
    request.config.stash[CHECKS].append(check)
    return check.compare


def pytest_terminal_summary(terminalreporter: Any, config: pytest.Config) -> None:
    if not config.getoption("--outside"):
        return
    merged: dict[tuple[str, str, str], Check] = {}
    for check in config.stash[CHECKS]:
        known = merged.setdefault((check.subject, check.source, check.kind), check)
        if known is not check:
            known.cases += check.cases
            known.worst = max(known.worst, check.worst)
    terminalreporter.section("checks against the outside")
    for check in sorted(merged.values(), key=lambda check: (check.source, check.subject)):
        terminalreporter.write_line(
            f"{check.source[:58]:58}  {check.kind:15}  {check.cases:4} cases  worst "
            f"{check.show(check.worst):>10} of {check.show(check.tolerance):>8}  {check.subject}"
        )
    cases = sum(check.cases for check in merged.values())
    terminalreporter.write_line(f"{len(merged)} checks, {cases} cases")
