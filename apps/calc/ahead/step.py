"""One step of a loop's mass balance, by the backward Euler rule in closed form.

Ammonia, nitrite, nitrate, potassium and calcium are taken up by a saturating rate, so that the
implicit step is a quadratic with one root that is not negative: stable at any step, and nitrogen is
conserved to rounding. So is alkalinity, whose loss saturates as nitrification does with it. Sludge is
solved exactly; the sink of dissolved solids is taken at the new value in proportion to the old one
(Patankar's rule), so that it stays above zero.
Oxygen, carbon dioxide and pH follow the sources within minutes and are algebraic.

Rates and stoichiometry: timmons, ebeling2006, rusten2006; what plants take and what breathing
sludge uses are common practice. Concentrations in mg/L, rates in mg/L/day, time in days.
"""

from typing import NamedTuple

from apps.calc import units
from apps.calc.ahead.ops import Ops, Value
from apps.calc.feed import ALKALINITY_PER_N, ALKALINITY_PER_NITRATE_N, TAN_PER_PROTEIN

SOLIDS_PER_FEED = 0.25
OXYGEN_PER_FED = 0.45  # g by the fish themselves per g of feed
CO2_PER_OXYGEN = 44.009 / 32.0
OXYGEN_FIRST, OXYGEN_SECOND = 3.43, 1.14  # g per g nitrogen to nitrite, and on to nitrate
HALF_OXYGEN, HALF_ALKALINITY, HALF_NITRATE = 0.5, 15.0, 10.0
HALF_SALT = 5.0  # mg/L potassium or calcium
NITRATE_ION = units.NO3_ION / units.N
AIR_CO2 = 0.57  # mg/L in balance with air
TDS_PER_ALKALINITY, TDS_PER_FEED, TDS_PER_UPTAKE = 0.78, 0.02, 8.0
POTASSIUM_PER_N, CALCIUM_PER_N = 1.3, 0.3  # g in a plant per g of nitrogen
POTASSIUM_PER_FEED, CALCIUM_PER_FEED = 0.004, 0.004  # g dissolved per g of feed
# Fish are fed less, then nothing, from the first to the second figure.
PH_STOP, OXYGEN_STOP, AMMONIA_STOP = (6.2, 6.0), (4.0, 3.0), (0.15, 0.2)
_TINY = 1e-300
_LN10 = 2.302585092994046


class Gear(NamedTuple):
    """What stays: water [L], protein share, beds [m2]; fish by group with their ration's power and
    how much of the usual gain they make.

    ``returned``: share of the alkalinity of nitrate that plants give back: 1 where fish feed them, 0
    where they get bought salts, which are balanced.
    """

    volume_l: Value
    protein: Value
    plants_m2: Value
    returned: Value
    counts: tuple[Value, ...]
    powers: tuple[Value, ...]
    growths: tuple[Value, ...]


class Params(NamedTuple):
    """What is fitted. Capacities in g N/day at 20 °C, ``uptake`` g N/m2/day, rates per day.

    ``base`` is the alkalinity that nobody wrote down [mg/L CaCO3 a day], of either sign; above zero
    it goes with the day's ``acid``;
    ``usual_tan`` and ``usual_no2`` are where the bacteria neither grow nor shrink [mg/L].
    ``base_scale`` is the use against which it is believed; ``other_co2`` what roots, walls and lost alkalinity give off [mg/L/day].
    """

    first: Value
    second: Value
    half_first: Value
    half_second: Value
    uptake: Value
    loss: Value
    base: Value
    base_scale: Value
    aeration: Value
    stripping: Value
    other_co2: Value
    feed: Value
    salts: Value
    conversion: Value
    capture: Value
    decay: Value
    usual_tan: Value
    usual_no2: Value


class Day(NamedTuple):
    """What drives a day.

    ``warmth``: rate of the filter against 20 °C. ``saturation`` mg/L. ``pk1`` as the field formula
    has it. ``resting``: oxygen of unfed fish [g/kg/day]. ``rations``: grams a day of a fish of 1 g,
    by group. ``given``: grams fed in all, below zero where fed by ration. ``leaving``: share of the
    water that leaves with what is in it, per day. ``coming``: mg/L/day of each of COMING with make-up
    water, inflow and doses. ``renewed``: share replaced at the day's beginning by ``fresh``.
    ``salted``: mg/L/day of dissolved solids in doses, by the usual strength of salts.
    ``steer``: per day, how strongly people pull each of COMING to where it is ``kept_at``.
    ``acid``: ammonia that the feed makes, against what the unwritten alkalinity was learnt with.
    """

    warmth: Value
    saturation: Value
    pk1: Value
    pka: Value
    resting: Value
    rations: tuple[Value, ...]
    given: Value
    leaving: Value
    coming: tuple[Value, ...]
    renewed: Value
    fresh: tuple[Value, ...]
    salted: Value
    steer: tuple[Value, ...]
    kept_at: tuple[Value, ...]
    acid: Value = 1.0


COMING = ("tan", "no2", "no3", "alk", "tds", "k", "ca")


class Water(NamedTuple):
    """The state: mg/L (nitrogen as N, alkalinity as CaCO3), weights in g, last rates in mg/L/day."""

    tan: Value
    no2: Value
    no3: Value
    alk: Value
    tds: Value
    k: Value
    ca: Value
    ss: Value
    weights: tuple[Value, ...]
    first: Value
    second: Value
    eaten: Value


class Gases(NamedTuple):
    """Oxygen and carbon dioxide [mg/L], pH and un-ionised ammonia [mg/L N]."""

    oxygen: Value
    co2: Value
    ph: Value
    nh3: Value


def gases(ops: Ops, gear: Gear, params: Params, day: Day, water: Water, peak: float = 1.0) -> Gases:
    """Return what stands in balance with the last rates; ``peak`` times the fish's mean breathing."""
    breathing = peak * _fish_oxygen(ops, gear, day, water) + params.decay * water.ss
    used = breathing + OXYGEN_FIRST * water.first + OXYGEN_SECOND * water.second
    oxygen = ops.maximum(day.saturation - used / params.aeration, 0.0)
    co2 = AIR_CO2 + (CO2_PER_OXYGEN * breathing + params.other_co2) / params.stripping
    share = (
        ops.maximum(water.alk, 0.01) / (1000 * units.MG_CACO3_PER_MEQ) * (1000 * units.CO2) / co2
    )
    ph = day.pk1 + ops.log(share) / _LN10
    nh3 = water.tan / (1.0 + ops.exp(_LN10 * (day.pka - ph)))
    return Gases(oxygen, co2, ph, nh3)


def _fish_oxygen(ops: Ops, gear: Gear, day: Day, water: Water) -> Value:
    """mg/L/day: what feeding takes, not below what unfed fish take."""
    fish_g: Value = 0.0
    for count, weight in zip(gear.counts, water.weights, strict=True):
        fish_g = fish_g + count * weight
    unfed = day.resting * fish_g  # g/kg/day x g = mg/day
    return ops.maximum(1000 * OXYGEN_PER_FED * water.eaten, unfed) / gear.volume_l


def _ramp(ops: Ops, value: Value, full: float, none: float) -> Value:
    return ops.minimum(ops.maximum((value - none) / (full - none), 0.0), 1.0)


def rations(ops: Ops, gear: Gear, day: Day, water: Water) -> tuple[Value, ...]:
    """Return the g/day by group that the fish are given where nobody says otherwise."""
    return tuple(
        count * ration * ops.exp(power * ops.log(weight))
        for count, ration, power, weight in zip(
            gear.counts, day.rations, gear.powers, water.weights, strict=True
        )
    )


def _fed(
    ops: Ops, gear: Gear, params: Params, day: Day, water: Water, air: Gases
) -> tuple[Value, ...]:
    """g/day by group: the ration or what was given, shared alike, and nothing in bad water."""
    wanted = rations(ops, gear, day, water)
    total = sum(wanted)
    scale = ops.where(day.given >= 0, day.given / ops.maximum(total, 1e-9), 1.0)
    fit = _ramp(ops, air.ph, *PH_STOP) * _ramp(ops, air.oxygen, *OXYGEN_STOP)
    fit = fit * _ramp(ops, air.nh3, *AMMONIA_STOP) * params.feed * scale
    return tuple(amount * fit for amount in wanted)


def _saturating(
    ops: Ops, x: Value, source: Value, most: Value, half: Value, leaving: Value, dt: float
) -> Value:
    """Return the new x of dx/dt = source - most x/(half + x) - leaving x after ``dt``."""
    a = 1.0 + dt * leaving
    c = (x + dt * source) * half
    b = a * half - (x + dt * source) + dt * most
    h = (ops.maximum(b, -b) + ops.sqrt(b * b + 4.0 * a * c)) / 2.0
    return ops.where(b > 0, c / (h + _TINY), h / a)


def _taken(ops: Ops, x: Value, after: Value, source: Value, leaving: Value, dt: float) -> Value:
    """What the saturating sink took [per day]: from the balance, so that nothing is lost."""
    return ops.maximum(source + (x - after) / dt - leaving * after, 0.0)


def renew(day: Day, water: Water) -> Water:
    """Return the water after the day's exchange of a batch."""
    kept = 1.0 - day.renewed
    mixed = {
        name: getattr(water, name) * kept + day.renewed * fresh
        for name, fresh in zip(COMING, day.fresh, strict=True)
    }
    return water._replace(ss=water.ss * kept, **mixed)


def advance(ops: Ops, gear: Gear, params: Params, day: Day, water: Water, dt: float) -> Water:
    """Return the water ``dt`` days later.

    References: timmons, ebeling2006, rusten2006, practice.
    """
    per = 1000.0 / gear.volume_l  # g/day to mg/L/day
    air = gases(ops, gear, params, day, water)
    fed = _fed(ops, gear, params, day, water, air)
    eaten = sum(fed) if fed else 0.0 * water.tan
    come, out = {}, {}
    for name, brought, pull, level in zip(COMING, day.coming, day.steer, day.kept_at, strict=True):
        come[name], out[name] = brought + pull * level, day.leaving + pull
    limited = air.oxygen / (HALF_OXYGEN + air.oxygen) * day.warmth * per
    buffered = water.alk / (HALF_ALKALINITY + water.alk)

    made = eaten * gear.protein * TAN_PER_PROTEIN * per + come["tan"]
    most = params.first * limited * buffered
    tan = _saturating(ops, water.tan, made, most, params.half_first, out["tan"], dt)
    first = _taken(ops, water.tan, tan, made, out["tan"], dt)
    made = first + come["no2"]
    most = params.second * limited
    no2 = _saturating(ops, water.no2, made, most, params.half_second, out["no2"], dt)
    second = _taken(ops, water.no2, no2, made, out["no2"], dt)
    made = second + come["no3"]
    out3 = out["no3"] + params.loss
    most = gear.plants_m2 * params.uptake * per
    no3 = _saturating(ops, water.no3, made, most, HALF_NITRATE, out3, dt)
    uptake = _taken(ops, water.no3, no3, made, out3, dt)

    # what nobody wrote down answers the acid of nitrification: a base, or lime that dissolves
    unwritten = day.acid * ops.maximum(params.base, 0.0)
    given = gear.returned * ALKALINITY_PER_NITRATE_N * uptake + come["alk"] + unwritten
    used = ALKALINITY_PER_N * first - ops.minimum(params.base, 0.0)
    most = used / ops.maximum(buffered, 1e-9)
    alk = _saturating(ops, water.alk, given, most, HALF_ALKALINITY, out["alk"], dt)
    solids = SOLIDS_PER_FEED * eaten * (1.0 - params.capture) * per
    fading = params.decay + day.leaving
    kept = ops.exp(-dt * fading)
    ss = water.ss * kept + solids * (1.0 - kept) / ops.maximum(fading, 1e-9)
    dissolved = NITRATE_ION * second + TDS_PER_FEED * eaten * per
    dissolved = dissolved + TDS_PER_ALKALINITY * unwritten
    given = params.salts * (dissolved + day.salted) + come["tds"]
    tds = _falling(ops, water.tds, given, params.salts * TDS_PER_UPTAKE * uptake, out["tds"], dt)
    salts = {}
    for name, share, fed_share in (
        ("k", POTASSIUM_PER_N, POTASSIUM_PER_FEED),
        ("ca", CALCIUM_PER_N, CALCIUM_PER_FEED),
    ):
        salts[name] = _saturating(
            ops, getattr(water, name), come[name] + fed_share * eaten * per, share * uptake,
            HALF_SALT, out[name], dt,
        )  # fmt: skip
    weights = tuple(
        weight + dt * growth * amount / (params.conversion * ops.maximum(count, 1.0))
        for weight, amount, count, growth in zip(
            water.weights, fed, gear.counts, gear.growths, strict=True
        )
    )
    return Water(
        tan, no2, no3, alk, tds, salts["k"], salts["ca"], ss, weights, first, second, eaten
    )  # fmt: skip


def _falling(ops: Ops, x: Value, given: Value, used: Value, out: Value, dt: float) -> Value:
    """Return x after sources and a sink that, taken at the new value, cannot pass below zero."""
    share = used / ops.maximum(x, 1e-9)
    return (x + dt * given) / (1.0 + dt * (out + share))
