"""From a target and the water that is there to grams of the salts at hand."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from apps.calc.quantities import require, require_between
from apps.calc.recipe.conductivity import solution_ec_ms_cm
from apps.calc.recipe.nnls import least_squares
from apps.calc.recipe.salts import ELEMENTS, MICRO, SALTS, Salt, salt_named

# A target for nitrogen holds both forms together.
TARGETS: tuple[str, ...] = ("n", "p", "k", "ca", "mg", "s", "fe", "mn", "b", "zn", "cu", "mo")
MOST_TARGET_MG_L = 1000.0
# Sulfur comes along with magnesium and potassium: plants stand much more than they need.
_WEIGHTS: dict[str, float] = {"s": 0.2}
_FLOOR = {True: 0.01, False: 1.0}  # mg/L below which a miss is not counted as a share
# Below so many steps of the scale a rounded weight is off by more than a twentieth.
LEAST_STEPS = 10
# of what is wanted: further off is a miss (common practice); sulfur above it harms nothing
MISS = 0.1
MOST_HELP = 3
TIMES = (10, 100, 1000)
SCALES_G: tuple[float, ...] = (0.01, 0.1, 1.0)


@dataclass(frozen=True)
class Weighed:
    """One salt: what is needed exactly and as weighed [g].

    ``times`` above 1: too little to weigh; ``weighed_g`` is for so many batches in a litre of
    stock of which ``stock_ml`` go into this one.
    """

    salt: Salt
    exact_g: float
    weighed_g: float
    times: int = 1

    @property
    def given_g(self) -> float:
        """Grams that reach the water."""
        return self.weighed_g / self.times

    @property
    def stock_ml(self) -> float:
        """Millilitres of the litre of stock for one batch, 0 when weighed directly."""
        return 1000 / self.times if self.times > 1 else 0.0


@dataclass(frozen=True)
class Line:
    """One element [mg/L]: what is there, wanted (None: not asked for), reached."""

    element: str
    present: float
    wanted: float | None
    reached: float

    @property
    def off_mg_l(self) -> float:
        """How far the reached lies above what is wanted (below: negative)."""
        return self.reached - self.wanted if self.wanted is not None else 0.0


@dataclass(frozen=True)
class Recipe:
    """Salts for a volume, what they bring about, and what is there already beyond the target."""

    volume_l: float
    salts: tuple[Weighed, ...]
    lines: tuple[Line, ...]
    ec_ms_cm: float
    ammonium_share: float
    too_much: tuple[str, ...]

    @property
    def missed(self) -> tuple[Line, ...]:
        """What ends up further from what is wanted than a tenth, by the salts and not by the water."""
        return tuple(
            line for line in self.lines if line.element not in self.too_much and _misses(line)
        )


def _misses(line: Line) -> bool:
    if line.wanted is None or (line.element == "s" and line.off_mg_l > 0):
        return False
    return abs(line.off_mg_l) > MISS * line.wanted + _FLOOR[line.element in MICRO]


def blended(
    now: Mapping[str, float], source: Mapping[str, float], volume_l: float, fresh_l: float
) -> dict[str, float]:
    """Return the water [mg/L] once ``fresh_l`` of the source are in the ``volume_l``.

    Valid range: fresh_l 0 to volume_l; ValueError outside. References: chemistry.

    >>> blended({"ca": 100.0}, {"ca": 20.0}, 200, 50)["ca"]
    80.0
    """
    require("volume_l", volume_l)
    share = require_between("fresh_l", fresh_l, 0, volume_l) / volume_l
    return {
        element: (1 - share) * now.get(element, 0.0) + share * source.get(element, 0.0)
        for element in {*now, *source}
    }


def recipe(
    target: Mapping[str, float],
    present: Mapping[str, float],
    volume_l: float,
    salts: Sequence[str],
    scale_g: float,
) -> Recipe:
    """Return the salts that bring ``volume_l`` of the ``present`` water closest to ``target``.

    ``target`` [mg/L] by TARGETS, ``present`` [mg/L] by ELEMENTS. The sum of squared misses as
    shares of what is wanted is smallest (sulfur at a fifth); then each salt is rounded to what
    the scale can weigh, or made up as a stock for 10 to 1000 batches where it cannot.
    Valid range: targets 0 to 1000 mg/L, volume as ``volume_l``; ValueError outside, for an
    unknown element or salt, a scale not of SCALES_G, and where there is no salt at all.
    References: chemistry, lawson_hanson1974; hoagland1950 (the solutions that it gives back).
    """
    _check(target, present, salts, scale_g)
    require("volume_l", volume_l)
    chosen = [salt for code, salt in SALTS.items() if code in salts]
    grams = [x * volume_l / 1000 for x in _mg_l(target, present, chosen)]
    weighed = tuple(
        _weigh(salt, exact, scale_g)
        for salt, exact in zip(chosen, grams, strict=True)
        if exact > 1e-9 * volume_l
    )
    reached = _reached(present, weighed, volume_l)
    lines = tuple(_lines(target, present, reached))
    nitrogen = reached["no3"] + reached["nh4"]
    return Recipe(
        volume_l,
        weighed,
        lines,
        solution_ec_ms_cm(reached),
        reached["nh4"] / nitrogen if nitrogen else 0.0,
        tuple(e for e in target if _of(present, e) > target[e] * 1.1 + _FLOOR[e in MICRO]),
    )


def helping(
    target: Mapping[str, float],
    present: Mapping[str, float],
    volume_l: float,
    salts: Sequence[str],
    scale_g: float,
) -> tuple[str, ...]:
    """Return the salts that are not at hand and would bring a recipe closer: three at most.

    One after the other, whichever leaves the fewest misses, then the smallest; none where no
    further one helps. Raises as ``recipe``.
    """
    held = list(salts)
    found: list[str] = []
    now = _far(recipe(target, present, volume_l, held, scale_g))
    while now[:2] != (0, 0) and len(found) < MOST_HELP:
        tried = [
            (*_far(recipe(target, present, volume_l, [*held, code], scale_g)), not salt.common, code)
            for code, salt in SALTS.items()
            if code not in held
        ]  # fmt: skip
        if not tried or min(tried)[:2] >= now[:2]:
            break
        *_best, code = min(tried)
        now = min(tried)[:3]
        held.append(code)
        found.append(code)
    return tuple(found)


def _far(made: Recipe) -> tuple[int, int, float]:
    """Return how many elements are missed, then trace elements, and by how much, as shares."""
    off = sum(abs(line.off_mg_l) / max(line.wanted or 0.0, 0.01) for line in made.missed)
    traces = sum(line.element in MICRO for line in made.missed)
    return len(made.missed) - traces, traces, round(off, 9)


def _check(
    target: Mapping[str, float], present: Mapping[str, float], salts: Sequence[str], scale_g: float
) -> None:
    for names, allowed in ((target, TARGETS), (present, ELEMENTS)):
        for element, value in names.items():
            if element not in allowed:
                message = f"{element} is none of {', '.join(allowed)}"
                raise ValueError(message)
            require_between(element, value, 0, MOST_TARGET_MG_L)
    for code in salts:
        salt_named(code)
    if not salts:
        message = "salts must name at least one salt"
        raise ValueError(message)
    if scale_g not in SCALES_G:
        message = f"scale_g must be one of {', '.join(f'{s:g}' for s in SCALES_G)}, not {scale_g:g}"
        raise ValueError(message)


def _of(mg_l: Mapping[str, float], element: str) -> float:
    """Return the mg/L of a target's element; nitrogen in both forms."""
    if element == "n":
        return mg_l.get("no3", 0.0) + mg_l.get("nh4", 0.0)
    return mg_l.get(element, 0.0)


def _mg_l(
    target: Mapping[str, float], present: Mapping[str, float], salts: Sequence[Salt]
) -> list[float]:
    """Return the mg/L of each salt; columns scaled so that none outweighs the others."""
    rows = [element for element in target if target[element] > 0]
    scale = {e: math.sqrt(_WEIGHTS.get(e, 1.0)) / max(target[e], _FLOOR[e in MICRO]) for e in rows}
    wanted = [(target[e] - _of(present, e)) * scale[e] for e in rows]
    columns = [[_of(salt.shares, e) * scale[e] for e in rows] for salt in salts]
    sizes = [math.sqrt(sum(v * v for v in column)) or 1.0 for column in columns]
    unit = [[v / size for v in column] for column, size in zip(columns, sizes, strict=True)]
    return [x / size for x, size in zip(least_squares(unit, wanted), sizes, strict=True)]


def _weigh(salt: Salt, exact_g: float, scale_g: float) -> Weighed:
    if exact_g >= LEAST_STEPS * scale_g:
        return Weighed(salt, exact_g, _rounded(exact_g, scale_g))
    times = next((n for n in TIMES if n * exact_g >= LEAST_STEPS * scale_g), TIMES[-1])
    return Weighed(salt, exact_g, _rounded(times * exact_g, scale_g), times)


def _rounded(grams: float, scale_g: float) -> float:
    return round(math.floor(grams / scale_g + 0.5) * scale_g, 2)


def _reached(
    present: Mapping[str, float], weighed: Sequence[Weighed], volume_l: float
) -> dict[str, float]:
    return {
        element: present.get(element, 0.0)
        + sum(w.given_g * w.salt.share(element) for w in weighed) * 1000 / volume_l
        for element in ELEMENTS
    }


def _lines(
    target: Mapping[str, float], present: Mapping[str, float], reached: Mapping[str, float]
) -> list[Line]:
    wanted: dict[str, float | None] = {**target}
    for element in ("na", "cl"):
        if reached[element] > 0:
            wanted.setdefault(element, None)
    return [Line(e, _of(present, e), want, _of(reached, e)) for e, want in wanted.items()]
