"""The hidden water of an invented loop, hour by hour, and what people do to it.

Made to have what a forecast lacks: meals and the hours after them, the sun's course, bacteria that
grow on what they are fed and die back, sludge that rots and gives ammonia off, crops that grow and
are cut, lime that dissolves in sour water, filters washed in tap water, clients who forget, feed by
eye. It shares no code with the forecast and none of its equations are the forecast's. Figures are
common practice; what a truth must be is varied and stubborn, not exact.
"""

import math
import random
from dataclasses import dataclass, field

WARM_UP = 70
RECORD = 98
BEYOND = 30
MEALS = (8, 17)
ACTS_AT = 11  # readings of a visit are taken before


@dataclass(frozen=True)
class Nature:
    """What makes a loop its own, drawn once. Litres, m2, g, °C, shares and rates a day."""

    kind: str
    litres: float
    tank_litres: float
    media_m2: float
    media_truth: float
    beds_m2: float
    open_m2: float
    species: str
    count: int
    weight_g: float
    protein: float
    appetite: float
    warmth: float
    season: float
    phase: float
    air: float
    strip: float
    lime: float
    rot: float
    denitrifies: float
    crop_span: float
    staggered: float
    tap_alk: float
    tap_ec: float
    tap_no3: float
    drawn_off: float
    care: float
    interval: int
    shocks_a_year: float
    card: bool
    target_alk: float


@dataclass
class Water:
    """mg/L; bacteria as g N/day at 25 °C; sludge in g; crops as a share of a full bed."""

    tan: float = 0.2
    no2: float = 0.1
    no3: float = 35.0
    alk: float = 75.0
    co2: float = 5.0
    oxygen: float = 7.0
    k: float = 25.0
    salts: float = 0.0
    first: float = 1.0
    second: float = 1.0
    sludge: float = 100.0
    crop: float = 0.6


@dataclass
class Story:
    """Everything that happened. Day 0 is the first of the record; hidden: hour -> quantities."""

    nature: Nature
    hours: list[dict[str, float]] = field(default_factory=list)
    fed: list[float] = field(default_factory=list)
    weights: list[float] = field(default_factory=list)
    dosed: list[tuple[float, str, float]] = field(default_factory=list)
    renewed: list[tuple[float, float]] = field(default_factory=list)
    visits: list[int] = field(default_factory=list)
    shocks: list[int] = field(default_factory=list)

    def at(self, day: float) -> dict[str, float]:
        """Return the water of the hour."""
        return self.hours[min(len(self.hours) - 1, max(0, int((day + WARM_UP) * 24)))]


def nature_of(rng: random.Random) -> Nature:
    """Draw a loop."""
    kind = rng.choices(("coupled", "fish", "plants"), (6, 2.5, 1.5))[0]
    species = rng.choices(("nile_tilapia", "koi", "rainbow_trout"), (6, 3, 1))[0]
    litres = math.exp(rng.uniform(math.log(700), math.log(5000)))
    tank = litres * (0.55 if kind == "coupled" else 0.85)
    weight = math.exp(rng.uniform(math.log(25), math.log(350)))
    density = rng.uniform(3.0, 11.0) * (0.5 if species == "koi" else 1.0)
    count = 0 if kind == "plants" else max(4, round(density * tank / weight))
    feed = count * weight * 0.02
    beds = 0.0 if kind == "fish" else feed / rng.uniform(18, 60) if count else litres / 180
    media = feed * rng.uniform(0.15, 0.4) * (2.0 if species == "rainbow_trout" else 1.0)
    warm = {"nile_tilapia": 26.5, "koi": 21.0, "rainbow_trout": 13.5}[species]
    return Nature(
        kind=kind, litres=litres, tank_litres=tank if count else 0.0, media_m2=media,
        media_truth=media * math.exp(rng.gauss(0.2, 0.5)), beds_m2=beds,
        open_m2=litres / 1100 * rng.uniform(0.3, 1.2), species=species if count else "",
        count=count, weight_g=weight, protein=rng.choice((0.28, 0.32, 0.36, 0.42)),
        appetite=rng.uniform(0.65, 1.15), warmth=warm + rng.gauss(0, 1.2),
        season=rng.uniform(1.5, 4.5), phase=rng.uniform(0, 365), air=rng.uniform(45, 160),
        strip=rng.uniform(10, 45), lime=rng.choice((0.0, 0.0, 0.0, 2.0, 6.0)),
        rot=rng.uniform(0.04, 0.12), denitrifies=rng.uniform(0.002, 0.03),
        crop_span=rng.uniform(28, 60), staggered=rng.random(), tap_alk=rng.uniform(25, 190),
        tap_ec=rng.uniform(0.15, 0.7), tap_no3=rng.uniform(0, 6),
        drawn_off=litres * rng.uniform(0.004, 0.02) * (1.5 if kind == "fish" else 1.0), care=rng.uniform(0.75, 1.0),
        interval=rng.choice((7, 7, 14, 14, 14, 21)), shocks_a_year=rng.choice((0.5, 1.5, 3.0)),
        card=rng.random() < 0.5, target_alk=rng.uniform(60, 110),
    )  # fmt: skip


class _Life:
    """One loop while it is lived."""

    def __init__(self, seed: int) -> None:
        """Draw the loop and its beginnings."""
        self.rng = random.Random(f"water {seed}")
        self.nature = nature_of(self.rng)
        self.story = Story(self.nature)
        self.water = Water(k=self.rng.uniform(15, 50), alk=self.nature.target_alk)
        self.weight = self.nature.weight_g
        self.cloud = 0.0  # the weather's wandering
        self.habit = 0.0
        self.portion = 0.0  # g CaCO3 a day that the client is asked to give
        self.gut = [0.0, 0.0]  # feed on its way: ammonia and breath follow over hours
        made = self.nature.count * self.weight * 0.02 * self.nature.protein * 0.09
        self.water.first = self.water.second = max(0.3, 1.5 * made)
        self.usual = 6.0 * made  # g CaCO3 a day that a loop so stocked wants, by a table
        self.portion = 0.8 * self.usual

    def live(self) -> Story:
        """Return the whole story."""
        next_visit = -WARM_UP + self.rng.randrange(self.nature.interval)
        for day in range(-WARM_UP, RECORD + BEYOND):
            self._weather()
            feed = self._days_feed(day)
            self.story.fed.append(feed)
            self.story.weights.append(self.weight)
            if self.rng.random() < self.nature.shocks_a_year / 365:
                share = self.rng.uniform(0.3, 0.8)
                self.water.first *= share
                self.water.second *= self.rng.uniform(0.3, 0.8)
                self.story.shocks.append(day)
            for hour in range(24):
                if hour == ACTS_AT:
                    next_visit = self._people(day, next_visit)
                self._hour(day, hour, feed)
            self._grow(feed)
        return self.story

    def _people(self, day: int, next_visit: int) -> int:
        """Whoever is there does what is to be done; return the day of the next visit."""
        if day == next_visit:
            self._visit(day)
            return next_visit + max(3, self.nature.interval + self.rng.randint(-2, 3))
        if self.rng.random() < self.nature.care:
            self._client(day)
        return next_visit

    def _weather(self) -> None:
        self.cloud = 0.8 * self.cloud + self.rng.gauss(0, 0.55)
        self.habit = 0.93 * self.habit + self.rng.gauss(0, 0.04)

    def mean_temp(self, day: float) -> float:
        """Return the season's temperature of a day."""
        nature = self.nature
        return nature.warmth + nature.season * math.sin(2 * math.pi * (day + nature.phase) / 365)

    def _days_feed(self, day: int) -> float:
        nature = self.nature
        if not nature.count or self.rng.random() < 0.04:
            return 0.0
        temp = self.mean_temp(day) + self.cloud
        best = {"nile_tilapia": 28.5, "koi": 25.0, "rainbow_trout": 14.5}[nature.species]
        wide = {"nile_tilapia": 6.5, "koi": 9.0, "rainbow_trout": 5.0}[nature.species]
        keen = math.exp(-(((temp - best) / wide) ** 2))
        share = 0.022 * (self.weight / 150) ** -0.32
        hungry = 1.0 if self.water.oxygen > 4 and self.water.tan < 2.5 else 0.35
        eye = math.exp(self.habit + self.rng.gauss(0, 0.13))
        return nature.count * self.weight * share * keen * nature.appetite * hungry * eye

    def _grow(self, feed: float) -> None:
        nature = self.nature
        if nature.count:
            gain = feed / (1.35 + 0.0006 * self.weight) - 0.0008 * nature.count * self.weight
            self.weight = max(1.0, self.weight + gain / nature.count)
        full = 0.35 + 0.65 * nature.staggered
        self.water.crop += (1.25 - self.water.crop) * 3.0 / nature.crop_span / 1.6
        if self.rng.random() < (1 + 3 * nature.staggered) / nature.crop_span:
            self.water.crop *= full if self.rng.random() < 0.9 else 0.4

    def _visit(self, day: int) -> None:
        """The technician: base to the target, a new portion for the client, water against nitrate."""
        nature, water = self.nature, self.water
        self.story.visits.append(day)
        if nature.kind == "plants":
            self._steer(day)
            return
        seen = water.alk * self.rng.uniform(0.92, 1.08)
        short = (nature.target_alk - seen) * nature.litres / 1000
        if short > 0.12 * nature.target_alk * nature.litres / 1000:
            self._base(day, min(short, 0.09 * nature.litres) * self.rng.uniform(0.9, 1.05))
        wanted = self.portion + 0.6 * short / nature.interval
        self.portion = min(2.5 * self.usual, max(0.0, wanted))
        if water.no3 > 90 or water.no2 > 1.2 or water.tan > 2.5:
            self._change(day, self.rng.uniform(0.12, 0.25))

    def _client(self, day: int) -> None:
        """The client: the portion of base, more of it and less feed when the strip shows sour."""
        if self.portion:
            self._base(day, self.portion * self.rng.uniform(0.8, 1.2))
        if day % 4 == 0 and self.nature.count and self._ph(25.0) < 6.6:
            self._base(day, 0.04 * self.nature.litres)

    def _steer(self, day: int) -> None:
        """A plant loop is topped up with salts to its set point, and acid takes alkalinity."""
        self.water.alk = min(self.water.alk, self.rng.uniform(35, 45))
        short = (130.0 - self.water.no3) * self.nature.litres / 1000
        if short > 0:
            given = 0.8 * short * self.rng.uniform(0.9, 1.1)
            self.water.no3 += 1000 * given / self.nature.litres
            self.water.k += 1200 * given / self.nature.litres
            self.story.dosed += [(day + 0.46, "no3", given), (day + 0.46, "k", 1.2 * given)]

    def _base(self, day: int, grams: float) -> None:
        """Potassium and calcium bases in turn."""
        self.water.alk += 1000 * grams / self.nature.litres
        self.story.dosed.append((day + 0.46, "alk", grams))
        if (day // 30) % 2:
            potassium = grams * 0.5
            self.water.k += 1000 * potassium / self.nature.litres
            self.story.dosed.append((day + 0.46, "k", potassium))

    def _change(self, day: int, share: float) -> None:
        nature, water = self.nature, self.water
        for name, tap in (("tan", 0.0), ("no2", 0.0), ("no3", nature.tap_no3),
                          ("alk", nature.tap_alk), ("k", 2.0), ("salts", 0.0)):  # fmt: skip
            setattr(water, name, getattr(water, name) * (1 - share) + share * tap)
        self.story.renewed.append((day + 0.46, share * nature.litres))

    def _hour(self, day: int, hour: int, feed: float) -> None:
        nature, water = self.nature, self.water
        sun = max(0.0, math.sin(math.pi * (hour - 6) / 13)) if 6 <= hour <= 19 else 0.0
        temp = self.mean_temp(day) + self.cloud + 1.1 * math.sin(2 * math.pi * (hour - 10) / 24)
        if hour in MEALS:
            self.gut[0] += 0.5 * feed
        passing = self.gut[0] * 0.16
        self.gut[0] -= passing
        self.gut[1] += passing - self.gut[1] * 0.2
        load = 1000 / nature.litres
        breath = self._breath(passing, temp) * load
        quick = 2.0 ** ((min(temp, 29.0) - 25) / (7.5 if temp < 18 else 10))
        made = 0.098 * nature.protein * (0.25 * feed / 24 + 0.75 * passing) * load
        rotted = water.sludge * nature.rot * quick / 24
        water.sludge += 0.22 * feed / 24 * 0.6 - rotted - 0.01 * water.sludge / 24
        made += rotted * 0.045 * load - 0.004 * rotted * load
        first, second = self._bacteria(made, quick, load)
        self._plants(sun, temp, load)
        self._carbon(first, breath, rotted * load, sun, hour)
        lost = (nature.open_m2 * 4.2 + nature.beds_m2 * 2.6) / 24
        self._flows(nature.drawn_off / 24, lost)
        full = 14.2 - 0.36 * temp + 0.0042 * temp * temp
        used = breath + 0.5 * rotted * load + 3.2 * first + 1.1 * second
        rest = full - used * 24 / nature.air
        water.oxygen = max(0.2, rest + 0.7 * sun - 0.1)
        self.story.hours.append(self._seen(temp))

    def _breath(self, passing: float, temp: float) -> float:
        """Grams of oxygen in the hour: at rest, and for what is digested."""
        mass = self.nature.count * self.weight / 1000
        return mass * 0.13 * 1.9 ** ((temp - 25) / 10) + 0.3 * passing

    def _bacteria(self, made: float, quick: float, load: float) -> tuple[float, float]:
        nature, water = self.nature, self.water
        sour = 1 / (1 + math.exp(-(self._ph(25.0) - 5.9) * 4))
        aired = water.oxygen / (0.9 + water.oxygen)
        room = max(1.0, 1.1 * nature.media_truth + nature.litres * 0.0016)
        water.tan += made
        eager = quick * aired * sour * water.tan / (0.55 + water.tan)
        first = min(0.9 * water.tan, water.first * eager / 24 * load)
        water.tan -= first
        water.first *= 1 + (0.26 * eager * (1 - water.first / room) - 0.07 * quick) / 24
        water.no2 += first
        eager = quick * aired * min(1, sour + 0.2) * water.no2 / (0.4 + water.no2)
        second = min(0.9 * water.no2, water.second * eager / 24 * load)
        water.no2 -= second
        water.second *= 1 + (0.24 * eager * (1 - water.second / room) - 0.055 * quick) / 24
        water.no3 += second
        water.first, water.second = max(0.02, water.first), max(0.02, water.second)
        return first, second

    def _plants(self, sun: float, temp: float, load: float) -> None:
        nature, water = self.nature, self.water
        mild = math.exp(-(((temp - 23) / 11) ** 2))
        strength = 0.62 * water.crop * nature.beds_m2 * mild * sun * 2.9 / 24
        taken = min(0.3 * water.no3, strength * load * water.no3 / (4 + water.no3))
        some = min(0.2 * water.tan, 0.06 * strength * load * water.tan / (0.5 + water.tan))
        water.no3 -= taken
        water.tan -= some
        water.k = max(0.1, water.k - min(0.3 * water.k, 1.1 * taken))
        lost = water.no3 * nature.denitrifies / 24
        water.no3 -= lost
        balance = 3.4 if nature.count else 0.4  # bought salts are balanced
        water.alk += balance * (taken + lost - some)
        water.salts -= 5.0 * taken

    def _carbon(self, first: float, breath: float, rotting: float, sun: float, hour: int) -> None:
        nature, water = self.nature, self.water
        water.alk -= 7.05 * first
        water.alk += nature.lime * max(0.0, 7.25 - self._ph(25.0)) / 24 * 3
        water.alk = max(2.0, water.alk)
        made = 1.3 * (breath + 0.45 * rotting) - 0.05 * sun
        settled = 0.6 + made * 24 / nature.strip + (0 if nature.count else 12)
        water.co2 += (settled - water.co2) * min(0.95, nature.strip / 24)
        water.co2 = max(0.25, water.co2)
        water.salts += 6.0 * first

    def _flows(self, drawn: float, lost: float) -> None:
        nature, water = self.nature, self.water
        share, up = drawn / nature.litres, (drawn + lost) / nature.litres
        for name, tap in (("tan", 0.0), ("no2", 0.0), ("no3", nature.tap_no3),
                          ("alk", nature.tap_alk), ("k", 2.0), ("salts", 0.0)):  # fmt: skip
            setattr(water, name, getattr(water, name) * (1 - share) + up * tap)
        water.salts += up * 640 * nature.tap_ec - share * 640 * nature.tap_ec

    def _ph(self, temp: float) -> float:
        ratio = max(self.water.alk, 1.0) / 50.0 / (self.water.co2 / 44.0)
        return 6.39 - 0.004 * (temp - 20) + math.log10(ratio)

    def _seen(self, temp: float) -> dict[str, float]:
        water = self.water
        ec = self.nature.tap_ec + (0.0058 * water.no3 + 0.0018 * water.k + 0.0004 * water.alk)
        ec += max(-0.1, 0.00035 * water.salts)
        return {
            "temp": temp, "tan": water.tan, "no2": water.no2, "no3": water.no3, "alk": water.alk,
            "ph": self._ph(temp), "do": water.oxygen, "ec": ec, "k": water.k,
        }  # fmt: skip


def story_of(seed: int) -> Story:
    """Return the story of an invented loop.

    >>> story_of(3).visits == story_of(3).visits
    True
    """
    return _Life(seed).live()
