"""Sizes of a coupled system from a wish and a site, by the firm's own sizing rules."""

import math
from collections.abc import Mapping
from dataclasses import dataclass

from apps.calc import carbonate, feed, filtration, hydraulics, oxygen
from apps.calc.design.wish import BY_BEDS, BY_FISH, Site, Wish
from apps.calc.species import Species, species_named

Rules = Mapping[str, tuple[float, float]]

FISH_MONTHS = 12
FINGERLING_G = 20.0  # as usually bought (common practice)
BEDS_OF_ROOM = 0.5  # of the floor, the rest is tank and ways (common practice)
GRAVEL_DEPTH_M, GRAVEL_VOIDS, GRAVEL_WET = 0.3, 0.45, 0.83  # the dry top leaves five sixths
CHANNEL_L_M2 = 10.0  # a film of a centimetre (common practice)
NOVICE_KG_M3 = 15.0  # the middle of 10 to 20 (FAO 589)
FILTER_LOAD = 0.5  # share of a filter's capacity that is used (common practice)
VESSEL_PER_MEDIA = (
    2.0  # litres of vessel a litre of moving carriers, which fill half of it (common practice)
)
PEAK_AFTER_FEED = 1.4  # of the day's mean oxygen (common practice)
AIR_MARGIN = (1.5, 2.0)
AIR_CHOSEN = 0.12  # g oxygen an hour per L/min at 5 mg/L and 29 °C: the catalogue's own reckoning
PIPES_MM = (21.2, 28.0, 36.0, 45.2, 57.0, 67.8)  # inner diameters of common pressure pipe
MOST_VELOCITY = 1.0  # m/s in a pressure pipe (common practice)
FITTINGS_K = 8.0  # bends, valve, tee and outlet of a short rising pipe (common practice)
CYCLES_H = (1.0, 3.0, 4.0)  # floods of a gravel bed: timer, usual, most
RAFT_HOURS = (4.0, 2.0, 1.0)  # in which a raft's water is renewed
SETTLER_DEPTH_M, LEAST_SETTLER_M = 0.8, 0.6  # (common practice)
UPTAKE_N = {"leafy": 0.3, "fruiting": 0.6}  # g N/m2/day (computed from yields; assumption)
AIR_WATTS = (0.6, 0.9, 1.2)  # W per L/min (common practice)
# of what a circuit gives, for what runs for hours (common practice); from so much on it is asked
# about where nobody has looked (own choice)
SUPPLY_SHARE, ASKED_W = 0.8, 1000.0
# water 0.9 m deep; a full gravel bed 0.3 m deep with box and plants; raft water 0.3 m deep (computed)
FLOOR_KG_M2 = {"tank": 900.0, "gravel_bed": 620.0, "raft": 300.0, "channel": 100.0}
FULL_OXYGEN = 0.85  # (common practice) of saturation, when the air stops


def rough(value: float) -> float:
    """Return a size with the two digits that it can mean.

    >>> rough(1344.6), rough(0.087), rough(0)
    (1300.0, 0.087, 0.0)
    """
    if value == 0:
        return 0.0
    digits = 1 - math.floor(math.log10(abs(value)))
    return float(round(value, digits))


@dataclass(frozen=True)
class Sized:
    """One size: from, to, and the one chosen, in its unit; by which rule of the catalogue."""

    code: str
    low: float
    high: float
    chosen: float
    unit: str
    rule: str


@dataclass(frozen=True)
class Doubt:
    """A warning or two rules that differ, by code, with its figures."""

    code: str
    figures: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True)
class Design:
    """A system on paper: sizes by code, doubts, and what would stop it."""

    sizes: tuple[Sized, ...]
    doubts: tuple[Doubt, ...]

    def of(self, code: str) -> Sized:
        """Return one size; KeyError for one that this design has not."""
        return {size.code: size for size in self.sizes}[code]

    def has(self, code: str) -> bool:
        """Tell whether this design has that size."""
        return any(size.code == code for size in self.sizes)


@dataclass(frozen=True)
class _Load:
    """What all else follows from: beds, feed, fish, and the temperature to work at."""

    bed_m2: float
    feed: Sized
    fish: Sized
    temp_c: float
    kind: Species
    protein: float


def size(wish: Wish, site: Site, rules: Rules) -> Design:
    """Return the sizes that a wish asks for at a site.

    ``rules``: (from, to) of the catalogue's sizing entries by code. Ranges follow the ends of the
    rules; what is chosen is the middle, or the careful side where a mistake costs fish.
    ValueError where the wish or the site is out of range, or a rule is missing (KeyError).
    References: fao589, rakocy2007, timmons, srac282, practice.
    """
    load = _load(wish, site, rules)
    tank = _tank(load, rules)
    filters = _filter(wish, site, load, rules)
    water = _water(wish, load, tank, filters, rules)
    sizes = [
        Sized("beds", load.bed_m2, load.bed_m2, load.bed_m2, "m²", _bed_rule(wish)),
        load.feed, load.fish, tank, _count(load), *filters,
        *_air(load, rules), *water, *_heater(site, load, water, rules),
        *_stores(wish, load, water, rules), *_harvest(wish, load),
    ]  # fmt: skip
    found = {item.code: item for item in sizes}
    sizes += [_power(found), _without_air(site, load, found)]
    return Design(tuple(sizes), tuple(_doubts(wish, site, load, {s.code: s for s in sizes}, rules)))


def _bed_rule(wish: Wish) -> str:
    return (
        "feed_per_raft_area" if wish.bed_kind == "channel" else f"feed_per_{wish.crop_group}_area"
    )


def _per_m2(wish: Wish, rules: Rules) -> tuple[float, float]:
    low, high = rules[f"feed_per_{wish.crop_group}_area"]
    # a channel carries about a quarter of a raft's feed (Rakocy 2007)
    return (low / 4, high / 4) if wish.bed_kind == "channel" else (low, high)


def _load(wish: Wish, site: Site, rules: Rules) -> _Load:
    kind = species_named(wish.species)
    temp = min(max(site.winter_c, kind.best_low_c), kind.best_high_c)
    per_low, per_high = _per_m2(wish, rules)
    share_low, share_high = rules["grow_out_feed"]
    share = (share_low + share_high) / 2
    if wish.by == BY_FISH:
        biomass = wish.amount * _months(kind, temp) / FISH_MONTHS
        fed = biomass * share * 10
        bed_m2 = fed / ((per_low + per_high) / 2)
        given = Sized("feed", biomass * share_low * 10, biomass * share_high * 10, fed, "g/day",
                      "grow_out_feed")  # fmt: skip
        fish = Sized("fish", biomass, biomass, biomass, "kg", "grow_out_feed")
    else:
        bed_m2 = wish.amount * (1.0 if wish.by == BY_BEDS else BEDS_OF_ROOM)
        fed = bed_m2 * (per_low + per_high) / 2
        given = Sized("feed", bed_m2 * per_low, bed_m2 * per_high, fed, "g/day", _bed_rule(wish))
        fish = Sized("fish", fed / share_high / 10, fed / share_low / 10, fed / share / 10, "kg",
                     "grow_out_feed")  # fmt: skip
    return _Load(bed_m2, given, fish, temp, kind, (kind.protein_low + kind.protein_high) / 2)


def _months(kind: Species, temp_c: float) -> float:
    """Return the months from a fingerling to the size at which the species is eaten."""
    grown = kind.market_g or 500.0
    days = (math.cbrt(grown) - math.cbrt(FINGERLING_G)) / (kind.tgc / 1000 * temp_c)
    return min(24.0, days / 30.4)


def _tank(load: _Load, rules: Rules) -> Sized:
    low, high = rules["fish_density"]
    chosen = min(NOVICE_KG_M3, load.kind.most_kg_m3)
    kg = load.fish.chosen * 1000
    return Sized("tank", kg / high, kg / min(low, chosen), kg / chosen, "L", "fish_density")


def _count(load: _Load) -> Sized:
    each = (load.kind.market_g or 500.0) / 1000
    ends = (load.fish.low / each, load.fish.high / each, load.fish.chosen / each)
    return Sized("count", *ends, "", "fish_density")


def _filter(wish: Wish, site: Site, load: _Load, rules: Rules) -> list[Sized]:
    """Return the ammonia, the surface that takes it when it is coldest, and what media hold it."""
    tan = feed.tan_g_day(load.feed.chosen, load.protein)
    least, most = rules["media_nitrification"]
    coldest = max(site.winter_c, load.kind.feed_min_c)
    warmth = filtration.temperature_factor(coldest)
    need = tan / (filtration.REFERENCE_RATE * warmth * FILTER_LOAD)
    found = [
        Sized("tan", tan, tan, tan, "g/day", "tan_made"),
        Sized("media_area", tan / (most * warmth), tan / (least * warmth) / FILTER_LOAD, need,
              "m²", "media_nitrification"),
    ]  # fmt: skip
    gravel = load.bed_m2 * GRAVEL_DEPTH_M * 1000 if wish.bed_kind == "gravel_bed" else 0.0
    short = need - filtration.media_area_m2("gravel", gravel)
    if short > 0:
        surface_low, surface_high = rules["surface_moving_media"]
        ends = (short / surface_high * 1000, short / surface_low * 1000)
        found.append(Sized("moving_bed", *ends, ends[1], "L", "surface_moving_media"))
    return found


def _air(load: _Load, rules: Rules) -> list[Sized]:
    low, high = rules["oxygen_per_feed"]
    ends = (load.feed.chosen * low, load.feed.chosen * high)
    day = sum(ends) / 2
    peak = day / 24 * PEAK_AFTER_FEED
    worst, best = rules["air_transfer"]
    return [
        Sized("oxygen", *ends, day, "g/day", "oxygen_per_feed"),
        Sized("air", peak / best * AIR_MARGIN[0], peak / worst * AIR_MARGIN[1],
              peak / AIR_CHOSEN * AIR_MARGIN[0], "L/min", "air_transfer"),
    ]  # fmt: skip


def _bed_water(wish: Wish, load: _Load, rules: Rules) -> tuple[float, float]:
    """Return the litres in the beds when full, and those that run down when the pump stops."""
    if wish.bed_kind == "gravel_bed":
        pores = load.bed_m2 * GRAVEL_DEPTH_M * GRAVEL_WET * GRAVEL_VOIDS * 1000
        return pores, pores
    if wish.bed_kind == "raft":
        return load.bed_m2 * rules["raft_depth"][0] * 1000, 0.0
    return load.bed_m2 * CHANNEL_L_M2, load.bed_m2 * CHANNEL_L_M2


def _flow(wish: Wish, tank: Sized, beds_l: float, rules: Rules) -> Sized:
    slow, fast = rules["tank_turnover"]
    if wish.bed_kind == "gravel_bed":
        beds = tuple(beds_l * cycles for cycles in CYCLES_H)
    elif wish.bed_kind == "raft":
        beds = tuple(beds_l / hours for hours in RAFT_HOURS)
    else:
        beds = (0.0, 0.0, 0.0)
    low, usual, high = beds
    return Sized("flow", max(tank.chosen * slow, low), max(tank.chosen * fast, high),
                 max(tank.chosen * fast, usual), "L/h", "tank_turnover")  # fmt: skip


def _water(wish: Wish, load: _Load, tank: Sized, filters: list[Sized], rules: Rules) -> list[Sized]:
    beds_l, runs_down = _bed_water(wish, load, rules)
    flow = _flow(wish, tank, beds_l, rules)
    found = [Sized("bed_water", beds_l, beds_l, beds_l, "L", "bed_depth"), flow]
    settler_l = 0.0
    if wish.bed_kind != "gravel_bed":
        heavy, light = rules["settler_load"][1], rules["settler_load"][0]
        least = math.pi / 4 * LEAST_SETTLER_M**2
        smallest, largest, area = (
            max(least, hydraulics.settler_m2(flow.chosen, load_m))
            for load_m in (heavy, light, (heavy + light) / 2)
        )
        low, high, across = map(hydraulics.circle_m, (smallest, largest, area))
        found.append(Sized("settler", low, high, across, "m", "settler_load"))
        settler_l = area * SETTLER_DEPTH_M * 1000
        found.append(Sized("settler_water", settler_l, settler_l, settler_l, "L", "settler_load"))
    margin = rules["sump_margin"][0]
    sump = max(runs_down * margin, tank.chosen * 0.15)
    found.append(Sized("sump", max(runs_down * margin, tank.chosen * 0.1),
                       max(runs_down * margin * 1.25, tank.chosen * 0.25), sump, "L",
                       "sump_margin"))  # fmt: skip
    media_l = sum(item.chosen for item in filters if item.code == "moving_bed")
    whole = tank.chosen + beds_l + settler_l + media_l * VESSEL_PER_MEDIA + sump / 2
    found.append(Sized("volume", whole * 0.9, whole * 1.1, whole, "L", "make_up"))
    return found


def pipe_for(flow_l_h: float) -> float:
    """Return the smallest common inner diameter [mm] in which that flow stays under 1 m/s.

    >>> pipe_for(3000)
    36.0
    """
    for diameter in PIPES_MM:
        if flow_l_h / 3.6e6 / (math.pi / 4 * (diameter / 1000) ** 2) <= MOST_VELOCITY:
            return diameter
    return PIPES_MM[-1]


def pump_for(flow_l_h: float, site: Site, temp_c: float) -> hydraulics.Pumping:
    """Return the duty point of the pump for that flow [L/h] through the pipe that fits."""
    return hydraulics.pump_head(
        flow_l_h, pipe_for(flow_l_h), site.pipe_m, FITTINGS_K, site.lift_m, temp_c
    )


def _heater(site: Site, load: _Load, water: list[Sized], rules: Rules) -> list[Sized]:
    by = {item.code: item for item in water}
    pump = pump_for(by["flow"].chosen, site, load.temp_c)
    margin = rules["pump_margin"][0]
    found = [
        Sized("pipe", pipe_for(by["flow"].low), pipe_for(by["flow"].high),
              pipe_for(by["flow"].chosen), "mm", "pump_margin"),
        Sized("head", site.lift_m, max(site.lift_m * 1.3, pump.head_m), pump.head_m, "m", "pump_margin"),
        Sized("pump", by["flow"].chosen, by["flow"].chosen * margin, by["flow"].chosen * 1.25,
              "L/h", "pump_margin"),
        Sized("pump_watts", pump.watts * 0.75, pump.watts * 1.5, pump.watts, "W", "pump_margin"),
    ]  # fmt: skip
    lacking = load.kind.feed_min_c - site.winter_c
    if lacking > 0 and not load.kind.winter_hardy:
        low, high = rules["heater_power"]
        litres = by["volume"].chosen
        ends = (litres * lacking * low, litres * lacking * high)
        found.append(Sized("heater", *ends, ends[1], "W", "heater_power"))
    return found


def _stores(wish: Wish, load: _Load, water: list[Sized], rules: Rules) -> list[Sized]:
    volume = next(item.chosen for item in water if item.code == "volume")
    taken = min(load.bed_m2 * UPTAKE_N[wish.crop_group],
                feed.tan_g_day(load.feed.chosen, load.protein))  # fmt: skip
    gross = feed.alkalinity_use_g_day(load.feed.chosen, load.protein)
    net = feed.alkalinity_use_g_day(load.feed.chosen, load.protein, taken)
    strength = carbonate.SALTS["KHCO3"].strength
    little, much, base = (30 * x / strength / 1000 for x in (net / 2, gross, net))
    low, high = rules["make_up"]
    used = (volume * low / 100 + 2 * load.bed_m2, volume * high / 100 + 6 * load.bed_m2)
    thin, thick = rules["sludge_made"]
    week = load.feed.chosen * 7 / 1000
    return [
        Sized("base", little, much, base, "kg a month", "alkalinity_use"),
        Sized("top_up", *used, sum(used) / 2, "L/day", "make_up"),
        Sized("sludge", week * thin, week * thick, week * (thin + thick) / 2, "L a week",
              "sludge_made"),
        Sized("feed_month", load.feed.low * 0.03, load.feed.high * 0.03, load.feed.chosen * 0.03,
              "kg a month", "grow_out_feed"),
    ]  # fmt: skip


def _harvest(wish: Wish, load: _Load) -> list[Sized]:
    crops = FISH_MONTHS / _months(load.kind, load.temp_c)
    few, many, usual = (
        x * crops for x in (load.fish.low * 0.8, load.fish.high, load.fish.chosen * 0.9)
    )
    found = []
    if load.kind.market_g:
        found.append(Sized("fish_year", few, many, usual, "kg a year", "fish_density"))
    if wish.crop_group == "leafy":
        fewest, most = wish.heads_per_m2
        soon, late = wish.growing_days
        ends = (load.bed_m2 * fewest * 7 / late, load.bed_m2 * most * 7 / soon)
        found.append(Sized("heads_week", ends[0] * 0.8, ends[1], sum(ends) / 2 * 0.9, "",
                           "leafy_plants_per_area"))  # fmt: skip
    else:
        low, high = 4.0, 8.0
        ends = (load.bed_m2 * low, load.bed_m2 * high)
        found.append(Sized("plants", *ends, ends[0], "", "fruiting_plants_per_area"))
    return found


def _power(by: Mapping[str, Sized]) -> Sized:
    """Return the energy of pump and air a day; a heater's depends on the weather."""
    pump, air = by["pump_watts"], by["air"].chosen
    low, high, usual = (
        (p + air * w) * 24 / 1000
        for p, w in (
            (pump.low, AIR_WATTS[0]),
            (pump.high, AIR_WATTS[2]),
            (pump.chosen, AIR_WATTS[1]),
        )
    )
    return Sized("energy", low, high, usual, "kWh/day", "pump_margin")


def _without_air(site: Site, load: _Load, by: Mapping[str, Sized]) -> Sized:
    """Return the minutes that the fish have when pump and air stop on the hottest day."""
    hot = min(site.summer_c, 40.0)
    full = FULL_OXYGEN * oxygen.saturation_mg_l(hot, site.altitude_m)
    limit = load.kind.oxygen_limit_mg_l
    rested, fed = (
        oxygen.minutes_without_air(full, hot, load.fish.chosen, by["tank"].chosen, limit, fed=f)
        for f in (False, True)
    )
    return Sized("minutes", fed, rested, fed, "min", "oxygen_per_feed")


def _doubts(
    wish: Wish, site: Site, load: _Load, by: Mapping[str, Sized], rules: Rules
) -> list[Doubt]:
    kind, found = load.kind, []
    if site.summer_c > kind.feed_max_c:
        found.append(Doubt("too_hot", (("summer", site.summer_c), ("limit", kind.feed_max_c))))
    if site.winter_c < kind.dies_below_c and not by.get("heater"):
        found.append(Doubt("too_cold", (("winter", site.winter_c), ("limit", kind.dies_below_c))))
    if by.get("heater"):
        found.append(Doubt("heated", (("watts", by["heater"].chosen),)))
    found += _supply(site, by)
    floor = site.floor_kg_m2
    heaviest = max(FLOOR_KG_M2["tank"], FLOOR_KG_M2[wish.bed_kind])
    if floor is not None and floor < heaviest:
        found.append(Doubt("floor", (("load", heaviest), ("floor", floor))))
    if site.source_alkalinity is None:
        found.append(Doubt("source_unknown"))
    elif site.source_alkalinity > 250:
        found.append(Doubt("source_hard", (("alkalinity", site.source_alkalinity),)))
    if by["minutes"].chosen < 60:
        found.append(Doubt("backup_air", (("minutes", by["minutes"].chosen),)))
    return found + _rules_apart(wish, load, rules)


def _supply(site: Site, by: Mapping[str, Sized]) -> list[Doubt]:
    """Return whether pump, air and heater together are more than the circuit gives for hours."""
    needed = by["pump_watts"].chosen + by["air"].chosen * AIR_WATTS[1]
    needed += by["heater"].chosen if "heater" in by else 0.0
    if site.supply_w is None:
        return [Doubt("power_unknown", (("needed", needed),))] if needed > ASKED_W else []
    if needed > SUPPLY_SHARE * site.supply_w:
        return [Doubt("power_over", (("needed", needed), ("supply", site.supply_w)))]
    return []


def _rules_apart(wish: Wish, load: _Load, rules: Rules) -> list[Doubt]:
    """Return what other rules would give: beds for this feed, and nitrogen that plants leave."""
    found = []
    low, high = rules["feed_per_raft_area"]
    if wish.bed_kind != "channel":
        found.append(Doubt("raft_rule", (("low", load.feed.chosen / high), ("high", load.feed.chosen / low))))  # fmt: skip
    made = feed.tan_g_day(load.feed.chosen, load.protein)
    taken = load.bed_m2 * UPTAKE_N[wish.crop_group]
    if made > 1.5 * taken:
        found.append(Doubt("nitrogen_left", (("made", made), ("taken", taken))))
    return found
