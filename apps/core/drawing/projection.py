"""From places on earth to points of a small map and back."""

from __future__ import annotations

import math
from dataclasses import dataclass

KM_PER_DEGREE = 111.2
"""Along a meridian, of a sphere of 6,371 km: a sketch needs no better."""
POLEWARD = 85.0
"""Beyond it [°] no map of ours is drawn."""


@dataclass(frozen=True)
class Projection:
    """Equirectangular about a middle [°, WGS 84] that stands at a point [px], at a scale [px/km].

    Over a town's width this differs from the web's usual Mercator by less than a pixel.
    """

    latitude: float
    longitude: float
    px_per_km: float
    x: float
    y: float

    @property
    def narrow(self) -> float:
        """How much shorter a degree along the parallel is than along the meridian."""
        return math.cos(math.radians(self.latitude))

    def point(self, latitude: float, longitude: float) -> tuple[float, float]:
        """Return where a place stands [px], the shorter way round where the date line lies between.

        >>> Projection(50, 4, 10, 100, 100).point(50, 4)
        (100.0, 100.0)
        """
        east = ((longitude - self.longitude + 180) % 360 - 180) * self.narrow * KM_PER_DEGREE
        north = (latitude - self.latitude) * KM_PER_DEGREE
        return self.x + self.px_per_km * east, self.y - self.px_per_km * north

    def place(self, x: float, y: float) -> tuple[float, float]:
        """Return the latitude and longitude [°] of a point [px].

        >>> Projection(50, 4, 10, 100, 100).place(100, 100)
        (50.0, 4.0)
        """
        north = (self.y - y) / self.px_per_km / KM_PER_DEGREE
        east = (x - self.x) / self.px_per_km / KM_PER_DEGREE / self.narrow
        latitude = min(max(self.latitude + north, -POLEWARD), POLEWARD)
        return latitude, (self.longitude + east + 180) % 360 - 180
