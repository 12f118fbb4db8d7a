"""Plans the rounds of some days."""

import datetime as dt
import json
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from apps.calc.wording import Text
from apps.core import clock
from apps.core.dates import day_text
from apps.core.exceptions import DomainError
from apps.core.scoping import Actor, system
from apps.flows.rounds import plan_accept, plan_now, stale
from apps.flows.rounds_wording import clock as hour
from apps.flows.rounds_wording import failed_text, km, left_out_text, money, note_text
from apps.office.api.rounds_shapes import plan_shape
from apps.rounds.choices import Kind, PlanState
from apps.rounds.models import RoundPlan
from apps.rounds.planning.effort import Effort
from apps.rounds.planning.plan import Call, Round
from apps.rounds.selectors import settings_current
from apps.rounds.selectors.shown import PlanShown, plan_shown

SECONDS = 10.0


class Command(BaseCommand):
    """manage.py plan_rounds [--from DATE] [--days N] [--seconds S | --iterations N] [--accept] [--json]."""

    help = "Plan who goes where on which day, and say what was left out and why."

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare the options."""
        parser.add_argument(
            "--from", dest="first", default="", help="YYYY-MM-DD; today if left out"
        )
        parser.add_argument("--days", type=int, help="how many; the firm's setting if left out")
        effort = parser.add_mutually_exclusive_group()
        effort.add_argument(
            "--seconds", type=float, help=f"search so long; {SECONDS:g} if left out"
        )
        effort.add_argument(
            "--iterations", type=int, help="search so often: the same plan each time"
        )
        parser.add_argument("--seed", type=int, default=1)
        parser.add_argument("--accept", action="store_true", help="write the plan as visits")
        parser.add_argument("--json", action="store_true", help="as the API answers")

    def handle(self, *args: Any, **options: Any) -> None:
        """Plan, print, accept."""
        at = clock.now()
        by = system("plan_rounds command", at)
        days = options["days"]
        try:
            first = dt.date.fromisoformat(options["first"]) if options["first"] else clock.today()
        except ValueError:
            raise CommandError(
                f"--from {options['first']!r}: write a date such as 2026-06-11"
            ) from None
        try:
            row = plan_now(
                first=first, days=settings_current().days_ahead if days is None else days,
                effort=effort_of(options), today=clock.today(), by=by, at=at,
            )  # fmt: skip
            visits = self._accepted(row, by) if options["accept"] else None
        except DomainError as error:
            raise CommandError(error.message) from error
        row.refresh_from_db()
        if options["json"]:
            body = plan_shape(row, stale=row.state == PlanState.READY and stale(row, clock.today()))
            self.stdout.write(json.dumps(body, ensure_ascii=False, indent=2))
        else:
            self._print(plan_shown(row))
        if row.state == PlanState.FAILED:
            raise CommandError(failed_text(plan_shown(row)))
        if visits is not None and not options["json"]:
            self.stdout.write(said_of_visits(visits))

    def _accepted(self, row: RoundPlan, by: Actor) -> int | None:
        if row.state != PlanState.READY:
            return None
        return len(plan_accept(plan=row, today=clock.today(), by=by, at=clock.now()))

    def _print(self, shown: PlanShown) -> None:
        """Print each technician's day as a list, then what was left out."""
        plan = shown.plan
        if plan is None:
            return
        for made in plan.rounds:
            self._round(shown, made)
        for note in shown.row.notes:
            self.stdout.write(note_text(shown, note["code"], note["params"]))
        left_word, estimated = _("left out"), _("driving estimated")
        for left in plan.left_out:
            why = left_out_text(shown, left.stop, left.reason, left.params)
            self.stdout.write(f"{left_word}: {shown.place(left.stop)}: {why}")
        driven = sum(made.metres for made in plan.rounds)
        self.stdout.write(
            ngettext(
                "%(rounds)s round, %(km)s km, cost %(cost)s",
                "%(rounds)s rounds, %(km)s km, cost %(cost)s",
                len(plan.rounds),
            )
            % {"rounds": len(plan.rounds), "km": km(driven), "cost": money(plan.cost)}
            + (f" ({estimated})" if plan.estimated else "")
        )

    def _round(self, shown: PlanShown, made: Round) -> None:
        day = day_text(shown.day(made.day))
        self.stdout.write(
            f"{day}, {shown.person(made.technician)}: {hour(made.leave)}–{hour(made.back)}, "
            f"{km(made.metres)} km, {money(made.bill.total)}"
        )
        for number, call in enumerate(made.calls, 1):
            self.stdout.write(_line(shown, call))
            if made.lunch and made.lunch.after == number:
                word = _("lunch")
                self.stdout.write(f"  {hour(made.lunch.start)}–{hour(made.lunch.end)}  {word}")


def _line(shown: PlanShown, call: Call) -> str:
    systems = ", ".join(row.name for row in shown.systems_at(call.stop))
    kind = Kind(shown.work[call.stop].kind).label
    return f"  {hour(call.start)}–{hour(call.leave)}  {shown.place(call.stop)}: {systems} ({kind})"


def said_of_visits(count: int) -> str:
    """Return how many visits an accepted plan made or moved."""
    words = ngettext(
        "accepted: %(count)s visit made or moved", "accepted: %(count)s visits made or moved", count
    )
    return words % {"count": count}


def effort_of(options: dict[str, Any]) -> Effort:
    """Return how long to search. Raises CommandError for what cannot be."""
    seconds = options["seconds"]
    if seconds is None and options["iterations"] is None:
        seconds = SECONDS
    try:
        return Effort(seconds, options["iterations"], options["seed"])
    except ValueError as error:
        said = error.args[0]
        raise CommandError(str(said) if isinstance(said, Text) else str(error)) from error
