"""The carbonate system: carbon dioxide, pH after a base, pH after mixing two waters.

Equilibrium constants, those of calcium pairs among them, are Plummer & Busenberg's; activity
follows Davies. Ionic strength and calcium of a water are taken from its alkalinity, for nobody
measures them on a visit, and rise with what is dosed. The model is approximate above pH 8.

Two answers exist for every base: in *closed* water (minutes after the dose) and with carbon
dioxide *held* by aeration (hours after). Carbonates and hydroxides overshoot in between.
"""

import math
from dataclasses import dataclass, replace
from functools import lru_cache

from apps.calc import units
from apps.calc.quantities import require, require_between
from apps.calc.roots import rising_root

_MG_PER_EQ = units.MG_CACO3_PER_MEQ * 1000
_MG_CO2_PER_MOL = units.CO2 * 1000
# A soft water between tap and nutrient solution, mol/L: other salts, and per equivalent.
_OTHER_SALTS = 0.0016
_IONS_PER_EQUIVALENT = 1.5
_OTHER_CALCIUM = 0.0001
_CALCIUM_PER_EQUIVALENT = 0.25
_LOW_PH, _HIGH_PH = 2.0, 13.0
_DAVIES_UP_TO = 0.5  # mol/L, where the activity formula ends
_ROUNDS = 60
_SETTLED = 1e-13
_BEYOND_REASON = 100.0  # mol/L
_LEAST_GAIN = 0.01  # equivalents per mol below which a base no longer lifts the pH
AIR_CO2_PPM = 420.0


@dataclass(frozen=True)
class Salt:
    """A base as a pure solid: g/mol, equivalents and carbon per mol, ions per equivalent."""

    code: str
    molar_g: float
    equivalents: float
    carbon: float
    ions: float
    potassium_g: float = 0.0
    sodium_g: float = 0.0
    calcium: float = 0.0

    @property
    def strength(self) -> float:
        """Grams of CaCO3 alkalinity that a gram of the pure salt brings."""
        return self.equivalents * units.MG_CACO3_PER_MEQ / self.molar_g


SALTS: dict[str, Salt] = {
    salt.code: salt
    for salt in (
        Salt("KHCO3", 100.115, 1, 1, 1.0, potassium_g=39.098),
        Salt("NaHCO3", 84.006, 1, 1, 1.0, sodium_g=22.990),
        Salt("K2CO3", 138.205, 2, 1, 1.0, potassium_g=78.197),
        Salt("Ca(OH)2", 74.092, 2, 0, 1.5, calcium=1),
        Salt("KOH", 56.105, 1, 0, 1.0, potassium_g=39.098),
    )
}
# Never printed as a dose for a client: they burn, and the water overshoots for hours.
STRONG_SALTS: frozenset[str] = frozenset({"Ca(OH)2", "KOH"})


def salt_named(code: str) -> Salt:
    """Return the salt with that code, ValueError when there is none."""
    if code not in SALTS:
        message = f"salt must be one of {', '.join(SALTS)}, not {code}"
        raise ValueError(message)
    return SALTS[code]


@dataclass(frozen=True)
class _Constants:
    k1: float
    k2: float
    kw: float
    davies: float
    calcium_bicarbonate: float
    calcium_carbonate: float


@lru_cache(maxsize=512)
def _constants(temp_c: float) -> _Constants:
    kelvin = temp_c + 273.15
    log = math.log10(kelvin)
    pk1 = 356.3094 + 0.06091964 * kelvin - 21834.37 / kelvin - 126.8339 * log + 1684915 / kelvin**2
    pk2 = 107.8871 + 0.03252849 * kelvin - 5151.79 / kelvin - 38.92561 * log + 563713.9 / kelvin**2
    pkw = 4470.99 / kelvin - 6.0875 + 0.01706 * kelvin
    bicarbonate = 1209.12 + 0.31294 * kelvin - 34765.05 / kelvin - 478.782 * log
    carbonate = -1228.732 - 0.299444 * kelvin + 35512.75 / kelvin + 485.818 * log
    return _Constants(
        k1=10**-pk1,
        k2=10**-pk2,
        kw=10**-pkw,
        davies=0.4883 + 8.074e-4 * temp_c,
        calcium_bicarbonate=10**bicarbonate,
        calcium_carbonate=10**carbonate,
    )


@dataclass(frozen=True)
class _Shares:
    """What one pH fixes: alkalinity per carbon dioxide, per total carbon, and of water itself."""

    per_co2: float
    carbon_per_co2: float
    water: float


def _single(const: _Constants, ionic: float) -> float:
    """Return the activity coefficient of an ion of one charge; of two it is the fourth power."""
    strength = min(ionic, _DAVIES_UP_TO)
    root = math.sqrt(strength)
    return float(10 ** (-const.davies * (root / (1 + root) - 0.3 * strength)))


def _shares(ph: float, temp_c: float, ionic: float, calcium: float) -> _Shares:
    const = _constants(temp_c)
    single = _single(const, ionic)
    hydrogen = 10**-ph
    free_calcium = calcium * single**4
    bicarbonate = const.k1 / hydrogen
    carbonate = bicarbonate * const.k2 / hydrogen
    bicarbonate *= (1 + const.calcium_bicarbonate * free_calcium) / single
    carbonate *= single**-4 + const.calcium_carbonate * free_calcium
    water = const.kw / (hydrogen * single) - hydrogen / single
    return _Shares(bicarbonate + 2 * carbonate, 1 + bicarbonate + carbonate, water)


def _ionic(alkalinity_eq: float) -> float:
    return _OTHER_SALTS + _IONS_PER_EQUIVALENT * alkalinity_eq


def _calcium(alkalinity_eq: float) -> float:
    return _OTHER_CALCIUM + _CALCIUM_PER_EQUIVALENT * alkalinity_eq


@dataclass(frozen=True)
class Water:
    """A water as the solver holds it: equivalents and moles per litre.

    Build it with :func:`water_of`; dose, aerate and ask it for its pH.
    """

    alkalinity: float
    carbon: float
    co2: float
    temp_c: float
    ionic: float
    calcium: float

    @property
    def alkalinity_mg_l_caco3(self) -> float:
        """Alkalinity [mg/L CaCO3]."""
        return self.alkalinity * _MG_PER_EQ

    def dosed(self, salt: str, dose_mg_l: float) -> "Water":
        """Return this water with ``dose_mg_l`` of pure salt dissolved and no gas exchanged."""
        kind = salt_named(salt)
        moles = dose_mg_l / 1000 / kind.molar_g
        added = kind.equivalents * moles
        return Water(
            self.alkalinity + added,
            self.carbon + kind.carbon * moles,
            self.co2,
            self.temp_c,
            self.ionic + kind.ions * added,
            self.calcium + kind.calcium * moles,
        )

    def aerated(self) -> "Water":
        """Return this water after aeration brought carbon dioxide back to where it is held."""
        shares = _shares(self.held_ph(), self.temp_c, self.ionic, self.calcium)
        return replace(self, carbon=self.co2 * shares.carbon_per_co2)

    def calcite_product(self, ph: float) -> float:
        """Return the product of the activities of free calcium and carbonate at a pH."""
        const = _constants(self.temp_c)
        single = _single(const, self.ionic)
        bicarbonate = self.co2 * const.k1 / 10**-ph
        carbonate = bicarbonate * const.k2 / 10**-ph
        pairs = const.calcium_bicarbonate * bicarbonate / single
        pairs += const.calcium_carbonate * carbonate
        return self.calcium / (single**-4 + pairs) * carbonate

    def closed_ph(self) -> float:
        """Return the pH at once, total carbon as it is."""
        return self._solve(closed=True)

    def held_ph(self) -> float:
        """Return the pH hours later, carbon dioxide where aeration holds it."""
        return self._solve(closed=False)

    def _solve(self, *, closed: bool) -> float:
        def excess(ph: float) -> float:
            shares = _shares(ph, self.temp_c, self.ionic, self.calcium)
            co2 = self.carbon / shares.carbon_per_co2 if closed else self.co2
            return shares.per_co2 * co2 + shares.water - self.alkalinity

        return rising_root(excess, _LOW_PH, _HIGH_PH)

    def dose_held(self, target_ph: float, salt: str) -> float:
        """Return the mg/L of pure salt that bring the pH to the target hours later."""
        kind = salt_named(salt)
        added = 0.0
        for _ in range(_ROUNDS):
            previous = added
            ionic = self.ionic + kind.ions * added
            calcium = self.calcium + kind.calcium * added / kind.equivalents
            shares = _shares(target_ph, self.temp_c, ionic, calcium)
            added = max(0.0, shares.per_co2 * self.co2 + shares.water - self.alkalinity)
            if abs(added - previous) <= _SETTLED * added or added > _BEYOND_REASON:
                break
        return added / kind.equivalents * kind.molar_g * 1000

    def dose_closed(self, target_ph: float, salt: str) -> float:
        """Return the mg/L that bring the pH to the target at once; infinite where none can."""
        kind = salt_named(salt)
        moles = 0.0
        for _ in range(_ROUNDS):
            previous = moles
            ionic = self.ionic + kind.ions * kind.equivalents * moles
            calcium = self.calcium + kind.calcium * moles
            shares = _shares(target_ph, self.temp_c, ionic, calcium)
            per_carbon = shares.per_co2 / shares.carbon_per_co2
            gain = kind.equivalents - kind.carbon * per_carbon
            if gain <= _LEAST_GAIN:
                return math.inf
            need = self.carbon * per_carbon + shares.water - self.alkalinity
            moles = max(0.0, need / gain)
            if abs(moles - previous) <= _SETTLED * moles:
                break
        return moles * kind.molar_g * 1000


def water_of(
    alkalinity_mg_l_caco3: float, ph: float, temp_c: float, calcium_mg_l: float | None = None
) -> Water:
    """Return the water with these readings; ValueError outside the ranges of the quantities.

    Calcium [mg/L] that was not measured is taken from the alkalinity.
    """
    require("alkalinity_mg_l_caco3", alkalinity_mg_l_caco3)
    require("ph", ph)
    require("temp_c", temp_c)
    alkalinity = alkalinity_mg_l_caco3 / _MG_PER_EQ
    ionic, calcium = _ionic(alkalinity), _calcium(alkalinity)
    if calcium_mg_l is not None:
        calcium = require("calcium_mg_l", calcium_mg_l) / 1000 / units.CA
    shares = _shares(ph, temp_c, ionic, calcium)
    co2 = max(0.0, (alkalinity - shares.water) / shares.per_co2)
    return Water(alkalinity, co2 * shares.carbon_per_co2, co2, temp_c, ionic, calcium)


def co2_mg_l(alkalinity_mg_l_caco3: float, ph: float, temp_c: float) -> float:
    """Return dissolved carbon dioxide [mg/L] from alkalinity [mg/L CaCO3], pH and °C.

    Zero where the pH is higher than the alkalinity can explain.
    Valid range: within 2 % of a speciation program at pH 6 to 8.5 and alkalinity to 150;
    alkalinity 0 to 600, pH 3 to 11, -2 to 45 °C accepted, ValueError outside.
    References: plummer1982, davies1962.

    >>> co2_mg_l(50, 7.0, 20)
    9.93
    """
    return water_of(alkalinity_mg_l_caco3, ph, temp_c).co2 * _MG_CO2_PER_MOL


def air_co2_mg_l(temp_c: float, co2_ppm: float = AIR_CO2_PPM) -> float:
    """Return the carbon dioxide [mg/L] of a water in balance with the air.

    Valid range: -2 to 45 °C, 100 to 5000 ppm; ValueError outside.
    References: plummer1982 (the Henry coefficients from memory).

    >>> air_co2_mg_l(29)
    0.57
    """
    require("co2_ppm", co2_ppm)
    kelvin = require("temp_c", temp_c) + 273.15
    log_kh = (
        108.3865
        + 0.01985076 * kelvin
        - 6919.53 / kelvin
        - 40.45154 * math.log10(kelvin)
        + 669365 / kelvin**2
    )
    return float(10**log_kh) * co2_ppm * 1e-6 * _MG_CO2_PER_MOL


def air_equilibrium_ph(
    alkalinity_mg_l_caco3: float, temp_c: float, co2_ppm: float = AIR_CO2_PPM
) -> float:
    """Return the pH of a water aerated until its carbon dioxide is that of the air.

    Valid range: alkalinity 0 to 600 mg/L CaCO3, 100 to 5000 ppm; ValueError outside.
    References: plummer1982 (the Henry coefficients from memory).

    >>> air_equilibrium_ph(50, 20)
    8.13
    """
    co2 = air_co2_mg_l(temp_c, co2_ppm) / _MG_CO2_PER_MOL
    alkalinity = require("alkalinity_mg_l_caco3", alkalinity_mg_l_caco3) / _MG_PER_EQ
    water = Water(alkalinity, 0.0, co2, temp_c, _ionic(alkalinity), _calcium(alkalinity))
    return water.held_ph()


def ph_after_base_closed(
    alkalinity_mg_l_caco3: float, ph: float, temp_c: float, salt: str, dose_mg_l: float
) -> float:
    """Return the pH minutes after a dose [mg/L of pure ``salt``], before any gas is exchanged.

    Valid range: start as :func:`co2_mg_l`, dose 0 to 5000 mg/L, salts of SALTS; ValueError outside.
    Approximate above pH 8. References: plummer1982, davies1962.

    >>> ph_after_base_closed(30, 6.5, 25, "Ca(OH)2", 10)
    7.14
    """
    require("dose_mg_l", dose_mg_l)
    water = water_of(alkalinity_mg_l_caco3, ph, temp_c)
    return water.dosed(salt, dose_mg_l).closed_ph() if dose_mg_l else ph


def ph_after_base_held(
    alkalinity_mg_l_caco3: float, ph: float, temp_c: float, salt: str, dose_mg_l: float
) -> float:
    """Return the pH hours after a dose [mg/L], carbon dioxide back where aeration holds it.

    Valid range and references: as :func:`ph_after_base_closed`.

    >>> ph_after_base_held(30, 6.4, 25, "KHCO3", 91.1)
    6.80
    """
    require("dose_mg_l", dose_mg_l)
    water = water_of(alkalinity_mg_l_caco3, ph, temp_c)
    return water.dosed(salt, dose_mg_l).held_ph() if dose_mg_l else ph


def _target(ph: float, target_ph: float) -> float:
    require_between("target_ph", target_ph, 3, 9)
    if target_ph < ph:
        message = f"target_ph must not be below ph {ph}, not {target_ph}"
        raise ValueError(message)
    return target_ph


def base_for_ph_held(
    alkalinity_mg_l_caco3: float, ph: float, temp_c: float, target_ph: float, salt: str
) -> float:
    """Return the dose [mg/L of pure ``salt``] that lifts pH to ``target_ph`` hours later.

    Valid range: start as :func:`co2_mg_l`, target from ``ph`` to 9; ValueError outside.
    References: plummer1982, davies1962.

    >>> base_for_ph_held(30, 6.4, 25, 6.8, "KHCO3")
    92.2
    """
    _target(ph, target_ph)
    return water_of(alkalinity_mg_l_caco3, ph, temp_c).dose_held(target_ph, salt)


def base_for_ph_closed(
    alkalinity_mg_l_caco3: float, ph: float, temp_c: float, target_ph: float, salt: str
) -> float:
    """Return the dose [mg/L of pure ``salt``] that lifts pH to ``target_ph`` within minutes.

    Valid range: as :func:`base_for_ph_held`; ValueError also where the salt alone cannot lift
    the pH so far (bicarbonates above about 8.2).
    References: plummer1982, davies1962.

    >>> base_for_ph_closed(30, 6.4, 25, 6.8, "Ca(OH)2")
    8.51
    """
    _target(ph, target_ph)
    dose = water_of(alkalinity_mg_l_caco3, ph, temp_c).dose_closed(target_ph, salt)
    if math.isinf(dose):
        message = f"{salt} cannot lift the pH to {target_ph}"
        raise ValueError(message)
    return dose


@dataclass(frozen=True)
class Mixed:
    """Two waters mixed: pH at once and after aeration, and what is carried along."""

    ph_minutes: float
    ph_hours: float
    temp_c: float
    alkalinity_mg_l_caco3: float
    tan_mg_l: float


@dataclass(frozen=True)
class Chemistry:
    """The readings of one water that mixing needs."""

    ph: float
    alkalinity_mg_l_caco3: float
    temp_c: float
    tan_mg_l: float = 0.0


def mix(tank: Chemistry, source: Chemistry, fraction: float) -> Mixed:
    """Return the water after ``fraction`` (0 to 1) of the tank is replaced by the source.

    At once, carbon is conserved; hours later aeration and the fish hold the carbon dioxide that
    the tank had before. Valid range: as :func:`co2_mg_l`; ValueError outside.
    References: plummer1982, davies1962.

    >>> same = Chemistry(7.0, 60, 25, 0.5)
    >>> mix(same, same, 0.3).ph_minutes
    7.00
    """
    require("fraction", fraction)
    first = water_of(tank.alkalinity_mg_l_caco3, tank.ph, tank.temp_c)
    second = water_of(source.alkalinity_mg_l_caco3, source.ph, source.temp_c)

    def blend(a: float, b: float) -> float:
        return a + fraction * (b - a)

    water = Water(
        blend(first.alkalinity, second.alkalinity),
        blend(first.carbon, second.carbon),
        first.co2,
        blend(tank.temp_c, source.temp_c),
        blend(first.ionic, second.ionic),
        blend(first.calcium, second.calcium),
    )
    return Mixed(
        ph_minutes=water.closed_ph(),
        ph_hours=water.held_ph(),
        temp_c=water.temp_c,
        alkalinity_mg_l_caco3=blend(tank.alkalinity_mg_l_caco3, source.alkalinity_mg_l_caco3),
        tan_mg_l=blend(require("tan_mg_l", tank.tan_mg_l), require("tan_mg_l", source.tan_mg_l)),
    )
