"""What is known of an invented loop: readings through kits, a feed log, doses, as facts of a loop.

Kits have their steps, meters drift between calibrations, some readings are missed. Facts from a
day of the story know nothing later than that day.
"""

import math
import random
from dataclasses import dataclass

from apps.calc.ahead.facts import (
    Dosed,
    Fed,
    FishGroup,
    LoopFacts,
    MakeUp,
    Observed,
    Renewed,
    Weather,
)
from demo.water.truth import RECORD, WARM_UP, Story, story_of

CARD = {
    "tan": (0.0, 0.25, 0.5, 1.0, 2.0, 4.0, 8.0),
    "no2": (0.0, 0.08, 0.15, 0.3, 0.6, 1.5, 3.0),
    "no3": (0.0, 1.1, 2.3, 4.5, 9.0, 18.0, 36.0, 90.0),
}
STEP = {
    "tan": 0.05,
    "no2": 0.01,
    "no3": 1.0,
    "alk": 10.0,
    "ph": 0.05,
    "do": 0.1,
    "ec": 0.01,
    "k": 5.0,
}
NOISE = {"tan": (0.02, 0.1), "no2": (0.01, 0.08), "no3": (0.5, 0.07), "alk": (2.0, 0.03),
         "ph": (0.04, 0.0), "do": (0.12, 0.01), "ec": (0.0, 0.015), "k": (2.0, 0.07)}  # fmt: skip
DRIFT = {"ph": 0.012, "do": 0.02, "ec": 0.002}  # a day's step of a meter's wandering
CALIBRATED = 45
LIMITS = (
    ("tan", "above", 1.0), ("no2", "above", 0.5), ("no3", "above", 80.0), ("alk", "below", 40.0),
    ("ph", "below", 6.4), ("do", "below", 5.0), ("nh3", "above", 0.05),
)  # fmt: skip


@dataclass
class Record:
    """A loop's story and everything that was read of it; days of the story."""

    story: Story
    seen: list[Observed]
    fed: list[Fed]
    drift: dict[str, list[float]]
    seed: int

    def read(self, day: float, code: str) -> Observed:
        """Return what a kit would show: also on days on which nobody looked."""
        rng = random.Random(f"read {self.seed} {day} {code}")
        truth = self.story.at(day)[code]
        units, share = NOISE[code]
        value = truth + rng.gauss(0, units + share * abs(truth))
        place = min(len(self.drift["ph"]) - 1, int(day) + WARM_UP)
        value += self.drift[code][place] if code in self.drift else 0.0
        low, shown, high = _steps(code, max(0.0, value), self.story.nature.card)
        return Observed(day, code, shown, low, high)


def _steps(code: str, value: float, card: bool) -> tuple[float, float, float]:
    """Return (low, shown, high) of the colour card or the step that a value falls on."""
    if card and code in CARD:
        colours = CARD[code]
        place = min(range(len(colours)), key=lambda n: abs(colours[n] - value))
        low = 0.0 if place == 0 else (colours[place - 1] + colours[place]) / 2
        last = place == len(colours) - 1
        high = math.inf if last else (colours[place] + colours[place + 1]) / 2
        return low, colours[place], high
    step = STEP[code]
    shown = round(value / step) * step
    return max(0.0, shown - step / 2), shown, shown + step / 2


def record_of(seed: int) -> Record:
    """Return a loop's record."""
    story = story_of(seed)
    rng = random.Random(f"record {seed}")
    drift: dict[str, list[float]] = {}
    for code, step in DRIFT.items():
        place, path = 0.0, []
        for day in range(len(story.fed)):
            place = rng.gauss(0, step) if day % CALIBRATED == 0 else place + rng.gauss(0, step / 3)
            path.append(place)
        drift[code] = path
    record = Record(story, [], _feed_log(story, rng), drift, seed)
    plants = story.nature.kind == "plants"
    codes = (
        ("ph", "do", "ec", "no3", "k") if plants else ("ph", "do", "ec", "tan", "no2", "no3", "alk")
    )
    for number, day in enumerate(story.visits):
        when = day + rng.uniform(8, 10.9) / 24
        for code in codes:
            if rng.random() < 0.94:
                record.seen.append(record.read(when, code))
        if number % 3 == 0 and not plants:
            record.seen.append(record.read(when, "k"))
        temp = round(story.at(when)["temp"], 1)
        record.seen.append(Observed(when, "temp", temp, temp - 0.05, temp + 0.05))
    for day in range(-WARM_UP, len(story.fed) - WARM_UP, 4):
        if rng.random() < 0.4 * story.nature.care:  # the client's own, between visits
            record.seen.append(record.read(day + rng.uniform(7, 20) / 24, "ph"))
    record.seen.sort(key=lambda one: one.day)
    return record


def _feed_log(story: Story, rng: random.Random) -> list[Fed]:
    """The client's list: most weeks kept, by a scoop that is not quite what it says."""
    if not story.nature.count:
        return []
    scoop, found = math.exp(rng.gauss(0, 0.1)), []
    for week in range(0, len(story.fed), 7):
        if rng.random() < 0.75:
            found += [
                Fed(float(day - WARM_UP), 5 * round(scoop * story.fed[day] / 5))
                for day in range(week, min(week + 7, len(story.fed)))
            ]
    return found


def facts_at(record: Record, today: int, horizon: int = 42) -> LoopFacts:
    """Return the facts as they are known at the end of ``today``, days counted from there."""
    story, nature = record.story, record.story.nature
    now = today + 1
    rng = random.Random(f"facts {record.seed} {today // 30}")
    guess = math.exp(rng.gauss(0, 0.06))
    weight = story.weights[today + WARM_UP]
    recent = [fed.grams for fed in record.fed if now - 14 <= fed.day < now]
    fish = (FishGroup(nature.species, nature.count, weight * guess),) if nature.count else ()
    return LoopFacts(
        kind=nature.kind,  # type: ignore[arg-type]
        volume_l=nature.litres * math.exp(random.Random(record.seed).gauss(0, 0.05)),
        fish_volume_l=nature.tank_litres, media_area_m2=nature.media_m2,
        plant_area_m2=nature.beds_m2, open_area_m2=nature.open_m2, rain_area_m2=0.0,
        altitude_m=100.0, aeration_per_day=None, protein_fraction=nature.protein,
        feed_g_day=sum(recent) / len(recent) if recent else None,
        drawn_off_l_day=nature.drawn_off, flow_out_l_day=0.0, flow_in_l_day=0.0, inflow=MakeUp(),
        make_up=MakeUp((("alk", nature.tap_alk), ("ec", nature.tap_ec), ("no3", nature.tap_no3))),
        fish=fish,
        weather=tuple(
            Weather(
                nature.warmth
                + nature.season * math.sin(2 * math.pi * (now + n + nature.phase) / 365),
                4.0, 0.0,
            )
            for n in range(horizon)
        ),
        observed=tuple(
            Observed(o.day - now, o.measurand, o.value, o.low, o.high)
            for o in record.seen
            if o.day < now
        ),
        fed=tuple(Fed(f.day - now, f.grams) for f in record.fed if f.day < now),
        dosed=tuple(Dosed(d - now, code, g) for d, code, g in story.dosed if d < now),
        renewed=tuple(Renewed(d - now, litres) for d, litres in story.renewed if d < now),
        limits=LIMITS,
    )  # fmt: skip


def origins(record: Record, count: int = 3) -> list[int]:
    """Return the last visits after which there is enough story left to judge by."""
    known = [day for day in record.story.visits if 35 <= day <= RECORD]
    return known[-count:]
