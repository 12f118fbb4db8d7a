"""Fish batches of the demo: how they grow, how many there are, what dies."""

import datetime as dt
import random
from dataclasses import dataclass, field

from demo.firm.weather import wave_visit

# growth (g/day per g^0.6 at best), first feeding, best from, best to, last feeding in °C,
# density at the end in kg/m3 of tank
GROWS: dict[str, tuple[float, float, float, float, float, float]] = {
    "nile_tilapia": (0.066, 17, 26, 30, 33, 11.5),
    "jade_perch": (0.054, 18, 25, 28.5, 31, 11.0),
    "silver_perch": (0.044, 12, 22, 28, 30, 10.0),
    "common_carp": (0.048, 9, 22, 28, 32, 9.0),
    "koi": (0.012, 9, 20, 28, 32, 6.0),
    "goldfish": (0.006, 8, 18, 26, 30, 5.0),
    "channel_catfish": (0.055, 14, 24, 29, 32, 11.0),
    "yellow_perch": (0.030, 10, 20, 25, 26.5, 8.0),
    "rainbow_trout": (0.062, 4, 12, 16, 18.5, 11.5),
}
ORNAMENTAL = ("koi", "goldfish")
HURT_BY_HEAT = ("murray-1", "novak-1")
SUPPLIERS = ("Hatchery at Sedge Mere", "Low Sedge Fish Farm", "Dellory Hatchery")


@dataclass
class Batch:
    """Fish stocked together; `weights` are the mean weights by day in g."""

    key: str
    species: str
    stocked: dt.date
    mean_g: float
    supplier: str
    ended: dt.date | None = None
    count: int = 0
    weights: dict[dt.date, float] = field(default_factory=dict)
    deaths: list[tuple[dt.date, int, str]] = field(default_factory=list)

    def alive(self, day: dt.date) -> int:
        """Return how many live on a day."""
        if day < self.stocked or (self.ended is not None and day >= self.ended):
            return 0
        return self.count - sum(number for on, number, _note in self.deaths if on <= day)


def appetite(species: str, temp: float) -> float:
    """Return the share of the full appetite at a temperature, 0 to 1."""
    _g, first, low, high, last, _d = GROWS[species]
    if temp <= first or temp >= last:
        return 0.0
    if temp < low:
        return 0.12 + 0.88 * (temp - first) / (low - first)
    return 1.0 if temp <= high else max(0.3, (last - temp) / (last - high))


def ration_g(batch: Batch, day: dt.date, temp: float) -> float:
    """Return the feed of a day in g: less for each gram the bigger the fish."""
    weight = batch.weights.get(day)
    if weight is None:
        return 0.0
    share = 8.5 * weight**-0.3 / 100 * (0.55 if batch.species in ORNAMENTAL else 1.0)
    return batch.alive(day) * weight * share * appetite(batch.species, temp)


def batches_of(
    key: str, species: str, tank_l: float, started: int, temps: dict[dt.date, float],
    today: dt.date, rng: random.Random,
) -> list[Batch]:  # fmt: skip
    """Return the batches of a system over the year."""
    if not species:
        return []
    stock = _ornamental if species in ORNAMENTAL else _eaten
    found = stock(key, species, started, today, rng)
    for batch in found:
        _grow(batch, temps, today)
        # the number is set for what they will weigh
        final = batch.weights[max(batch.weights)]
        if species not in ORNAMENTAL:
            final = max(final, 260.0 if GROWS[species][0] > 0.05 else 150.0)
        target = GROWS[species][5] * rng.uniform(0.82, 1.0)
        batch.count = max(9, round(target * tank_l / final))
        if batch.key == "bello-2":
            batch.count = 40
        _die(batch, today, rng)
    return found


def _ornamental(
    key: str, species: str, started: int, today: dt.date, rng: random.Random
) -> list[Batch]:
    stocked = today - dt.timedelta(days=min(started - 40, 900))
    weight = {"koi": rng.uniform(320, 520), "goldfish": rng.uniform(45, 80)}[species]
    return [Batch(f"{key}-1", species, stocked, round(weight), SUPPLIERS[2])]


def _eaten(key: str, species: str, started: int, today: dt.date, rng: random.Random) -> list[Batch]:
    def ago(days: int) -> dt.date:
        return today - dt.timedelta(days=days)

    supplier = rng.choice(SUPPLIERS)
    if key == "bello":
        return [
            Batch(f"{key}-1", species, ago(212), 48.0, supplier),
            Batch(f"{key}-2", species, ago(12), 36.0, supplier),
        ]
    if started < 330:
        return [Batch(f"{key}-1", species, ago(started - 46), 42.0, supplier)]
    turn = rng.randrange(120, 215)
    first = Batch(
        f"{key}-1", species, ago(rng.randrange(376, 430)), rng.randrange(40, 90) * 1.0,
        supplier, ended=ago(turn),
    )  # fmt: skip
    second = Batch(
        f"{key}-2", species, ago(turn + rng.randrange(2, 10)), rng.randrange(38, 66) * 1.0, supplier
    )
    return [first, second]


def _grow(batch: Batch, temps: dict[dt.date, float], today: dt.date) -> None:
    weight, gain = batch.mean_g, GROWS[batch.species][0]
    day = batch.stocked
    final = min(today, batch.ended or today)
    while day <= final:
        batch.weights[day] = weight
        temp = temps.get(day)
        if temp is not None:
            weight += gain * weight**0.6 * appetite(batch.species, temp)
        elif batch.species not in ORNAMENTAL:
            weight += gain * weight**0.6 * 0.7
        day += dt.timedelta(days=1)


def _die(batch: Batch, today: dt.date, rng: random.Random) -> None:
    if batch.species in ORNAMENTAL:
        return
    hot = wave_visit(today)
    if batch.key in HURT_BY_HEAT and batch.stocked < hot:
        batch.deaths.append((hot - dt.timedelta(days=1), 2, "found at dawn in the heat"))
    lost = 1 if batch.count > 25 and rng.random() < 0.7 else 0
    if lost:
        batch.deaths.append((batch.stocked + dt.timedelta(days=3), lost, "after stocking"))
    for _ in range(rng.choice((0, 0, 1, 1, 2))):
        end = batch.ended or today
        span = (end - batch.stocked).days
        if span > 70:
            on = batch.stocked + dt.timedelta(days=rng.randrange(35, span - 20))
            batch.deaths.append((on, 1, rng.choice(("", "found by the client", "no marks"))))
    batch.deaths.sort()


def sample(batch: Batch, day: dt.date, rng: random.Random) -> list[float]:
    """Return single weights in g of the fish netted on a day, a little biased to the slow ones."""
    mean = batch.weights[day]
    number = min(batch.alive(day), rng.choice((11, 12, 12, 14, 15)))
    spread = 0.15 if mean > 120 else 0.19
    weights = [mean * 0.99 * rng.lognormvariate(0, spread) for _ in range(number)]
    return [float(round(w)) if mean > 60 else round(w, 1) for w in weights]
