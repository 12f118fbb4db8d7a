"""Reads routing instances of the literature into the planner's own problem.

Two forms: the table of Solomon (1987) and of Gehring and Homberger (1999), and the keyworded form of
the VRPLIB convention. Lengths and times count tenths: distances are truncated to one decimal.
"""

import math
from dataclasses import dataclass
from pathlib import Path

from apps.rounds.planning.problem import Costs, Place, Problem, Shift, Stop, Travel, Window

SCALE = 10
PRIZE = 1_000_000
"""Above any detour: every client is visited where that can be."""


@dataclass(frozen=True)
class Instance:
    """An instance as it stands in its file; the first point is the depot."""

    name: str
    vehicles: int
    capacity: int
    points: list[tuple[float, float]]
    demands: list[int]
    windows: list[tuple[int, int]]
    services: list[int]

    def problem(self) -> Problem:
        """Return it as one day of a firm: a technician for each vehicle, all from one base."""
        names = [f"{n}" for n in range(len(self.points))]
        rows = [[_tenths(a, b) for b in self.points] for a in self.points]
        marks = [[False] * len(rows) for _ in rows]
        closes = self.windows[0][1] * SCALE
        return Problem(
            places=tuple(
                Place(name, y / 1000, x / 1000)
                for name, (x, y) in zip(names, self.points, strict=True)
            ),
            stops=tuple(
                Stop(
                    name, name, self.services[n] * SCALE,
                    (Window(self.windows[n][0] * SCALE, self.windows[n][1] * SCALE),), {0: PRIZE},
                )
                for n, name in enumerate(names)
                if n
            ),
            shifts=tuple(
                Shift(f"vehicle {n:02}", 0, 0, closes, "0", "0") for n in range(self.vehicles)
            ),
            travel=Travel(tuple(names), rows, rows, marks),
            costs=Costs(per_metre=1, per_second=0),
        )  # fmt: skip


def _tenths(a: tuple[float, float], b: tuple[float, float]) -> int:
    return math.floor(math.dist(a, b) * SCALE + 1e-9)


def read(path: Path) -> Instance:
    """Return the instance in a file of either form; ValueError where something is missing."""
    text = path.read_text()
    return _keyworded(text) if "DIMENSION" in text else _table(text)


def _table(text: str) -> Instance:
    lines = [line.split() for line in text.splitlines() if line.strip()]
    numbers = [list(map(int, line)) for line in lines if all(w.lstrip("-").isdigit() for w in line)]
    (vehicles, capacity), *rows = numbers
    return Instance(
        lines[0][0], vehicles, capacity,
        [(float(row[1]), float(row[2])) for row in rows], [row[3] for row in rows],
        [(row[4], row[5]) for row in rows], [row[6] for row in rows],
    )  # fmt: skip


def _keyworded(text: str) -> Instance:
    facts: dict[str, str] = {}
    sections: dict[str, list[list[int]]] = {}
    rows: list[list[int]] = []
    for line in text.splitlines():
        if ":" in line:
            key, value = line.split(":", 1)
            facts[key.strip()] = value.strip()
        elif line.strip().endswith("SECTION"):
            rows = sections.setdefault(line.strip(), [])
        elif line.strip() and line.strip() != "EOF":
            rows.append([int(word) for word in line.split()])
    points = [(float(x), float(y)) for _, x, y in sections["NODE_COORD_SECTION"]]
    service = int(facts["SERVICE_TIME"])
    return Instance(
        facts["NAME"], int(facts["VEHICLES"]), int(facts["CAPACITY"]), points,
        [row[1] for row in sections["DEMAND_SECTION"]],
        [(row[1], row[2]) for row in sections["TIME_WINDOW_SECTION"]],
        [0] + [service] * (len(points) - 1),
    )  # fmt: skip


def best_known(path: Path) -> list[list[str]]:
    """Return the routes of a solution file, as names of stops."""
    routes = [line for line in path.read_text().splitlines() if line.startswith("Route")]
    return [line.split(":")[1].split() for line in routes]
