"""Rules on power cuts, the backup and fault currents. Electricity goes before everything."""

from apps.calc.advice.doses import dose_explanation
from apps.calc.advice.facts import Facts
from apps.calc.advice.registry import ELECTRICITY, FISH_NOW, FISH_SOON, Act, rule
from apps.calc.advice.results import CLIENT, ELECTRICIAN, NOW, SOON, TECHNICIAN


@rule(
    "power_cut", ref="R51", urgency=NOW, who=CLIENT, source="practice", priority=FISH_NOW,
    recheck_hours=0.25, cautions=("air_on",),
)  # fmt: skip
def power_cut(f: Facts) -> Act | None:
    """The power is out where fish live."""
    out = f.s.outage_minutes
    if out is None or not f.has_fish:
        return None
    params: dict[str, float | str] = {"out": out}
    explanation = None
    if f.minutes_without_air is not None:
        params["minutes"] = f.minutes_without_air
        if out > f.minutes_without_air:
            params["past"] = 1.0
        explanation = dose_explanation(
            "minutes_without_air",
            {"do": f.v("do") or 0.0, "temp": f.v("temp") or 0.0, "biomass_kg": f.biomass_kg,
             "volume_l": f.loop.volume_l, "limit": f.oxygen_limit},
            "practice", "surface_ignored", "others_breathe",
        )  # fmt: skip
    return Act(params, explanation=explanation, feed_percent=0, feed_hours=24)


@rule(
    "fault_current", ref="R74", urgency=NOW, who=ELECTRICIAN, source="fao589",
    priority=ELECTRICITY, once=True, wet=False, cautions=("electrician_only",),
)  # fmt: skip
def fault_current(f: Facts) -> Act | None:
    """A tingle, or an RCD that trips again and again."""
    return Act({}) if f.has("electric_tingle", "rcd_trips_again") else None


@rule(
    "rcd_dead", urgency=NOW, who=ELECTRICIAN, source="fao589", priority=ELECTRICITY, once=True,
    wet=False, cautions=("electrician_only",),
)  # fmt: skip
def rcd_dead(f: Facts) -> Act | None:
    """The RCD does not trip at its test button."""
    return Act({}) if f.has("rcd_does_not_trip") else None


@rule(
    "backup_battery_low", urgency=SOON, who=TECHNICIAN, source="practice", priority=FISH_SOON,
    recheck_hours=72, answers=("batt.low",), cautions=("battery",), wet=False,
)  # fmt: skip
def backup_battery_low(f: Facts) -> Act | None:
    """The backup battery is out of its band."""
    if not f.below("batt", f.band("batt").amber_lo):
        return None
    return Act({"volts": f.v("batt") or 0.0})
