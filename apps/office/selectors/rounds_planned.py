"""What a plan of rounds makes of its days: for a person who decides on it."""

import datetime as dt
from itertools import pairwise
from typing import Any
from uuid import UUID

from django.utils import timezone
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from apps.accounts.selectors import firm_current
from apps.core.dates import day_text
from apps.core.drawing.map_parts import Spot
from apps.core.drawing.round_ruler import Block, Rest, round_ruler
from apps.core.drawing.sketch_map import Leg
from apps.flows.rounds_wording import (
    clock,
    duration,
    km,
    left_out_text,
    longer_words,
    money,
    note_text,
)
from apps.office.selectors.rounds import (
    HOUR,
    DayShown,
    RoundShown,
    StopLine,
    sentence_of,
    sketch_of,
)
from apps.office.wording import place_label
from apps.rounds.choices import Kind
from apps.rounds.planning.plan import Call, Round
from apps.rounds.planning.problem import DAY, Stop
from apps.rounds.selectors import moment_of
from apps.rounds.selectors.shown import PlanShown


def plan_days(shown: PlanShown) -> list[DayShown]:
    """Return the days of a plan with its rounds, those without one too."""
    rounds = shown.plan.rounds if shown.plan else ()
    currency = firm_current().currency
    return [
        DayShown(
            shown.day(n),
            [_planned_round(shown, made, currency) for made in rounds if made.day == n],
        )
        for n in range(shown.row.days)
    ]  # fmt: skip


def days_for(shown: PlanShown, name: str) -> tuple[list[tuple[str, str]], set[str]]:
    """Return the days of a plan to choose from for a stop, and those that can hold nothing of it.

    Closed are days on which nobody works, and settled ones that the stop does not stand on.
    """
    days, closed = [], set()
    for number in range(shown.row.days):
        day, why = shown.day(number), _why_closed(shown, shown.stop(name), number)
        text = day_text(day, "year")
        if why:
            closed.add(day.isoformat())
            text = _("%(day)s, %(why)s") % {"day": text, "why": why}
        days.append((day.isoformat(), text))
    return days, closed


def _why_closed(shown: PlanShown, stop: Stop | None, day: int) -> str:
    problem = shown.problem
    if problem is None or stop is None:
        return ""
    if all(shift.day != day for shift in problem.shifts):
        return _("nobody works")
    stands = stop.promise is not None or (stop.former is not None and stop.former.day == day)
    return _("settled already") if day in problem.settings.frozen_days and not stands else ""


def _planned_round(shown: PlanShown, made: Round, currency: str) -> RoundShown:
    lines = [_planned_line(shown, made, n, call) for n, call in enumerate(made.calls, 1)]
    person = shown.person(made.technician)
    zero = made.day * DAY
    blocks = [
        Block(
            line.place, f"{line.start}–{line.end}", (call.start - zero) / HOUR,
            (call.leave - zero) / HOUR, 0, _windows(shown.stop(call.stop), zero),
        )
        for line, call in zip(lines, made.calls, strict=True)
    ]  # fmt: skip
    lunch = made.lunch
    ruler = round_ruler(
        blocks=blocks, leave=(made.leave - zero) / HOUR, back=(made.back - zero) / HOUR,
        rest=Rest((lunch.start - zero) / HOUR, (lunch.end - zero) / HOUR) if lunch else None,
        title=sentence_of(person, shown.day(made.day), lines),
    )  # fmt: skip
    return RoundShown(
        person, lines, _sums(made, currency), _lunch_words(made), ruler,
        _planned_sketch(shown, made, person), made.technician,
    )  # fmt: skip


def _sums(made: Round, currency: str) -> str:
    return _("leaves %(leave)s, back %(back)s · %(km)s km · %(cost)s") % {
        "leave": clock(made.leave), "back": clock(made.back), "km": km(made.metres),
        "cost": _money(made.bill.total, currency),
    }  # fmt: skip


def _money(amount: int, currency: str) -> str:
    """Return an amount with the firm's currency (ISO 4217) behind it."""
    return f"{money(amount)}\u00a0{currency}"


def _lunch_words(made: Round) -> str:
    if made.lunch is None:
        return ""
    words = {"start": clock(made.lunch.start), "end": clock(made.lunch.end)}
    return _("lunch %(start)s–%(end)s") % words


def _planned_line(shown: PlanShown, made: Round, number: int, call: Call) -> StopLine:
    work = shown.work[call.stop]
    place = shown.places.get(work.place)
    systems = ", ".join(row.name for row in shown.systems_at(call.stop))
    return StopLine(
        number, place_label(place) if place else shown.place(call.stop),
        place.address if place else "", systems, clock(call.start), _ends(shown, call),
        str(Kind(work.kind).label), work.visit,
        "" if work.kind in (Kind.FIXED, Kind.OFFERED) else call.stop, _was(shown, made, call.stop),
        _why(shown, made, call.stop), _late_words(shown, call.stop, shown.day(made.day)),
        _longer(shown, call.stop),
    )  # fmt: skip


def _ends(shown: PlanShown, call: Call) -> str:
    """Return when work at a stop ends on the local clock, also where that changes meanwhile."""
    end = moment_of(shown.row.first, call.start) + dt.timedelta(seconds=call.leave - call.start)
    return f"{timezone.localtime(end):%H:%M}"


def _was(shown: PlanShown, made: Round, name: str) -> str:
    """Return where a stop stood before, if that was elsewhere."""
    stop = shown.stop(name)
    former = stop.former if stop else None
    if former is None or (former.day == made.day and made.technician in former.technicians):
        return ""
    people = ", ".join(shown.person(one) for one in former.technicians)
    return _("was %(day)s with %(people)s") % {
        "day": day_text(shown.day(former.day)), "people": people,
    }  # fmt: skip


def _why(shown: PlanShown, made: Round, name: str) -> str:
    """Return why a stop is in these hands, where its area speaks for them or for somebody else."""
    stop = shown.stop(name)
    there = stop.in_area.get(made.day, frozenset()) if stop else frozenset()
    if not there:
        return ""
    if made.technician in there:
        return _("it is their area that day")
    people = ", ".join(sorted(shown.person(one) for one in there))
    return _("%(people)s, in this area that day, has no room or costs more") % {"people": people}


def _longer(shown: PlanShown, name: str) -> str:
    """Return why a pencilled visit lasts longer in the plan than it stood; else nothing."""
    stop, work = shown.stop(name), shown.work.get(name)
    if stop is None or work is None or work.kind != Kind.MOVABLE:
        return ""
    return longer_words(stop, work.booked)


def _late_words(shown: PlanShown, name: str, on: dt.date) -> str:
    """Return how long after its care is late a stop comes on a day, if it does."""
    work = shown.work.get(name)
    days = (on - work.late).days if work and work.late else 0
    if days <= 0:
        return ""
    said = ngettext(
        "%(count)d day after its care is late", "%(count)d days after its care is late", days
    )
    return said % {"count": days}


def _windows(stop: Stop | None, zero: int) -> tuple[tuple[float, float], ...]:
    if stop is None:
        return ()
    own = [window for window in stop.windows if zero <= window.start < zero + DAY]
    return tuple(((row.start - zero) / HOUR, (row.end + stop.on_site - zero) / HOUR) for row in own)


def _planned_sketch(shown: PlanShown, made: Round, person: str) -> SafeString:
    problem = shown.problem
    if problem is None:
        return SafeString()
    places = {place.id: place for place in problem.places}
    shift = next(
        (one for one in problem.shifts if (one.technician, one.day) == (made.technician, made.day)),
        None,
    )
    if shift is None:
        return SafeString()
    stops = [problem.by_stop[call.stop] for call in made.calls]
    names = [shift.start_place, *(stop.place for stop in stops)]
    if shift.end_place != shift.start_place:
        names.append(shift.end_place)
    spots = []
    for n, name in enumerate(names):
        place = places[name]
        if place.lat is None or place.lon is None:
            return SafeString()
        here = 0 < n <= len(stops)
        label = shown.place(stops[n - 1].id) if here else _start_word(name)
        spots.append(Spot(label, place.lat, place.lon, str(n) if here else ""))
    way = [*range(len(names)), *([0] if shift.end_place == shift.start_place else [])]
    travel = problem.travel
    legs = [
        Leg(a, b, _("%(minutes)s min") % {
            "minutes": round(travel.seconds[travel.index[names[a]]][travel.index[names[b]]] / 60)
        })
        for a, b in pairwise(way)
    ]  # fmt: skip
    return sketch_of(spots, legs, person)


def _start_word(name: str) -> str:
    return _("Base") if name == "base" else _("Home")


def plan_left_out(shown: PlanShown) -> list[dict[str, Any]]:
    """Return what has no place in a plan, each with the reason in words."""
    rows = shown.plan.left_out if shown.plan else ()
    return [
        {
            "key": row.stop, "place": shown.place(row.stop),
            "pk": shown.work[row.stop].place if row.stop in shown.work else None,
            "systems": ", ".join(one.name for one in shown.systems_at(row.stop)),
            "why": left_out_text(shown, row.stop, row.reason, row.params),
            "visit": _standing_visit(shown, row.stop),
        }
        for row in rows
    ]  # fmt: skip


def _standing_visit(shown: PlanShown, stop: str) -> UUID | None:
    """Return the visit that a stop is where it stands: no plan moves it, but the office may."""
    work = shown.work.get(stop)
    return work.visit if work and work.kind == Kind.FIXED else None


def plan_notes(shown: PlanShown) -> list[str]:
    """Return what the office should know of a plan."""
    return [note_text(shown, note["code"], note["params"]) for note in shown.row.notes]


def plan_sums(shown: PlanShown) -> str:
    """Return what a plan comes to, in one line."""
    plan = shown.plan
    if plan is None:
        return ""
    calls = sum(len(made.calls) for made in plan.rounds)
    work = sum(made.paid for made in plan.rounds)
    said = ngettext("%(count)d stop", "%(count)d stops", calls) % {"count": calls}
    return _("%(stops)s, %(km)s km, %(hours)s paid, %(cost)s in all") % {
        "stops": said, "km": km(sum(made.metres for made in plan.rounds)),
        "hours": duration(work), "cost": _money(plan.cost, firm_current().currency),
    }  # fmt: skip


def change_words(shown: PlanShown) -> list[str]:
    """Return what a change by hand did to the plan before: where stops went, what it costs."""
    change = shown.row.change
    if not change:
        return []
    said = [_moved_words(shown, row) for row in change.get("moved", [])]
    cost = _money(abs(change["extra"]), firm_current().currency)
    figures = {"cost": cost, "km": km(abs(change["metres"]))}
    dearer = _("It costs %(cost)s and %(km)s km more than the plan before.")
    cheaper = _("It saves %(cost)s against the plan before; %(km)s km lie between them.")
    said.append((dearer if change["extra"] >= 0 else cheaper) % figures)
    late = [row for row in change.get("delays", []) if abs(row["seconds"]) >= 60]
    for row in late:
        minutes = round(row["seconds"] / 60)
        text = (
            _("%(place)s begins %(minutes)d min later.")
            if minutes > 0
            else _("%(place)s begins %(minutes)d min earlier.")
        )
        said.append(text % {"place": shown.place(row["stop"]), "minutes": abs(minutes)})
    return said


def _moved_words(shown: PlanShown, row: dict[str, Any]) -> str:
    place = shown.place(row["stop"])
    if row["day"] is None:
        return _("%(place)s finds no place.") % {"place": place}
    on = dt.date.fromisoformat(row["day"])
    gaps = {
        "place": place, "day": day_text(on),
        "people": ", ".join(shown.person(name) for name in row["technicians"]),
        "late": _late_words(shown, row["stop"], on),
    }  # fmt: skip
    if gaps["late"]:
        return _("%(place)s goes to %(day)s with %(people)s, %(late)s.") % gaps
    return _("%(place)s goes to %(day)s with %(people)s.") % gaps
