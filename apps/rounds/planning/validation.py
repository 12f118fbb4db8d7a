"""What is wrong with a problem: refused with the field, the value and the way out."""

from collections import Counter
from collections.abc import Iterable, Iterator

from apps.calc.wording import Text
from apps.calc.wording import text as _
from apps.rounds.planning.problem import DAY, Lunch, Place, Problem, Shift, Stop, Window

MAX_STOPS = 1000
MAX_DAYS = 62
MAX_PRIZE = 10**9
"""A hundred thousand of the currency's unit: sums stay far within what the solver can count."""


def validate(problem: Problem) -> None:
    """Refuse a problem that cannot be meant; ValueError with the first thing that is wrong."""
    for complaint in complaints(problem):
        raise ValueError(complaint)


def _fractions(problem: Problem) -> Iterator[Text]:
    """Times, lengths and money are counted in whole steps."""
    for shift in problem.shifts:
        lunch = shift.lunch
        times = (lunch.seconds, lunch.earliest, lunch.latest, lunch.inside_from) if lunch else ()
        known = (shift.start, shift.end, shift.overtime, shift.overtime_per_second, *times)
        for value in (*known, shift.fixed_cost):
            if not isinstance(value, int):
                yield _(
                    "shift of {who} on day {day}: {value} must be whole",
                    who=shift.technician, day=shift.day, value=value,
                )  # fmt: skip
    for stop in problem.stops:
        windows = (*stop.windows, *((stop.promise.window,) if stop.promise else ()))
        bounds = [bound for window in windows for bound in (window.start, window.end)]
        for value in (stop.service, stop.disinfecting, *bounds, *stop.prizes.values()):
            if not isinstance(value, int):
                yield _("stop {name}: {value} must be whole", name=stop.id, value=value)
    travel = problem.travel
    for row in (*travel.metres, *travel.seconds):
        for value in row:
            if not isinstance(value, int):
                yield _("travel: {value} must be whole", value=value)
                return


def complaints(problem: Problem) -> Iterator[Text]:
    """Yield what is wrong, in words."""
    yield from _fractions(problem)
    yield from _twice(problem)
    for place in problem.places:
        yield from _place(place)
    known = {place.id: place for place in problem.places}
    for shift in problem.shifts:
        yield from _shift(shift, known)
    for stop in problem.stops:
        yield from _stop(stop, known)
    yield from _money(problem)
    yield from _travel(problem)
    if len(problem.stops) > MAX_STOPS:
        yield _(
            "stops: {count} are too many at once; plan at most {limit}, by region",
            count=len(problem.stops), limit=MAX_STOPS,
        )  # fmt: skip


def _repeated(names: Iterable[object]) -> Iterator[object]:
    return (name for name, count in Counter(names).items() if count > 1)


def _twice(problem: Problem) -> Iterator[Text]:
    for name in _repeated(place.id for place in problem.places):
        yield _("places: {name} is there twice; give each place once", name=name)
    for name in _repeated(stop.id for stop in problem.stops):
        yield _("stops: {name} is there twice; give each visit once", name=name)
    for who, day in _repeated_days(problem.shifts):
        yield _(
            "shifts: {who} works twice on day {day}; give one shift a day and technician",
            who=who, day=day,
        )  # fmt: skip


def _repeated_days(shifts: tuple[Shift, ...]) -> Iterator[tuple[str, int]]:
    counted = Counter((shift.technician, shift.day) for shift in shifts)
    return (pair for pair, count in counted.items() if count > 1)


def _place(place: Place) -> Iterator[Text]:
    if (place.lat is None) != (place.lon is None):
        yield _(
            "place {name}: only one of lat and lon is known; give both or neither", name=place.id
        )
    for field, value, limit in (("lat", place.lat, 90), ("lon", place.lon, 180)):
        if value is not None and not -limit <= value <= limit:
            yield _(
                "place {name}: {field} {value} must lie from -{limit} to {limit}",
                name=place.id, field=field, value=value, limit=limit,
            )  # fmt: skip


def _shift(shift: Shift, known: dict[str, Place]) -> Iterator[Text]:
    who, day = shift.technician, shift.day
    dawn = day * DAY
    if not 0 <= day < MAX_DAYS:
        yield _(
            "shift of {who}: day {day} must lie from 0 to {last}",
            who=who,
            day=day,
            last=MAX_DAYS - 1,
        )
    if not dawn <= shift.start < shift.end or shift.end + shift.overtime > dawn + DAY:
        yield _(
            "shift of {who} on day {day}: start {start} and end {end} with overtime must lie in order "
            "within that day",
            who=who, day=day, start=shift.start, end=shift.end,
        )  # fmt: skip
    for field, value in (
        ("overtime", shift.overtime),
        ("overtime_per_second", shift.overtime_per_second),
        ("fixed_cost", shift.fixed_cost),
    ):
        if value < 0:
            yield _(
                "shift of {who} on day {day}: {field} {value} must not be negative",
                who=who, day=day, field=field, value=value,
            )  # fmt: skip
    for name in (shift.start_place, shift.end_place):
        if name not in known or not known[name].located:
            yield _(
                "shift of {who} on day {day}: place {name} is not on the map; put it there first",
                who=who, day=day, name=name,
            )  # fmt: skip
    if shift.lunch is not None:
        yield from _lunch(shift.lunch, who)


def _lunch(lunch: Lunch, who: str) -> Iterator[Text]:
    room = lunch.latest - lunch.earliest
    if not 0 < lunch.seconds <= room or not 0 <= lunch.earliest < lunch.latest <= DAY:
        yield _(
            "lunch of {who}: {seconds} s do not fit from {earliest} to {latest}; shorten the break or "
            "widen the time for it",
            who=who, seconds=lunch.seconds, earliest=lunch.earliest, latest=lunch.latest,
        )  # fmt: skip


def _stop(stop: Stop, known: dict[str, Place]) -> Iterator[Text]:
    if stop.place not in known:
        yield _(
            "stop {name}: place {place} is unknown; add it to the places",
            name=stop.id, place=stop.place,
        )  # fmt: skip
    if stop.service <= 0 or stop.disinfecting < 0:
        yield _(
            "stop {name}: service {service} must be above 0 and disinfecting {more} not below 0 seconds",
            name=stop.id, service=stop.service, more=stop.disinfecting,
        )  # fmt: skip
    if stop.people not in (1, 2):
        yield _(
            "stop {name}: people {people} must be 1 or 2; split work for more",
            name=stop.id, people=stop.people,
        )  # fmt: skip
    promised = (stop.promise.window,) if stop.promise else ()
    for window in (*stop.windows, *promised):
        yield from _window(stop, window)
    if stop.promise and len(set(stop.promise.technicians)) > stop.people:
        yield _(
            "stop {name}: more technicians are promised than the visit needs ({people})",
            name=stop.id, people=stop.people,
        )  # fmt: skip


def _window(stop: Stop, window: Window) -> Iterator[Text]:
    if not 0 <= window.start <= window.end < (window.day + 1) * DAY:
        yield _(
            "stop {name}: window {start} to {end} must run forwards within one day",
            name=stop.id, start=window.start, end=window.end,
        )  # fmt: skip


def _money(problem: Problem) -> Iterator[Text]:
    for field, value in (
        ("per_metre", problem.costs.per_metre),
        ("per_second", problem.costs.per_second),
        ("sticky", problem.settings.sticky),
        ("offer", problem.settings.offer),
        ("own_area", problem.settings.own_area),
    ):
        if value < 0:
            yield _("{field} {value} must not be negative", field=field, value=value)
    for stop in problem.stops:
        days = {window.day for window in stop.windows}
        days |= {stop.promise.window.day} if stop.promise else set()
        for day in sorted(days):
            if not 0 < stop.prizes.get(day, 0) <= MAX_PRIZE:
                yield _(
                    "stop {name}: prize {prize} of day {day} must lie above 0 and up to {limit}",
                    name=stop.id, prize=stop.prizes.get(day, 0), day=day, limit=MAX_PRIZE,
                )  # fmt: skip


def _travel(problem: Problem) -> Iterator[Text]:
    travel = problem.travel
    count = len(travel.places)
    for name, rows in (("metres", travel.metres), ("seconds", travel.seconds)):
        if len(rows) != count or any(len(row) != count for row in rows):
            yield _("travel: {name} must have {count} rows and columns", name=name, count=count)
            return
        if any(value < 0 for row in rows for value in row) or any(
            rows[n][n] != 0 for n in range(count)
        ):
            yield _("travel: {name} must be 0 on the diagonal and nowhere negative", name=name)
    for place in problem.places:
        if place.located and place.id not in travel.index:
            yield _("travel: place {name} is missing; measure it too", name=place.id)
