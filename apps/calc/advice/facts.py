"""The facts of one loop as the rules read them: trusted values, bands, fish, load, trends."""

from collections.abc import Mapping
from functools import cached_property

from apps.calc import ammonia, feed, filtration, growth, judgement, oxygen
from apps.calc.advice.situation import Loop, Reading, Situation
from apps.calc.judgement import Band, LoopContext
from apps.calc.species import Species, species_table

Bands = Mapping[tuple[str, str], Band]

FRESH_H = 24.0  # a dose asks for a reading not older than this
USABLE_H = 72.0  # a judgement may rest on one not older than this
SLOW_H = 30 * 24.0  # and on these, which change in weeks
SLOW = frozenset({"no3", "k", "ca", "mg", "po4", "fe", "na", "cl", "gh", "bw", "bed_sludge"})
YOUNG_DAYS = 45  # a filter younger than this is left alone (common practice)
NO_FEED_WARM, NO_FEED_COLD = 5.0, 6.5  # mg/L oxygen below which fish are not fed (FAO 589)
ROOM_NEEDED_PCT = 10.0  # a volume is known when it is known within this


class Facts:
    """One loop of a situation, read by the rules. Everything is worked out when first asked."""

    def __init__(self, situation: Situation, loop: Loop, bands: Bands) -> None:
        """Look at ``loop`` of ``situation`` through ``bands`` by (measurand, context)."""
        self.s = situation
        self.loop = loop
        self.bands = bands

    # --- readings
    def reading(self, code: str) -> Reading | None:
        """Return the latest trusted reading that is not too old to mean anything."""
        found = self.loop.readings.get(code)
        oldest = SLOW_H if code in SLOW else USABLE_H
        return found if found and found.trusted and found.age_h <= oldest else None

    def v(self, code: str) -> float | None:
        """Return the value of :meth:`reading`."""
        found = self.reading(code)
        return found.value if found else None

    def fresh(self, code: str) -> float | None:
        """Return the value when it is young enough to dose on."""
        found = self.reading(code)
        return found.value if found and found.age_h < FRESH_H else None

    def above(self, code: str, limit: float | None) -> bool:
        """Tell whether the reading is known and above ``limit`` (None: no limit)."""
        value = self.v(code)
        return value is not None and limit is not None and value > limit

    def below(self, code: str, limit: float | None) -> bool:
        """Tell whether the reading is known and below ``limit`` (None: no limit)."""
        value = self.v(code)
        return value is not None and limit is not None and value < limit

    def past(self, code: str) -> list[tuple[float, float]]:
        """Return (day number, value) of earlier readings and today's, oldest first."""
        found = [(float(p.on.toordinal()), p.value) for p in self.loop.history.get(code, ())]
        now = self.reading(code)
        if now:
            found.append((self.s.today.toordinal() - now.age_h / 24, now.value))
        return found

    def trend(self, code: str) -> str:
        """Return rising, falling, steady or unknown over the last five readings."""
        return judgement.trend(code, self.past(code)[-5:])

    def rose_thrice(self, code: str) -> bool:
        """Tell whether each of the last three readings is higher than the one before."""
        last = [value for _, value in self.past(code)[-3:]]
        return len(last) == 3 and last[0] < last[1] < last[2]

    def per_day(self, code: str) -> float | None:
        """Return the change a day between the last two readings, None without two."""
        last = self.past(code)[-2:]
        if len(last) < 2 or last[1][0] - last[0][0] < 0.5:
            return None
        return (last[1][1] - last[0][1]) / (last[1][0] - last[0][0])

    def dropped_share(self, code: str) -> float:
        """Return by which share the reading fell since the last one (0 when it did not)."""
        last = [value for _, value in self.past(code)[-2:]]
        return 1 - last[1] / last[0] if len(last) == 2 and last[0] > 0 else 0.0

    # --- bands
    @cached_property
    def context(self) -> LoopContext:
        """What decides the bands of this loop."""
        return LoopContext(
            system_kind=self.s.kind,
            loop_kind=self.loop.kind,
            species=tuple(batch.species for batch in self.loop.fish if batch.count > 0),
            crop_groups=tuple(sorted({crop.group for crop in self.loop.crops})),
            cold=any(kind.cold_water for kind in self.species),
            cycling=self.cycling,
        )

    def band(self, measurand: str) -> Band:
        """Return the band of the measurand in this loop; an open one when none applies."""
        context = judgement.pick_context(measurand, self.context)
        if measurand == "temp" and len(self.context.species) > 1:
            return self._temp_of_all()
        return self.bands.get((measurand, context), Band())

    def _temp_of_all(self) -> Band:
        names = {judgement.TEMP_CONTEXTS.get(code, "") for code in self.context.species}
        found = [self.bands[("temp", n)] for n in sorted(names) if ("temp", n) in self.bands]
        highs = [(b.t_hi, b.amber_hi, b.red_hi) for b in found]
        lows = [(b.t_lo, b.amber_lo, b.red_lo) for b in found]
        t_hi, amber_hi, red_hi = (_least(column) for column in zip(*highs, strict=True))
        t_lo, amber_lo, red_lo = (_most(column) for column in zip(*lows, strict=True))
        return Band(red_lo, amber_lo, t_lo, t_hi, amber_hi, red_hi, "+".join(sorted(names)))

    def judged(self, measurand: str) -> float | None:
        """Return the value that is held against the band: a reading, or what is worked out."""
        worked_out = {"nh3": "nh3_highest", "density": "density", "feed_area": "feed_per_area"}
        if measurand in worked_out:
            value: float | None = getattr(self, worked_out[measurand])
            return value
        return self.v(measurand)

    def word(self, measurand: str) -> str:
        """Return the word for the trusted value, measure_again without one."""
        value = self.judged(measurand)
        if value is None:
            return judgement.MEASURE_AGAIN
        if measurand == "tan":
            nh3 = self.band("nh3") if self.has_fish else None
            return judgement.judge_ammonia(
                value, self.band("tan"), nh3, self.v("ph"), self.v("temp")
            )
        return judgement.judge(value, self.band(measurand))

    def side(self, measurand: str) -> str:
        """Return low or high when the value has left its target, else empty."""
        value = self.judged(measurand)
        if value is None:
            return ""
        if measurand == "tan" and self.word("tan") != judgement.IN_BAND:
            return "high"
        return judgement.side(value, self.band(measurand))

    # --- fish
    @cached_property
    def species(self) -> tuple[Species, ...]:
        """The species of the loop that the table knows."""
        table = species_table()
        return tuple(table[b.species] for b in self.loop.fish if b.count and b.species in table)

    @property
    def has_fish(self) -> bool:
        """Fish live in this loop."""
        return any(batch.count > 0 for batch in self.loop.fish)

    @property
    def has_plants(self) -> bool:
        """Crops stand in this loop."""
        return bool(self.loop.crops)

    @property
    def fruiting(self) -> bool:
        """A fruiting crop stands in this loop."""
        return any(crop.group == "fruiting" for crop in self.loop.crops)

    @property
    def cold(self) -> bool:
        """The loop holds fish of cold water."""
        return self.context.cold

    @property
    def plant_water(self) -> bool:
        """No fish and no filter of fish: the plant loop of a decoupled system, or plants only."""
        return self.loop.kind == "plant" or self.s.kind == "plants_only"

    @property
    def coupled(self) -> bool:
        """Fish and plants share this water."""
        return self.loop.kind == "whole" and self.s.kind == "coupled"

    @cached_property
    def biomass_kg(self) -> float:
        """Kilograms of fish by the book."""
        return sum(batch.count * batch.mean_weight_g for batch in self.loop.fish) / 1000

    @property
    def fish_count(self) -> int:
        """Fish by the book."""
        return sum(batch.count for batch in self.loop.fish)

    @cached_property
    def density(self) -> float | None:
        """Fish per tank [kg/m3], None without the tank's litres."""
        if not self.has_fish or not self.loop.tank_l:
            return None
        return growth.density_kg_m3(self.biomass_kg, self.loop.tank_l)

    @property
    def no_feed_oxygen(self) -> float:
        """Oxygen [mg/L] below which these fish are not fed."""
        if self.species and all(kind.oxygen_target_mg_l < NO_FEED_WARM for kind in self.species):
            return max(kind.oxygen_target_mg_l for kind in self.species)
        return NO_FEED_COLD if self.cold else NO_FEED_WARM

    @property
    def oxygen_limit(self) -> float:
        """Lowest oxygen [mg/L] that these fish stand."""
        return max((kind.oxygen_limit_mg_l for kind in self.species), default=3.0)

    @property
    def feed_min_c(self) -> float:
        """Temperature below which at least one species is not fed."""
        return max((kind.feed_min_c for kind in self.species), default=-2.0)

    @property
    def feed_max_c(self) -> float:
        """Temperature above which at least one species is not fed."""
        return min((kind.feed_max_c for kind in self.species), default=45.0)

    # --- worked-out water
    @cached_property
    def nh3(self) -> float | None:
        """Un-ionised ammonia [mg/L N] at the hour of the reading."""
        tan, ph, temp = self.v("tan"), self.v("ph"), self.v("temp")
        if tan is None or ph is None or temp is None:
            return None
        return ammonia.nh3_n(tan, ph, temp)

    @cached_property
    def nh3_highest(self) -> float | None:
        """Un-ionised ammonia [mg/L N] at the day's highest pH."""
        tan, ph, temp = self.v("tan"), self.v("ph"), self.v("temp")
        if tan is None or ph is None or temp is None:
            return None
        return judgement.highest_nh3(tan, ph, temp)

    @cached_property
    def nh3_target(self) -> float:
        """Un-ionised ammonia [mg/L N] that these fish stand for good."""
        return self.band("nh3").t_hi or 0.02

    @cached_property
    def do_pct(self) -> float | None:
        """Oxygen as percent of saturation."""
        do, temp = self.v("do"), self.v("temp")
        if do is None or temp is None:
            return None
        return oxygen.percent(do, temp, self.s.altitude_m)

    # --- load
    @property
    def feed_g_day(self) -> float | None:
        """Feed a day: what was read, else what the plan says."""
        given = self.v("feed")
        return self.loop.feed_g_day if given is None else given

    @cached_property
    def ration_g_day(self) -> float | None:
        """Ration by species, weight and temperature [g/day], None when it cannot be told."""
        temp = self.v("temp")
        known = [b for b in self.loop.fish if b.count and b.species in species_table()]
        if temp is None or not known:
            return None
        return sum(
            b.count * b.mean_weight_g * feed.ration_percent(b.species, b.mean_weight_g, temp) / 100
            for b in known
        )

    @cached_property
    def tan_g_day(self) -> float | None:
        """Ammonia nitrogen made from the feed [g/day]."""
        if not self.feed_g_day or not self.has_fish:
            return None
        return feed.tan_g_day(self.feed_g_day, self.loop.protein)

    @cached_property
    def media_m2(self) -> float | None:
        """Surface of all filter media [m2]."""
        if not self.loop.media:
            return None
        return sum(filtration.media_area_m2(m.kind, m.litres) for m in self.loop.media)

    @cached_property
    def filter_g_day(self) -> float | None:
        """What the filter takes at this temperature [g ammonia nitrogen a day]."""
        temp = self.v("temp")
        if self.media_m2 is None or temp is None:
            return None
        return filtration.capacity_g_day(self.media_m2, temp)

    @property
    def bed_m2(self) -> float:
        """Planted area [m2]."""
        return sum(crop.area_m2 for crop in self.loop.crops)

    @cached_property
    def feed_per_area(self) -> float | None:
        """Feed per planted area [g/m2/day], only where fish and plants share the water."""
        if not self.coupled or not self.bed_m2 or not self.feed_g_day:
            return None
        return self.feed_g_day / self.bed_m2

    @cached_property
    def minutes_without_air(self) -> float | None:
        """Cautious lower bound of the minutes that the fish have when the air stops."""
        do, temp = self.v("do"), self.v("temp")
        if do is None or temp is None or not self.has_fish:
            return None
        fed = self.loop.fed_hours_ago is not None and self.loop.fed_hours_ago < 3
        return oxygen.minutes_without_air(
            do, temp, self.biomass_kg, self.loop.volume_l, self.oxygen_limit, fed
        )

    # --- history
    @property
    def cycling(self) -> bool:
        """No fish yet and a filter that is being brought in."""
        age = self.s.filter_age_days
        return not self.has_fish and not self.plant_water and age is not None and age < 120

    @property
    def young(self) -> bool:
        """The filter is too young to be left to itself, or to be cleaned."""
        return self.s.filter_age_days is not None and self.s.filter_age_days < YOUNG_DAYS

    def has(self, *signs: str) -> bool:
        """Tell whether any of the signs was seen."""
        return any(sign in self.s.signs for sign in signs)

    def days_since(self, *codes: str) -> int | None:
        """Return the days since the last of these events, None when there was none."""
        days = [(self.s.today - event.on).days for event in self.s.events if event.code in codes]
        return min((d for d in days if d >= 0), default=None)

    def within_days(self, limit: int, *codes: str) -> bool:
        """Tell whether one of the events happened in the last ``limit`` days."""
        days = self.days_since(*codes)
        return days is not None and days < limit


def _least(values: tuple[float | None, ...]) -> float | None:
    return min((v for v in values if v is not None), default=None)


def _most(values: tuple[float | None, ...]) -> float | None:
    return max((v for v in values if v is not None), default=None)
