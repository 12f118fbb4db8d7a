"""Fish: biomass from a sample, growth by warmth, condition."""

import math
from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import fmean, stdev

from apps.calc.quantities import require, require_between
from apps.calc.statistics import student_t_quantile


@dataclass(frozen=True)
class Biomass:
    """Kilograms of fish with the 95 % interval of the sample, and what was weighed."""

    kg: float
    kg_low: float
    kg_high: float
    mean_g: float
    cv: float


def biomass(weights_g: Sequence[float], count: int) -> Biomass:
    """Return the biomass of ``count`` fish from the weights of some of them.

    95 % interval by Student's t with the finite-population correction; never below zero. When
    all fish were weighed the interval has no width.
    Valid range: at least 2 weights of 0.01 to 30 000 g, count not below their number;
    ValueError outside. References: student1908.

    >>> b = biomass([52, 61, 58, 66, 49, 71, 55, 63, 60, 57, 68, 54, 62, 59, 65], 150)
    >>> b.kg, b.kg_low, b.kg_high
    (9.00, 8.52, 9.48)
    """
    n = len(weights_g)
    require_between("the number of weights", n, 2, 100_000)
    for weight in weights_g:
        require("weight_g", weight)
    require("count", count)
    if count < n:
        message = f"count must not be below the {n} fish weighed, not {count}"
        raise ValueError(message)
    mean = fmean(weights_g)
    deviation = stdev(weights_g)
    finite = math.sqrt(1 - n / count)
    half = student_t_quantile(0.975, n - 1) * deviation / math.sqrt(n) * finite
    kg = count * mean / 1000
    spread = count * half / 1000
    return Biomass(kg, max(0.0, kg - spread), kg + spread, mean, deviation / mean)


def weight_after_g(weight_g: float, temp_c: float, days: float, tgc: float) -> float:
    """Return the weight [g] after ``days`` at ``temp_c`` with that thermal growth coefficient.

    W2 = (W1^(1/3) + tgc / 1000 x temp x days)^3; ``tgc`` is the coefficient times 1000.
    Valid range: 0.01 to 30 000 g, 0 to 45 °C within one feeding range, 0 to 1000 days, tgc 0.01
    to 5; ValueError outside. References: iwama1981.

    >>> weight_after_g(60, 29, 56, 1.04)
    175.98
    """
    require("weight_g", weight_g)
    require_between("temp_c", temp_c, 0, 45)
    require("days", days)
    require("tgc", tgc)
    return math.pow(math.cbrt(weight_g) + tgc / 1000 * temp_c * days, 3)


def tgc(weight_g: float, later_weight_g: float, temp_c: float, days: float) -> float:
    """Return the thermal growth coefficient x 1000 between two weights [g].

    Valid range: weights 0.01 to 30 000 g, degree days above 0; ValueError outside.
    References: iwama1981.

    >>> tgc(10, 350, 11, 200)
    2.224
    """
    require("weight_g", weight_g)
    require("later_weight_g", later_weight_g)
    degree_days = require_between("temp_c", temp_c, 0.1, 45) * require("days", days)
    if degree_days <= 0:
        message = "days must be above 0"
        raise ValueError(message)
    return 1000 * (math.cbrt(later_weight_g) - math.cbrt(weight_g)) / degree_days


def sgr_percent_day(weight_g: float, later_weight_g: float, days: float) -> float:
    """Return the specific growth rate [%/day] between two weights [g].

    100 ln(W2 / W1) / days. Valid range: weights 0.01 to 30 000 g, days above 0; ValueError
    outside. References: ricker1975.

    >>> sgr_percent_day(79, 813.8, 168)
    1.39
    """
    require("weight_g", weight_g)
    require("later_weight_g", later_weight_g)
    if require("days", days) <= 0:
        message = "days must be above 0"
        raise ValueError(message)
    return 100 * math.log(later_weight_g / weight_g) / days


def feed_conversion(feed_kg: float, gain_kg: float) -> float:
    """Return the feed given for a kilogram that the fish gained (FCR).

    Valid range: gain above 0 kg; ValueError outside. References: fao589.

    >>> feed_conversion(26.1, 17.4)
    1.5
    """
    require("feed_kg", feed_kg)
    return feed_kg / require("gain_kg", gain_kg)


def sample_size(count: int, cv_percent: float, within_percent: float) -> int:
    """Return how many of ``count`` fish to weigh to know their mean within some percent.

    The fewest for which the 95 % half width by Student's t, with the finite-population
    correction, is no more than that. ``cv_percent``: standard deviation of the weights against
    their mean. Valid range: 2 to 999 999 fish, cv 0.1 to 200 %, within 0.5 to 100 %; ValueError
    outside. References: student1908.

    >>> sample_size(150, 15, 10)
    11
    """
    require_between("count", count, 2, 999_999)
    ratio = require("cv_percent", cv_percent) / require("within_percent", within_percent)

    def enough(n: int) -> bool:
        finite = math.sqrt(1 - n / count)
        return student_t_quantile(0.975, n - 1) * ratio / math.sqrt(n) * finite <= 1

    return bisect_left(range(count), True, 2, count, key=enough)


@dataclass(frozen=True)
class Growth:
    """How fast a batch grows: thermal growth coefficient x 1000 with its standard deviation."""

    tgc: float
    spread: float


# of a coefficient of another batch of the same species, and of the cube root of a sample's mean:
# a third of 5 % of the weight (both common practice)
_BETWEEN_BATCHES, _OF_A_ROOT = 0.35, 0.05 / 3


def growth_fitted(points: Sequence[tuple[float, float]], tgc: float) -> Growth:
    """Return how fast a batch grows by its weighings, leaning on the usual ``tgc`` of its species.

    ``points``: (degree days, mean weight [g]). Cube roots of weights lie on a straight line over
    degree days (iwama1981): its slope by least squares, weighed against the usual coefficient by
    what each is known within, so that weighings close together move it little.
    Valid range: two or more points with different degree days, weights 0.01 to 30 000 g, tgc
    0.01 to 5; ValueError outside. References: iwama1981, practice.

    >>> round(growth_fitted([(0, 10), (1100, 100), (2200, 350)], 1.0).tgc, 2)
    2.2
    """
    if len({days for days, _weight in points}) < 2:
        message = "points must be two or more, at different degree days"
        raise ValueError(message)
    roots = [math.cbrt(require("weight_g", weight)) for _days, weight in points]
    days, middle = [day for day, _weight in points], fmean(day for day, _weight in points)
    wide = math.fsum((day - middle) ** 2 for day in days)
    slope = math.fsum((day - middle) * root for day, root in zip(days, roots, strict=True)) / wide
    seen = (1000 * _OF_A_ROOT * fmean(roots)) ** 2 / wide
    known = (_BETWEEN_BATCHES * require("tgc", tgc)) ** 2
    variance = 1 / (1 / seen + 1 / known)
    fitted = variance * (1000 * slope / seen + tgc / known)
    return Growth(max(0.01, min(5.0, fitted)), math.sqrt(variance))


def condition(weight_g: float, length_cm: float) -> float:
    """Return Fulton's condition factor, 100 W / L^3 with g and cm.

    Valid range: 0.01 to 30 000 g, 0.5 to 200 cm; ValueError outside. References: fulton.

    >>> condition(250, 23.5)
    1.926
    """
    require("weight_g", weight_g)
    return 100 * weight_g / math.pow(require("length_cm", length_cm), 3)


def weight_from_length_g(length_cm: float, a: float, b: float) -> float:
    """Return the weight [g] of a fish of ``length_cm`` by W = a L^b.

    Valid range: 0.5 to 200 cm, a above 0, b 2.5 to 3.5; ValueError outside. References: fulton.

    >>> weight_from_length_g(10, 0.01, 3)
    10.0
    """
    require("length_cm", length_cm)
    require("a", a)
    require("b", b)
    return a * math.pow(length_cm, b)


def density_kg_m3(biomass_kg: float, volume_l: float) -> float:
    """Return the fish density [kg/m3] of a tank.

    >>> density_kg_m3(12, 800)
    15.0
    """
    return require("biomass_kg", biomass_kg) / require("volume_l", volume_l) * 1000
