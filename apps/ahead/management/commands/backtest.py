"""Prints how far the forecasts of the firm's own loops would have been right."""

import datetime as dt
from typing import Any

from django.core.management.base import BaseCommand, CommandParser
from django.utils import timezone

from apps.ahead.selectors import gather
from apps.catalogue.selectors import catalogue_current
from apps.core.clock import now
from apps.systems.models import System


class Command(BaseCommand):
    """manage.py backtest [--on DATE] [--origins N]."""

    help = "Compare the forecasts, made anew as of earlier visits, with what was read later."

    def add_arguments(self, parser: CommandParser) -> None:
        """Take the day, and how many visits of each loop."""
        parser.add_argument(
            "--on", type=dt.date.fromisoformat, help="as of this day; default today"
        )
        parser.add_argument(
            "--origins", type=int, default=6, help="visits of each loop, latest first"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Print the table, or that there is nothing to judge by yet."""
        # numpy is loaded here and never by the web process
        from apps.ahead.engine.backtest import backtest, cases_of, lines

        at = timezone.localtime(now())
        on = options["on"] or at.date()
        at = at.replace(year=on.year, month=on.month, day=on.day)
        ids = list(System.objects.filter(active=True).order_by("pk").values_list("pk", flat=True))
        loops = [
            row.facts for row in gather(ids, catalogue_current(), on, at) if row.facts.volume_l > 0
        ]
        cases = [case for facts in loops for case in cases_of(facts, max(1, options["origins"]))]
        self.stdout.write(f"{len(loops)} loops, {len(cases)} forecasts made anew")
        table = backtest(cases)
        if not table:
            self.stdout.write("no loop has been read often enough to judge a forecast by")
            return
        for line in lines(table):
            self.stdout.write(line)
