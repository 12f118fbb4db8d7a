"""What a plan rests on: volume, readings and their ages. Each lack names field, value, way out."""

from collections.abc import Mapping

from apps.calc.advice.facts import FRESH_H, ROOM_NEEDED_PCT, SLOW, SLOW_H, USABLE_H, Facts
from apps.calc.advice.guards import BASE_TAN_LIMIT
from apps.calc.dosing_plan.results import (
    ALKALINITY,
    CALCIUM,
    CHLORIDE,
    IRON,
    MAGNESIUM,
    PH,
    PHOSPHORUS,
    POTASSIUM,
    Refusal,
)
from apps.calc.quantities import PARAMETERS
from apps.calc.wording import text as _

# what has to be read within a day; what may be as old as its judgement may
FRESH: Mapping[str, tuple[str, ...]] = {
    ALKALINITY: ("alk", "ph"), PH: ("alk", "ph"), CHLORIDE: ("no2",),
}  # fmt: skip
USABLE: Mapping[str, tuple[str, ...]] = {
    ALKALINITY: ("temp", "tan"), PH: ("temp", "tan"), CALCIUM: ("ca",), POTASSIUM: ("k",),
    MAGNESIUM: ("mg",), IRON: ("fe", "ph"), PHOSPHORUS: ("po4",),
}  # fmt: skip
# what a kit of the usual kind can tell from nothing (the catalogue's resolutions; common practice)
KIT_LIMITS: Mapping[str, float] = {"k": 10.0, "ca": 10.0, "mg": 10.0, "fe": 0.1, "po4": 0.5}


def lacks(f: Facts, goal: str, base_hours_ago: float | None = None) -> list[Refusal]:
    """Return why nothing may be planned for a loop; empty where all that it rests on is there.

    Volume known within 10 %; readings of a base and of nitrite under 24 h old, the others as old
    as their judgement may be; total ammonia at 1 mg/L N or less before a base, and a day since the
    last one (``base_hours_ago`` of the log), for 0.2 pH is a day's most.
    References: fao589, practice.
    """
    found = _volume(f)
    found += [lack for code in FRESH.get(goal, ()) if (lack := _lack(f, code, FRESH_H))]
    for code in USABLE.get(goal, ()):
        lack = _lack(f, code, SLOW_H if code in SLOW else USABLE_H + 1e-9)
        if lack:
            found.append(lack)
    if goal in (ALKALINITY, PH) and base_hours_ago is not None and base_hours_ago < FRESH_H:
        found.append(Refusal("alk", _(
            "By the log a base was given {value} hours ago, and 0.2 pH is the most in {limit} hours. "
            "Wait, then measure again; or drop that advice on the system's page if it was not given.",
            value=round(base_hours_ago), limit=FRESH_H,
        )))  # fmt: skip
    tan = f.v("tan")
    if goal in (ALKALINITY, PH) and tan is not None and tan > BASE_TAN_LIMIT:
        found.append(Refusal("tan", _(
            "Total ammonia stands at {value} mg/L N; above {limit} a base turns it toxic. Bring it "
            "down first: less feed, water changes, air; then measure again.",
            value=tan, limit=BASE_TAN_LIMIT,
        )))  # fmt: skip
    return found


def _volume(f: Facts) -> list[Refusal]:
    litres, within = f.loop.volume_l, f.loop.volume_within_pct
    low, high = PARAMETERS["volume_l"].low, PARAMETERS["volume_l"].high
    if not low <= litres <= high:
        return [Refusal("volume_l", _(
            "Litres of the loop: {value}. Write how many it holds, or put its tanks and beds on "
            "the system's page.", value=float(litres),
        ))]  # fmt: skip
    if within > ROOM_NEEDED_PCT:
        return [Refusal("volume_l", _(
            "The volume of {litres} L is known within {value} % only; a dose asks for {limit} %. "
            "Measure the tanks or time a filling, and note it under the loop's volume.",
            litres=float(litres), value=float(within), limit=ROOM_NEEDED_PCT,
        ))]  # fmt: skip
    return []


def _lack(f: Facts, code: str, oldest_h: float) -> Refusal | None:
    found = f.loop.readings.get(code)
    if found is None:
        return Refusal(code, _("No trusted reading. Measure it, then write it here."))
    if not found.trusted:
        return Refusal(code, _(
            "The reading of {value} is not trusted. Measure again and write it here.",
            value=found.value,
        ))  # fmt: skip
    if found.age_h >= oldest_h:
        # hours up to two days, then days: an age that is read at a glance
        days = oldest_h >= 48
        text = (
            _("The reading of {value} is {age} days old; this plan asks for one of the last "
              "{limit} days. Measure again and write it here.",
              value=found.value, age=round(found.age_h / 24), limit=round(oldest_h / 24))
            if days else
            _("The reading of {value} is {age} hours old; this plan asks for one under {limit} "
              "hours. Measure again and write it here.",
              value=found.value, age=round(found.age_h), limit=round(oldest_h))
        )  # fmt: skip
        return Refusal(code, text)
    return None


def counted(f: Facts, code: str) -> tuple[float, bool]:
    """Return a reading and whether it was below what the kit can tell: then the kit's limit counts.

    So a target is never passed because a kit showed nothing. Errors: ValueError without a reading.
    References: practice.
    """
    value = f.v(code)
    if value is None:
        message = f"{code} must be read first"
        raise ValueError(message)
    limit = KIT_LIMITS.get(code, 0.0)
    return (limit, True) if value < limit else (value, False)


def target_lack(f: Facts, code: str, target: float | None, now: float) -> Refusal | None:
    """Return why a target cannot be: missing, nothing to do, or beyond what is good for the loop."""
    if target is None:
        return Refusal("target", _("Write how far it shall be raised."))
    if target <= now:
        return Refusal("target", _(
            "It stands at {now} already and the target is {value}: nothing is to be added. Write "
            "a higher target if it has to rise.", now=now, value=target,
        ))  # fmt: skip
    high = f.band(code).t_hi
    if high is not None and target > high:
        return Refusal("target", _(
            "A target of {value} lies beyond what is good for this loop, {limit}. Write {limit} or "
            "less.", value=target, limit=high,
        ))  # fmt: skip
    return None
