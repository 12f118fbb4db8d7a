"""Problems and plans as JSON and back: what is stored of a plan of rounds.

Money and times stay whole numbers, ids stay text; an edition in front tells later code apart.
"""

import datetime as dt
from collections.abc import Mapping
from typing import Any
from uuid import UUID

from apps.rounds.planning.plan import Bill, Break, Call, LeftOut, Plan, Round
from apps.rounds.planning.problem import (
    Costs,
    Former,
    Lunch,
    Place,
    Problem,
    Promise,
    Settings,
    Shift,
    Stop,
    Travel,
    Window,
)
from apps.rounds.selectors.stops import Work

EDITION = 1
Json = dict[str, Any]


def _checked(said: Json) -> Json:
    """Return what was stored; ValueError for an edition that this code does not know."""
    if said.get("edition") != EDITION:
        raise ValueError(f"edition {said.get('edition')}: only {EDITION} can be read; plan anew")
    return said


def problem_json(problem: Problem) -> Json:
    """Return a problem as JSON."""
    travel = problem.travel
    return {
        "edition": EDITION,
        "places": [[p.id, p.lat, p.lon] for p in problem.places],
        "stops": [_stop_json(stop) for stop in problem.stops],
        "shifts": [_shift_json(shift) for shift in problem.shifts],
        "travel": {
            "places": list(travel.places),
            "metres": [list(row) for row in travel.metres],
            "seconds": [list(row) for row in travel.seconds],
            "estimated": ["".join("1" if mark else "0" for mark in row) for row in travel.estimated],
        },
        "costs": [problem.costs.per_metre, problem.costs.per_second],
        "settings": [
            problem.settings.sticky, sorted(problem.settings.frozen_days), problem.settings.offer,
            problem.settings.own_area,
        ],
    }  # fmt: skip


def problem_of(said: Json) -> Problem:
    """Return the problem that was stored. Raises ValueError for another edition."""
    travel = _checked(said)["travel"]
    # plans that were stored before areas had their people leave these out
    sticky, frozen, offer, *own_area = said["settings"]
    return Problem(
        tuple(Place(*row) for row in said["places"]),
        tuple(_stop_of(row) for row in said["stops"]),
        tuple(_shift_of(row) for row in said["shifts"]),
        Travel(
            tuple(travel["places"]), travel["metres"], travel["seconds"],
            [[mark == "1" for mark in row] for row in travel["estimated"]],
        ),
        Costs(*said["costs"]),
        Settings(sticky, frozenset(frozen), offer, *own_area),
    )  # fmt: skip


def _window_json(window: Window) -> list[int]:
    return [window.start, window.end]


def _stop_json(stop: Stop) -> Json:
    promise, former = stop.promise, stop.former
    return {
        "id": stop.id, "place": stop.place, "service": stop.service,
        "windows": [_window_json(window) for window in stop.windows],
        "prizes": {str(day): worth for day, worth in stop.prizes.items()},
        "skills": sorted(stop.skills), "people": stop.people,
        "promise": [_window_json(promise.window), list(promise.technicians)] if promise else None,
        "former": [former.day, list(former.technicians), former.rank] if former else None,
        "first": stop.first_of_day, "last": stop.last_of_day, "disinfecting": stop.disinfecting,
        "in_area": {str(day): sorted(names) for day, names in stop.in_area.items()},
    }  # fmt: skip


def _stop_of(said: Json) -> Stop:
    promise, former = said["promise"], said["former"]
    return Stop(
        said["id"], said["place"], said["service"],
        tuple(Window(*row) for row in said["windows"]),
        {int(day): worth for day, worth in said["prizes"].items()},
        frozenset(said["skills"]), said["people"],
        Promise(Window(*promise[0]), tuple(promise[1])) if promise else None,
        Former(former[0], tuple(former[1]), former[2]) if former else None,
        said["first"], said["last"], said["disinfecting"],
        {int(day): frozenset(names) for day, names in said.get("in_area", {}).items()},
    )  # fmt: skip


def _shift_json(shift: Shift) -> Json:
    lunch = shift.lunch
    return {
        "technician": shift.technician, "day": shift.day, "start": shift.start, "end": shift.end,
        "from": shift.start_place, "to": shift.end_place,
        "lunch": [lunch.seconds, lunch.earliest, lunch.latest, lunch.inside_from] if lunch else None,
        "overtime": shift.overtime, "overtime_per_second": shift.overtime_per_second,
        "skills": sorted(shift.skills), "fixed_cost": shift.fixed_cost,
    }  # fmt: skip


def _shift_of(said: Json) -> Shift:
    return Shift(
        said["technician"], said["day"], said["start"], said["end"], said["from"], said["to"],
        Lunch(*said["lunch"]) if said["lunch"] else None, said["overtime"],
        said["overtime_per_second"], frozenset(said["skills"]), said["fixed_cost"],
    )  # fmt: skip


def plan_json(plan: Plan) -> Json:
    """Return a plan as JSON."""
    return {
        "edition": EDITION,
        "rounds": [_round_json(made) for made in plan.rounds],
        "left_out": [[left.stop, left.reason, dict(left.params)] for left in plan.left_out],
        "prize": plan.prize, "cost": plan.cost, "estimated": plan.estimated,
        "method": plan.method, "stopped": plan.stopped,
    }  # fmt: skip


def plan_of(said: Json) -> Plan:
    """Return the plan that was stored. Raises ValueError for another edition."""
    _checked(said)
    return Plan(
        tuple(_round_of(row) for row in said["rounds"]),
        tuple(LeftOut(*row) for row in said["left_out"]),
        said["prize"], said["cost"], said["estimated"], said["method"], said["stopped"],
    )  # fmt: skip


def _round_json(made: Round) -> Json:
    lunch, bill = made.lunch, made.bill
    return {
        "technician": made.technician, "day": made.day, "leave": made.leave, "back": made.back,
        "calls": [
            [call.stop, _window_json(call.window), call.arrive, call.start, call.leave]
            for call in made.calls
        ],
        "lunch": [lunch.start, lunch.end, lunch.after, lunch.at_work] if lunch else None,
        "metres": made.metres, "bill": [bill.fixed, bill.driving, bill.time, bill.overtime],
    }  # fmt: skip


def _round_of(said: Json) -> Round:
    return Round(
        said["technician"], said["day"], said["leave"], said["back"],
        tuple(Call(row[0], Window(*row[1]), *row[2:]) for row in said["calls"]),
        Break(*said["lunch"]) if said["lunch"] else None, said["metres"], Bill(*said["bill"]),
    )  # fmt: skip


def work_json(work: Mapping[str, Work]) -> Json:
    """Return what the stops of a plan are as JSON."""
    return {
        name: [row.kind, str(row.place), [str(pk) for pk in row.systems],
               str(row.visit) if row.visit else None, row.rev,
               *_more_json(row)]
        for name, row in work.items()
    }  # fmt: skip


def work_of(said: Json) -> dict[str, Work]:
    """Return what the stops of a stored plan are."""
    return {
        name: Work(kind, UUID(place), tuple(UUID(pk) for pk in systems),
                   UUID(visit) if visit else None, rev, *_more_of(more))
        for name, (kind, place, systems, visit, rev, *more) in said.items()
    }  # fmt: skip


def _more_json(row: Work) -> list[Any]:
    """Return what not every stop has: until when its care is not late, how long it stood."""
    late = row.late.isoformat() if row.late else None
    if row.booked is not None:
        return [late, row.booked]
    return [late] if late else []


def _more_of(said: list[Any]) -> tuple[dt.date | None, int | None]:
    """Return the same from a stored plan: an older one leaves some out."""
    late, booked = (*said, None, None)[:2]
    return dt.date.fromisoformat(late) if late else None, booked
