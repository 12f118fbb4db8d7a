"""Driving by great circle, a detour and a profile of speeds: what is used without a road engine."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from apps.calc.wording import text as _
from apps.rounds.planning.problem import Place, Travel

EARTH_RADIUS_M = 6_371_008.8
"""Mean radius of the earth, (2 a + b) / 3 of WGS 84 (IUGG)."""


@dataclass(frozen=True, slots=True)
class Speeds:
    """How long a drive takes: pieces ``(up to metres, km/h)``, the last without end.

    Common practice, to be fitted to the firm's own trips: 25 km/h for the first 3 km, 40 to 15 km,
    70 beyond; roads are ``detour`` times longer than the great circle; ``parking`` [s] each time.
    """

    pieces: tuple[tuple[float, float], ...] = ((3_000, 25.0), (15_000, 40.0), (math.inf, 70.0))
    detour: float = 1.3
    parking: int = 120

    def __post_init__(self) -> None:
        ends = [end for end, _ in self.pieces]
        if not ends or ends[-1] != math.inf or ends != sorted(set(ends)):
            raise ValueError(
                _("pieces {ends}: distances must rise and the last be without end", ends=ends)
            )
        if any(not 1 <= speed <= 150 for _, speed in self.pieces):
            raise ValueError(_("pieces: speeds must lie from 1 to 150 km/h"))
        if not 1 <= self.detour <= 5:
            raise ValueError(_("detour {value} must lie from 1 to 5", value=self.detour))
        if not 0 <= self.parking <= 3600:
            raise ValueError(_("parking {value} s must lie from 0 to 3600", value=self.parking))

    def seconds(self, metres: float) -> int:
        """Return the time for ``metres`` of road, with parking; 0 for no distance.

        >>> Speeds().seconds(3000), Speeds().seconds(18000)
        (552, 1786)
        """
        if metres <= 0:
            return 0
        total, begin = 0.0, 0.0
        for end, speed in self.pieces:
            total += (min(metres, end) - begin) / (speed / 3.6)
            if metres <= end:
                break
            begin = end
        return round(total) + self.parking


def great_circle_m(a: tuple[float, float], b: tuple[float, float]) -> float:
    """Return the distance [m] between two points ``(lat, lon)`` [°] on a sphere.

    Within 0.6 % of the ellipsoid. Source: haversine formula (Sinnott 1984).

    >>> round(great_circle_m((50.8503, 4.3517), (50.6326, 5.5797)) / 1000, 1)
    89.7
    """
    lat_a, lat_b = math.radians(a[0]), math.radians(b[0])
    half_lat = (lat_b - lat_a) / 2
    half_lon = math.radians(b[1] - a[1]) / 2
    square = math.sin(half_lat) ** 2 + math.cos(lat_a) * math.cos(lat_b) * math.sin(half_lon) ** 2
    return 2 * EARTH_RADIUS_M * math.asin(math.sqrt(min(square, 1.0)))


def located(places: Sequence[Place]) -> list[tuple[str, float, float]]:
    """Return id, lat and lon of the places that are on the map."""
    return [(p.id, p.lat, p.lon) for p in places if p.lat is not None and p.lon is not None]


def estimate(places: Sequence[Place], speeds: Speeds | None = None) -> Travel:
    """Return metres and seconds between all places on the map, each pair marked as estimated."""
    speeds = speeds or Speeds()
    points = located(places)
    count = len(points)
    metres = [[0] * count for _ in points]
    seconds = [[0] * count for _ in points]
    for n, (_name, *here) in enumerate(points):
        for m in range(n):
            road = great_circle_m((here[0], here[1]), points[m][1:]) * speeds.detour
            metres[n][m] = metres[m][n] = round(road)
            seconds[n][m] = seconds[m][n] = speeds.seconds(road)
    marks = [[n != m for m in range(count)] for n in range(count)]
    return Travel(tuple(name for name, *_ in points), metres, seconds, marks)
