"""Invented firms of any size, drawn from a number: what plans are tried on."""

import random

from apps.rounds.planning.prizes import Urgency, base_above, lone_trip, prizes
from apps.rounds.planning.problem import (
    DAY,
    MONEY,
    Costs,
    Former,
    Lunch,
    Place,
    Problem,
    Promise,
    Settings,
    Shift,
    Stop,
    Window,
    windows_on,
)
from apps.rounds.planning.travel import estimate

HOUR = 3600
COSTS = Costs(per_metre=4, per_second=100)  # 0.40 a km, 36 an hour
URGENCY = Urgency(overdue=4 * MONEY, late=2 * MONEY, early=MONEY)
MORNING, AFTERNOON = (8 * HOUR, 12 * HOUR), (13 * HOUR, 17 * HOUR)
LUNCH = Lunch(HOUR // 2, 11 * HOUR + 1800, 14 * HOUR)
SKILLS = ("electric", "fish")


def firm(
    seed: int,
    visits: int = 8,
    technicians: int = 2,
    days: int = 1,
    *,
    lunch: bool = True,
    overtime: int = HOUR,
    odd: bool = False,
) -> Problem:
    """Return a firm around one town. ``odd``: with promises, pairs, disease, fish and frozen days."""
    rng = random.Random(seed)
    homes = [_place(rng, f"home {n}", 0.08) for n in range(technicians)]
    places = [_place(rng, f"client {n}", 0.25) for n in range(visits)]
    shifts = [
        Shift(
            f"tech {n}", day, day * DAY + 8 * HOUR, day * DAY + 17 * HOUR, home.id, home.id,
            lunch=LUNCH if lunch else None, overtime=overtime, overtime_per_second=50,
            skills=frozenset(SKILLS[: 1 + (n + seed) % 2]), fixed_cost=20 * MONEY,
        )
        for n, home in enumerate(homes)
        for day in range(days)
        if not odd or rng.random() < 0.9
    ]  # fmt: skip
    travel = estimate([*homes, *places])
    stops = [_stop(rng, place, shifts, travel, days) for place in places]
    settings = Settings()
    if odd:
        stops = [_odd(rng, stop, shifts, days) for stop in stops]
        places[0] = Place(places[0].id, None, None) if rng.random() < 0.2 else places[0]
        frozen = frozenset({0}) if days > 1 and rng.random() < 0.5 else frozenset()
        settings = Settings(sticky=5 * MONEY, frozen_days=frozen)
    return Problem(
        (*homes, *places), tuple(stops), tuple(shifts), estimate([*homes, *places]), COSTS, settings
    )


def _place(rng, name, spread):
    return Place(
        name, 50.5 + rng.uniform(-spread, spread), 4.5 + rng.uniform(-spread, spread) * 1.5
    )


def _stop(rng, place, shifts, travel, days):
    service = rng.randrange(25, 91, 5) * 60
    base = base_above(lone_trip(place.id, service, shifts, travel, COSTS))
    kind = rng.random()
    hours = [MORNING] if kind < 0.3 else [AFTERNOON] if kind < 0.6 else [(0, DAY - 1)]
    open_days = sorted(rng.sample(range(days), max(1, round(days * rng.uniform(0.4, 1)))))
    due = rng.randrange(-3, days + 1)
    skills = frozenset({rng.choice(SKILLS)}) if rng.random() < 0.2 else frozenset()
    return Stop(
        place.id.replace("client", "visit"), place.id, service, windows_on(open_days, hours),
        prizes(base, URGENCY, due, range(days)), skills,
    )  # fmt: skip


def _odd(rng, stop, shifts, days):
    """Return the stop with something out of the ordinary, for about half of them."""
    changes: dict = {}
    kind = rng.random()
    if kind < 0.1:
        changes = {"people": 2, "prizes": {day: 2 * worth for day, worth in stop.prizes.items()}}
    elif kind < 0.2:
        changes = {"last_of_day": True, "disinfecting": 20 * 60}
    elif kind < 0.3:
        changes = {"first_of_day": True}
    elif kind < 0.4:
        day, begin = rng.randrange(days), rng.randrange(8, 15) * HOUR
        window = Window(day * DAY + begin, day * DAY + begin + 2 * HOUR)
        who = rng.choice([(), ("tech 0",)])
        changes = {"promise": Promise(window, who)}
    elif kind < 0.5 and shifts:
        former = rng.choice(shifts)
        changes = {"former": Former(former.day, (former.technician,), rng.randrange(5))}
    elif kind < 0.55:
        changes = {"service": 4 * HOUR}
    held = {name: getattr(stop, name) for name in stop.__dataclass_fields__}
    return Stop(**{**held, **changes})
