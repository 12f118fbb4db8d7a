"""The hidden truth: what the water of each loop was on each day of the year.

A small model of its own, day by day: feed makes ammonia, two groups of bacteria take it on, the
plants and the change of water take nitrate, nitrification eats alkalinity, alkalinity and carbon
dioxide make the pH. It shares no code with the calculations that it is read by. Figures are
common practice.
"""

import datetime as dt
import math
import random
from dataclasses import dataclass, field

from demo.firm.builds import BUILDS, litres_of
from demo.firm.cycling import cycling_days
from demo.firm.fish import ORNAMENTAL, Batch, batches_of, ration_g
from demo.firm.people import BY_KEY as HOMES
from demo.firm.people import WATERS, Water
from demo.firm.story import Story, on_path, story_of
from demo.firm.systems import FRUIT, Spec
from demo.firm.weather import temperatures, wave

WARM_UP = 45
# ammonia nitrogen in g per g of feed; feed in g per litre of a stocked tank and day
NITROGEN = 0.31 * 0.09
STOCKED = 0.012 * 11
Day = dict[str, float]


@dataclass
class Truth:
    """Loop kind -> day -> quantity -> value, and the fish."""

    spec: Spec
    loops: dict[str, dict[dt.date, Day]]
    batches: list[Batch]
    feed: dict[dt.date, float] = field(default_factory=dict)


@dataclass
class Character:
    """What makes a system its own: drawn once."""

    alk: float
    co2: float
    no3: float
    aeration: float
    exchange: float
    care: float
    bacteria: float

    @classmethod
    def draw(cls, spec: Spec, rng: random.Random) -> "Character":
        """Return a character fitting to the kind of system."""
        fish_water = spec.kind in ("fish_only", "decoupled")
        return cls(
            alk=rng.uniform(112, 146) if fish_water else rng.uniform(65, 84),
            co2=rng.uniform(6.5, 9.0) if fish_water else rng.uniform(16.5, 21.5),
            no3=rng.uniform(42, 75) if fish_water else rng.uniform(22, 36),
            aeration=rng.uniform(0.85, 0.92),
            exchange=rng.uniform(0.012, 0.022) * (2.0 if fish_water else 1.0),
            care=rng.uniform(0.94, 1.04),
            bacteria=rng.uniform(2.6, 3.4),
        )


def oxygen_full(temp: float) -> float:
    """Return mg/L of oxygen in air-saturated fresh water (the cubic of Elmore and Hayes 1960)."""
    return 14.652 - 0.41022 * temp + 0.007991 * temp**2 - 0.000077774 * temp**3


def acidity(alk: float, co2: float, temp: float) -> float:
    """Return the pH of water from its alkalinity and carbon dioxide."""
    return 6.40 - 0.003 * (temp - 20) + math.log10(max(alk, 1.0) / 50.0 / (co2 / 44.0))


def truth_of(spec: Spec, today: dt.date, rng: random.Random) -> Truth:
    """Return a system's hidden year."""
    age = min(spec.started, 371) + WARM_UP
    if spec.started < 371:
        age = spec.started
    first = today - dt.timedelta(days=age)
    temps = temperatures(spec.climate, first, today, rng)
    build = BUILDS[spec.design]
    tank = next((p.litres for parts in build.loops.values() for p in parts if p.kind == "tank"), 0)
    batches = batches_of(
        spec.key, spec.fish, tank * spec.scale, spec.started, temps, today, rng
    )  # fmt: skip
    truth = Truth(spec, {}, batches)
    source = WATERS[HOMES[spec.home].water]
    for kind in build.loops:
        if kind == "plant":
            truth.loops[kind] = _plant_loop(spec, temps, today, rng)
        elif not spec.fish:
            truth.loops[kind] = cycling_days(temps, source, rng)
        else:
            truth.loops[kind] = _fish_loop(spec, kind, truth, temps, source, today, rng)
    return truth


class Wander:
    """A slow wandering about 1, within a quarter: habits, weather, what nobody writes down."""

    def __init__(self, rng: random.Random, strength: float) -> None:
        self.rng, self.strength, self.place = rng, strength, rng.gauss(0, 0.08)

    def step(self) -> float:
        """Return the factor of the next day."""
        self.place = 0.985 * self.place + self.rng.gauss(0, 0.022)
        self.place = min(0.22, max(-0.22, self.place))
        return 1 + self.strength * self.place


@dataclass
class _State:
    tan: float = 0.15
    no2: float = 0.05
    no3: float = 22.0
    alk: float = 75.0
    fe: float = 1.6
    first: float = 0.0
    second: float = 0.0
    usual: float = 0.0


def _fish_loop(
    spec: Spec, kind: str, truth: Truth, temps: dict[dt.date, float], source: Water,
    today: dt.date, rng: random.Random,
) -> dict[dt.date, Day]:  # fmt: skip
    litres = litres_of(spec.design, kind, spec.scale, spec.fish)
    nature, story = Character.draw(spec, rng), story_of(spec.key)
    if spec.fish == "rainbow_trout":
        nature.bacteria *= 1.5
    state = _State(alk=nature.alk, no3=nature.no3 * 0.9)
    tank = sum(p.litres for p in BUILDS[spec.design].loops[kind] if p.kind == "tank") * spec.scale
    floor = 0.5 * NITROGEN * tank * STOCKED * (0.7 if spec.fish in ORNAMENTAL else 1.0) / litres
    days: dict[dt.date, Day] = {}
    peak = 0.0
    buffer, plants, breath = Wander(rng, 0.65), Wander(rng, 1.3), Wander(rng, 0.5)
    for day, temp in temps.items():
        ago = (today - day).days
        feed = sum(ration_g(batch, day, temp) for batch in truth.batches)
        feed *= rng.uniform(0.92, 1.06)
        truth.feed[day] = feed
        load = feed * NITROGEN * 1000 / litres
        peak = max(peak, load)
        _bacteria(state, load, temp, nature, floor * 1000)
        _nitrate(state, load, nature.no3 * plants.step(), nature, source)
        _buffer(state, load, nature.alk * buffer.step(), nature, source, kind)
        _iron(state, ago, story)
        _follow(state, story, ago, rng)
        co2 = on_path(story.paths.get("co2", ()), ago)
        if co2 is None:
            co2 = nature.co2 * (0.8 + 0.2 * load / (peak or 1.0)) * breath.step()
        heat = wave(day, today)
        days[day] = {
            "temp": temp,
            "feed": feed,
            "tan": state.tan,
            "no2": state.no2,
            "no3": state.no3,
            "alk": state.alk,
            "fe": state.fe,
            "gh": source.hardness + 18,
            "ph": acidity(state.alk, co2, temp),
            "do": oxygen_full(temp) * nature.aeration
            - 0.25 * load / (peak or 1.0)
            - heat * story.wave_drop,
            "ec": 0.26 + 0.0011 * source.hardness + 0.0068 * state.no3,
        }
    return days


def _bacteria(state: _State, load: float, temp: float, nature: Character, floor: float) -> None:
    """Ammonia to nitrite to nitrate: two groups, each growing after what it was fed."""
    warmth = 2 ** ((min(temp, 30) - 25) / 10)
    state.usual += (load - state.usual) / 10 if state.usual else load
    wanted = nature.bacteria * max(floor, state.usual)
    state.first += (wanted - state.first) / (9 if state.first else 1)
    state.second += (wanted * 1.15 - state.second) / (14 if state.second else 1)
    buffer = min(1.0, 0.35 + state.alk / 60)
    strength = max(0.05, state.first * max(warmth, 0.55) * buffer)
    state.tan += (_standing(load, strength, 0.22) - state.tan) * 0.5
    strength = max(0.05, state.second * max(warmth, 0.55) * buffer)
    state.no2 += (_standing(load, strength, 0.09) - state.no2) * 0.35


def _standing(load: float, strength: float, half: float) -> float:
    """Return the concentration at which bacteria of that strength take up the load."""
    share = min(0.93, load / strength)
    return 0.02 + half * share / (1 - share)


def _nitrate(state: _State, load: float, usual: float, nature: Character, source: Water) -> None:
    """Plants, bed and drains take as much as comes when nitrate stands at its usual height."""
    diluted = 0.3 * nature.exchange * (source.nitrate_n - state.no3)
    state.no3 += load * (1 - state.no3 / usual) + 0.2 * diluted


def _buffer(
    state: _State, load: float, wanted: float, nature: Character, source: Water, kind: str
) -> None:
    used = 7.1 * load * (0.55 if kind == "whole" else 0.85)
    given = used * nature.care + 0.15 * (wanted - state.alk)
    state.alk += nature.exchange * (source.alk - state.alk) - used + max(0.0, given)
    state.alk = max(6.0, state.alk)


def _iron(state: _State, ago: int, story: Story) -> None:
    state.fe *= 0.982
    if ago % 28 == 0 and not (story.no_iron and ago < story.no_iron):
        state.fe = min(2.1, state.fe + 0.95)


def _follow(state: _State, story: Story, ago: int, rng: random.Random) -> None:
    for name in ("tan", "no2", "no3", "alk", "fe"):
        value = on_path(story.paths.get(name, ()), ago)
        if value is not None:
            setattr(state, name, value * rng.uniform(0.985, 1.015))


def _plant_loop(
    spec: Spec, temps: dict[dt.date, float], today: dt.date, rng: random.Random
) -> dict[dt.date, Day]:
    """A plant loop is steered by hand: pulled back to its set points every few days."""
    fruit = spec.crops == FRUIT
    ec_set, no3_set = (2.35, 158.0) if fruit else (1.48, 104.0)
    ec, ph, no3, fe, k = ec_set, 5.9, no3_set, 1.7, (238.0 if fruit else 188.0)
    days: dict[dt.date, Day] = {}
    for number, (day, outside) in enumerate(temps.items()):
        temp = outside if spec.kind == "plants_only" else 9.0 + 0.6 * outside
        steered = number % 4 == 0
        ec += rng.gauss(-0.006, 0.02) + (0.45 * (ec_set - ec) if steered else 0)
        ph += rng.gauss(0.02, 0.03) + (0.6 * (5.85 - ph) if steered else 0)
        no3 += rng.gauss(-0.4, 1.6) + (0.4 * (no3_set - no3) if steered else 0)
        fe += (1.75 - fe) * 0.05 + rng.gauss(0, 0.02)
        k += rng.gauss(0, 1.0) + (0.3 * ((238.0 if fruit else 188.0) - k) if steered else 0)
        days[day] = {
            "temp": temp, "ec": ec, "ph": ph, "no3": no3, "fe": fe, "k": k,
            "do": oxygen_full(temp) * 0.88 - 0.6 * wave(day, today),
        }  # fmt: skip
    return days
