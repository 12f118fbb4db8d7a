"""What drives the mass balance on each day, from the facts of a loop.

Records below day 0 drive the time before, those of day 0 today; records from day 1 on are plans and
drive the forecast (a holiday is ``Fed(day, 0)``). Doses and water changes that came at least twice in the six weeks
before are carried on at their mean rate, more where a level falls below what it has been kept at and
less where it rises above: practice goes on unless a plan says otherwise.
"""

import math
from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from statistics import median

from apps.calc import carbonate, filtration, oxygen
from apps.calc.ahead.facts import LoopFacts, MakeUp, Weather
from apps.calc.ahead.feeding import acid_of, feed_given, power_law, ration
from apps.calc.ahead.outlook import Outlook
from apps.calc.ahead.priors import TDS_PER_EC
from apps.calc.ahead.span import HORIZON, first_day, temperatures, weather_on
from apps.calc.ahead.step import COMING, TDS_PER_ALKALINITY, TDS_PER_UPTAKE, Day, Gear

WATER_FACTOR = 1.05  # open water against reference evapotranspiration (fao56)
BED_FACTOR = 0.7  # a sheltered bed of leaves (common practice)
HABIT_DAYS = 42
STEERED = ("alk", "no3")  # potassium and calcium come along with these, whatever their level
STEER = 0.06  # per day: what doses by habit bring back of a departure
_UNSTEERED = (0.0,) * len(COMING)
_USUAL_MAKE_UP = {"alk": 80.0, "tds": 200.0, "no3": 2.0, "k": 2.0, "ca": 30.0}


@dataclass(frozen=True)
class Drive:
    """Days from ``first`` (below 0) to the horizon; water [L] and base [g CaCO3] added on each."""

    first: int
    days: tuple[Day, ...]
    topped_up_l: tuple[float, ...]
    base_g: tuple[float, ...]
    temps: tuple[float, ...]

    @property
    def steering(self) -> tuple[float, float]:
        """Pull per day, and level, of the alkalinity that is dosed by habit."""
        place = COMING.index("alk")
        return self.days[-1].steer[place], self.days[-1].kept_at[place]

    def at(self, day: int) -> Day:
        """Return that day's, the nearest where it lies outside."""
        return self.days[max(0, min(len(self.days) - 1, day - self.first))]


def gear_of(facts: LoopFacts) -> Gear:
    """Return what stays of a loop."""
    powers = tuple(power_law(group)[1] for group in facts.fish)
    counts = tuple(float(group.count) for group in facts.fish)
    returned = 0.0 if facts.kind == "plants" else 1.0
    return Gear(
        facts.volume_l, facts.protein_fraction, facts.plant_area_m2, returned, counts, powers,
        tuple(group.growth for group in facts.fish),
    )  # fmt: skip


def drive_of(
    facts: LoopFacts,
    horizon: int = HORIZON,
    inflow: Sequence[MakeUp] | None = None,
    first: int | None = None,
    usual: LoopFacts | None = None,
) -> Drive:
    """Return what drives the loop from day ``first`` to ``horizon``.

    ``inflow`` by day from 0 on where it is forecast; ``first`` is the first reading's day unless
    given. ``usual``: the facts that the loop was learnt with, where these differ from them: what is
    put in against the acid of nitrification goes with the feed.
    """
    first = first_day(facts) if first is None else first
    temps = temperatures(facts, first, horizon)
    given = feed_given(facts, first, horizon, temps)
    acid = acid_of(facts, usual, first, horizon)
    doses, renewals = _doses(facts, horizon, acid[-first:]), _renewals(facts, horizon)
    steered, fresh = _steered(facts), _by_name(facts.make_up)
    days, topped = [], []
    for day in range(first, horizon):
        temp = temps[day - first]
        weather = weather_on(facts, day)
        comes = inflow[min(max(day, 0), len(inflow) - 1)] if inflow else facts.inflow
        leaving, up, coming = _waters(facts, weather, comes, doses[day])
        days.append(
            Day(
                warmth=filtration.temperature_factor(temp) / filtration.temperature_factor(20.0),
                saturation=oxygen.saturation_mg_l(temp, facts.altitude_m),
                pk1=_field_pk1(round(temp, 1)),
                pka=0.09018 + 2729.92 / (temp + 273.15),
                resting=oxygen.respiration_mg_kg_h(temp) * 24 / 1000,
                rations=tuple(ration(group, temp) for group in facts.fish),
                given=given[day - first],
                leaving=leaving,
                coming=coming,
                renewed=min(0.95, renewals[day] / facts.volume_l),
                fresh=tuple(fresh[name] for name in COMING),
                salted=1000 * _salted(doses[day]) / facts.volume_l,
                steer=_UNSTEERED,
                kept_at=_UNSTEERED,
                acid=acid[day - first],
            )
        )
        topped.append(up + renewals[day])
    levels = tuple(usual_level(facts, name, fresh[name]) for name in COMING)
    ahead = max(0, -first)
    days = [
        *days[:ahead],
        *(day._replace(steer=_pulls(steered, day.acid), kept_at=levels) for day in days[ahead:]),
    ]  # fmt: skip
    base = tuple(doses[day].get("alk", 0.0) for day in range(first, horizon))
    return Drive(first, tuple(days), tuple(topped), base, temps)


def _pulls(steered: Collection[str], acid: float) -> tuple[float, ...]:
    """Return per day how strongly each of COMING is brought back: a base only against acid."""
    return tuple(
        STEER * (acid if name == "alk" else 1.0) if name in steered else 0.0 for name in COMING
    )


def inflow_from(before: Outlook) -> tuple[MakeUp, ...]:
    """Return by day what a loop sends on, from the middles of its forecast."""
    days = min((len(fan.days) for fan in before.fans), default=0)
    return tuple(
        MakeUp(tuple((fan.measurand, fan.middle[day]) for fan in before.fans))
        for day in range(days)
    )


def _waters(
    facts: LoopFacts, weather: Weather, inflow: MakeUp, doses: dict[str, float]
) -> tuple[float, float, tuple[float, ...]]:
    """Return the share leaving a day, litres topped up, and mg/L/day that come, at even volume.

    Rain brings water and nothing else; what the day's losses leave no room for runs over, with what
    is in the water. Both are means over days with and without rain: on the wet ones more runs over
    than on as many days of drizzle.
    """
    lost = weather.et0_mm * (WATER_FACTOR * facts.open_area_m2 + BED_FACTOR * facts.plant_area_m2)
    out = facts.drawn_off_l_day + facts.flow_out_l_day
    over = topped = 0.0
    for share, rain_mm in ((weather.wet, weather.rain_mm / weather.wet), (1 - weather.wet, 0.0)):
        spare = rain_mm * facts.rain_area_m2 + facts.flow_in_l_day - lost - out
        over += share * max(0.0, spare)
        topped += share * max(0.0, -spare)
    leaving = (out + over) / facts.volume_l
    fresh, comes = _by_name(facts.make_up), dict(inflow.values)
    if "ec" in comes and "tds" not in comes:
        comes["tds"] = TDS_PER_EC * comes["ec"]
    coming = tuple(
        (
            topped * fresh[name]
            + facts.flow_in_l_day * comes.get(name, 0.0)
            + 1000 * doses.get(name, 0.0)
        )
        / facts.volume_l
        for name in COMING
    )
    return leaving, topped, coming


def _salted(doses: dict[str, float]) -> float:
    """Grams of dissolved solids with a day's doses of base and nitrate."""
    alkalinity, nitrate = doses.get("alk", 0.0), doses.get("no3", 0.0)
    return TDS_PER_ALKALINITY * alkalinity + TDS_PER_UPTAKE * nitrate


def _by_name(make_up: MakeUp) -> dict[str, float]:
    known = dict(make_up.values)
    if "ec" in known and "tds" not in known:
        known["tds"] = TDS_PER_EC * known["ec"]
    return {name: known.get(name, _USUAL_MAKE_UP.get(name, 0.0)) for name in COMING}


@lru_cache(maxsize=1024)
def _field_pk1(temp_c: float) -> float:
    """pK1' of the field formula, from the carbonate system at 60 mg/L alkalinity and pH 7."""
    co2 = carbonate.co2_mg_l(60.0, 7.0, temp_c)
    return 7.0 + math.log10(co2 / 44009.0 / (60.0 / 50043.0))


def _habit(past: Iterable[tuple[float, float]], known: float) -> float:
    """Return the mean a day of what came at least twice in the last six weeks, else 0.

    ``known``: days that the record reaches back.
    """
    recent = sorted((day, amount) for day, amount in past if -HABIT_DAYS <= day < 0)
    if len({math.floor(day) for day, _ in recent}) < 2:
        return 0.0
    return sum(amount for _, amount in recent) / min(float(HABIT_DAYS), max(14.0, known))


def _steered(facts: LoopFacts) -> frozenset[str]:
    """Return what people keep in place by doses: more where it falls short, less where it is high."""
    found = {
        name
        for name in STEERED
        if _habit(((d.day, d.grams) for d in facts.dosed if d.measurand == name), HABIT_DAYS)
        and not any(d.day >= 1 for d in facts.dosed if d.measurand == name)
    }
    return frozenset(found | ({"tds"} if "no3" in found else set()))


def usual_level(facts: LoopFacts, name: str, instead: float) -> float:
    """Return the middle of a loop's readings, where there are any."""
    code, times = ("ec", TDS_PER_EC) if name == "tds" else (name, 1.0)
    seen = [one.value for one in facts.observed if one.measurand == code]
    return times * median(seen) if seen else instead


def _doses(facts: LoopFacts, horizon: int, acid: Sequence[float]) -> dict[int, dict[str, float]]:
    """Return grams by day: what was noted, then what is usual; a base with the day's ``acid``."""
    found: dict[int, dict[str, float]] = defaultdict(dict)
    for dose in facts.dosed:
        there = found[math.floor(dose.day)]
        there[dose.measurand] = there.get(dose.measurand, 0.0) + dose.grams
    for name in {dose.measurand for dose in facts.dosed}:
        mine = [dose for dose in facts.dosed if dose.measurand == name]
        if any(dose.day >= 1 for dose in mine):
            continue
        usual = _habit(((dose.day, dose.grams) for dose in mine), -first_day(facts))
        for day in range(horizon if usual else 0):
            found[day].setdefault(name, usual * (acid[day] if name == "alk" else 1.0))
    return found


def _renewals(facts: LoopFacts, horizon: int) -> dict[int, float]:
    found: dict[int, float] = defaultdict(float)
    for change in facts.renewed:
        found[math.floor(change.day)] += change.litres
    if not any(change.day >= 1 for change in facts.renewed):
        usual = _habit(((c.day, c.litres) for c in facts.renewed), -first_day(facts))
        for day in range(horizon if usual else 0):
            found.setdefault(day, usual)
    return found
