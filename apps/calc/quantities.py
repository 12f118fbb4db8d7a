"""Every quantity once: its code, unit, decimals and the range outside which it is refused."""

import math
from dataclasses import dataclass


@dataclass(frozen=True)
class Quantity:
    """A quantity as a calc parameter or a reading names it.

    ``low`` and ``high`` bound what is accepted at all; ``ask_low`` and ``ask_high`` bound what is
    accepted without asking once more. Either may be None (no bound).
    """

    code: str
    title: str
    unit: str
    decimals: int
    low: float
    high: float
    ask_low: float | None = None
    ask_high: float | None = None

    def holds(self, value: float) -> bool:
        """Tell whether ``value`` is finite and inside the accepted range."""
        return math.isfinite(value) and self.low <= value <= self.high

    def asks_again(self, value: float) -> bool:
        """Tell whether ``value`` is accepted but unusual enough to be read once more."""
        below = self.ask_low is not None and value < self.ask_low
        above = self.ask_high is not None and value > self.ask_high
        return below or above


def _table(*rows: Quantity) -> dict[str, Quantity]:
    return {row.code: row for row in rows}


# What is read on a visit. The ranges are the firm's defaults (common practice); the catalogue
# shows them with their source and lets the firm edit them.
MEASURANDS: dict[str, Quantity] = _table(
    Quantity("temp", "Water temperature", "°C", 1, -2, 45, 8, 33),
    Quantity("air_t", "Air temperature", "°C", 1, -20, 55, 0, 42),
    Quantity("ph", "pH", "", 2, 3, 11, 5.8, 8.6),
    Quantity("alk", "Alkalinity", "mg/L CaCO3", 0, 0, 600, 20, 250),
    Quantity("gh", "Total hardness", "mg/L CaCO3", 0, 0, 1000, 30, None),
    Quantity("tan", "Total ammonia", "mg/L", 2, 0, 20, None, 2),
    Quantity("nh3", "Un-ionised ammonia", "mg/L", 3, 0, 5, None, 0.05),
    Quantity("no2", "Nitrite", "mg/L", 2, 0, 30, None, 0.5),
    Quantity("no3", "Nitrate", "mg/L", 0, 0, 300, 2, 80),
    Quantity("k", "Potassium", "mg/L", 0, 0, 600, 15, None),
    Quantity("ca", "Calcium", "mg/L", 0, 0, 600, 30, None),
    Quantity("mg", "Magnesium", "mg/L", 0, 0, 300, 8, None),
    Quantity("po4", "Phosphate", "mg/L", 1, 0, 50, 0.5, None),
    Quantity("fe", "Iron", "mg/L", 1, 0, 20, 0.3, 5),
    Quantity("ec", "Conductivity at 25 °C", "mS/cm", 2, 0.02, 10, 0.15, 3.5),
    Quantity("tds", "Dissolved solids", "mg/L", 0, 10, 7000, 75, 2450),
    Quantity("do", "Dissolved oxygen", "mg/L", 1, 0, 20, 4, None),
    Quantity("do_pct", "Oxygen saturation", "%", 0, 0, 250, 60, 130),
    Quantity("na", "Sodium", "mg/L", 0, 0, 3000, None, 70),
    Quantity("cl", "Chloride", "mg/L", 0, 0, 3000),
    Quantity("chlorine", "Total chlorine", "mg/L", 2, 0, 5, None, 0.02),
    Quantity("level", "Level below mark", "mm", 0, -300, 500, None, 50),
    Quantity("flow_pct", "Flow against commissioning", "%", 0, 0, 500, 80, None),
    Quantity("feed_response", "Feeding response", "score 0–3", 0, 0, 3, 2, None),
    Quantity("secchi", "Depth at which a white disc vanishes", "cm", 0, 0, 300, 30, None),
    Quantity("germination", "Seedlings that came up", "%", 0, 0, 100, 80, None),
    Quantity("larvae", "Mosquito larvae in a dip", "per dip", 0, 0, 999),
    Quantity("aphids", "Aphids on a leaf", "per leaf", 0, 0, 999),
    Quantity("whitefly", "Whitefly on a card in a week", "per card", 0, 0, 9999),
    Quantity("bed_sludge", "Sludge against the depth of the bed", "%", 0, 0, 100),
    Quantity("siphon_fill", "Time to fill the siphon bed", "min", 0, 0, 240),
    Quantity("settler_sludge", "Sludge drained from the settler", "L", 0, 0, 2000),
    Quantity("density", "Fish in the tank", "kg/m³", 1, 0, 200),
    Quantity("feed_area", "Feed per plant area", "g/m²/day", 0, 0, 1000),
    Quantity("meter_check", "Meter check at the third buffer", "", 2, -3, 3, -0.1, 0.1),
    Quantity("flow", "Flow at an outlet", "L/min", 1, 0, 500),
    Quantity("topup", "Make-up water", "L/day", 0, 0, 2000),
    Quantity("outage", "Time without power", "min", 0, 0, 10080),
    Quantity("fed_ago", "Time since the last feed", "h", 1, 0, 168),
    Quantity("feed", "Feed given", "g/day", 0, 0, 20000),
    Quantity("mort", "Deaths since the last record", "fish", 0, 0, 9999),
    Quantity("bw", "Mean body weight", "g", 1, 0.1, 10000),
    Quantity("batt", "Backup battery", "V", 1, 0, 60, 12.2, None),
    Quantity("par", "Light at the canopy", "mol/m²/day", 0, 0, 70, 8, None),
    Quantity("rh", "Air humidity", "%", 0, 5, 100, None, 90),
)

# What the functions of this package take. Ranges are those of the formulas and of backyard scale.
PARAMETERS: dict[str, Quantity] = _table(
    Quantity("temp_c", "Water temperature", "°C", 1, -2, 45),
    Quantity("ph", "pH", "", 2, 3, 11),
    Quantity("target_ph", "Target pH", "", 2, 3, 8),
    Quantity("alkalinity_mg_l_caco3", "Alkalinity", "mg/L CaCO3", 0, 0, 600),
    Quantity("tan_mg_l", "Total ammonia nitrogen", "mg/L N", 2, 0, 20),
    Quantity("nh3_n_mg_l", "Un-ionised ammonia nitrogen", "mg/L N", 3, 0, 20),
    Quantity("no2_n_mg_l", "Nitrite nitrogen", "mg/L N", 2, 0, 30),
    Quantity("do_mg_l", "Dissolved oxygen", "mg/L", 1, 0, 25),
    Quantity("limit_mg_l", "Lowest oxygen the fish stand", "mg/L", 1, 0, 12),
    Quantity("co2_mg_l", "Carbon dioxide", "mg/L", 1, 0, 1000),
    Quantity("salinity_g_kg", "Salinity", "g/kg", 1, 0, 40),
    Quantity("altitude_m", "Altitude", "m", 0, -400, 4000),
    Quantity("volume_l", "Water volume", "L", 0, 1, 999_999),
    Quantity("litres", "Litres", "L", 0, 0, 999_999),
    Quantity("biomass_kg", "Fish biomass", "kg", 2, 0, 100_000),
    Quantity("weight_g", "Weight of one fish", "g", 1, 0.01, 30_000),
    Quantity("count", "Number of fish", "", 0, 1, 999_999),
    Quantity("feed_g_day", "Feed", "g/day", 0, 0, 999_999),
    Quantity("protein_fraction", "Protein share of the feed", "", 2, 0.05, 0.7),
    Quantity("tan_g_day", "Ammonia nitrogen made", "g/day", 2, 0, 999_999),
    Quantity("no3_n_g_day", "Nitrate nitrogen taken up", "g/day", 2, 0, 999_999),
    Quantity("area_m2", "Area", "m²", 1, 0, 999_999),
    Quantity("total_chlorine_mg_l", "Total chlorine", "mg/L", 2, 0, 10),
    Quantity("chloride_mg_l", "Chloride", "mg/L", 0, 0, 3000),
    Quantity("fraction", "Share of the water changed", "", 2, 0, 1),
    Quantity("dose_g", "Dose of pure salt", "g", 1, 0, 999_999),
    Quantity("co2_ppm", "Carbon dioxide in the air", "ppm", 0, 100, 5000),
    Quantity("others_share", "Breathing of bacteria and sludge against fish", "", 2, 0, 5),
    Quantity("ratio", "Chloride to nitrite ion", "", 0, 1, 50),
    Quantity("concentration_mg_l", "Concentration", "mg/L", 2, 0, 999_999),
    Quantity("dose_mg_l", "Dose of pure salt", "mg/L", 1, 0, 5000),
    Quantity("later_weight_g", "Weight of one fish later", "g", 1, 0.01, 30_000),
    Quantity("length_cm", "Length of one fish", "cm", 1, 0.5, 200),
    Quantity("a", "Factor of weight by length", "", 4, 1e-5, 1),
    Quantity("b", "Power of weight by length", "", 2, 2.5, 3.5),
    Quantity("g_m2_day", "Feed per bed area", "g/m²/day", 0, 0, 999_999),
    Quantity("tgc", "Thermal growth coefficient × 1000", "", 2, 0.01, 5),
    Quantity("days", "Days", "", 0, 0, 1000),
    Quantity("length_m", "Length", "m", 2, 0.01, 1000),
    Quantity("width_m", "Width", "m", 2, 0.01, 1000),
    Quantity("depth_m", "Depth of water", "m", 2, 0, 20),
    Quantity("diameter_m", "Diameter", "m", 2, 0.01, 50),
    Quantity("cone_height_m", "Height of the cone", "m", 2, 0.01, 20),
    Quantity("cylinder_height_m", "Height of the cylinder", "m", 2, 0, 20),
    Quantity("top_diameter_m", "Diameter at the water line", "m", 2, 0.01, 50),
    Quantity("bottom_diameter_m", "Diameter at the floor", "m", 2, 0.01, 50),
    Quantity("drop_m", "Fall of a siphon", "m", 2, 0.01, 10),
    Quantity("reynolds", "Reynolds number", "", 0, 1e-6, 1e8),
    Quantity("relative_roughness", "Roughness against the pipe's diameter", "", 5, 0, 0.05),
    Quantity("void_fraction", "Share of voids", "", 2, 0.05, 0.95),
    Quantity("flow_l_h", "Flow", "L/h", 0, 1, 999_999),
    Quantity("pipe_id_mm", "Inner diameter of the pipe", "mm", 1, 3, 600),
    Quantity("fittings_k", "Sum of fitting losses K", "", 1, 0, 500),
    Quantity("static_m", "Static lift", "m", 2, 0, 50),
    Quantity("efficiency", "Efficiency of pump and motor", "", 2, 0.01, 1),
    Quantity("calcium_mg_l", "Calcium", "mg/L", 0, 0.1, 1000),
    Quantity("load_g_day", "What is made in a day", "g/day", 2, 0, 999_999),
    Quantity("drop_mg_l", "Taken out at each pass", "mg/L", 2, 0.001, 1000),
    Quantity("removal_share", "Share taken out at each pass", "", 2, 0.01, 1),
    Quantity("air_l_min", "Air", "L/min", 1, 0.1, 10_000),
    Quantity("transfer_percent", "Share of the air's oxygen that dissolves", "%", 1, 0.1, 50),
    Quantity("alpha", "Speed of uptake against clean water (alpha)", "", 2, 0.1, 1.5),
    Quantity("beta", "Saturation against clean water (beta)", "", 2, 0.5, 1.1),
    Quantity("ppfd_umol_m2_s", "Light that plants use", "µmol/m²/s", 0, 0, 3000),
    Quantity("hours", "Hours a day", "h", 1, 0, 24),
    Quantity("mol_m2_day", "Light of a day", "mol/m²/day", 1, 0, 260),
    Quantity("gain_kg", "Gain of all fish", "kg", 2, 1e-6, 999_999),
    Quantity("feed_kg", "Feed given", "kg", 2, 0, 999_999),
    Quantity(
        "cv_percent", "Standard deviation of the weights against their mean", "%", 0, 0.1, 200
    ),
    Quantity("within_percent", "Mean to be known within", "%", 0, 0.5, 100),
    Quantity("surface_load_m_day", "Surface load", "m³/m²/day", 0, 1, 1000),
    Quantity("latitude_deg", "Latitude, north positive", "°", 2, -90, 90),
    Quantity("longitude_deg", "Longitude, east positive", "°", 2, -180, 180),
    Quantity("tmax_c", "Highest air temperature of the day", "°C", 1, -40, 60),
    Quantity("tmin_c", "Lowest air temperature of the day", "°C", 1, -60, 50),
    Quantity("rh_max", "Highest air humidity of the day", "%", 0, 1, 100),
    Quantity("rh_min", "Lowest air humidity of the day", "%", 0, 1, 100),
    Quantity("ea_kpa", "Vapour pressure of the air", "kPa", 2, 0, 8),
    Quantity("wind_m_s", "Wind speed", "m/s", 1, 0, 30),
    Quantity("wind_height_m", "Height of the wind reading", "m", 1, 0.5, 50),
    Quantity("sunshine_h", "Hours of bright sunshine", "h", 1, 0, 24),
    Quantity("rs_mj_m2_day", "Solar radiation", "MJ/m²/day", 1, 0, 50),
    Quantity("soil_heat_mj_m2_day", "Soil heat flux", "MJ/m²/day", 2, -10, 10),
)


def require(code: str, value: float, *, name: str = "") -> float:
    """Return ``value`` when it lies in the range of the parameter ``code``, else ValueError.

    >>> require("ph", 7.1)
    7.1
    >>> require("ph", 71)
    Traceback (most recent call last):
    ValueError: ph must be between 3 and 11, not 71
    """
    quantity = PARAMETERS[code]
    return require_between(name or code, value, quantity.low, quantity.high)


def require_between(name: str, value: float, low: float, high: float) -> float:
    """Return ``value`` when it is finite and between ``low`` and ``high``, else ValueError."""
    if math.isfinite(value) and low <= value <= high:
        return value
    message = f"{name} must be between {low:.10g} and {high:.10g}, not {value:.10g}"
    raise ValueError(message)
