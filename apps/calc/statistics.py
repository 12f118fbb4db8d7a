"""Statistics by hand: quantiles, intervals, robust slope and outliers."""

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations
from statistics import NormalDist, median

from apps.calc.quantities import require_between


def _beta_fraction(a: float, b: float, x: float) -> float:
    """Continued fraction of the incomplete beta function by Lentz's method."""
    tiny = 1e-300
    c, d = 1.0, 1.0 - (a + b) * x / (a + 1)
    d = 1.0 / (d if abs(d) > tiny else tiny)
    result = d
    for m in range(1, 300):
        for numerator in (
            m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m)),
            -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1)),
        ):
            d = 1.0 + numerator * d
            c = 1.0 + numerator / c
            d = 1.0 / (d if abs(d) > tiny else tiny)
            c = c if abs(c) > tiny else tiny
            result *= d * c
        if abs(d * c - 1.0) < 1e-15:
            break
    return result


def _beta_share(a: float, b: float, x: float) -> float:
    """Regularised incomplete beta function."""
    if x <= 0 or x >= 1:
        return 0.0 if x <= 0 else 1.0
    front = math.exp(
        math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b) + a * math.log(x) + b * math.log1p(-x)
    )
    if x < (a + 1) / (a + b + 2):
        return front * _beta_fraction(a, b, x) / a
    return 1.0 - front * _beta_fraction(b, a, 1 - x) / b


def student_t_cdf(t: float, freedom: float) -> float:
    """Return the probability that Student's t with ``freedom`` degrees lies below ``t``.

    Valid range: freedom 1 to 1e6; ValueError outside. References: student1908.

    >>> student_t_cdf(0, 5)
    0.5
    """
    require_between("freedom", freedom, 1, 1e6)
    tail = 0.5 * _beta_share(freedom / 2, 0.5, freedom / (freedom + t * t))
    return 1 - tail if t > 0 else tail


@lru_cache(maxsize=1024)  # asked for the same few sample sizes again and again
def student_t_quantile(probability: float, freedom: float) -> float:
    """Return the value below which Student's t lies with ``probability``.

    Valid range: probability 0.0001 to 0.9999, freedom 1 to 1e6; ValueError outside.
    References: student1908.

    >>> student_t_quantile(0.975, 14)
    2.1448
    """
    require_between("probability", probability, 0.0001, 0.9999)
    if probability < 0.5:
        return -student_t_quantile(1 - probability, freedom)
    low, high = 0.0, 2.0
    while student_t_cdf(high, freedom) < probability:
        high *= 2
    for _ in range(80):
        middle = (low + high) / 2
        if student_t_cdf(middle, freedom) < probability:
            low = middle
        else:
            high = middle
    return (low + high) / 2


@dataclass(frozen=True)
class Proportion:
    """A share with its interval."""

    rate: float
    low: float
    high: float


def wilson(successes: int, trials: int, confidence: float = 0.95) -> Proportion:
    """Return a share with Wilson's score interval.

    Valid range: trials 1 to 1e9, successes 0 to trials; ValueError outside.
    References: wilson1927.

    >>> p = wilson(99, 100)
    >>> p.low, p.high
    (0.9455, 0.9982)
    """
    require_between("trials", trials, 1, 1e9)
    require_between("successes", successes, 0, trials)
    require_between("confidence", confidence, 0.5, 0.9999)
    z = NormalDist().inv_cdf((1 + confidence) / 2)
    rate = successes / trials
    centre = (rate + z * z / (2 * trials)) / (1 + z * z / trials)
    half = z * math.sqrt(rate * (1 - rate) / trials + z * z / (4 * trials * trials))
    half /= 1 + z * z / trials
    low = 0.0 if successes == 0 else max(0.0, centre - half)
    high = 1.0 if successes == trials else min(1.0, centre + half)
    return Proportion(rate, low, high)


def theil_sen(times: Sequence[float], values: Sequence[float]) -> tuple[float, float]:
    """Return the median of all slopes and the intercept through the medians.

    One bad reading in seven does not turn it. Needs two readings at different times;
    ValueError otherwise. References: sen1968.

    >>> theil_sen([0, 7, 14, 21, 28], [6.9, 6.85, 6.8, 6.75, 7.6])
    (-0.00714, 6.95)
    """
    if len(times) != len(values):
        message = "times and values must be equally many"
        raise ValueError(message)
    slopes = [
        (values[j] - values[i]) / (times[j] - times[i])
        for i, j in combinations(range(len(times)), 2)
        if times[j] != times[i]
    ]
    if not slopes:
        message = "a slope needs two readings at different times"
        raise ValueError(message)
    slope = median(slopes)
    return slope, median(values) - slope * median(times)


@dataclass(frozen=True)
class Kendall:
    """Kendall's rank correlation and the chance of one as strong where there is no trend."""

    tau: float
    p: float


_EXACT_UP_TO = 33


def kendall(times: Sequence[float], values: Sequence[float]) -> Kendall:
    """Return Kendall's tau-b of values against times, and its two-sided p: the Mann–Kendall test.

    Exact without ties up to 33 readings, else by the normal law with the variance for ties.
    Readings that are all the same have tau 0 and p 1. Needs two readings; ValueError otherwise.
    References: mann1945, kendall1970.

    >>> found = kendall([0, 7, 14, 21, 28, 35, 42], [6.9, 6.85, 6.8, 7.9, 6.7, 6.66, 6.6])
    >>> found.tau, found.p
    (-0.7143, 0.0302)
    """
    count = len(values)
    if len(times) != count or count < 2:
        message = "times and values must be equally many, and at least two"
        raise ValueError(message)
    score = sum(
        _sign(times[j] - times[i]) * _sign(values[j] - values[i])
        for i, j in combinations(range(count), 2)
    )
    ties = [sorted(Counter(row).values()) for row in (times, values)]
    pairs = count * (count - 1) // 2
    open_pairs = [pairs - sum(t * (t - 1) // 2 for t in row) for row in ties]
    if 0 in open_pairs:
        return Kendall(0.0, 1.0)
    tau = score / math.sqrt(open_pairs[0] * open_pairs[1])
    if open_pairs == [pairs, pairs] and count <= _EXACT_UP_TO:
        return Kendall(tau, _exact_kendall(count, (pairs - abs(score)) // 2))
    deviation = math.sqrt(_kendall_variance(count, *ties))
    return Kendall(tau, min(1.0, 2 * NormalDist().cdf(-abs(score) / deviation)))


def _sign(value: float) -> int:
    return (value > 0) - (value < 0)


def _exact_kendall(count: int, inversions: int) -> float:
    """Return twice the share of orders of ``count`` that have at most so many inversions."""
    ways = [1]
    for length in range(2, count + 1):
        wider = [0] * (len(ways) + length - 1)
        for have, number in enumerate(ways):
            for more in range(length):
                wider[have + more] += number
        ways = wider
    return min(1.0, 2 * sum(ways[: inversions + 1]) / math.factorial(count))


def _kendall_variance(count: int, first: Sequence[int], second: Sequence[int]) -> float:
    """Return the variance of Kendall's score, with ties of the sizes given in both rows."""
    whole, fives = count * (count - 1), 2 * count + 5
    spread = whole * fives - sum(t * (t - 1) * (2 * t + 5) for row in (first, second) for t in row)
    twos = math.prod(sum(t * (t - 1) for t in row) for row in (first, second))
    threes = math.prod(sum(t * (t - 1) * (t - 2) for t in row) for row in (first, second))
    rest = threes / (9 * whole * (count - 2)) if count > 2 else 0.0
    return spread / 18 + twos / (2 * whole) + rest


def hampel_outliers(
    values: Sequence[float], *, resolution: float = 0.0, limit: float = 3.0
) -> tuple[int, ...]:
    """Return the places of readings further than ``limit`` robust deviations from the median.

    The deviation is 1.4826 times the median absolute deviation, not below ``resolution``, the
    smallest step of the kit. Fewer than five readings have no outliers. References: hampel1974.

    >>> hampel_outliers([199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57])
    (7,)
    """
    if len(values) < 5:
        return ()
    centre = median(values)
    spread = max(1.4826 * median(abs(value - centre) for value in values), resolution)
    return tuple(i for i, value in enumerate(values) if abs(value - centre) > limit * spread)
