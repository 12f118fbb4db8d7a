"""Who works when: the shifts of the technicians, from their hours, absences and the closed days."""

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

from apps.accounts.models import Firm, User
from apps.accounts.selectors import closed_days, technicians
from apps.rounds.choices import Part, StartsFrom
from apps.rounds.models import Absence, Crew, PlanningSettings, WorkingHours
from apps.rounds.planning.problem import DAY, NOON, Costs, Lunch, Place, Shift, whole
from apps.rounds.selectors.axis import gap_of, seconds_of

BASE = "base"
LUNCH = Lunch(30 * 60, 11 * 3600 + 1800, 14 * 3600)
"""Common practice, for whoever has no hours of their own: half an hour between 11:30 and 14:00."""
WORKDAYS = range(1, 6)


@dataclass(frozen=True)
class Staff:
    """The technicians of the firm and all that says when and from where they work."""

    users: Mapping[str, User]
    crews: Mapping[str, Crew]
    hours: Mapping[str, Mapping[int, WorkingHours]]
    absences: Mapping[str, list[Absence]]
    closed: frozenset[dt.date] = field(default_factory=frozenset)

    def part_away(self, name: str, on: dt.date) -> set[str]:
        """Return which parts of a day somebody is away."""
        return {row.part for row in self.absences.get(name, ()) if row.first <= on <= row.last}

    def away(self, name: str, on: dt.date) -> bool:
        """Return True where somebody is away the whole day."""
        parts = self.part_away(name, on)
        return Part.WHOLE in parts or {Part.MORNING, Part.AFTERNOON} <= parts

    def in_area(self, area: str, on: dt.date) -> frozenset[str]:
        """Return who is at work on a day that is their standing day of an area."""
        if not area:
            return frozenset()
        return frozenset(
            name
            for name, week in self.hours.items()
            if (row := week.get(on.isoweekday())) is not None
            and same_area(row.area, area)
            and not self.away(name, on)
        )

    def at_work(self, name: str, on: dt.date, seconds: int) -> bool:
        """Return True where somebody is of the firm and not away at a time of a day [s]."""
        half = Part.MORNING if seconds < NOON else Part.AFTERNOON
        return name in self.users and not {Part.WHOLE, half} & self.part_away(name, on)


def same_area(one: str, other: str) -> bool:
    """Whether two names mean one area, however they are written."""
    return one.strip().casefold() == other.strip().casefold()


def area_weekdays(area: str) -> frozenset[int]:
    """Return the weekdays (1 Monday to 7) on which some technician is in an area: a query."""
    if not area:
        return frozenset()
    rows = WorkingHours.objects.filter(user__in=technicians()).exclude(area="")
    return frozenset(row.weekday for row in rows if same_area(row.area, area))


def staff_between(first: dt.date, last: dt.date) -> Staff:
    """Return the active technicians with their hours, and who is away when: four queries."""
    users = {str(user.pk): user for user in technicians()}
    hours: dict[str, dict[int, WorkingHours]] = {}
    for row in WorkingHours.objects.filter(user_id__in=users):
        hours.setdefault(str(row.user_id), {})[row.weekday] = row
    absences: dict[str, list[Absence]] = {}
    for away in Absence.objects.filter(user_id__in=users, first__lte=last, last__gte=first):
        absences.setdefault(str(away.user_id), []).append(away)
    crews = {str(row.user_id): row for row in Crew.objects.filter(user_id__in=users)}
    return Staff(users, crews, hours, absences, frozenset(closed_days(first, last)))


def home_of(staff: Staff, name: str) -> str:
    """Return the planner's place at which somebody's day begins and ends."""
    crew = staff.crews.get(name)
    at_home = crew is not None and crew.starts_from == StartsFrom.HOME and crew.latitude is not None
    return f"home:{name}" if at_home else BASE


def homes(staff: Staff) -> list[Place]:
    """Return the homes that days begin at."""
    return [
        Place(f"home:{name}", crew.latitude, crew.longitude)
        for name, crew in staff.crews.items()
        if home_of(staff, name) != BASE
    ]


def base_of(settings: PlanningSettings, places: Iterable[Place]) -> tuple[Place, bool]:
    """Return the firm's base, and whether it is assumed: amid the places, where nobody has set it."""
    if settings.base_latitude is not None and settings.base_longitude is not None:
        return Place(BASE, settings.base_latitude, settings.base_longitude), False
    known = [(p.lat, p.lon) for p in places if p.lat is not None and p.lon is not None]
    if not known:
        return Place(BASE, 0.0, 0.0), True
    middle = len(known) // 2
    lat, lon = (sorted(values)[middle] for values in zip(*known, strict=True))
    return Place(BASE, lat, lon), True


def shifts_of(
    staff: Staff, first: dt.date, days: int, firm: Firm, settings: PlanningSettings, costs: Costs
) -> list[Shift]:
    """Return a shift for each technician and day that is worked, in the order of days and names."""
    found = []
    for day in range(days):
        on = first + dt.timedelta(days=day)
        if on in staff.closed:
            continue
        for name in staff.users:
            hours = hours_on(staff, name, on, firm)
            if hours is not None:
                shift = shift_of(staff, name, day, hours, settings, costs)
                found.append(_beside(shift, gap_of(on)))
    return found


def _beside(shift: Shift, gap: tuple[int, int] | None) -> Shift:
    """Return the longer part of a shift before or after time that the clocks leave out.

    A round that went on over it would have an hour that nobody has.
    """
    if gap is None:
        return shift
    opens, closes = (shift.day * DAY + second for second in gap)
    if shift.end + shift.overtime <= opens or shift.start >= closes:
        return shift
    if opens - shift.start > shift.end - closes:
        end = min(shift.end, opens)
        return replace(shift, end=end, overtime=min(shift.overtime, opens - end))
    return replace(shift, start=closes)


@dataclass(frozen=True)
class Hours:
    """From when to when somebody works [s of the day], and the break."""

    starts: int
    ends: int
    lunch: Lunch | None


def hours_on(staff: Staff, name: str, on: dt.date, firm: Firm) -> Hours | None:
    """Return when somebody works on a day; None: not at all."""
    if staff.away(name, on):
        return None
    own = staff.hours.get(name)
    if own is None:
        if on.isoweekday() not in WORKDAYS:
            return None
        hours = Hours(seconds_of(firm.day_start), seconds_of(firm.day_end), LUNCH)
    else:
        row = own.get(on.isoweekday())
        if row is None:
            return None
        hours = Hours(seconds_of(row.starts), seconds_of(row.ends), _lunch(row))
    parts = staff.part_away(name, on)
    starts = max(hours.starts, NOON) if Part.MORNING in parts else hours.starts
    ends = min(hours.ends, NOON) if Part.AFTERNOON in parts else hours.ends
    return Hours(starts, ends, hours.lunch) if starts < ends else None


def _lunch(row: WorkingHours) -> Lunch | None:
    """Return the break of a day; None where there is none or no time for it."""
    opens, closes = seconds_of(row.lunch_from), seconds_of(row.lunch_until)
    seconds = row.lunch_minutes * 60
    return Lunch(seconds, opens, closes) if 0 < seconds <= closes - opens else None


def shift_of(
    staff: Staff, name: str, day: int, hours: Hours, settings: PlanningSettings, costs: Costs
) -> Shift:
    """Return somebody's shift on a day of the horizon."""
    crew = staff.crews.get(name) or Crew()
    home = home_of(staff, name)
    ends = day * DAY + hours.ends
    return Shift(
        name, day, day * DAY + hours.starts, ends, home, home, lunch=hours.lunch,
        overtime=min(crew.overtime_minutes * 60, (day + 1) * DAY - ends),
        overtime_per_second=whole(costs.per_second * crew.overtime_share),
        skills=frozenset(crew.skills), fixed_cost=whole(settings.sending_out * 10_000),
    )  # fmt: skip
