"""Rules on fish: feeding, temperature, load, signs, deaths."""

from apps.calc import feed
from apps.calc.advice.doses import dose_explanation
from apps.calc.advice.facts import Facts
from apps.calc.advice.registry import FISH_NOW, FISH_SOON, REST, Act, rule
from apps.calc.advice.results import (
    CLIENT,
    FISH_HEALTH,
    GOOD_TO_KNOW,
    NEXT_VISIT,
    OFFICE,
    SOON,
    TECHNICIAN,
    TODAY,
)

RATE_25_C = 0.5  # g ammonia nitrogen a m2 and day
DEATHS_A_DAY = 0.01
CONVERSION_POOR = 2.2
SIZES_APART = 0.30
NOVICE_END_KG_M3 = 15.0


@rule(
    "flashing_water_good", ref="R19", urgency=SOON, who=FISH_HEALTH, source="practice",
    priority=FISH_SOON, recheck_hours=72, cautions=("no_random_medicine", "biosecurity"),
    wet=False,
)  # fmt: skip
def flashing_water_good(f: Facts) -> Act | None:
    """Fish rub themselves though the readings are good: parasites, or a jump of pH."""
    if not f.has_fish or not f.has("fish_flashing"):
        return None
    good = all(f.word(code) in ("in_band", "near_edge", "measure_again") for code in _WATER)
    return Act({}) if good else None


_WATER = ("tan", "no2", "ph", "do")


@rule(
    "disease_signs", ref="R20", urgency=TODAY, who=FISH_HEALTH, source="practice",
    priority=FISH_SOON, recheck_hours=24, wet=False,
    cautions=("no_random_medicine", "biosecurity", "harvest_hold_if_treated"),
)  # fmt: skip
def disease_signs(f: Facts) -> Act | None:
    """White spots, cotton or sores."""
    if not f.has_fish or not f.has("fish_white_spots", "fish_cotton", "fish_ulcers"):
        return None
    return Act({"transfer": 1.0} if f.s.kind == "decoupled" else {})


@rule(
    "feed_refused", ref="R21", urgency=NEXT_VISIT, who=CLIENT, source="fao589", priority=FISH_SOON,
    recheck_hours=72, answers=("feed_response.low",),
)  # fmt: skip
def feed_refused(f: Facts) -> Act | None:
    """Feed left after half an hour, or a poor response."""
    if not f.has_fish or not (f.has("feed_left") or f.below("feed_response", 2)):
        return None
    return Act({}, feed_percent=70, feed_hours=72)


@rule(
    "too_many_fish", ref="R56", urgency=SOON, who=OFFICE, source="fao589", priority=FISH_SOON,
    recheck_hours=168, answers=("density.high",),
)  # fmt: skip
def too_many_fish(f: Facts) -> Act | None:
    """More fish than a tank of this kind carries, or more ammonia than half the filter takes."""
    if not f.has_fish:
        return None
    densest = min((kind.most_kg_m3 for kind in f.species), default=20.0)
    dense = f.density is not None and f.density > densest
    half = f.filter_g_day is not None and f.tan_g_day is not None
    loaded = half and (f.tan_g_day or 0.0) > 0.5 * (f.filter_g_day or 0.0)
    if not dense and not loaded:
        return None
    params: dict[str, float | str] = {"densest": densest}
    if f.density is not None and f.loop.tank_l:
        params["density"] = f.density
        to = min(NOVICE_END_KG_M3, densest)
        params["harvest_kg"] = max(0.0, f.biomass_kg - to * f.loop.tank_l / 1000)
    if loaded and f.tan_g_day and f.filter_g_day:
        params["share_percent"] = 100 * f.tan_g_day / f.filter_g_day
    return Act(params)


@rule(
    "filter_short", ref="R57", urgency=NEXT_VISIT, who=TECHNICIAN, source="timmons",
    priority=FISH_SOON, recheck_hours=720,
)  # fmt: skip
def filter_short(f: Facts) -> Act | None:
    """The feed makes more ammonia than the media take at this temperature."""
    made, takes, area = f.tan_g_day, f.filter_g_day, f.media_m2
    if made is None or takes is None or area is None or made <= takes:
        return None
    per_m2 = takes / area if area else RATE_25_C
    needed = made / per_m2
    cap = takes / (f.loop.protein * feed.TAN_PER_PROTEIN)
    explanation = dose_explanation(
        "filter_area",
        {"feed_g_day": f.feed_g_day or 0.0, "protein": f.loop.protein, "tan_g_day": made,
         "capacity_g_day": takes, "media_m2": area},
        "timmons", "media_surface",
    )  # fmt: skip
    return Act(
        {"needed_m2": needed, "more_m2": needed - area, "feed_g": cap},
        explanation=explanation,
    )


@rule(
    "too_cold_to_feed", ref="R59", urgency=SOON, who=CLIENT, source="fao589", priority=FISH_SOON,
    recheck_hours=24, answers=("temp.low",),
)  # fmt: skip
def too_cold_to_feed(f: Facts) -> Act | None:
    """Below the species' feeding temperature; the winter rest of hardy fish is no alarm."""
    if not f.has_fish or not f.below("temp", f.feed_min_c):
        return None
    hardy = all(kind.winter_hardy for kind in f.species)
    resting = hardy and not f.below("temp", f.band("temp").red_lo)
    params = {"temp": f.v("temp") or 0.0, "feed_min": f.feed_min_c}
    return Act(
        {**params, "resting": 1.0} if resting else params,
        feed_percent=0,
        feed_hours=24,
        urgency=GOOD_TO_KNOW if resting else None,
    )


@rule(
    "too_hot", ref="R60", urgency=TODAY, who=CLIENT, source="fao589", priority=FISH_SOON,
    recheck_hours=6, answers=("temp.high",), cautions=("air_on",),
)  # fmt: skip
def too_hot(f: Facts) -> Act | None:
    """Within two degrees of the species' highest feeding temperature, or above it."""
    if not f.has_fish or not f.above("temp", f.feed_max_c - 2):
        return None
    beyond = f.above("temp", f.feed_max_c)
    return Act(
        {"temp": f.v("temp") or 0.0, "feed_max": f.feed_max_c},
        feed_percent=0 if beyond else 50,
        feed_hours=24,
    )


@rule(
    "deaths", ref="R61", urgency=TODAY, who=FISH_HEALTH, source="practice", priority=FISH_NOW,
    recheck_hours=12, cautions=("no_random_medicine", "do_not_eat_dead_fish", "biosecurity"),
)  # fmt: skip
def deaths(f: Facts) -> Act | None:
    """More than one in a hundred dead on each of two days running."""
    if not f.fish_count or len(f.loop.deaths) < 2:
        return None
    before, last = f.loop.deaths[-2:]
    running = (last.on - before.on).days == 1 and (f.s.today - last.on).days <= 2
    share = DEATHS_A_DAY * (f.fish_count + last.value)
    if not running or min(before.value, last.value) <= share:
        return None
    return Act({"dead": before.value + last.value}, feed_percent=0, feed_hours=24)


@rule(
    "growth_poor", ref="R64", urgency=NEXT_VISIT, who=TECHNICIAN, source="ksu2021", priority=REST,
    recheck_hours=720, cautions=(),
)  # fmt: skip
def growth_poor(f: Facts) -> Act | None:
    """Feed turned poorly into fish, fish missing, or sizes far apart."""
    if not f.has_fish:
        return None
    params: dict[str, float | str] = {}
    if f.s.feed_conversion is not None and f.s.feed_conversion > CONVERSION_POOR:
        params["conversion"] = f.s.feed_conversion
    spread = _largest_spread(f)
    if spread is not None and spread > SIZES_APART:
        params["spread_percent"] = 100 * spread
    if f.has("fish_missing"):
        params["missing"] = 1.0
    return Act(params) if params else None


def _largest_spread(f: Facts) -> float | None:
    found = []
    for batch in f.loop.fish:
        n = len(batch.weights_g)
        if n >= 5:
            mean = sum(batch.weights_g) / n
            variance = sum((w - mean) ** 2 for w in batch.weights_g) / (n - 1)
            found.append(variance**0.5 / mean)
    return max(found, default=None)


@rule(
    "off_flavour", ref="R70", urgency=GOOD_TO_KNOW, who=CLIENT, source="fao589", priority=REST,
    wet=False, cautions=("discharge",),
)  # fmt: skip
def off_flavour(f: Facts) -> Act | None:
    """Fish taste of earth."""
    return Act({}) if f.has_fish and f.has("fish_off_flavour") else None
