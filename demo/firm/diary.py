"""The firm's diary: a year of visits, who went, what is booked, what was called off."""

import datetime as dt
from dataclasses import dataclass, field

from apps.visits.choices import Answer, State
from demo.firm.keys import chance
from demo.firm.people import BY_KEY as HOMES
from demo.firm.story import story_of
from demo.firm.systems import Spec, at_home, homes_with_systems
from demo.firm.weather import wave_visit

MINUTES = {"pond": 65, "nursery": 85, "nutrient": 70, "decoupled": 105, "gravel": 75}
DRIVE = dt.timedelta(minutes=25)
DAY_START, NOON, AFTER_NOON = dt.time(8, 30), dt.time(12, 0), dt.time(13, 0)
TECHNICIANS = ("ana", "marek")
# these stay with the office: drawn, not yet released
WRITTEN_UP = ("bello", "brandt", "lindqvist", "costa", "lopez", "quist", "haddad")
AHEAD = 10
UNPLACED = dt.datetime(1, 1, 1, tzinfo=dt.UTC)
# (place, days before the visit nearest to that day, words)
CALLED_OFF = (
    ("clarke", 6, "the client is away"), ("moreau", 11, "nobody could be there"),
    ("murray", 95, "thunderstorm"), ("rao", 150, "the client has a family feast"),
    ("novak", 60, "the lane is under water"), ("school", 121, "school trip"),
    ("price", 47, "van broke down"),
)  # fmt: skip


@dataclass
class Appointment:
    """One visit: of a place on a day; `number` counts back from the last, 0 the last."""

    key: str
    home: str
    specs: list[Spec]
    day: dt.date
    number: int
    state: str
    minutes: int
    start: dt.datetime = UNPLACED
    end: dt.datetime = UNPLACED
    people: list[str] = field(default_factory=list)
    started: dt.datetime | None = None
    finished: dt.datetime | None = None
    answer: str = Answer.CONFIRMED
    words: str = ""
    reason: str = "planned care"
    off_reason: str = ""

    @property
    def done(self) -> bool:
        """The work was done."""
        return self.state in (State.REPORTED, State.WRITTEN_UP)


def working(day: dt.date, today: dt.date) -> dt.date:
    """Return the day, or the nearest working day before today."""
    if day.weekday() == 5:
        day -= dt.timedelta(days=1)
    elif day.weekday() == 6:
        day += dt.timedelta(days=1)
    while day >= today or day.weekday() > 4:
        day -= dt.timedelta(days=1)
    return day


def visit_days(home: str, today: dt.date) -> list[dt.date]:
    """Return the days on which a place was visited, latest first."""
    specs = at_home(home)
    lead = specs[0]
    oldest = min(364, *(spec.started for spec in specs))
    if lead.started < 330 and lead.fish:
        oldest = lead.started - 40
    days, ago = [], lead.ago
    while ago <= oldest:
        days.append(working(today - dt.timedelta(days=ago), today))
        ago += lead.every
    days += [working(today - dt.timedelta(days=n), today) for n in story_of(lead.key).extra]
    if story_of(lead.key).wave_drop:
        # in the heat somebody looks in, whatever the rhythm says
        hot = wave_visit(today)
        near = [day for day in days if 0 < abs((day - hot).days) < 5]
        days = [day for day in days if day not in near] + [hot]
    began = today - dt.timedelta(days=lead.started)
    return sorted({day for day in days if day >= began}, reverse=True)


def _minutes(specs: list[Spec], number: int) -> int:
    first, *others = [MINUTES.get(spec.design, 90) for spec in specs]
    deep = 20 if number % 2 else 0
    return min(165, first + sum(round(m * 0.55) for m in others) + deep) // 5 * 5


def diary(today: dt.date, zone: dt.tzinfo) -> list[Appointment]:
    """Return all visits, earliest first, with nobody in two places at once."""
    made: list[Appointment] = []
    for home in homes_with_systems():
        specs = at_home(home)
        for number, day in enumerate(visit_days(home, today)):
            waits = number == 0 and home in WRITTEN_UP
            made.append(
                Appointment(
                    f"{home}-{(today - day).days}", home, specs, day, number,
                    State.WRITTEN_UP if waits else State.REPORTED, _minutes(specs, number),
                )
            )  # fmt: skip
        ahead = _next(home, specs, today)
        if ahead is not None:
            made.append(ahead)
    _place(made, today, zone)
    for row in made:
        if row.done:
            _work(row, today)
        else:
            _answers(row, today)
    made += _called_off(made, today, zone)
    return sorted(made, key=lambda row: (row.start, row.key))


def _next(home: str, specs: list[Spec], today: dt.date) -> Appointment | None:
    lead = specs[0]
    ahead = lead.next_in if lead.next_in is not None else lead.every - lead.ago
    if not 0 <= ahead <= AHEAD or (lead.next_in is None and ahead == 0):
        return None
    day = today + dt.timedelta(days=ahead)
    while ahead and day.weekday() > 4:
        day += dt.timedelta(days=1)
    state = State.PENCILLED if ahead > 7 else State.BOOKED
    return Appointment(f"{home}-next", home, specs, day, -1, state, _minutes(specs, 1))


def _place(made: list[Appointment], today: dt.date, zone: dt.tzinfo) -> None:
    """Give each visit its time and its people: the shorter day goes first, hours kept."""
    by_day: dict[dt.date, list[Appointment]] = {}
    for row in made:
        by_day.setdefault(row.day, []).append(row)
    for day in sorted(by_day):
        free = {name: dt.datetime.combine(day, DAY_START, zone) for name in TECHNICIANS}
        # both come to the school; early hours go first, late ones last
        for row in sorted(by_day[day], key=_turn):
            both = len(row.specs) > 2
            names = list(TECHNICIANS) if both else [_whose(row, free)]
            at = max(free[name] for name in names)
            at = max(at, dt.datetime.combine(day, _earliest(row), zone))
            minutes = row.minutes if not both else row.minutes * 2 // 3 // 5 * 5
            row.minutes = minutes
            if NOON < at.time() < AFTER_NOON:
                at = dt.datetime.combine(day, AFTER_NOON, zone)
            row.start, row.end, row.people = at, at + dt.timedelta(minutes=minutes), names
            for name in names:
                free[name] = _quarter(row.end + DRIVE)


def _turn(row: Appointment) -> tuple[dt.time, bool, int, str]:
    return _earliest(row), not HOMES[row.home].hours, -len(row.specs), row.key


def _earliest(row: Appointment) -> dt.time:
    hours = HOMES[row.home].hours
    return dt.time(max(8, hours[0][1]), 30 if hours[0][1] <= 8 else 0) if hours else DAY_START


def _whose(row: Appointment, free: dict[str, dt.datetime]) -> str:
    """Return who knows the place, unless the other is free an hour earlier."""
    usual = "marek" if HOMES[row.home].town in ("Oldferry", "Mossgate", "Hob's End") else "ana"
    other = "ana" if usual == "marek" else "marek"
    return other if free[other] + dt.timedelta(minutes=60) <= free[usual] else usual


def _quarter(moment: dt.datetime) -> dt.datetime:
    over = moment.minute % 15
    return moment + dt.timedelta(minutes=15 - over) if over else moment


def _work(row: Appointment, today: dt.date) -> None:
    rng = chance(today, row.key, "work")
    row.started = row.start + dt.timedelta(minutes=rng.randrange(-4, 9))
    worked = max(30, round(row.minutes * rng.uniform(0.84, 1.02)))
    row.finished = row.started + dt.timedelta(minutes=worked)


ASKS = {
    "hollis": (Answer.OTHER_TIME, "Could it be the afternoon? In the mornings I am at the mill."),
    "rao": (Answer.DECLINED, "We are away that week; please come the week after."),
}
UNANSWERED = ("sato", "osei", "ruiz")


def _answers(row: Appointment, today: dt.date) -> None:
    row.answer = Answer.CONFIRMED
    if row.state == State.PENCILLED:
        row.answer = Answer.NOT_ASKED
    elif row.home in ASKS:
        row.answer, row.words = ASKS[row.home]
    elif row.home in UNANSWERED or chance(today, row.key, "answer").random() < 0.2:
        row.answer = Answer.ASKED


def _called_off(made: list[Appointment], today: dt.date, zone: dt.tzinfo) -> list[Appointment]:
    """Visits that did not happen stand at the end of a day on which the place was not visited."""
    found = []
    for home, ago, words in CALLED_OFF:
        day = working(today - dt.timedelta(days=ago), today)
        taken = {row.day for row in made if row.home == home}
        while day in taken or day.weekday() > 4:
            day -= dt.timedelta(days=1)
        start = dt.datetime.combine(day, dt.time(16, 30), zone)
        found.append(
            Appointment(
                f"{home}-off-{ago}", home, at_home(home)[:1], day, -2, State.CALLED_OFF, 60,
                start, start + dt.timedelta(minutes=60), ["ana"],
                answer=Answer.CONFIRMED, off_reason=words,
            )
        )  # fmt: skip
    return found
