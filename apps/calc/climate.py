"""Reference evapotranspiration of a day by FAO-56, with its rules for missing readings."""

import math
from dataclasses import dataclass
from datetime import date

from apps.calc.quantities import require
from apps.calc.wording import text as _

PENMAN_MONTEITH = "penman_monteith"
HARGREAVES = "hargreaves"
WIND_WHEN_MISSING = 2.0
_SOLAR_CONSTANT = 0.0820  # MJ/m2/min
_STEFAN_BOLTZMANN = 4.903e-9  # MJ/K4/m2/day
_RADIATION_FROM_RANGE = 0.16  # inland
_ALBEDO = 0.23


@dataclass(frozen=True)
class Weather:
    """A day's weather. Only place, day and air temperatures must be known."""

    day: date
    latitude_deg: float
    altitude_m: float
    tmax_c: float
    tmin_c: float
    rh_max: float | None = None
    rh_min: float | None = None
    ea_kpa: float | None = None
    wind_m_s: float | None = None
    wind_height_m: float = 2.0
    sunshine_h: float | None = None
    rs_mj_m2_day: float | None = None
    soil_heat_mj_m2_day: float = 0.0

    def __post_init__(self) -> None:
        for name in self.__dataclass_fields__:
            value = getattr(self, name)
            if name != "day" and value is not None:
                require(name, value)
        if self.tmax_c < self.tmin_c:
            message = f"tmin_c must not be above tmax_c {self.tmax_c}, not {self.tmin_c}"
            raise ValueError(message)
        if self.rh_max is not None and self.rh_min is not None and self.rh_max < self.rh_min:
            message = f"rh_min must not be above rh_max {self.rh_max}, not {self.rh_min}"
            raise ValueError(message)

    @property
    def tmean_c(self) -> float:
        """Mean of the day's extremes [°C]."""
        return (self.tmax_c + self.tmin_c) / 2


@dataclass(frozen=True)
class Evapotranspiration:
    """Millimetres of the day, the method, and what had to be assumed."""

    et0_mm_day: float
    method: str
    assumptions: tuple[str, ...]


def saturation_vapour_kpa(temp_c: float) -> float:
    """Return the saturation vapour pressure [kPa] over water. References: fao56, equation 11.

    >>> saturation_vapour_kpa(24.5)
    3.075
    """
    return 0.6108 * math.exp(17.27 * temp_c / (temp_c + 237.3))


def _sun(latitude_deg: float, day_of_year: int) -> tuple[float, float, float]:
    latitude = math.radians(latitude_deg)
    declination = 0.409 * math.sin(2 * math.pi / 365 * day_of_year - 1.39)
    cosine = max(-1.0, min(1.0, -math.tan(latitude) * math.tan(declination)))
    return latitude, declination, math.acos(cosine)


def extraterrestrial_mj(latitude_deg: float, day_of_year: int) -> float:
    """Return the radiation above the air [MJ/m2/day], 0 in the polar night.

    Valid range: latitude -90 to 90, day 1 to 366; ValueError outside.
    References: fao56, equation 21.

    >>> extraterrestrial_mj(-20, 246)
    32.2
    """
    require("latitude_deg", latitude_deg)
    latitude, declination, sunset = _sun(latitude_deg, day_of_year)
    distance = 1 + 0.033 * math.cos(2 * math.pi / 365 * day_of_year)
    path = sunset * math.sin(latitude) * math.sin(declination)
    path += math.cos(latitude) * math.cos(declination) * math.sin(sunset)
    return max(0.0, 24 * 60 / math.pi * _SOLAR_CONSTANT * distance * path)


def daylight_h(latitude_deg: float, day_of_year: int) -> float:
    """Return the hours from sunrise to sunset. References: fao56, equation 34.

    >>> daylight_h(-20, 246)
    11.7
    """
    require("latitude_deg", latitude_deg)
    return 24 / math.pi * _sun(latitude_deg, day_of_year)[2]


def sunrise_utc_h(latitude_deg: float, longitude_deg: float, day_of_year: int) -> float | None:
    """Return when the sun rises [h UTC, below 0: the evening before], None where it does not that day.

    The horizon is level and the air bends no light, so the sun is seen some minutes sooner.
    References: fao56, equations 25 and 31 to 33.
    """
    require("latitude_deg", latitude_deg)
    require("longitude_deg", longitude_deg)
    sunset = _sun(latitude_deg, day_of_year)[2]
    if sunset in (0.0, math.pi):
        return None
    b = 2 * math.pi * (day_of_year - 81) / 364
    season = 0.1645 * math.sin(2 * b) - 0.1255 * math.cos(b) - 0.025 * math.sin(b)
    return 12 - longitude_deg / 15 - season - 12 / math.pi * sunset


def wind_at_2m(wind_m_s: float, wind_height_m: float) -> float:
    """Return the wind [m/s] at 2 m from a reading at ``wind_height_m``. References: fao56, equation 47.

    >>> wind_at_2m(3.2, 10)
    2.4
    """
    return wind_m_s * 4.87 / math.log(67.8 * wind_height_m - 5.42)


def _actual_vapour(weather: Weather) -> tuple[float, str]:
    if weather.ea_kpa is not None:
        return weather.ea_kpa, ""
    coldest = saturation_vapour_kpa(weather.tmin_c)
    if weather.rh_max is not None:
        if weather.rh_min is None:
            return coldest * weather.rh_max / 100, _("humidity from its highest value alone")
        warmest = saturation_vapour_kpa(weather.tmax_c)
        return (coldest * weather.rh_max + warmest * weather.rh_min) / 200, ""
    if weather.rh_min is not None:
        warmest = saturation_vapour_kpa(weather.tmax_c)
        return warmest * weather.rh_min / 100, _("humidity from its lowest value alone")
    return coldest, _("dew point taken as the lowest air temperature")


def _solar(weather: Weather, above: float) -> tuple[float, str]:
    if weather.rs_mj_m2_day is not None:
        return weather.rs_mj_m2_day, ""
    if weather.sunshine_h is not None:
        possible = daylight_h(weather.latitude_deg, weather.day.timetuple().tm_yday)
        share = min(1.0, weather.sunshine_h / possible) if possible else 0.0
        return (0.25 + 0.50 * share) * above, ""
    span = math.sqrt(weather.tmax_c - weather.tmin_c)
    return _RADIATION_FROM_RANGE * span * above, _("sunshine from the span of air temperatures")


def _net_radiation(weather: Weather, above: float, solar: float, vapour: float) -> float:
    clear = (0.75 + 2e-5 * weather.altitude_m) * above
    share = max(0.3, min(1.0, solar / clear)) if clear > 0 else 0.3
    kelvins = ((weather.tmax_c + 273.16) ** 4 + (weather.tmin_c + 273.16) ** 4) / 2
    humid = 0.34 - 0.14 * math.sqrt(vapour)
    longwave = _STEFAN_BOLTZMANN * kelvins * humid * (1.35 * share - 0.35)
    return (1 - _ALBEDO) * solar - longwave


def _hargreaves(weather: Weather, above: float) -> float:
    span = math.sqrt(weather.tmax_c - weather.tmin_c)
    return max(0.0, 0.0023 * (weather.tmean_c + 17.8) * span * 0.408 * above)


def _penman_monteith(weather: Weather, net: float, vapour: float, wind: float) -> float:
    mean = weather.tmean_c
    slope = 4098 * saturation_vapour_kpa(mean) / (mean + 237.3) ** 2
    pressure = 101.3 * math.pow((293 - 0.0065 * weather.altitude_m) / 293, 5.26)
    gamma = 0.665e-3 * pressure
    warmest = saturation_vapour_kpa(weather.tmax_c)
    deficit = (warmest + saturation_vapour_kpa(weather.tmin_c)) / 2 - vapour
    energy = 0.408 * slope * (net - weather.soil_heat_mj_m2_day)
    air = gamma * 900 / (mean + 273) * wind * deficit
    return max(0.0, (energy + air) / (slope + gamma * (1 + 0.34 * wind)))


def reference_et0(weather: Weather) -> Evapotranspiration:
    """Return the reference evapotranspiration of a day [mm] over short grass.

    Penman-Monteith where humidity, wind or sunshine is known, filling the rest by FAO-56's rules
    (dew point = lowest temperature, wind 2 m/s, sunshine from the temperature span); Hargreaves
    where only temperatures are known. Never below zero.
    Valid range: those of the quantities; ValueError outside. References: fao56.

    >>> day = date(2015, 7, 6)
    >>> uccle = Weather(day, 50.8, 100, 21.5, 12.3, 84, 63, None, 2.78, 10, 9.25)
    >>> reference_et0(uccle).et0_mm_day
    3.88
    """
    above = extraterrestrial_mj(weather.latitude_deg, weather.day.timetuple().tm_yday)
    known = (
        weather.ea_kpa,
        weather.rh_max,
        weather.rh_min,
        weather.wind_m_s,
        weather.sunshine_h,
        weather.rs_mj_m2_day,
    )
    if all(value is None for value in known):
        note = _("humidity, wind and sunshine unknown; error about 1 mm a day")
        return Evapotranspiration(_hargreaves(weather, above), HARGREAVES, (note,))
    wind_note: str
    vapour, vapour_note = _actual_vapour(weather)
    solar, solar_note = _solar(weather, above)
    if weather.wind_m_s is None:
        wind, wind_note = WIND_WHEN_MISSING, _("wind taken as 2 m/s")
    else:
        wind, wind_note = wind_at_2m(weather.wind_m_s, weather.wind_height_m), ""
    net = _net_radiation(weather, above, solar, vapour)
    notes = tuple(note for note in (vapour_note, solar_note, wind_note) if note)
    amount = _penman_monteith(weather, net, vapour, wind)
    return Evapotranspiration(amount, PENMAN_MONTEITH, notes)
