"""Small systems to advise on, and the catalogue's bands."""

from dataclasses import replace
from datetime import date, timedelta
from functools import cache, lru_cache
from pathlib import Path

import yaml

from apps.calc.advice import Assessment, Crop, Fish, Loop, Media, Past, Reading, Situation, Source
from apps.calc.advice import assess as assess_with
from apps.calc.judgement import Band

DATA = Path(__file__).resolve().parents[3] / "apps" / "catalogue" / "data"
TODAY = date(2025, 7, 1)
GOOD = {"temp": 27.0, "ph": 6.7, "alk": 80.0, "tan": 0.2, "no2": 0.05, "no3": 35.0, "do": 6.4,
        "ec": 0.8}  # fmt: skip
LIMITS = ("red_lo", "amber_lo", "t_lo", "t_hi", "amber_hi", "red_hi")


@cache
def rows(name: str) -> list[dict]:
    return yaml.safe_load((DATA / f"{name}.yaml").read_text(encoding="utf-8"))


@lru_cache(maxsize=1)
def bands() -> dict[tuple[str, str], Band]:
    return {
        (row["measurand"], row["context"]): Band(*(row[k] for k in LIMITS), row["context"])
        for row in rows("bands")
    }


def fish(species="nile_tilapia", kg=12.0, weight=200.0, **more) -> Fish:
    return Fish(species, round(kg * 1000 / weight), weight, **more)


def readings(values: dict, **more) -> dict[str, Reading]:
    return {k: v if isinstance(v, Reading) else Reading(v, **more) for k, v in values.items()}


def past(*values: float, every: int = 7) -> tuple[Past, ...]:
    n = len(values)
    return tuple(Past(TODAY - timedelta(days=every * (n - i)), v) for i, v in enumerate(values))


def loop(values=None, *, kind="whole", crops=None, **more) -> Loop:
    beds = (Crop("lettuce_head", "leafy", 4.0),) if crops is None else crops
    defaults = {
        "volume_l": 1200.0,
        "tank_l": 800.0,
        "fish": (fish(),),
        "media": (Media("gravel", 1200),),
        "feed_g_day": 180.0,
    }
    return Loop("a", kind, readings=readings({**GOOD} if values is None else values), crops=beds,
                **{**defaults, **more})  # fmt: skip


def situation(values=None, *, system="coupled", of_loop=None, **more) -> Situation:
    """A system whose loop reads well but for ``values``; loop fields by ``of_loop``."""
    merged = {**GOOD, **(values or {})}
    merged = {k: v for k, v in merged.items() if v is not None}
    defaults = {"source": Source(7.2, 60, temp_c=26.0), "filter_age_days": 400}
    return Situation(system, TODAY, (loop(merged, **(of_loop or {})),), **{**defaults, **more})


def at_volume(base: Situation, litres: float) -> Situation:
    return replace(base, loops=tuple(replace(one, volume_l=litres) for one in base.loops))


def assess(base: Situation) -> Assessment:
    return assess_with(base, bands())


def codes(base: Situation) -> set[str]:
    return {one.rule for one in assess(base).advice}


def advice_of(base: Situation, rule: str):
    return next((one for one in assess(base).advice if one.rule == rule), None)


LOOP_FIELDS = {
    "kind", "crops", "fish", "history", "volume_l", "volume_within_pct", "tank_l", "second",
    "ph_swing", "media", "feed_g_day", "fed_hours_ago", "air_l_min", "given_7d", "deaths",
    "protein",
}  # fmt: skip


def s(values=None, **fields) -> Situation:
    """A system by what differs from a good one: readings, loop fields, fields of the system."""
    of_loop = {k: v for k, v in fields.items() if k in LOOP_FIELDS}
    rest = {k: v for k, v in fields.items() if k not in LOOP_FIELDS}
    if "signs" in rest:
        rest["signs"] = frozenset(rest["signs"].split())
    return situation(values, of_loop=of_loop, **rest)
