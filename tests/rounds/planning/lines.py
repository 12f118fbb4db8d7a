"""Small problems on a straight road, where a kilometre takes a minute: sums to do in one's head."""

from apps.rounds.planning.problem import (
    DAY,
    MONEY,
    Costs,
    Lunch,
    Place,
    Problem,
    Settings,
    Shift,
    Stop,
    Travel,
    Window,
)

HOUR = 3600
COSTS = Costs(per_metre=4, per_second=100)
LUNCH = Lunch(HOUR // 2, 11 * HOUR, 14 * HOUR)
PRIZE = 500 * MONEY


def stop_at(name: str, km: int, service: int, hours=None, days=(0,), prize=PRIZE, **more) -> Stop:
    """Return a stop `km` down the road; its place is named by the distance."""
    hours = hours or (0, DAY - 1)
    windows = tuple(Window(day * DAY + int(hours[0]), day * DAY + int(hours[1])) for day in days)
    return Stop(name, f"km {km}", service, windows, dict.fromkeys(days, prize), **more)


def shift_of(name: str = "ann", day: int = 0, home: int = 0, hours=(8, 17), **more) -> Shift:
    """Return a shift from and to a home `home` km down the road."""
    begin, end = (day * DAY + hour * HOUR for hour in hours)
    return Shift(name, day, begin, end, f"km {home}", f"km {home}", **more)


def line(stops, shifts, settings: Settings | None = None) -> Problem:
    """Return the problem on a road of 200 km."""
    kms = {int(stop.place.split()[1]) for stop in stops}
    kms |= {int(p.split()[1]) for s in shifts for p in (s.start_place, s.end_place)}
    names = tuple(f"km {km}" for km in sorted(kms))
    metres = [[abs(a - b) * 1000 for b in sorted(kms)] for a in sorted(kms)]
    seconds = [[abs(a - b) * 60 for b in sorted(kms)] for a in sorted(kms)]
    marks = [[False] * len(names) for _ in names]
    places = tuple(Place(f"km {km}", 50.0, 4.0 + km / 100) for km in sorted(kms))
    travel = Travel(names, metres, seconds, marks)
    return Problem(places, tuple(stops), tuple(shifts), travel, COSTS, settings or Settings())
