"""What is worked out from the readings, each figure with how it came about."""

import math

from apps.calc import carbonate, feed, growth, oxygen
from apps.calc.advice.facts import Facts
from apps.calc.advice.results import Derived, Explanation
from apps.calc.judgement import DAILY_PH_RISE


def derive(f: Facts) -> list[Derived]:
    """Return the derived values of a loop; what lacks an input, or lies outside a formula's
    range, is left out."""
    made = [
        *_ammonia(f),
        *_oxygen(f),
        *_carbon_dioxide(f),
        *_fish(f),
        *_load(f),
        *_air_time(f),
        *_days(f),
    ]
    return [one for one in made if math.isfinite(one.value)]


def _one(
    f: Facts, code: str, value: float, unit: str, inputs: dict[str, float],
    sources: tuple[str, ...], *, valid: str = "", assumed: tuple[str, ...] = (),
    low: float | None = None, high: float | None = None,
) -> Derived:  # fmt: skip
    explanation = Explanation(code, inputs, sources, valid, assumed)
    return Derived(code, f.loop.id, value, unit, explanation, low, high)


def _ammonia(f: Facts) -> list[Derived]:
    if f.nh3 is None or f.nh3_highest is None or f.plant_water:
        return []
    inputs = {"tan": f.v("tan") or 0.0, "ph": f.v("ph") or 0.0, "temp": f.v("temp") or 0.0}
    raised = {**inputs, "ph": inputs["ph"] + DAILY_PH_RISE}
    return [
        _one(f, "nh3", f.nh3, "mg/L", inputs, ("emerson1975",), valid="0-50 °C"),
        _one(
            f, "nh3_highest", f.nh3_highest, "mg/L", raised, ("emerson1975", "practice"),
            valid="0-50 °C", assumed=("afternoon_ph",),
        ),
    ]  # fmt: skip


def _oxygen(f: Facts) -> list[Derived]:
    temp, do = f.v("temp"), f.v("do")
    if temp is None:
        return []
    inputs = {"temp": temp, "altitude_m": f.s.altitude_m}
    full = oxygen.saturation_mg_l(temp, f.s.altitude_m)
    made = [_one(f, "do_saturation", full, "mg/L", inputs, ("benson1984",), valid="0-40 °C")]
    if do is not None and f.do_pct is not None:
        made.append(_one(f, "do_pct", f.do_pct, "%", {**inputs, "do": do}, ("benson1984",)))
    return made


def _carbon_dioxide(f: Facts) -> list[Derived]:
    alk, ph, temp = f.v("alk"), f.v("ph"), f.v("temp")
    if alk is None or ph is None or temp is None or not 6.0 <= ph <= 8.5:
        return []
    value = carbonate.co2_mg_l(alk, ph, temp)
    inputs = {"alk": alk, "ph": ph, "temp": temp}
    sources = ("plummer1982", "davies1962")
    return [_one(f, "co2", value, "mg/L", inputs, sources, valid="pH 6-8.5")]


def _fish(f: Facts) -> list[Derived]:
    if not f.has_fish:
        return []
    low, high = _biomass_range(f)
    count = {"count": float(f.fish_count)}
    made = [_one(f, "biomass", f.biomass_kg, "kg", count, ("student1908",), low=low, high=high)]
    if f.density is not None and f.loop.tank_l:
        inputs = {"biomass": f.biomass_kg, "tank_l": f.loop.tank_l}
        made.append(_one(f, "density", f.density, "kg/m³", inputs, ("fao589",)))
    if f.ration_g_day is not None:
        inputs = {"biomass": f.biomass_kg, "temp": f.v("temp") or 0.0}
        sources = ("srac282", "fao589", "practice")
        made.append(_one(f, "ration", f.ration_g_day, "g/day", inputs, sources))
    return made


def _biomass_range(f: Facts) -> tuple[float | None, float | None]:
    """Return the 95 % interval of the biomass where every batch has a sample."""
    samples = [b for b in f.loop.fish if b.count]
    if not samples or any(not 2 <= len(b.weights_g) <= b.count for b in samples):
        return None, None
    found = [growth.biomass(b.weights_g, b.count) for b in samples]
    return sum(b.kg_low for b in found), sum(b.kg_high for b in found)


def _load(f: Facts) -> list[Derived]:
    made: list[Derived] = []
    fed = f.feed_g_day
    if not fed or not f.has_fish or f.tan_g_day is None:
        return made
    inputs = {"feed": fed, "protein": f.loop.protein}
    made.append(_one(f, "tan_load", f.tan_g_day, "g/day", inputs, ("timmons",)))
    used = feed.alkalinity_use_g_day(fed, f.loop.protein)
    made.append(_one(f, "alkalinity_use", used, "g/day", inputs, ("ebeling2006",),
                     assumed=("plants_give_back_part",)))  # fmt: skip
    breathed = feed.oxygen_g_day(fed)
    made.append(_one(f, "oxygen_demand", breathed, "g/day", {"feed": fed}, ("timmons",)))
    if f.filter_g_day is not None and f.media_m2 is not None and f.filter_g_day > 0:
        of = {"media_m2": f.media_m2, "temp": f.v("temp") or 0.0}
        sources = ("fao589", "timmons", "rusten2006")
        made.append(_one(f, "filter_capacity", f.filter_g_day, "g/day", of, sources))
        share = 100 * f.tan_g_day / f.filter_g_day
        of = {"tan_load": f.tan_g_day, "filter_capacity": f.filter_g_day}
        made.append(_one(f, "filter_share", share, "%", of, sources))
    if f.feed_per_area is not None:
        of = {"feed": fed, "area_m2": f.bed_m2}
        made.append(_one(f, "feed_area", f.feed_per_area, "g/m²/day", of, ("fao589",)))
    return made


def _air_time(f: Facts) -> list[Derived]:
    if f.minutes_without_air is None:
        return []
    inputs = {
        "do": f.v("do") or 0.0,
        "temp": f.v("temp") or 0.0,
        "biomass": f.biomass_kg,
        "volume_l": f.loop.volume_l,
        "limit": f.oxygen_limit,
    }
    assumed = ("surface_ignored", "others_breathe")
    return [_one(f, "minutes_without_air", f.minutes_without_air, "min", inputs, ("practice",),
                 assumed=assumed)]  # fmt: skip


def _days(f: Facts) -> list[Derived]:
    made: list[Derived] = []
    for code, events in (
        ("days_since_visit", ("visited",)),
        ("days_since_clean", ("filter_cleaned", "bed_cleaned", "settler_drained")),
    ):
        days = f.days_since(*events)
        if days is not None:
            made.append(_one(f, code, float(days), "days", {}, ()))
    if f.s.filter_age_days is not None and f.cycling:
        made.append(_one(f, "cycling_day", float(f.s.filter_age_days), "days", {}, ()))
    return made
