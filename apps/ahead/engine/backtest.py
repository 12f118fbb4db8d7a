"""Rolling origins: forecasts made of what was known then, against what was read later."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from apps.ahead.engine.hindcasts import facts_then, origins
from apps.ahead.engine.outlooks import forecasts
from apps.calc.ahead import baselines
from apps.calc.ahead.drive import drive_of, gear_of
from apps.calc.ahead.earned import HORIZONS, ratio_of
from apps.calc.ahead.facts import LoopFacts, Observed
from apps.calc.ahead.members import earlier_weights
from apps.calc.ahead.outlook import Fan
from apps.calc.ahead.priors import CONVERSION
from apps.calc.ahead.scores import Score, score

CHOSEN = "chosen"
METHODS = ("balance", "trend", "steady", CHOSEN)
Table = dict[tuple[str, int, str], Score]


@dataclass(frozen=True)
class Case:
    """What was known on one day of one loop, and what was read later (days above 0)."""

    facts: LoopFacts
    later: tuple[Observed, ...]


def cases_of(facts: LoopFacts, most: int = 6) -> list[Case]:
    """Return the cases of a loop's own record: its last visits, and what was read after each.

    Fish are as many as today and grown to their weight of then; temperatures are those that came.
    """
    drive, gear = drive_of(facts), gear_of(facts)
    found = []
    for day in origins(facts, most):
        weights = earlier_weights(
            facts, gear, drive.days[day - drive.first : -drive.first], CONVERSION
        )
        fish = tuple(
            replace(group, weight_g=weight)
            for group, weight in zip(facts.fish, weights, strict=True)
        )
        later = tuple(
            replace(seen, day=seen.day - day) for seen in facts.observed if seen.day >= day
        )
        found.append(Case(replace(facts_then(facts, drive, day), fish=fish), later))
    return found


def nearest_horizon(day: float) -> int | None:
    """Return the horizon that a later reading is counted for; None where it lies too far off."""
    found = min(HORIZONS, key=lambda horizon: abs(horizon - day) / horizon)
    return found if abs(found - day) <= 0.4 * found else None


def backtest(cases: Sequence[Case]) -> Table:
    """Return (measurand, horizon, method) -> score over all cases."""
    table: dict[tuple[str, int, str], Score] = defaultdict(Score)
    for case, made in zip(cases, forecasts([c.facts for c in cases]), strict=True):
        fans = {fan.measurand: fan for fan in made.balance}
        chosen = {fan.measurand: fan for fan in made.outlook.fans}
        for seen in case.later:
            horizon = nearest_horizon(seen.day)
            readings = baselines.recent(case.facts.observed, seen.measurand)
            if horizon is None or seen.measurand not in fans or not readings:
                continue
            steady = baselines.steady(seen.measurand, readings, [seen.day])[0]
            trend = baselines.trend(seen.measurand, readings, [seen.day])
            by_method = {
                "balance": at_day(fans[seen.measurand], seen.day),
                "steady": steady,
                "trend": trend[0] if trend else steady,
                CHOSEN: at_day(chosen[seen.measurand], seen.day),
            }
            for method, band in by_method.items():
                table[seen.measurand, horizon, method] += score(*band, seen)
    return dict(table)


def at_day(fan: Fan, day: float) -> tuple[float, float, float]:
    """Return the fan's band on a day between its own."""
    below = min(int(day), len(fan.days) - 2)
    share = day - below

    def between(part: Sequence[float]) -> float:
        return part[below] + share * (part[below + 1] - part[below])

    return between(fan.low), between(fan.middle), between(fan.high)


def lines(table: Mapping[tuple[str, int, str], Score]) -> Iterable[str]:
    """Return the table as text: skill is 1 - mean error / mean error of 'steady'."""
    yield "skill against 'steady' (1 - ratio of mean errors) | share of readings in the 80 % range"
    head = "".join(f"{method:>17}" for method in ("balance", "trend", CHOSEN))
    yield f"{'':5} {'days':>4} {'n':>5} {'steady error':>13}{head}      steady"
    for measurand in dict.fromkeys(key[0] for key in table):
        for horizon in HORIZONS:
            scores = {m: table.get((measurand, horizon, m), Score()) for m in METHODS}
            if not scores["steady"].judged:
                continue
            plain = scores["steady"].mean_error
            cells = "".join(
                f"{_skill(scores[m], plain):>+9.2f} |{100 * (scores[m].hit_rate or 0):4.0f} %"
                for m in ("balance", "trend", CHOSEN)
            )
            rate = 100 * (scores["steady"].hit_rate or 0)
            yield (
                f"{measurand:5} {horizon:>4} {scores['steady'].judged:>5} {plain:>13.3f}{cells}"
                f" {rate:>9.0f} %"
            )


def _skill(found: Score, plain: float) -> float:
    return 1 - found.mean_error / plain if plain else 0.0


def elsewhere(
    table: Mapping[tuple[str, int, str], Score],
) -> dict[str, dict[str, tuple[float, ...]]]:
    """Return measurand -> method -> ratio of errors to 'steady' at each horizon.

    What ``earned.ELSEWHERE`` is made from.
    """
    found: dict[str, dict[str, tuple[float, ...]]] = {}
    for measurand in dict.fromkeys(key[0] for key in table):
        found[measurand] = {
            method: tuple(
                round(_ratio(table, measurand, horizon, method), 2) for horizon in HORIZONS
            )
            for method in ("balance", "trend")
        }
    return found


def _ratio(
    table: Mapping[tuple[str, int, str], Score], measurand: str, horizon: int, method: str
) -> float:
    scores = {name: table.get((measurand, horizon, name), Score()) for name in (method, "steady")}
    return ratio_of(measurand, scores, method) or 1.0
