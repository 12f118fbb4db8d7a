"""Where a place lies, looked for on a map: what the map shows, and what is near in words."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import pgettext

from apps.clients.models import Place
from apps.core.drawing.area_map import HALF, SIDE, area_projection
from apps.core.drawing.map_parts import Spot
from apps.core.drawing.projection import Projection
from apps.core.numbers import format_figure, with_unit
from apps.core.scoping import Actor
from apps.rounds.planning.coordinates import Position

WIDTHS_KM = (0.3, 1.0, 3.0, 10.0, 30.0, 100.0)
NEAR, FAR = 1, 3
STEP = SIDE / 8
"""An arrow's way on the map."""
SHARES = {"pin": 1.0, "wide": 2.0}
"""How many px of the screen a px of the map is, by the name that a press on it has."""
MOVES = {"north": (0, -STEP), "south": (0, STEP), "west": (-STEP, 0), "east": (STEP, 0)}
MOST = 60


@dataclass(frozen=True)
class Look:
    """A stretch of the map: its middle, which is the pin [°], and which of the widths it has."""

    at: Position
    width: int

    @property
    def projection(self) -> Projection:
        """What places spots on it."""
        return area_projection(*self.at, WIDTHS_KM[self.width])

    @property
    def where(self) -> str:
        """The pin as text that can be typed; six decimals are a hand's breadth."""
        return f"{self.at.lat:.6f}, {self.at.lon:.6f}"


def look_of(query: Mapping[str, str], start: Look) -> Look:
    """Return what a query asks to see, from where it stood; what it cannot mean is left out."""
    here = Look(_at(query.get("at", ""), start.at), _width(query.get("width", ""), start.width))
    move = query.get("move", "")
    if move in MOVES:
        return Look(_moved(here, *MOVES[move]), here.width)
    if move in ("closer", "further"):
        step = -1 if move == "closer" else 1
        return Look(here.at, min(max(here.width + step, 0), len(WIDTHS_KM) - 1))
    for name, share in SHARES.items():
        pressed = _press(query, name)
        # a press by keyboard comes as 0, 0
        if pressed and any(pressed):
            x, y = pressed
            return Look(_moved(here, x / share - HALF, y / share - HALF), here.width)
    return here


def _moved(look: Look, x: float, y: float) -> Position:
    lat, lon = look.projection.place(HALF + x, HALF + y)
    return Position(round(lat, 6), round(lon, 6))


def _press(query: Mapping[str, str], name: str) -> tuple[int, int] | None:
    try:
        x, y = int(query[f"{name}.x"]), int(query[f"{name}.y"])
    except (KeyError, ValueError):
        return None
    most = SIDE * SHARES[name]
    return (x, y) if 0 <= x <= most and 0 <= y <= most else None


def _at(said: str, start: Position) -> Position:
    try:
        lat, lon = (float(part) for part in said.split(","))
    except ValueError:
        return start
    # nan is no place either
    return Position(lat, lon) if abs(lat) <= 85 and abs(lon) <= 180 else start


def _width(said: str, start: int) -> int:
    return int(said) if said in map(str, range(len(WIDTHS_KM))) else start


def others_on(look: Look, place: Place, actor: Actor) -> list[Place]:
    """Return the other places on the map, or within its width of it: one query."""
    reach = look.projection
    north, west = reach.place(-HALF, -HALF)
    south, east = reach.place(SIDE + HALF, SIDE + HALF)
    rows = Place.objects.visible_to(actor).exclude(pk=place.pk).select_related("client")
    rows = rows.filter(latitude__gte=south, latitude__lte=north)
    if west <= east:
        rows = rows.filter(longitude__gte=west, longitude__lte=east)
    return list(rows.filter(longitude__isnull=False).order_by("pk")[:MOST])


def spots_of(places: Sequence[Place]) -> list[Spot]:
    """Return places as spots of a map."""
    return [
        Spot(row.client.name, row.latitude, row.longitude)
        for row in places
        if row.latitude is not None and row.longitude is not None
    ]


def near_words(look: Look, spots: Sequence[Spot]) -> str:
    """Return where the pin stands by the nearest other place; empty where there is none."""
    plain = Projection(*look.at, 1, 0, 0)
    ways = [(plain.point(spot.latitude, spot.longitude), spot.name) for spot in spots]
    if not ways:
        return ""
    (x, y), name = min(ways, key=lambda way: way[0][0] ** 2 + way[0][1] ** 2)
    km = (x * x + y * y) ** 0.5
    far = (
        with_unit(format_figure(km, 1), "km")
        if km >= 1
        else with_unit(format_figure(round(km * 1000, -1), 0), "m")
    )
    return _("%(far)s %(bearing)s of %(place)s") % {
        "far": far, "bearing": _bearing(-x, -y), "place": name,
    }  # fmt: skip


def far_words(place: Place, actor: Actor) -> str:
    """Return that a map without another place may be a wrong one; empty where there is no other."""
    others = Place.objects.visible_to(actor).exclude(pk=place.pk)
    if not others.filter(latitude__isnull=False).exists():
        return ""
    return _("None of your other places is near: are latitude and longitude the right way round?")


def _bearing(x: float, y: float) -> str:
    """Return the one of eight bearings in which a way goes, east and south being above 0."""
    names = (
        pgettext("bearing", "east"), pgettext("bearing", "south-east"),
        pgettext("bearing", "south"), pgettext("bearing", "south-west"),
        pgettext("bearing", "west"), pgettext("bearing", "north-west"),
        pgettext("bearing", "north"), pgettext("bearing", "north-east"),
    )  # fmt: skip
    return names[round(math.atan2(y, x) / (math.pi / 4)) % 8]
