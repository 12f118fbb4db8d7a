"""The planner's axis against the clocks, also where they change."""

import datetime as dt

import pytest
from django.utils import timezone

from apps.rounds.models import WorkingHours
from apps.rounds.planning.problem import DAY
from apps.rounds.selectors import axis_of, moment_of
from tests import factories
from tests.rounds.gathering import H, gathered, stop_of
from tests.rounds.world import TODAY, Town, wants


class TestTheAxis:
    """Europe/Brussels leaves summer time on 25 October 2026 at 03:00 (tz database)."""

    @pytest.mark.outside(source="IANA tz database 2025b", kind="memory", tolerance="none")
    @pytest.mark.parametrize(
        ("seconds", "utc"),
        [(8 * H, "2026-10-24T06:00"), (DAY + H, "2026-10-24T23:00"),
         (DAY + 4 * H, "2026-10-25T03:00"), (DAY + 8 * H, "2026-10-25T07:00")],
    )  # fmt: skip
    def test_the_local_clock(self, seconds: int, utc: str) -> None:
        with timezone.override("Europe/Brussels"):
            moment = moment_of(dt.date(2026, 10, 24), seconds)
            assert f"{moment:%Y-%m-%dT%H:%M}" == utc
            assert axis_of(dt.date(2026, 10, 24), moment) == seconds

    @pytest.mark.outside(source="IANA tz database 2025b", kind="memory", tolerance="none")
    def test_an_hour_that_the_clocks_leave_out(self) -> None:
        """On 28 March 2027 they go from 02:00 to 03:00: half past two is half past three."""
        with timezone.override("Europe/Brussels"):
            moment = moment_of(dt.date(2027, 3, 28), 2 * H + 1800)
            assert f"{moment:%H:%M}" == "01:30"
            assert timezone.localtime(moment).hour == 3

    def test_a_visit_in_the_night_of_the_change(self, firm: Town) -> None:
        """It lasts as long as it lasts, whatever the clock shows."""
        saturday = dt.date(2026, 10, 24)
        with timezone.override("Europe/Brussels"):
            start = moment_of(saturday, DAY + H)
            visit = firm.pencil(firm.garden("Heron"), saturday, 23, minutes=240)
            assert visit.start == start
            firm.book(visit)
            found = gathered(saturday, 2)
        stop = stop_of(found, visit)
        assert stop.promise is not None
        assert (stop.promise.window.start, stop.service) == (DAY + H, 4 * H)

    @pytest.mark.parametrize("day", ["2026-10-25", "2027-03-28"])
    def test_a_round_on_the_day_of_the_change(self, firm: Town, day: str) -> None:
        first = dt.date.fromisoformat(day)
        for user in (firm.ana, firm.marek):
            WorkingHours.objects.create(user=user, weekday=7, starts="08:00", ends="16:00")
        wants(firm.garden("Heron"), first)
        from apps.flows.rounds import plan_accept

        with timezone.override("Europe/Brussels"):
            plan = firm.plan(first, 1)
            [visit] = plan_accept(plan=plan, today=TODAY, by=firm.by, at=factories.NOW)
            call = plan.plan["rounds"][0]["calls"][0]
            local = timezone.localtime(visit.start)
            assert local.hour * H + local.minute * 60 == call[3]
            assert 8 <= local.hour < 10
