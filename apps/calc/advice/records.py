"""Rules on readings that cannot be trusted, spoilt feed and harvest holds."""

from apps.calc.advice.facts import Facts
from apps.calc.advice.registry import FISH_SOON, REST, Act, rule
from apps.calc.advice.results import CLIENT, GOOD_TO_KNOW, TECHNICIAN, TODAY

IMPOSSIBLE = frozenset({"outside_range", "not_a_number", "unknown_unit", "oversaturated"})


def _untrusted(f: Facts) -> list[str]:
    return sorted(code for code, r in f.loop.readings.items() if not r.trusted)


@rule(
    "impossible_reading", ref="R75", urgency=TODAY, who=TECHNICIAN, source="practice",
    priority=REST, recheck_hours=1, wet=False,
)  # fmt: skip
def impossible_reading(f: Facts) -> Act | None:
    """A reading outside what can be: a slip of unit or typing. Nothing is advised from it."""
    codes = [c for c in _untrusted(f) if f.loop.readings[c].doubt in IMPOSSIBLE]
    return Act({"measurands": ", ".join(codes)}) if codes else None


@rule(
    "measure_again", urgency=TODAY, who=TECHNICIAN, source="practice", priority=REST,
    recheck_hours=12, wet=False,
)  # fmt: skip
def measure_again(f: Facts) -> Act | None:
    """A reading is not trusted: kit out of date, meter failed, or odd and looked at once."""
    codes = [c for c in _untrusted(f) if f.loop.readings[c].doubt not in IMPOSSIBLE]
    return Act({"measurands": ", ".join(codes)}) if codes else None


@rule(
    "feed_spoilt", ref="R67", urgency=TODAY, who=CLIENT, source="practice", priority=FISH_SOON,
    once=True, wet=False,
)  # fmt: skip
def feed_spoilt(f: Facts) -> Act | None:
    """Feed mouldy, rancid or past its date."""
    return Act({}) if f.has("feed_mould", "feed_rancid", "feed_out_of_date") else None


@rule(
    "harvest_hold", urgency=GOOD_TO_KNOW, who=CLIENT, source="practice", priority=FISH_SOON,
    once=True, wet=False,
)  # fmt: skip
def harvest_hold(f: Facts) -> Act | None:
    """A treatment's harvest hold has not ended."""
    running = [hold for hold in f.s.holds if hold.until >= f.s.today]
    if not running:
        return None
    last = max(running, key=lambda hold: hold.until)
    return Act({"product": last.product, "until": last.until.isoformat(), "touches": last.touches})
