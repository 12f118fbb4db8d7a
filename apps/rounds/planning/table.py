"""Driving times from a road engine by URL, pair by pair doubted, with the great circle underneath.

Two interfaces are spoken: ``GET /table/v1/driving/{lon},{lat};...`` (OSRM's table service: seconds
and metres) and ``POST /sources_to_targets`` (Valhalla's matrix service: seconds and kilometres).
Whatever is missing, late, malformed or cannot be true stays estimated and is marked as such.
"""

import http.client
import json
import math
import ssl
import time
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlsplit

from apps.calc.wording import text as _
from apps.rounds.planning.problem import Place, Travel
from apps.rounds.planning.travel import Speeds, estimate, great_circle_m, located

STYLES = ("osrm", "valhalla")
TIMEOUT_S = 3.0
BLOCK = 50
"""Rows and columns of one request; engines commonly refuse more than 100 points or 2,500 pairs."""
MAX_BYTES = 4_000_000
FASTEST_M_S = 150 / 3.6
LONGEST_S = 86_400
LONGEST_M = 3_000_000
SNAP_M = 300
"""Engines move a point to the nearest road, which may shorten a way by as much at either end."""

Rows = list[list[float | None]]


@dataclass(frozen=True, slots=True)
class TableService:
    """Where a road engine answers; ``of`` makes one from what an administrator wrote."""

    style: str
    secure: bool
    host: str
    port: int
    path: str
    timeout: float = TIMEOUT_S

    @classmethod
    def of(
        cls, style: str, url: str, hosts: Collection[str], timeout: float = TIMEOUT_S
    ) -> "TableService":
        """Return the service at ``url``, whose host must be one of ``hosts``; ValueError else."""
        if style not in STYLES:
            raise ValueError(
                _("style {value} must be one of {known}", value=style, known=", ".join(STYLES))
            )
        try:
            parts = urlsplit(url)
            port = parts.port
        except ValueError:
            raise ValueError(_("url {value}: the port is no number", value=url)) from None
        if parts.scheme not in ("http", "https") or not parts.hostname:
            raise ValueError(_("url {value} must begin with http:// or https://", value=url))
        if parts.username or parts.password or parts.query or parts.fragment:
            raise ValueError(
                _("url: give scheme, host, port and path alone, no name, password or question")
            )
        if parts.hostname not in hosts:
            raise ValueError(
                _(
                    "url: host {host} is not among the allowed ones; add it to them or use another",
                    host=parts.hostname,
                )
            )
        secure = parts.scheme == "https"
        return cls(
            style, secure, parts.hostname, port or (443 if secure else 80),
            parts.path.rstrip("/"), timeout,
        )  # fmt: skip


def measured(
    places: Sequence[Place], service: TableService, speeds: Speeds | None = None
) -> Travel:
    """Return metres and seconds between all places on the map, by road where the engine knows.

    The engine is asked in blocks; after the first request that fails no other is sent, so that a
    dead engine costs one time-out. Parking is added as in ``estimate``.
    """
    speeds = speeds or Speeds()
    base = estimate(places, speeds)
    points = [(lat, lon) for _, lat, lon in located(places)]
    metres = [list(row) for row in base.metres]
    seconds = [list(row) for row in base.seconds]
    marks = [list(row) for row in base.estimated]
    for rows, columns in _blocks(len(points)):
        answer = _ask(service, [points[n] for n in rows], [points[n] for n in columns])
        if answer is None:
            break
        for n, times, lengths in zip(rows, *answer, strict=True):
            for m, took, long in zip(columns, times, lengths, strict=True):
                if n != m and believable(took, long, great_circle_m(points[n], points[m])):
                    seconds[n][m] = round(took or 0) + speeds.parking
                    metres[n][m] = round(long or 0)
                    marks[n][m] = False
    return Travel(base.places, metres, seconds, marks)


def believable(seconds: float | None, metres: float | None, straight_m: float) -> bool:
    """Whether a drive can be as an engine says, given the great circle [m] between its ends.

    No shorter than straight (but for the way to the nearest road), no quicker than 150 km/h, no
    longer than a day.
    """
    if seconds is None or metres is None:
        return False
    least = max(straight_m * 0.99 - 2 * SNAP_M, 0.0)
    return (
        least <= metres <= LONGEST_M
        and 0 <= seconds <= LONGEST_S
        and seconds >= max(metres, least) / FASTEST_M_S
    )


def _blocks(count: int) -> Iterator[tuple[range, range]]:
    cuts = [range(begin, min(begin + BLOCK, count)) for begin in range(0, count, BLOCK)]
    return ((rows, columns) for rows in cuts for columns in cuts)


Point = tuple[float, float]


def _ask(
    service: TableService, rows: Sequence[Point], columns: Sequence[Point]
) -> tuple[Rows, Rows] | None:
    """Return seconds and metres for rows by columns; None where there is no such answer."""
    try:
        if service.style == "osrm":
            said = _fetch(service, "GET", _osrm_path(rows, columns), None)
            found = _osrm_read(said)
        else:
            said = _fetch(service, "POST", "/sources_to_targets", _valhalla_body(rows, columns))
            found = _valhalla_read(said)
        for table in found:
            if len(table) != len(rows) or any(len(row) != len(columns) for row in table):
                return None
    except (OSError, http.client.HTTPException, ValueError, KeyError, TypeError, RecursionError):
        return None
    return found


def _osrm_path(rows: Sequence[Point], columns: Sequence[Point]) -> str:
    points = ";".join(f"{lon:.6f},{lat:.6f}" for lat, lon in (*rows, *columns))
    sources = ";".join(map(str, range(len(rows))))
    targets = ";".join(map(str, range(len(rows), len(rows) + len(columns))))
    wanted = f"sources={sources}&destinations={targets}&annotations=duration,distance"
    return f"/table/v1/driving/{points}?{wanted}"


def _osrm_read(said: dict[str, Any]) -> tuple[Rows, Rows]:
    if said["code"] != "Ok":
        raise ValueError(said["code"])
    return _rows(said["durations"]), _rows(said["distances"])


def _valhalla_body(rows: Sequence[Point], columns: Sequence[Point]) -> bytes:
    sources = [{"lat": lat, "lon": lon} for lat, lon in rows]
    targets = [{"lat": lat, "lon": lon} for lat, lon in columns]
    wanted = {"sources": sources, "targets": targets, "costing": "auto", "units": "kilometers"}
    return json.dumps(wanted).encode()


def _valhalla_read(said: dict[str, Any]) -> tuple[Rows, Rows]:
    if said.get("units", "kilometers") not in ("kilometers", "km"):
        raise ValueError("units")
    table = said["sources_to_targets"]
    times = _rows(_part(table, "time"))
    lengths = _rows(_part(table, "distance"))
    return times, [[None if km is None else km * 1000 for km in row] for row in lengths]


def _part(table: Any, key: str) -> Any:
    """Return one figure of each cell; None where a cell holds none."""
    return [[cell.get(key) if isinstance(cell, dict) else None for cell in row] for row in table]


def _rows(table: Any) -> Rows:
    """Return a table of numbers; what is no finite number becomes None."""
    if not isinstance(table, list) or not all(isinstance(row, list) for row in table):
        raise TypeError("table")
    return [[_number(value) for value in row] for row in table]


def _number(value: Any) -> float | None:
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    return float(value) if math.isfinite(value) else None


def _fetch(service: TableService, method: str, path: str, body: bytes | None) -> dict[str, Any]:
    """Return the JSON object that the service answers within its time-out; no redirect is followed."""
    ends = time.monotonic() + service.timeout
    connection: http.client.HTTPConnection
    if service.secure:
        connection = http.client.HTTPSConnection(
            service.host,
            service.port,
            timeout=service.timeout,
            context=ssl.create_default_context(),
        )
    else:
        connection = http.client.HTTPConnection(service.host, service.port, timeout=service.timeout)
    try:
        headers = {"Accept": "application/json", "Content-Type": "application/json"}
        connection.request(method, service.path + path, body, headers)
        answer = connection.getresponse()
        if answer.status != http.client.OK:
            raise http.client.HTTPException(str(answer.status))
        said = json.loads(_read(answer, connection, ends))
        if not isinstance(said, dict):
            raise TypeError("answer")
        return said
    finally:
        connection.close()


def _read(
    answer: http.client.HTTPResponse, connection: http.client.HTTPConnection, ends: float
) -> bytes:
    """Read to the end, within the time that is left however slowly it drips, and the size allowed."""
    pieces: list[bytes] = []
    size = 0
    while True:
        left = ends - time.monotonic()
        if left <= 0:
            raise TimeoutError("answer")
        if connection.sock is not None:
            connection.sock.settimeout(left)
        piece = answer.read1(65_536)
        if not piece:
            return b"".join(pieces)
        pieces.append(piece)
        size += len(piece)
        if size > MAX_BYTES:
            raise ValueError("size")
