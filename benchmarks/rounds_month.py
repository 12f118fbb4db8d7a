"""The demo firm's next 30 days: planned rounds against a diary that is filled as it comes.

What is due in these days or pencilled in wants one visit; booked visits stand in both. The diary
takes the visits in the order of their due day, each at the end of the first round that has room.
Told for both: kilometres, paid hours, days after the due day, and what found no time.
"""

import datetime as dt
from dataclasses import dataclass

from django.utils import timezone

from apps.rounds.planning.checker import violations
from apps.rounds.planning.effort import Effort
from apps.rounds.planning.fallback import in_due_order
from apps.rounds.planning.plan import Plan
from apps.rounds.planning.planner import plan_rounds
from apps.rounds.selectors import Gathered, gather
from apps.rounds.selectors.facts import facts_of
from apps.rounds.selectors.worth import wanted
from apps.visits.models import Visit
from benchmarks.measure import Told
from demo.loading import load

TODAY = dt.date(2026, 6, 11)
DAYS = 30
SECONDS = 30.0


@dataclass(frozen=True)
class Sums:
    """What a plan comes to."""

    name: str
    km: float
    hours: float
    late: int
    visits: int
    left_out: int

    def words(self) -> str:
        """Return it as a line."""
        return (
            f"{self.name}: {self.visits} visits, {self.km:.0f} km, {self.hours:.1f} paid hours, "
            f"{self.late} days late in all, {self.left_out} without a time"
        )


def run() -> list[Told]:
    """Return both, and what the planning saves of each for a visit."""
    load(TODAY)
    gathered = gather(TODAY, DAYS, TODAY)
    due = _due_days(gathered)
    in_order = sorted(due, key=lambda name: (due[name], name))
    diary = _sums("a diary in due order", in_due_order(gathered.problem, in_order), due)
    made = plan_rounds(gathered.problem, Effort(seconds=SECONDS))
    broken = list(violations(gathered.problem, made))
    planned = _sums(f"planned, {SECONDS:.0f} s", made, due)
    each = [
        f"{what} {100 * (new * diary.visits / (old * planned.visits) - 1):+.0f} %"
        for what, new, old in (
            ("kilometres", planned.km, diary.km),
            ("paid hours", planned.hours, diary.hours),
            ("days late", planned.late, diary.late),
        )
        if old
    ]  # fmt: skip
    return [
        Told(f"demo firm, {DAYS} days from {TODAY.isoformat()}: {diary.words()}"),
        Told(f"  {planned.words()}; broken rules: {len(broken)}", far_over=bool(broken)),
        Told(f"  a visit, by planning: {', '.join(each)}"),
    ]  # fmt: skip


def _due_days(gathered: Gathered) -> dict[str, int]:
    """Return the due day of the horizon of each stop, those gone by below 0."""
    facts = facts_of(TODAY, DAYS, TODAY)
    starts = dict(Visit.objects.values_list("pk", "start"))
    found = {}
    for name, work in gathered.work.items():
        own = timezone.localdate(starts[work.visit]) if work.visit else None
        found[name] = wanted(facts, work.systems, own).due
    return found


def _sums(name: str, plan: Plan, due: dict[str, int]) -> Sums:
    calls = [(made.day, call.stop) for made in plan.rounds for call in made.calls]
    return Sums(
        name, sum(made.metres for made in plan.rounds) / 1000,
        sum(made.paid for made in plan.rounds) / 3600,
        sum(max(day - max(due[stop], 0), 0) for day, stop in calls),
        len({stop for _day, stop in calls}), len(plan.left_out),
    )  # fmt: skip
