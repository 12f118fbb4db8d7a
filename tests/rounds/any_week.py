"""Any week of the firm, drawn from a number: whatever people may have booked, hours, absences, disease."""

import datetime as dt
import random

from apps.accounts.models import User
from apps.batches.models import FishBatch, Treatment
from apps.clients.models import VisitingHours
from apps.core.exceptions import Invalid
from apps.rounds.models import Absence, Crew, PlanningSettings, WorkingHours
from apps.visits.exceptions import DoubleBooked
from apps.visits.models import Visit
from tests import factories
from tests.rounds.world import MONDAY, TODAY, Town, wants


def any_week(firm: Town, rng: random.Random) -> tuple[dt.date, int, list[User]]:
    """Fill the firm; return first day, number of days and the technicians."""
    first = rng.choice([MONDAY, TODAY, TODAY + dt.timedelta(days=1)])
    days = rng.randrange(1, 6)
    PlanningSettings.objects.update(frozen_days=rng.randrange(4))
    people = [firm.ana, firm.marek, factories.user("cleo")]
    for user in people:
        _hours(user, first, rng)
    for number in range(14):
        _garden(firm, number, people, first, days, rng)
    if rng.random() < 0.2:
        people[2].is_active = False
        people[2].save()
    return first, days, people


def _hours(user: User, first: dt.date, rng: random.Random) -> None:
    if rng.random() < 0.4:
        Crew.objects.create(
            user=user, skills=rng.sample(["electric", "fish"], rng.randrange(3)),
            latitude=50.5 + rng.uniform(-0.1, 0.1), longitude=4.5,
            starts_from=rng.choice(["home", "base"]), overtime_minutes=rng.choice([0, 30, 60]),
        )  # fmt: skip
    if rng.random() < 0.4:
        for weekday in range(1, 6):
            WorkingHours.objects.create(
                user=user, weekday=weekday, starts=dt.time(rng.randrange(6, 10)),
                ends=dt.time(rng.randrange(13, 19)),
            )  # fmt: skip
    if rng.random() < 0.3:
        last = first + dt.timedelta(days=rng.randrange(2))
        part = rng.choice(["whole", "morning", "afternoon"])
        Absence.objects.create(user=user, first=first, last=last, part=part)


def _garden(
    firm: Town, number: int, people: list[User], first: dt.date, days: int, rng: random.Random
) -> None:
    nowhere = {"latitude": None, "longitude": None} if rng.random() < 0.1 else {}
    built = firm.garden(f"G{number}", rng.uniform(-25, 25), **nowhere)
    if rng.random() < 0.15:
        Treatment.objects.create(
            loop=built.loop, product="bath", lot="1", on_whose_word="vet", began_on=TODAY
        )
    if rng.random() < 0.1:
        FishBatch.objects.create(
            loop=built.loop, species_code="nile_tilapia", count=5, mean_weight_g=5,
            stocked_on=first + dt.timedelta(days=rng.randrange(days)),
        )  # fmt: skip
    if rng.random() < 0.3:
        for weekday in range(1, 8):
            VisitingHours.objects.create(
                place=built.system.place, weekday=weekday, opens="08:00",
                closes=rng.choice(["12:00", "20:00"]),
            )  # fmt: skip
    if rng.random() < 0.35:
        due = first + dt.timedelta(days=rng.randrange(-4, days + 1))
        wants(built, due, skill=rng.choice(["", "", "fish"]))
    else:
        _visit(firm, built, people, first + dt.timedelta(days=rng.randrange(-1, days)), rng)


def _visit(
    firm: Town, built: factories.Built, people: list[User], day: dt.date, rng: random.Random
) -> None:
    """Pencil a visit in where somebody is free; book it, or let its client ask for another time."""
    who = rng.sample(people, rng.choice([1, 1, 1, 2, 3]))
    hour, minutes = rng.randrange(28, 68) / 4, rng.choice([45, 60, 90, 150])
    try:
        visit = firm.pencil(built, day, hour, *who, minutes=minutes)
    except (DoubleBooked, Invalid):
        return
    if rng.random() < 0.45:
        firm.book(visit)
    elif rng.random() < 0.2:
        Visit.objects.filter(pk=visit.pk).update(client_answer="other_time")
