// Made from apps/calc by `manage.py phone_science`; do not edit. Change the Python and make it again.
import * as P from "./py.js";

import * as hand_0 from "./numbers.js";

export const M = { "apps.core.numbers": hand_0 };

M["apps.calc.quantities"] = (() => {
class Quantity extends P.Thing {
static { this.prototype["holds"] = P.def(["value"], function (value) {
return P.and(P.math.isfinite(value), () => ((this.low <= value) && (value <= this.high)));
}); }
static { this.prototype["asks_again"] = P.def(["value"], function (value) {
let above, below;
below = P.and((this.ask_low !== null), () => (value < this.ask_low));
above = P.and((this.ask_high !== null), () => (value > this.ask_high));
return P.or(below, () => above);
}); }
}
P.dataclass(Quantity, [["code", null], ["title", null], ["unit", null], ["decimals", null], ["low", null], ["high", null], ["ask_low", () => null], ["ask_high", () => null]]);
let _table = P.def([], (...rows) => {
return P.dict(P.list(rows).map((row) => [row.code, row]));
});
let MEASURANDS = _table(P.make(Quantity, ["temp", "Water temperature", "°C", 1, (-2), 45, 8, 33]), P.make(Quantity, ["air_t", "Air temperature", "°C", 1, (-20), 55, 0, 42]), P.make(Quantity, ["ph", "pH", "", 2, 3, 11, 5.8, 8.6]), P.make(Quantity, ["alk", "Alkalinity", "mg/L CaCO3", 0, 0, 600, 20, 250]), P.make(Quantity, ["gh", "Total hardness", "mg/L CaCO3", 0, 0, 1000, 30, null]), P.make(Quantity, ["tan", "Total ammonia", "mg/L", 2, 0, 20, null, 2]), P.make(Quantity, ["nh3", "Un-ionised ammonia", "mg/L", 3, 0, 5, null, 0.05]), P.make(Quantity, ["no2", "Nitrite", "mg/L", 2, 0, 30, null, 0.5]), P.make(Quantity, ["no3", "Nitrate", "mg/L", 0, 0, 300, 2, 80]), P.make(Quantity, ["k", "Potassium", "mg/L", 0, 0, 600, 15, null]), P.make(Quantity, ["ca", "Calcium", "mg/L", 0, 0, 600, 30, null]), P.make(Quantity, ["mg", "Magnesium", "mg/L", 0, 0, 300, 8, null]), P.make(Quantity, ["po4", "Phosphate", "mg/L", 1, 0, 50, 0.5, null]), P.make(Quantity, ["fe", "Iron", "mg/L", 1, 0, 20, 0.3, 5]), P.make(Quantity, ["ec", "Conductivity at 25 °C", "mS/cm", 2, 0.02, 10, 0.15, 3.5]), P.make(Quantity, ["tds", "Dissolved solids", "mg/L", 0, 10, 7000, 75, 2450]), P.make(Quantity, ["do", "Dissolved oxygen", "mg/L", 1, 0, 20, 4, null]), P.make(Quantity, ["do_pct", "Oxygen saturation", "%", 0, 0, 250, 60, 130]), P.make(Quantity, ["na", "Sodium", "mg/L", 0, 0, 3000, null, 70]), P.make(Quantity, ["cl", "Chloride", "mg/L", 0, 0, 3000]), P.make(Quantity, ["chlorine", "Total chlorine", "mg/L", 2, 0, 5, null, 0.02]), P.make(Quantity, ["level", "Level below mark", "mm", 0, (-300), 500, null, 50]), P.make(Quantity, ["flow_pct", "Flow against commissioning", "%", 0, 0, 500, 80, null]), P.make(Quantity, ["feed_response", "Feeding response", "score 0–3", 0, 0, 3, 2, null]), P.make(Quantity, ["secchi", "Depth at which a white disc vanishes", "cm", 0, 0, 300, 30, null]), P.make(Quantity, ["germination", "Seedlings that came up", "%", 0, 0, 100, 80, null]), P.make(Quantity, ["larvae", "Mosquito larvae in a dip", "per dip", 0, 0, 999]), P.make(Quantity, ["aphids", "Aphids on a leaf", "per leaf", 0, 0, 999]), P.make(Quantity, ["whitefly", "Whitefly on a card in a week", "per card", 0, 0, 9999]), P.make(Quantity, ["bed_sludge", "Sludge against the depth of the bed", "%", 0, 0, 100]), P.make(Quantity, ["siphon_fill", "Time to fill the siphon bed", "min", 0, 0, 240]), P.make(Quantity, ["settler_sludge", "Sludge drained from the settler", "L", 0, 0, 2000]), P.make(Quantity, ["density", "Fish in the tank", "kg/m³", 1, 0, 200]), P.make(Quantity, ["feed_area", "Feed per plant area", "g/m²/day", 0, 0, 1000]), P.make(Quantity, ["meter_check", "Meter check at the third buffer", "", 2, (-3), 3, (-0.1), 0.1]), P.make(Quantity, ["flow", "Flow at an outlet", "L/min", 1, 0, 500]), P.make(Quantity, ["topup", "Make-up water", "L/day", 0, 0, 2000]), P.make(Quantity, ["outage", "Time without power", "min", 0, 0, 10080]), P.make(Quantity, ["fed_ago", "Time since the last feed", "h", 1, 0, 168]), P.make(Quantity, ["feed", "Feed given", "g/day", 0, 0, 20000]), P.make(Quantity, ["mort", "Deaths since the last record", "fish", 0, 0, 9999]), P.make(Quantity, ["bw", "Mean body weight", "g", 1, 0.1, 10000]), P.make(Quantity, ["batt", "Backup battery", "V", 1, 0, 60, 12.2, null]), P.make(Quantity, ["par", "Light at the canopy", "mol/m²/day", 0, 0, 70, 8, null]), P.make(Quantity, ["rh", "Air humidity", "%", 0, 5, 100, null, 90]));
let PARAMETERS = _table(P.make(Quantity, ["temp_c", "Water temperature", "°C", 1, (-2), 45]), P.make(Quantity, ["ph", "pH", "", 2, 3, 11]), P.make(Quantity, ["target_ph", "Target pH", "", 2, 3, 8]), P.make(Quantity, ["alkalinity_mg_l_caco3", "Alkalinity", "mg/L CaCO3", 0, 0, 600]), P.make(Quantity, ["tan_mg_l", "Total ammonia nitrogen", "mg/L N", 2, 0, 20]), P.make(Quantity, ["nh3_n_mg_l", "Un-ionised ammonia nitrogen", "mg/L N", 3, 0, 20]), P.make(Quantity, ["no2_n_mg_l", "Nitrite nitrogen", "mg/L N", 2, 0, 30]), P.make(Quantity, ["do_mg_l", "Dissolved oxygen", "mg/L", 1, 0, 25]), P.make(Quantity, ["limit_mg_l", "Lowest oxygen the fish stand", "mg/L", 1, 0, 12]), P.make(Quantity, ["co2_mg_l", "Carbon dioxide", "mg/L", 1, 0, 1000]), P.make(Quantity, ["salinity_g_kg", "Salinity", "g/kg", 1, 0, 40]), P.make(Quantity, ["altitude_m", "Altitude", "m", 0, (-400), 4000]), P.make(Quantity, ["volume_l", "Water volume", "L", 0, 1, 999999]), P.make(Quantity, ["litres", "Litres", "L", 0, 0, 999999]), P.make(Quantity, ["biomass_kg", "Fish biomass", "kg", 2, 0, 100000]), P.make(Quantity, ["weight_g", "Weight of one fish", "g", 1, 0.01, 30000]), P.make(Quantity, ["count", "Number of fish", "", 0, 1, 999999]), P.make(Quantity, ["feed_g_day", "Feed", "g/day", 0, 0, 999999]), P.make(Quantity, ["protein_fraction", "Protein share of the feed", "", 2, 0.05, 0.7]), P.make(Quantity, ["tan_g_day", "Ammonia nitrogen made", "g/day", 2, 0, 999999]), P.make(Quantity, ["no3_n_g_day", "Nitrate nitrogen taken up", "g/day", 2, 0, 999999]), P.make(Quantity, ["area_m2", "Area", "m²", 1, 0, 999999]), P.make(Quantity, ["total_chlorine_mg_l", "Total chlorine", "mg/L", 2, 0, 10]), P.make(Quantity, ["chloride_mg_l", "Chloride", "mg/L", 0, 0, 3000]), P.make(Quantity, ["fraction", "Share of the water changed", "", 2, 0, 1]), P.make(Quantity, ["dose_g", "Dose of pure salt", "g", 1, 0, 999999]), P.make(Quantity, ["co2_ppm", "Carbon dioxide in the air", "ppm", 0, 100, 5000]), P.make(Quantity, ["others_share", "Breathing of bacteria and sludge against fish", "", 2, 0, 5]), P.make(Quantity, ["ratio", "Chloride to nitrite ion", "", 0, 1, 50]), P.make(Quantity, ["concentration_mg_l", "Concentration", "mg/L", 2, 0, 999999]), P.make(Quantity, ["dose_mg_l", "Dose of pure salt", "mg/L", 1, 0, 5000]), P.make(Quantity, ["later_weight_g", "Weight of one fish later", "g", 1, 0.01, 30000]), P.make(Quantity, ["length_cm", "Length of one fish", "cm", 1, 0.5, 200]), P.make(Quantity, ["a", "Factor of weight by length", "", 4, 1e-05, 1]), P.make(Quantity, ["b", "Power of weight by length", "", 2, 2.5, 3.5]), P.make(Quantity, ["g_m2_day", "Feed per bed area", "g/m²/day", 0, 0, 999999]), P.make(Quantity, ["tgc", "Thermal growth coefficient × 1000", "", 2, 0.01, 5]), P.make(Quantity, ["days", "Days", "", 0, 0, 1000]), P.make(Quantity, ["length_m", "Length", "m", 2, 0.01, 1000]), P.make(Quantity, ["width_m", "Width", "m", 2, 0.01, 1000]), P.make(Quantity, ["depth_m", "Depth of water", "m", 2, 0, 20]), P.make(Quantity, ["diameter_m", "Diameter", "m", 2, 0.01, 50]), P.make(Quantity, ["cone_height_m", "Height of the cone", "m", 2, 0.01, 20]), P.make(Quantity, ["cylinder_height_m", "Height of the cylinder", "m", 2, 0, 20]), P.make(Quantity, ["top_diameter_m", "Diameter at the water line", "m", 2, 0.01, 50]), P.make(Quantity, ["bottom_diameter_m", "Diameter at the floor", "m", 2, 0.01, 50]), P.make(Quantity, ["drop_m", "Fall of a siphon", "m", 2, 0.01, 10]), P.make(Quantity, ["reynolds", "Reynolds number", "", 0, 1e-06, 100000000.0]), P.make(Quantity, ["relative_roughness", "Roughness against the pipe's diameter", "", 5, 0, 0.05]), P.make(Quantity, ["void_fraction", "Share of voids", "", 2, 0.05, 0.95]), P.make(Quantity, ["flow_l_h", "Flow", "L/h", 0, 1, 999999]), P.make(Quantity, ["pipe_id_mm", "Inner diameter of the pipe", "mm", 1, 3, 600]), P.make(Quantity, ["fittings_k", "Sum of fitting losses K", "", 1, 0, 500]), P.make(Quantity, ["static_m", "Static lift", "m", 2, 0, 50]), P.make(Quantity, ["efficiency", "Efficiency of pump and motor", "", 2, 0.01, 1]), P.make(Quantity, ["calcium_mg_l", "Calcium", "mg/L", 0, 0.1, 1000]), P.make(Quantity, ["load_g_day", "What is made in a day", "g/day", 2, 0, 999999]), P.make(Quantity, ["drop_mg_l", "Taken out at each pass", "mg/L", 2, 0.001, 1000]), P.make(Quantity, ["removal_share", "Share taken out at each pass", "", 2, 0.01, 1]), P.make(Quantity, ["air_l_min", "Air", "L/min", 1, 0.1, 10000]), P.make(Quantity, ["transfer_percent", "Share of the air's oxygen that dissolves", "%", 1, 0.1, 50]), P.make(Quantity, ["alpha", "Speed of uptake against clean water (alpha)", "", 2, 0.1, 1.5]), P.make(Quantity, ["beta", "Saturation against clean water (beta)", "", 2, 0.5, 1.1]), P.make(Quantity, ["ppfd_umol_m2_s", "Light that plants use", "µmol/m²/s", 0, 0, 3000]), P.make(Quantity, ["hours", "Hours a day", "h", 1, 0, 24]), P.make(Quantity, ["mol_m2_day", "Light of a day", "mol/m²/day", 1, 0, 260]), P.make(Quantity, ["gain_kg", "Gain of all fish", "kg", 2, 1e-06, 999999]), P.make(Quantity, ["feed_kg", "Feed given", "kg", 2, 0, 999999]), P.make(Quantity, ["cv_percent", "Standard deviation of the weights against their mean", "%", 0, 0.1, 200]), P.make(Quantity, ["within_percent", "Mean to be known within", "%", 0, 0.5, 100]), P.make(Quantity, ["surface_load_m_day", "Surface load", "m³/m²/day", 0, 1, 1000]), P.make(Quantity, ["latitude_deg", "Latitude, north positive", "°", 2, (-90), 90]), P.make(Quantity, ["longitude_deg", "Longitude, east positive", "°", 2, (-180), 180]), P.make(Quantity, ["tmax_c", "Highest air temperature of the day", "°C", 1, (-40), 60]), P.make(Quantity, ["tmin_c", "Lowest air temperature of the day", "°C", 1, (-60), 50]), P.make(Quantity, ["rh_max", "Highest air humidity of the day", "%", 0, 1, 100]), P.make(Quantity, ["rh_min", "Lowest air humidity of the day", "%", 0, 1, 100]), P.make(Quantity, ["ea_kpa", "Vapour pressure of the air", "kPa", 2, 0, 8]), P.make(Quantity, ["wind_m_s", "Wind speed", "m/s", 1, 0, 30]), P.make(Quantity, ["wind_height_m", "Height of the wind reading", "m", 1, 0.5, 50]), P.make(Quantity, ["sunshine_h", "Hours of bright sunshine", "h", 1, 0, 24]), P.make(Quantity, ["rs_mj_m2_day", "Solar radiation", "MJ/m²/day", 1, 0, 50]), P.make(Quantity, ["soil_heat_mj_m2_day", "Soil heat flux", "MJ/m²/day", 2, (-10), 10]));
let require = P.def(["code", "value", "name"], (code, value, name = "") => {
let quantity;
quantity = P.at(PARAMETERS, code);
return require_between(P.or(name, () => code), value, quantity.low, quantity.high);
});
let require_between = P.def(["name", "value", "low", "high"], (name, value, low, high) => {
let message;
if ((P.t(P.math.isfinite(value)) && (((low <= value) && (value <= high))))) {
return value;
}
message = (P.format(name, "") + " must be between " + P.format(low, (".10g")) + " and " + P.format(high, (".10g")) + ", not " + P.format(value, (".10g")));
throw P.make(P.ValueError, [message]);
});
return { Quantity, _table, MEASURANDS, PARAMETERS, require, require_between };
})();

M["apps.calc.ammonia"] = (() => {
const require = M["apps.calc.quantities"].require;
let unionised_fraction = P.def(["ph", "temp_c"], (ph, temp_c) => {
let pka;
require("ph", ph);
require("temp_c", temp_c);
pka = (0.09018 + (2729.92 / (temp_c + 273.15)));
return (1.0 / (1.0 + P.math.pow(10.0, P.sub(pka, ph))));
});
let nh3_n = P.def(["tan_mg_l", "ph", "temp_c"], (tan_mg_l, ph, temp_c) => {
return (require("tan_mg_l", tan_mg_l) * unionised_fraction(ph, temp_c));
});
return { unionised_fraction, nh3_n };
})();

M["apps.calc.statistics"] = (() => {
const require_between = M["apps.calc.quantities"].require_between;
let _beta_fraction = P.def(["a", "b", "x"], (a, b, x) => {
let c, d, m, numerator, result, tiny;
tiny = 1e-300;
[c, d] = P.list([1.0, (1.0 - ((P.add(a, b) * x) / (a + 1)))]);
d = (1.0 / (((P.abs(d) > tiny)) ? d : tiny));
result = d;
for (m of P.iter(P.range(1, 300))) {
for (numerator of P.iter([(((m * P.sub(b, m)) * x) / (((a + (2 * m)) - 1) * (a + (2 * m)))), ((((-P.add(a, m)) * P.add(P.add(a, b), m)) * x) / ((a + (2 * m)) * ((a + (2 * m)) + 1)))])) {
d = (1.0 + (numerator * d));
c = (1.0 + (numerator / c));
d = (1.0 / (((P.abs(d) > tiny)) ? d : tiny));
c = (((P.abs(c) > tiny)) ? c : tiny);
result = (result * (d * c));
}
if (((P.abs(((d * c) - 1.0)) < 1e-15))) {
break;
}
}
return result;
});
let _beta_share = P.def(["a", "b", "x"], (a, b, x) => {
let front;
if ((((x <= 0)) || ((x >= 1)))) {
return (((x <= 0)) ? 0.0 : 1.0);
}
front = P.math.exp(((P.sub(P.sub(P.math.lgamma(P.add(a, b)), P.math.lgamma(a)), P.math.lgamma(b)) + (a * P.math.log(x))) + (b * P.math.log1p((-x)))));
if (((x < ((a + 1) / (P.add(a, b) + 2))))) {
return ((front * _beta_fraction(a, b, x)) / a);
}
return (1.0 - ((front * _beta_fraction(b, a, (1 - x))) / b));
});
let student_t_cdf = P.def(["t", "freedom"], (t, freedom) => {
let tail;
require_between("freedom", freedom, 1, 1000000.0);
tail = (0.5 * _beta_share((freedom / 2), 0.5, (freedom / (freedom + (t * t)))));
return (((t > 0)) ? (1 - tail) : tail);
});
let student_t_quantile = P.def(["probability", "freedom"], (probability, freedom) => {
let _, high, low, middle;
require_between("probability", probability, 0.0001, 0.9999);
if (((probability < 0.5))) {
return (-student_t_quantile((1 - probability), freedom));
}
[low, high] = P.list([0.0, 2.0]);
while (((student_t_cdf(high, freedom) < probability))) {
high = (high * 2);
}
for (_ of P.iter(P.range(80))) {
middle = (P.add(low, high) / 2);
if (((student_t_cdf(middle, freedom) < probability))) {
low = middle;
} else {
high = middle;
}
}
return (P.add(low, high) / 2);
});
let theil_sen = P.def(["times", "values"], (times, values) => {
let message, slope, slopes;
if ((!P.eq(P.len(times), P.len(values)))) {
message = "times and values must be equally many";
throw P.make(P.ValueError, [message]);
}
slopes = P.list(P.combinations(P.range(P.len(times)), 2)).flatMap(([i, j]) => (!P.eq(P.at(times, j), P.at(times, i))) ? [(P.sub(P.at(values, j), P.at(values, i)) / P.sub(P.at(times, j), P.at(times, i)))] : []);
if (!P.t(slopes)) {
message = "a slope needs two readings at different times";
throw P.make(P.ValueError, [message]);
}
slope = P.median(slopes);
return [slope, (P.median(values) - (slope * P.median(times)))];
});
return { _beta_fraction, _beta_share, student_t_cdf, student_t_quantile, theil_sen };
})();

M["apps.calc.judgement"] = (() => {
const ammonia = M["apps.calc.ammonia"];
const theil_sen = M["apps.calc.statistics"].theil_sen;
let IN_BAND = "in_band";
let NEAR_EDGE = "near_edge";
let OUT_OF_BAND = "out_of_band";
let HARMFUL = "harmful";
let MEASURE_AGAIN = "measure_again";
let WORDS = [IN_BAND, NEAR_EDGE, OUT_OF_BAND, HARMFUL, MEASURE_AGAIN];
let FALLING, RISING, STEADY, UNKNOWN;
[RISING, FALLING, STEADY, UNKNOWN] = P.list(["rising", "falling", "steady", "unknown"]);
let DAILY_PH_RISE = 0.2;
let TEMP_CONTEXTS = P.dict([["nile_tilapia", "tilapia"], ["common_carp", "carp"], ["koi", "carp"], ["goldfish", "carp"], ["channel_catfish", "catfish"], ["air_breathing_catfish", "air_breathing_catfish"], ["rainbow_trout", "trout"], ["barramundi", "barramundi"], ["jade_perch", "jade_perch"], ["silver_perch", "silver_perch"], ["murray_cod", "murray_cod"], ["largemouth_bass", "perch"], ["bluegill", "perch"], ["yellow_perch", "yellow_perch"], ["tilapia", "tilapia"], ["carp", "carp"], ["trout", "trout"], ["bass_perch", "perch"]]);
let NITRITE_SENSITIVE = P.frozenset(P.set(["channel_catfish", "rainbow_trout", "trout"]));
let NOISE = P.dict([["temp", 1.0], ["ph", 0.15], ["alk", 10], ["gh", 18], ["tan", 0.15], ["no2", 0.08], ["no3", 5], ["k", 10], ["ca", 10], ["mg", 5], ["po4", 0.5], ["fe", 0.2], ["ec", 0.05], ["do", 0.4], ["na", 10], ["cl", 10], ["flow", 1], ["flow_pct", 5], ["level", 5]]);
class Band extends P.Thing {
}
P.dataclass(Band, [["red_lo", () => null], ["amber_lo", () => null], ["t_lo", () => null], ["t_hi", () => null], ["amber_hi", () => null], ["red_hi", () => null], ["context", () => ""]]);
class LoopContext extends P.Thing {
static { P.getter(this, "has_fish", P.def([], function () {
return P.bool(this.species);
}), false); }
static { P.getter(this, "is_plant_water", P.def([], function () {
return P.or(P.eq(this.loop_kind, "plant"), () => P.eq(this.system_kind, "plants_only"));
}), false); }
static { P.getter(this, "is_fish_water", P.def([], function () {
return P.or(P.eq(this.loop_kind, "fish"), () => P.eq(this.system_kind, "fish_only"));
}), false); }
static { P.getter(this, "grows_plants", P.def([], function () {
return !P.t(this.is_fish_water);
}), false); }
}
P.dataclass(LoopContext, [["system_kind", null], ["loop_kind", null], ["species", () => []], ["crop_groups", () => []], ["cold", () => false], ["cycling", () => false]]);
let judge = P.def(["value", "band", "trusted"], (value, band, trusted = true) => {
let above, below;
if (!P.t(trusted)) {
return MEASURE_AGAIN;
}
below = _crossed_below(value, band);
above = _crossed_above(value, band);
return P.at(WORDS, P.max(below, above));
});
let _crossed_below = P.def(["value", "band"], (value, band) => {
let limits;
limits = [band.t_lo, band.amber_lo, band.red_lo];
return P.kw.max([P.list(P.enumerate(limits, 1)).flatMap(([i, x]) => (((x !== null)) && ((value < x))) ? [i] : [])], {"default": 0});
});
let _crossed_above = P.def(["value", "band"], (value, band) => {
let limits;
limits = [band.t_hi, band.amber_hi, band.red_hi];
return P.kw.max([P.list(P.enumerate(limits, 1)).flatMap(([i, x]) => (((x !== null)) && ((value > x))) ? [i] : [])], {"default": 0});
});
let side = P.def(["value", "band"], (value, band) => {
if (P.t(_crossed_below(value, band))) {
return "low";
}
return (P.t(_crossed_above(value, band)) ? "high" : "");
});
let worst = P.def(["words"], (words) => {
let known;
known = P.list(words).flatMap((word) => (!P.eq(word, MEASURE_AGAIN)) ? [word] : []);
return P.kw.max([known], {"key": P.attr(WORDS, "index"), "default": MEASURE_AGAIN});
});
let highest_nh3 = P.def(["tan_mg_l", "ph", "temp_c"], (tan_mg_l, ph, temp_c) => {
return ammonia.nh3_n(tan_mg_l, P.min(P.add(ph, DAILY_PH_RISE), 11.0), temp_c);
});
let judge_ammonia = P.def(["tan_mg_l", "band", "nh3_band", "ph", "temp_c"], (tan_mg_l, band, nh3_band = null, ph = null, temp_c = null) => {
let word;
word = judge(tan_mg_l, band);
if ((((nh3_band === null)) || ((ph === null)) || ((temp_c === null)))) {
return word;
}
return worst([word, judge(highest_nh3(tan_mg_l, ph, temp_c), nh3_band)]);
});
let _fruit = P.def(["loop"], (loop) => {
return P.has(loop.crop_groups, "fruiting");
});
let _temp = P.def(["loop"], (loop) => {
if (P.t(loop.has_fish)) {
return P.m.get(TEMP_CONTEXTS, P.at(loop.species, 0), "");
}
if (P.t(loop.is_plant_water)) {
return (P.t(_fruit(loop)) ? "fruit_roots" : "leafy_roots");
}
return "nitrifier";
});
let _ph = P.def(["loop"], (loop) => {
if (P.t(loop.is_plant_water)) {
return "plant_loop";
}
if (P.t(loop.cycling)) {
return "filter";
}
return (P.t(loop.is_fish_water) ? "fish_loop" : "coupled");
});
let _alk = P.def(["loop"], (loop) => {
if (P.t(loop.is_plant_water)) {
return "";
}
return (P.t(loop.is_fish_water) ? "fish_loop" : "coupled");
});
let _nitrogen_fish = P.def(["loop"], (loop) => {
if (P.t(loop.has_fish)) {
return (P.t(loop.cold) ? "cold_fish" : "warm_fish");
}
return (P.t(loop.is_plant_water) ? "" : "cycling");
});
let _nh3 = P.def(["loop"], (loop) => {
return (P.t(loop.has_fish) ? _nitrogen_fish(loop) : "");
});
let _no2 = P.def(["loop"], (loop) => {
let sensitive;
if (P.t(loop.has_fish)) {
sensitive = P.or(loop.cold, () => P.bool(P.m.intersection(NITRITE_SENSITIVE, loop.species)));
return (P.t(sensitive) ? "nitrite_sensitive" : "warm_fish");
}
return (P.t(loop.is_plant_water) ? "" : "cycling");
});
let _no3 = P.def(["loop"], (loop) => {
let where;
if (P.t(loop.is_fish_water)) {
return "fish_loop";
}
if ((P.t(loop.cycling) && !P.t(loop.is_plant_water))) {
return "";
}
where = (P.t(loop.is_plant_water) ? "plant_loop" : "coupled");
return (P.t(_fruit(loop)) ? (P.format(where, "") + "_fruit") : (P.format(where, "") + "_leafy"));
});
let _do = P.def(["loop"], (loop) => {
if (P.t(loop.has_fish)) {
return (P.t(loop.cold) ? "cold_fish" : "warm_fish");
}
return (P.t(loop.is_plant_water) ? "root_zone" : "filter_outlet");
});
let _ec = P.def(["loop"], (loop) => {
if (P.t(loop.is_fish_water)) {
return "";
}
return P.or(_in_plant_loop(loop), () => "coupled");
});
let _crop = P.def(["loop"], (loop) => {
if (!P.t(loop.grows_plants)) {
return "";
}
return (P.t(_fruit(loop)) ? "fruit" : "leafy");
});
let _in_plant_loop = P.def(["loop"], (loop) => {
if (!P.t(loop.is_plant_water)) {
return "";
}
return (P.t(_fruit(loop)) ? "plant_loop_fruit" : "plant_loop_leafy");
});
let _potassium = P.def(["loop"], (loop) => {
return P.or(_in_plant_loop(loop), () => _crop(loop));
});
let _salts = P.def(["loop"], (loop) => {
return P.or(_in_plant_loop(loop), () => _plants(loop));
});
let _plants = P.def(["loop"], (loop) => {
return (P.t(loop.grows_plants) ? "plants" : "");
});
let _any = P.def(["loop"], (loop) => {
return "any";
});
let _density = P.def(["loop"], (loop) => {
return (P.t(loop.has_fish) ? "novice" : "");
});
let _CONTEXTS = P.dict([["temp", _temp], ["ph", _ph], ["alk", _alk], ["tan", _nitrogen_fish], ["nh3", _nh3], ["no2", _no2], ["no3", _no3], ["do", _do], ["ec", _ec], ["k", _potassium], ["ca", _salts], ["mg", _salts], ["po4", _salts], ["fe", _plants], ["na", _any], ["cl", _any], ["chlorine", _any], ["flow_pct", _any], ["batt", _any], ["density", _density], ["feed_area", _crop]]);
let pick_context = P.def(["measurand", "loop"], (measurand, loop) => {
let chooser;
chooser = P.m.get(_CONTEXTS, measurand);
return (P.t(chooser) ? chooser(loop) : "");
});
let trend = P.def(["measurand", "readings"], (measurand, readings) => {
let _, change, slope;
if ((((P.len(readings) < 3)) || ((P.sub(P.at(P.at(readings, (-1)), 0), P.at(P.at(readings, 0), 0)) < 1)))) {
return UNKNOWN;
}
[slope, _] = P.list(theil_sen(P.list(readings).map(([day, _]) => day), P.list(readings).map(([_, value]) => value)));
change = (slope * P.sub(P.at(P.at(readings, (-1)), 0), P.at(P.at(readings, 0), 0)));
if (((P.abs(change) <= P.m.get(NOISE, measurand, (0.05 * P.abs(P.at(P.at(readings, 0), 1))))))) {
return STEADY;
}
return (((change > 0)) ? RISING : FALLING);
});
return { IN_BAND, NEAR_EDGE, OUT_OF_BAND, HARMFUL, MEASURE_AGAIN, WORDS, FALLING, RISING, STEADY, UNKNOWN, DAILY_PH_RISE, TEMP_CONTEXTS, NITRITE_SENSITIVE, NOISE, Band, LoopContext, judge, _crossed_below, _crossed_above, side, worst, highest_nh3, judge_ammonia, _fruit, _temp, _ph, _alk, _nitrogen_fish, _nh3, _no2, _no3, _do, _ec, _crop, _in_plant_loop, _potassium, _salts, _plants, _any, _density, _CONTEXTS, pick_context, trend };
})();

M["apps.calc.units"] = (() => {
let N = 14.007;
let NO2_ION = 46.005;
let NO3_ION = 62.004;
let NH3 = 17.031;
let NH4_ION = 18.039;
let CACO3 = 100.086;
let CO2 = 44.009;
let CHLORIDE = 35.45;
let CA = 40.078;
let P_ = 30.974;
let PO4_ION = 94.97;
let P2O5 = 141.943;
let K = 39.098;
let K2O = 94.195;
let SODIUM = 22.99;
let MG_CACO3_PER_MEQ = (CACO3 / 2);
let MG_CACO3_PER_DKH = 17.848;
let NITROGEN_SHARE = P.dict([["n", 1.0], ["no3", (N / NO3_ION)], ["no2", (N / NO2_ION)], ["nh3", (N / NH3)], ["nh4", (N / NH4_ION)]]);
let ELEMENT_SHARE = P.dict([...P.iter(P.dict(P.list(P.m.items(NITROGEN_SHARE)).flatMap(([basis, share]) => (!P.eq(basis, "n")) ? [[basis, share]] : [])).items()), ["po4", (P_ / PO4_ION)], ["p2o5", ((2 * P_) / P2O5)], ["k2o", ((2 * K) / K2O)]]);
let LITRES_PER_US_GALLON = 3.785411784;
let GRAMS_PER_OUNCE = 28.349523125;
let as_nitrogen = P.def(["value", "basis"], (value, basis) => {
let message;
if ((!P.has(NITROGEN_SHARE, basis))) {
message = ("basis must be one of " + P.format(P.m.join(", ", NITROGEN_SHARE), "") + ", not " + P.format(basis, ""));
throw P.make(P.ValueError, [message]);
}
return (value * P.at(NITROGEN_SHARE, basis));
});
let from_nitrogen = P.def(["value", "basis"], (value, basis) => {
return (value / as_nitrogen(1.0, basis));
});
let celsius = P.def(["fahrenheit"], (fahrenheit) => {
return ((fahrenheit - 32) / 1.8);
});
let fahrenheit = P.def(["celsius"], (celsius) => {
return ((celsius * 1.8) + 32);
});
let alkalinity_from_dkh = P.def(["degrees"], (degrees) => {
return (degrees * MG_CACO3_PER_DKH);
});
let alkalinity_from_meq = P.def(["meq_l"], (meq_l) => {
return (meq_l * MG_CACO3_PER_MEQ);
});
return { N, NO2_ION, NO3_ION, NH3, NH4_ION, CACO3, CO2, CHLORIDE, CA, P_, PO4_ION, P2O5, K, K2O, SODIUM, MG_CACO3_PER_MEQ, MG_CACO3_PER_DKH, NITROGEN_SHARE, ELEMENT_SHARE, LITRES_PER_US_GALLON, GRAMS_PER_OUNCE, as_nitrogen, from_nitrogen, celsius, fahrenheit, alkalinity_from_dkh, alkalinity_from_meq };
})();

M["apps.calc.roots"] = (() => {
let _HALVINGS = 9;
let _STEPS = 40;
let rising_root = P.def(["excess", "low", "high", "settled"], (excess, low, high, settled = 1e-13) => {
let _, at_high, at_low, here, middle, side;
[at_low, at_high] = P.list([excess(low), excess(high)]);
if (((at_low >= 0))) {
return low;
}
if (((at_high <= 0))) {
return high;
}
for (_ of P.iter(P.range(_HALVINGS))) {
middle = (P.add(low, high) / 2);
here = excess(middle);
if (((here < 0))) {
[low, at_low] = P.list([middle, here]);
} else {
[high, at_high] = P.list([middle, here]);
}
}
side = 0;
for (_ of P.iter(P.range(_STEPS))) {
if (((P.sub(high, low) <= settled))) {
break;
}
middle = (((low * at_high) - (high * at_low)) / P.sub(at_high, at_low));
here = excess(middle);
if ((P.eq(here, 0))) {
return middle;
}
if (((here < 0))) {
if (((side < 0))) {
at_high = (at_high / 2);
}
if (((P.sub(middle, low) <= settled))) {
return middle;
}
[low, at_low, side] = P.list([middle, here, (-1)]);
} else {
if (((side > 0))) {
at_low = (at_low / 2);
}
if (((P.sub(high, middle) <= settled))) {
return middle;
}
[high, at_high, side] = P.list([middle, here, 1]);
}
}
return (P.add(low, high) / 2);
});
return { _HALVINGS, _STEPS, rising_root };
})();

M["apps.calc.carbonate"] = (() => {
const units = M["apps.calc.units"];
const require = M["apps.calc.quantities"].require;
const rising_root = M["apps.calc.roots"].rising_root;
let _MG_PER_EQ = (units.MG_CACO3_PER_MEQ * 1000);
let _MG_CO2_PER_MOL = (units.CO2 * 1000);
let _OTHER_SALTS = 0.0016;
let _IONS_PER_EQUIVALENT = 1.5;
let _OTHER_CALCIUM = 0.0001;
let _CALCIUM_PER_EQUIVALENT = 0.25;
let _HIGH_PH, _LOW_PH;
[_LOW_PH, _HIGH_PH] = P.list([2.0, 13.0]);
let _DAVIES_UP_TO = 0.5;
let _ROUNDS = 60;
let _SETTLED = 1e-13;
let _BEYOND_REASON = 100.0;
let _LEAST_GAIN = 0.01;
class Salt extends P.Thing {
static { P.getter(this, "strength", P.def([], function () {
return ((this.equivalents * units.MG_CACO3_PER_MEQ) / this.molar_g);
}), false); }
}
P.dataclass(Salt, [["code", null], ["molar_g", null], ["equivalents", null], ["carbon", null], ["ions", null], ["potassium_g", () => 0.0], ["sodium_g", () => 0.0], ["calcium", () => 0.0]]);
let SALTS = P.dict(P.list([P.call(Salt, ["KHCO3", 100.115, 1, 1, 1.0], {"potassium_g": 39.098}), P.call(Salt, ["NaHCO3", 84.006, 1, 1, 1.0], {"sodium_g": 22.99}), P.call(Salt, ["K2CO3", 138.205, 2, 1, 1.0], {"potassium_g": 78.197}), P.call(Salt, ["Ca(OH)2", 74.092, 2, 0, 1.5], {"calcium": 1}), P.call(Salt, ["KOH", 56.105, 1, 0, 1.0], {"potassium_g": 39.098})]).map((salt) => [salt.code, salt]));
let salt_named = P.def(["code"], (code) => {
let message;
if ((!P.has(SALTS, code))) {
message = ("salt must be one of " + P.format(P.m.join(", ", SALTS), "") + ", not " + P.format(code, ""));
throw P.make(P.ValueError, [message]);
}
return P.at(SALTS, code);
});
class _Constants extends P.Thing {
}
P.dataclass(_Constants, [["k1", null], ["k2", null], ["kw", null], ["davies", null], ["calcium_bicarbonate", null], ["calcium_carbonate", null]]);
let _constants = P.def(["temp_c"], (temp_c) => {
let bicarbonate, carbonate, kelvin, log, pk1, pk2, pkw;
kelvin = (temp_c + 273.15);
log = P.math.log10(kelvin);
pk1 = ((((356.3094 + (0.06091964 * kelvin)) - (21834.37 / kelvin)) - (126.8339 * log)) + (1684915 / (kelvin ** 2)));
pk2 = ((((107.8871 + (0.03252849 * kelvin)) - (5151.79 / kelvin)) - (38.92561 * log)) + (563713.9 / (kelvin ** 2)));
pkw = (((4470.99 / kelvin) - 6.0875) + (0.01706 * kelvin));
bicarbonate = (((1209.12 + (0.31294 * kelvin)) - (34765.05 / kelvin)) - (478.782 * log));
carbonate = ((((-1228.732) - (0.299444 * kelvin)) + (35512.75 / kelvin)) + (485.818 * log));
return P.call(_Constants, [], {"k1": (10 ** (-pk1)), "k2": (10 ** (-pk2)), "kw": (10 ** (-pkw)), "davies": (0.4883 + (0.0008074 * temp_c)), "calcium_bicarbonate": (10 ** bicarbonate), "calcium_carbonate": (10 ** carbonate)});
});
class _Shares extends P.Thing {
}
P.dataclass(_Shares, [["per_co2", null], ["carbon_per_co2", null], ["water", null]]);
let _single = P.def(["const", "ionic"], (const_, ionic) => {
let root, strength;
strength = P.min(ionic, _DAVIES_UP_TO);
root = P.math.sqrt(strength);
return P.float((10 ** ((-const_.davies) * ((root / (1 + root)) - (0.3 * strength)))));
});
let _shares = P.def(["ph", "temp_c", "ionic", "calcium"], (ph, temp_c, ionic, calcium) => {
let bicarbonate, carbonate, const_, free_calcium, hydrogen, single, water;
const_ = _constants(temp_c);
single = _single(const_, ionic);
hydrogen = (10 ** (-ph));
free_calcium = (calcium * (single ** 4));
bicarbonate = (const_.k1 / hydrogen);
carbonate = ((bicarbonate * const_.k2) / hydrogen);
bicarbonate = (bicarbonate * ((1 + (const_.calcium_bicarbonate * free_calcium)) / single));
carbonate = (carbonate * ((single ** (-4)) + (const_.calcium_carbonate * free_calcium)));
water = ((const_.kw / (hydrogen * single)) - (hydrogen / single));
return P.make(_Shares, [(bicarbonate + (2 * carbonate)), P.add((1 + bicarbonate), carbonate), water]);
});
let _ionic = P.def(["alkalinity_eq"], (alkalinity_eq) => {
return (_OTHER_SALTS + (_IONS_PER_EQUIVALENT * alkalinity_eq));
});
let _calcium = P.def(["alkalinity_eq"], (alkalinity_eq) => {
return (_OTHER_CALCIUM + (_CALCIUM_PER_EQUIVALENT * alkalinity_eq));
});
class Water extends P.Thing {
static { P.getter(this, "alkalinity_mg_l_caco3", P.def([], function () {
return (this.alkalinity * _MG_PER_EQ);
}), false); }
static { this.prototype["dosed"] = P.def(["salt", "dose_mg_l"], function (salt, dose_mg_l) {
let added, kind, moles;
kind = salt_named(salt);
moles = ((dose_mg_l / 1000) / kind.molar_g);
added = (kind.equivalents * moles);
return P.make(Water, [P.add(this.alkalinity, added), (this.carbon + (kind.carbon * moles)), this.co2, this.temp_c, (this.ionic + (kind.ions * added)), (this.calcium + (kind.calcium * moles))]);
}); }
static { this.prototype["aerated"] = P.def([], function () {
let shares;
shares = _shares(this.held_ph(), this.temp_c, this.ionic, this.calcium);
return P.kw.replace([this], {"carbon": (this.co2 * shares.carbon_per_co2)});
}); }
static { this.prototype["calcite_product"] = P.def(["ph"], function (ph) {
let bicarbonate, carbonate, const_, pairs, single;
const_ = _constants(this.temp_c);
single = _single(const_, this.ionic);
bicarbonate = ((this.co2 * const_.k1) / (10 ** (-ph)));
carbonate = ((bicarbonate * const_.k2) / (10 ** (-ph)));
pairs = ((const_.calcium_bicarbonate * bicarbonate) / single);
pairs = P.add(pairs, (const_.calcium_carbonate * carbonate));
return ((this.calcium / ((single ** (-4)) + pairs)) * carbonate);
}); }
static { this.prototype["closed_ph"] = P.def([], function () {
return P.call_method(this, "_solve", [], {"closed": true});
}); }
static { this.prototype["held_ph"] = P.def([], function () {
return P.call_method(this, "_solve", [], {"closed": false});
}); }
static { this.prototype["_solve"] = P.def(["closed"], function (closed) {
let excess = P.def(["ph"], (ph) => {
let co2, shares;
shares = _shares(ph, this.temp_c, this.ionic, this.calcium);
co2 = (P.t(closed) ? (this.carbon / shares.carbon_per_co2) : this.co2);
return P.sub(((shares.per_co2 * co2) + shares.water), this.alkalinity);
});
return rising_root(excess, _LOW_PH, _HIGH_PH);
}); }
static { this.prototype["dose_held"] = P.def(["target_ph", "salt"], function (target_ph, salt) {
let _, added, calcium, ionic, kind, previous, shares;
kind = salt_named(salt);
added = 0.0;
for (_ of P.iter(P.range(_ROUNDS))) {
previous = added;
ionic = (this.ionic + (kind.ions * added));
calcium = (this.calcium + ((kind.calcium * added) / kind.equivalents));
shares = _shares(target_ph, this.temp_c, ionic, calcium);
added = P.max(0.0, P.sub(((shares.per_co2 * this.co2) + shares.water), this.alkalinity));
if ((((P.abs(P.sub(added, previous)) <= (_SETTLED * added))) || ((added > _BEYOND_REASON)))) {
break;
}
}
return (((added / kind.equivalents) * kind.molar_g) * 1000);
}); }
static { this.prototype["dose_closed"] = P.def(["target_ph", "salt"], function (target_ph, salt) {
let _, calcium, gain, ionic, kind, moles, need, per_carbon, previous, shares;
kind = salt_named(salt);
moles = 0.0;
for (_ of P.iter(P.range(_ROUNDS))) {
previous = moles;
ionic = (this.ionic + ((kind.ions * kind.equivalents) * moles));
calcium = (this.calcium + (kind.calcium * moles));
shares = _shares(target_ph, this.temp_c, ionic, calcium);
per_carbon = (shares.per_co2 / shares.carbon_per_co2);
gain = (kind.equivalents - (kind.carbon * per_carbon));
if (((gain <= _LEAST_GAIN))) {
return Infinity;
}
need = P.sub(((this.carbon * per_carbon) + shares.water), this.alkalinity);
moles = P.max(0.0, (need / gain));
if (((P.abs(P.sub(moles, previous)) <= (_SETTLED * moles)))) {
break;
}
}
return ((moles * kind.molar_g) * 1000);
}); }
}
P.dataclass(Water, [["alkalinity", null], ["carbon", null], ["co2", null], ["temp_c", null], ["ionic", null], ["calcium", null]]);
let water_of = P.def(["alkalinity_mg_l_caco3", "ph", "temp_c", "calcium_mg_l"], (alkalinity_mg_l_caco3, ph, temp_c, calcium_mg_l = null) => {
let alkalinity, calcium, co2, ionic, shares;
require("alkalinity_mg_l_caco3", alkalinity_mg_l_caco3);
require("ph", ph);
require("temp_c", temp_c);
alkalinity = (alkalinity_mg_l_caco3 / _MG_PER_EQ);
[ionic, calcium] = P.list([_ionic(alkalinity), _calcium(alkalinity)]);
if (((calcium_mg_l !== null))) {
calcium = ((require("calcium_mg_l", calcium_mg_l) / 1000) / units.CA);
}
shares = _shares(ph, temp_c, ionic, calcium);
co2 = P.max(0.0, (P.sub(alkalinity, shares.water) / shares.per_co2));
return P.make(Water, [alkalinity, (co2 * shares.carbon_per_co2), co2, temp_c, ionic, calcium]);
});
let co2_mg_l = P.def(["alkalinity_mg_l_caco3", "ph", "temp_c"], (alkalinity_mg_l_caco3, ph, temp_c) => {
return (water_of(alkalinity_mg_l_caco3, ph, temp_c).co2 * _MG_CO2_PER_MOL);
});
let ph_after_base_closed = P.def(["alkalinity_mg_l_caco3", "ph", "temp_c", "salt", "dose_mg_l"], (alkalinity_mg_l_caco3, ph, temp_c, salt, dose_mg_l) => {
let water;
require("dose_mg_l", dose_mg_l);
water = water_of(alkalinity_mg_l_caco3, ph, temp_c);
return (P.t(dose_mg_l) ? water.dosed(salt, dose_mg_l).closed_ph() : ph);
});
let ph_after_base_held = P.def(["alkalinity_mg_l_caco3", "ph", "temp_c", "salt", "dose_mg_l"], (alkalinity_mg_l_caco3, ph, temp_c, salt, dose_mg_l) => {
let water;
require("dose_mg_l", dose_mg_l);
water = water_of(alkalinity_mg_l_caco3, ph, temp_c);
return (P.t(dose_mg_l) ? water.dosed(salt, dose_mg_l).held_ph() : ph);
});
class Mixed extends P.Thing {
}
P.dataclass(Mixed, [["ph_minutes", null], ["ph_hours", null], ["temp_c", null], ["alkalinity_mg_l_caco3", null], ["tan_mg_l", null]]);
class Chemistry extends P.Thing {
}
P.dataclass(Chemistry, [["ph", null], ["alkalinity_mg_l_caco3", null], ["temp_c", null], ["tan_mg_l", () => 0.0]]);
let mix = P.def(["tank", "source", "fraction"], (tank, source, fraction) => {
let first, second, water;
require("fraction", fraction);
first = water_of(tank.alkalinity_mg_l_caco3, tank.ph, tank.temp_c);
second = water_of(source.alkalinity_mg_l_caco3, source.ph, source.temp_c);
let blend = P.def(["a", "b"], (a, b) => {
return (a + (fraction * P.sub(b, a)));
});
water = P.make(Water, [blend(first.alkalinity, second.alkalinity), blend(first.carbon, second.carbon), first.co2, blend(tank.temp_c, source.temp_c), blend(first.ionic, second.ionic), blend(first.calcium, second.calcium)]);
return P.call(Mixed, [], {"ph_minutes": water.closed_ph(), "ph_hours": water.held_ph(), "temp_c": water.temp_c, "alkalinity_mg_l_caco3": blend(tank.alkalinity_mg_l_caco3, source.alkalinity_mg_l_caco3), "tan_mg_l": blend(require("tan_mg_l", tank.tan_mg_l), require("tan_mg_l", source.tan_mg_l))});
});
return { _MG_PER_EQ, _MG_CO2_PER_MOL, _OTHER_SALTS, _IONS_PER_EQUIVALENT, _OTHER_CALCIUM, _CALCIUM_PER_EQUIVALENT, _HIGH_PH, _LOW_PH, _DAVIES_UP_TO, _ROUNDS, _SETTLED, _BEYOND_REASON, _LEAST_GAIN, Salt, SALTS, salt_named, _Constants, _constants, _Shares, _single, _shares, _ionic, _calcium, Water, water_of, co2_mg_l, ph_after_base_closed, ph_after_base_held, Mixed, Chemistry, mix };
})();

M["apps.calc.oxygen"] = (() => {
const require = M["apps.calc.quantities"].require;
let _RESPIRATION = [[18, 150], [24, 220], [28, 300], [32, 360]];
let OTHERS_SHARE = 0.5;
let pressure_atm = P.def(["altitude_m"], (altitude_m) => {
require("altitude_m", altitude_m);
return P.math.pow((1.0 - (2.25577e-05 * altitude_m)), 5.25588);
});
let saturation_mg_l = P.def(["temp_c", "altitude_m", "salinity_g_kg"], (temp_c, altitude_m = 0.0, salinity_g_kg = 0.0) => {
let fresh, kelvin, salt;
require("temp_c", temp_c);
require("salinity_g_kg", salinity_g_kg);
kelvin = (temp_c + 273.15);
fresh = (((((-139.34411) + (157570.1 / kelvin)) - (66423080.0 / (kelvin ** 2))) + (12438000000.0 / (kelvin ** 3))) - (862194900000.0 / (kelvin ** 4)));
salt = (salinity_g_kg * ((0.017674 - (10.754 / kelvin)) + (2140.7 / (kelvin ** 2))));
return (P.math.exp(P.sub(fresh, salt)) * _pressure_factor(temp_c, pressure_atm(altitude_m)));
});
let _pressure_factor = P.def(["temp_c", "atm"], (temp_c, atm) => {
let high, kelvin, theta, vapour;
kelvin = (temp_c + 273.15);
vapour = P.math.exp(((11.8571 - (3840.7 / kelvin)) - (216961 / (kelvin ** 2))));
theta = ((0.000975 - (1.426e-05 * temp_c)) + (6.436e-08 * (temp_c ** 2)));
high = ((1 - (vapour / atm)) * (1 - (theta * atm)));
return ((atm * high) / ((1 - vapour) * (1 - theta)));
});
let percent = P.def(["do_mg_l", "temp_c", "altitude_m", "salinity_g_kg"], (do_mg_l, temp_c, altitude_m = 0.0, salinity_g_kg = 0.0) => {
return ((100.0 * require("do_mg_l", do_mg_l)) / saturation_mg_l(temp_c, altitude_m, salinity_g_kg));
});
let respiration_mg_kg_h = P.def(["temp_c"], (temp_c) => {
let first, last, r0, r1, t0, t1;
require("temp_c", temp_c);
[first, last] = P.list([P.at(_RESPIRATION, 0), P.at(_RESPIRATION, (-1))]);
if (((temp_c <= P.at(first, 0)))) {
return P.at(first, 1);
}
if (((temp_c >= P.at(last, 0)))) {
return (P.at(last, 1) * P.math.pow((360 / 300), (P.sub(temp_c, P.at(last, 0)) / 4)));
}
for ([[t0, r0], [t1, r1]] of P.iter(P.pairwise(_RESPIRATION))) {
if (((temp_c <= t1))) {
return (r0 + ((P.sub(r1, r0) * P.sub(temp_c, t0)) / P.sub(t1, t0)));
}
}
throw P.make(P.AssertionError, [temp_c]);
});
let minutes_without_air = P.def(["do_mg_l", "temp_c", "biomass_kg", "volume_l", "limit_mg_l", "fed", "others_share"], (do_mg_l, temp_c, biomass_kg, volume_l, limit_mg_l, fed = false, others_share = OTHERS_SHARE) => {
let minutes, used_mg_l_h;
require("do_mg_l", do_mg_l);
require("biomass_kg", biomass_kg);
require("volume_l", volume_l);
require("limit_mg_l", limit_mg_l);
require("others_share", others_share);
if (((do_mg_l <= limit_mg_l))) {
return 0.0;
}
if ((P.eq(biomass_kg, 0))) {
return Infinity;
}
used_mg_l_h = (((respiration_mg_kg_h(temp_c) * (1 + others_share)) * biomass_kg) / volume_l);
minutes = ((60.0 * P.sub(do_mg_l, limit_mg_l)) / used_mg_l_h);
return (P.t(fed) ? (minutes / 2) : minutes);
});
return { _RESPIRATION, OTHERS_SHARE, pressure_atm, saturation_mg_l, _pressure_factor, percent, respiration_mg_kg_h, minutes_without_air };
})();

M["apps.calc.plausibility"] = (() => {
const carbonate = M["apps.calc.carbonate"];
const oxygen = M["apps.calc.oxygen"];
const units = M["apps.calc.units"];
const MEASURANDS = M["apps.calc.quantities"].MEASURANDS;
class Doubt extends P.Thing {
}
P.dataclass(Doubt, [["code", null], ["params", () => P.dict()], ["suggestion", () => null], ["blocking", () => false]]);
let CONVERSIONS = P.dict([["temp", P.dict([["°C", P.float], ["C", P.float], ["°F", units.celsius], ["F", units.celsius]])], ["air_t", P.dict([["°C", P.float], ["C", P.float], ["°F", units.celsius], ["F", units.celsius]])], ["alk", P.dict([["mg/L CaCO3", P.float], ["mg/L", P.float], ["dKH", units.alkalinity_from_dkh], ["meq/L", units.alkalinity_from_meq]])], ["gh", P.dict([["mg/L CaCO3", P.float], ["mg/L", P.float], ["dGH", units.alkalinity_from_dkh], ["meq/L", units.alkalinity_from_meq]])], ["ec", P.dict([["mS/cm", P.float], ["uS/cm", ((v) => (v / 1000))], ["µS/cm", ((v) => (v / 1000))], ["ppm500", ((v) => (v / 500))], ["ppm640", ((v) => (v / 640))], ["ppm700", ((v) => (v / 700))]])], ["mort", P.dict([["fish", P.float], ["", P.float]])], ["level", P.dict([["mm", P.float], ["cm", ((v) => (v * 10))], ["in", ((v) => (v * 25.4))]])], ["flow", P.dict([["L/min", P.float], ["L/h", ((v) => (v / 60))]])], ["topup", P.dict([["L/day", P.float], ["L", P.float], ["US gal/day", ((v) => (v * units.LITRES_PER_US_GALLON))]])], ["feed", P.dict([["g/day", P.float], ["g", P.float], ["oz/day", ((v) => (v * units.GRAMS_PER_OUNCE))]])], ["bw", P.dict([["g", P.float], ["kg", ((v) => (v * 1000))], ["oz", ((v) => (v * units.GRAMS_PER_OUNCE))]])]]);
let ION_SHARE = P.dict([["tan", P.at(units.NITROGEN_SHARE, "nh4")], ["no2", P.at(units.NITROGEN_SHARE, "no2")], ["no3", P.at(units.NITROGEN_SHARE, "no3")], ["po4", P.at(units.ELEMENT_SHARE, "po4")]]);
let _SPREAD = P.dict([["temp", 2.5], ["ph", 0.25], ["alk", 20], ["gh", 30], ["tan", 0.3], ["no2", 0.15], ["no3", 15], ["k", 25], ["ca", 20], ["mg", 8], ["fe", 0.6], ["ec", 0.25], ["do", 1.2], ["na", 20], ["cl", 25]]);
let CO2_HIGH, CO2_LOW;
[CO2_LOW, CO2_HIGH] = P.list([0.3, 60.0]);
let OVERSATURATION_ASK, OVERSATURATION_HARD;
[OVERSATURATION_HARD, OVERSATURATION_ASK] = P.list([1.6, 1.3]);
let DROPS_BLIND_BELOW = 6.0;
let to_base = P.def(["measurand", "value", "unit", "basis", "temp_c", "altitude_m"], (measurand, value, unit = "", basis = null, temp_c = null, altitude_m = 0.0) => {
let base, message;
if (((P.eq(measurand, "do")) && (P.eq(unit, "%")))) {
if (((temp_c === null))) {
message = "oxygen in percent needs the water's temperature";
throw P.make(P.ValueError, [message]);
}
return oxygen_from_percent(value, temp_c, altitude_m);
}
base = _convert(measurand, value, unit);
if ((P.has([null, "", "n"], basis))) {
return base;
}
if (((!P.eq(basis, "ion")) || (!P.has(ION_SHARE, measurand)))) {
message = ("basis must be n or ion for a nitrogen kit, not " + P.format(basis, "") + " for " + P.format(measurand, ""));
throw P.make(P.ValueError, [message]);
}
return (base * P.at(ION_SHARE, measurand));
});
let _convert = P.def(["measurand", "value", "unit"], (measurand, value, unit) => {
let allowed, known, message, table;
table = P.m.get(CONVERSIONS, measurand, P.dict([]));
if ((P.has(table, unit))) {
return P.at(table, unit)(value);
}
known = P.m.get(MEASURANDS, measurand);
if ((!P.t(unit) || (!P.t(table) && (((known === null)) || (P.has([known.unit, P.slice(known.unit, null, 4), "mg/L"], unit)))))) {
return P.float(value);
}
allowed = P.or(P.m.join(", ", table), () => (P.t(known) ? known.unit : ""));
message = ("unit of " + P.format(measurand, "") + " must be one of " + P.format(allowed, "") + ", not " + P.format(unit, ""));
throw P.make(P.ValueError, [message]);
});
let oxygen_from_percent = P.def(["percent", "temp_c", "altitude_m"], (percent, temp_c, altitude_m = 0.0) => {
return ((percent / 100) * oxygen.saturation_mg_l(temp_c, altitude_m));
});
let check = P.def(["measurand", "value", "unit", "last", "others", "basis", "limits", "method", "kit_expired", "meter_failed"], (measurand, value, unit = "", last = null, others = null, basis = null, limits = null, method = "", kit_expired = false, meter_failed = false) => {
let about, around, base, code, doubts;
around = P.or(others, () => P.dict([]));
if (!P.t(P.math.isfinite(value))) {
return [P.make(Doubt, ["not_a_number", P.dict([]), null, true])];
}
try {
base = P.call(to_base, [measurand, value, unit, basis], {"temp_c": P.m.get(around, "temp"), "altitude_m": P.m.get(around, "altitude_m", 0.0)});
} catch (error) {
if (!(error instanceof P.ValueError)) throw error;
code = ((P.eq([measurand, unit], ["do", "%"])) ? "needs_temperature" : "unknown_unit");
return [P.make(Doubt, [code, P.dict([["unit", unit]]), null, true])];
}
about = P.make(_Entry, [measurand, value, unit, base, last, around, P.or(basis, () => "n"), P.or(limits, () => P.m.get(MEASURANDS, measurand)), method]);
doubts = P.list(_CHECKS).flatMap((ask) => P.list(ask(about)).map((found) => found));
if (P.t(kit_expired)) {
P.m.append(doubts, P.make(Doubt, ["kit_expired", P.dict([]), null, true]));
}
if (P.t(meter_failed)) {
P.m.append(doubts, P.make(Doubt, ["meter_failed", P.dict([]), null, true]));
}
return P.kw.sorted([doubts], {"key": ((doubt) => !P.t(doubt.blocking))});
});
let is_trusted = P.def(["doubts", "checked_twice"], (doubts, checked_twice = false) => {
let slip;
slip = P.any(P.list(doubts).map((doubt) => (doubt.suggestion !== null)));
return P.and(!(P.any(P.list(doubts).map((doubt) => doubt.blocking))), () => P.or(checked_twice, () => !P.t(slip)));
});
class _Entry extends P.Thing {
static { P.getter(this, "refused", P.def([], function () {
return P.and((this.limits !== null), () => !P.t(this.limits.holds(this.base)));
}), false); }
static { P.getter(this, "odd", P.def([], function () {
return P.and((this.limits !== null), () => this.limits.asks_again(this.base));
}), false); }
static { this.prototype["usual"] = P.def(["candidate"], function (candidate) {
let known;
known = this.limits;
if ((((known === null)) || !P.t(known.holds(candidate)) || P.t(known.asks_again(candidate)))) {
return false;
}
if (((this.last === null))) {
return true;
}
return (P.abs(P.sub(candidate, this.last)) < P.abs(P.sub(this.base, this.last)));
}); }
}
P.dataclass(_Entry, [["measurand", null], ["value", null], ["unit", null], ["base", null], ["last", null], ["others", null], ["basis", null], ["limits", null], ["method", null]]);
let _hard_range = P.def(["entry"], (entry) => {
let high, low, params;
if ((!P.t(entry.refused) || ((entry.limits === null)))) {
return [];
}
[low, high] = P.list([entry.limits.low, entry.limits.high]);
params = P.dict([["value", entry.value], ["low", low], ["high", high]]);
return [P.make(Doubt, ["outside_range", params, _meant(entry), true])];
});
let _meant = P.def(["entry"], (entry) => {
let guess;
for (guess of P.iter([_other_unit(entry), (entry.base / 10), (entry.base / 100)])) {
if ((((guess !== null)) && P.t(entry.limits) && P.t(entry.limits.holds(guess)) && ((guess > 0)))) {
return guess;
}
}
return null;
});
let _other_unit = P.def(["entry"], (entry) => {
if (((P.has(["temp", "air_t"], entry.measurand)) && (P.has(["", "°C", "C"], entry.unit)))) {
return units.celsius(entry.value);
}
if ((P.eq(entry.measurand, "ec"))) {
return (((entry.base > 10)) ? (entry.base / 1000) : (entry.base * 1000));
}
if (((P.eq(entry.measurand, "do")) && (P.has(entry.others, "temp")) && ((entry.value <= 250)))) {
return _percent_typed(entry);
}
return null;
});
let _percent_typed = P.def(["entry"], (entry) => {
let altitude;
altitude = P.m.get(entry.others, "altitude_m", 0.0);
return oxygen_from_percent(entry.value, P.at(entry.others, "temp"), altitude);
});
let _ask_again = P.def(["entry"], (entry) => {
if ((P.t(entry.refused) || !P.t(entry.odd) || ((entry.limits === null)))) {
return [];
}
return [P.make(Doubt, ["unusual", P.dict([["value", entry.value]]), null, false])];
});
let _fahrenheit = P.def(["entry"], (entry) => {
let guess, slipped;
if ((P.t(entry.refused) || (!P.eq(entry.measurand, "temp")) || (!P.has(["", "°C", "C"], entry.unit)))) {
return [];
}
guess = units.celsius(entry.value);
slipped = P.and(entry.odd, () => (entry.last !== null), () => (P.abs(P.sub(guess, entry.last)) < 4));
return (P.t(slipped) ? [P.make(Doubt, ["fahrenheit", P.dict([["value", entry.value]]), guess])] : []);
});
let _degrees_of_hardness = P.def(["entry"], (entry) => {
let guess, params, slipped;
if (((!P.has(["alk", "gh"], entry.measurand)) || (!P.has(["", "mg/L", "mg/L CaCO3"], entry.unit)))) {
return [];
}
guess = units.alkalinity_from_dkh(entry.value);
slipped = P.and(((0 < entry.value) && (entry.value <= 20)), () => entry.usual(guess));
params = P.dict([["value", entry.value], ["mg_l", P.round(guess)]]);
return (P.t(slipped) ? [P.make(Doubt, ["degrees_of_hardness", params, guess])] : []);
});
let _ion = P.def(["entry"], (entry) => {
let far, guess, near, share, slipped;
share = P.m.get(ION_SHARE, entry.measurand);
if ((((share === null)) || (P.eq(entry.basis, "ion")) || P.t(entry.refused))) {
return [];
}
guess = (entry.base * share);
near = P.and((entry.last !== null), () => (entry.last > 0), () => ((0.8 < (guess / entry.last)) && ((guess / entry.last) < 1.25)));
far = P.and((entry.last !== null), () => (entry.base > (2 * entry.last)));
slipped = P.and(near, () => far);
return (P.t(slipped) ? [P.make(Doubt, ["ion_for_nitrogen", P.dict([["value", entry.value]]), guess])] : []);
});
let _dissolved_solids_scale = P.def(["entry"], (entry) => {
let best, others, scales, slipped;
if (((!P.eq(entry.measurand, "ec")) || ((entry.last === null)) || !P.t(P.m.startswith(entry.unit, "ppm")))) {
return [];
}
scales = P.dict([["ppm500", 500], ["ppm640", 640], ["ppm700", 700]]);
others = P.list(P.m.values(scales)).flatMap((s) => (!P.eq(s, P.m.get(scales, entry.unit))) ? [s] : []);
best = P.kw.min([P.list(others).map((s) => (entry.value / s))], {"key": ((ec) => P.abs(P.sub(ec, P.or(entry.last, () => 0))))});
slipped = ((P.abs(P.sub(entry.base, entry.last)) > (0.2 * entry.last)) && ((0.2 * entry.last) > (4 * P.abs(P.sub(best, entry.last)))));
return (P.t(slipped) ? [P.make(Doubt, ["solids_scale", P.dict([["unit", entry.unit]]), best])] : []);
});
let _oversaturated = P.def(["entry"], (entry) => {
let altitude, params, share;
if (((!P.eq(entry.measurand, "do")) || (!P.has(entry.others, "temp")) || P.t(entry.refused))) {
return [];
}
altitude = P.m.get(entry.others, "altitude_m", 0.0);
share = (entry.base / oxygen.saturation_mg_l(P.at(entry.others, "temp"), altitude));
params = P.dict([["percent", P.round((100 * share))]]);
if (((share > OVERSATURATION_HARD))) {
return [P.make(Doubt, ["oversaturated", params, _percent_typed(entry), true])];
}
return (((share > OVERSATURATION_ASK)) ? [P.make(Doubt, ["oversaturated", params])] : []);
});
let _carbon_dioxide = P.def(["entry"], (entry) => {
let both, co2, odd;
both = P.dict([...P.iter(entry.others.items()), [entry.measurand, entry.base]]);
if (((!P.has(["ph", "alk"], entry.measurand)) || P.t(entry.refused) || !(P.within(P.set(["ph", "alk"]), P.m.keys(both))))) {
return [];
}
co2 = carbonate.co2_mg_l(P.at(both, "alk"), P.at(both, "ph"), P.m.get(both, "temp", 20.0));
odd = P.and(!(((CO2_LOW <= co2) && (co2 <= CO2_HIGH))), () => (P.at(both, "alk") > 0));
return (P.t(odd) ? [P.make(Doubt, ["ph_and_alkalinity", P.dict([["co2", P.round(co2, 1)]])])] : []);
});
let _jump = P.def(["entry"], (entry) => {
let jumped, spread;
spread = P.m.get(_SPREAD, entry.measurand);
if ((((spread === null)) || ((entry.last === null)) || P.t(entry.refused))) {
return [];
}
jumped = (P.abs(P.sub(entry.base, entry.last)) > (4 * spread));
return (P.t(jumped) ? [P.make(Doubt, ["jump", P.dict([["value", entry.base], ["last", entry.last]])])] : []);
});
let _drops = P.def(["entry"], (entry) => {
let blind;
blind = P.and(P.eq(entry.measurand, "ph"), () => P.eq(entry.method, "drops"), () => (entry.base <= DROPS_BLIND_BELOW));
return (P.t(blind) ? [P.make(Doubt, ["drops_blind", P.dict([["below", DROPS_BLIND_BELOW]])])] : []);
});
let _CHECKS = [_hard_range, _fahrenheit, _degrees_of_hardness, _ion, _dissolved_solids_scale, _oversaturated, _carbon_dioxide, _jump, _drops, _ask_again];
return { Doubt, CONVERSIONS, ION_SHARE, _SPREAD, CO2_HIGH, CO2_LOW, OVERSATURATION_ASK, OVERSATURATION_HARD, DROPS_BLIND_BELOW, to_base, _convert, oxygen_from_percent, check, is_trusted, _Entry, _hard_range, _meant, _other_unit, _percent_typed, _ask_again, _fahrenheit, _degrees_of_hardness, _ion, _dissolved_solids_scale, _oversaturated, _carbon_dioxide, _jump, _drops, _CHECKS };
})();

M["apps.calc.reading"] = (() => {
const plausibility = M["apps.calc.plausibility"];
const IN_BAND = M["apps.calc.judgement"].IN_BAND;
const MEASURE_AGAIN = M["apps.calc.judgement"].MEASURE_AGAIN;
const judge = M["apps.calc.judgement"].judge;
const judge_ammonia = M["apps.calc.judgement"].judge_ammonia;
const pick_context = M["apps.calc.judgement"].pick_context;
const MEASURANDS = M["apps.calc.quantities"].MEASURANDS;
let UNIT_NAMES = P.dict([["c", "°C"], ["degc", "°C"], ["deg_c", "°C"], ["celsius", "°C"], ["f", "°F"], ["degf", "°F"], ["mg/l", "mg/L"], ["mg_l", "mg/L"], ["ppm", "mg/L"], ["mg/l n", "mg/L"], ["mg/l caco3", "mg/L CaCO3"], ["mg_l_caco3", "mg/L CaCO3"], ["mg/l as caco3", "mg/L CaCO3"], ["ms/cm", "mS/cm"], ["us/cm", "uS/cm"], ["µs/cm", "uS/cm"], ["ph", ""], ["-", ""], ["1", ""], ["none", ""], ["l/min", "L/min"], ["l/h", "L/h"], ["percent", "%"], ["dkh", "dKH"], ["dgh", "dGH"], ["meq/l", "meq/L"], ["g/d", "g/day"]]);
let NEEDS_TEMPERATURE, UNKNOWN_UNIT;
[UNKNOWN_UNIT, NEEDS_TEMPERATURE] = P.list(["unknown_unit", "needs_temperature"]);
let NOT_A_NUMBER, OUTSIDE_RANGE;
[OUTSIDE_RANGE, NOT_A_NUMBER] = P.list(["outside_range", "not_a_number"]);
class Typed extends P.Thing {
}
P.dataclass(Typed, [["key", null], ["loop", null], ["measurand", null], ["value", null], ["unit", () => ""], ["basis", () => ""], ["method", () => ""], ["checked_twice", () => false]]);
class Ground extends P.Thing {
}
P.dataclass(Ground, [["contexts", null], ["bands", null], ["limits", null], ["last", null], ["altitude_m", () => 0.0]]);
class Seen extends P.Thing {
}
P.dataclass(Seen, [["key", null], ["loop", null], ["measurand", null], ["value", null], ["doubts", () => []], ["trusted", () => true], ["word", () => IN_BAND], ["band", () => null], ["refused", () => ""]]);
let unit_name = P.def(["unit"], (unit) => {
return P.m.get(UNIT_NAMES, P.m.lower(P.m.strip(unit)), P.m.strip(unit));
});
let look = P.def(["typed", "ground"], (typed, ground) => {
let found, looked, others;
found = P.list(typed).map((one) => _in_base(one));
others = _others(typed, found, ground);
looked = P.list(P.kw.zip([typed, found], {"strict": true})).map(([one, seen]) => _doubted(one, seen, P.m.get(others, one.loop, P.dict([])), ground));
return words_of(looked, ground);
});
let words_of = P.def(["seen", "ground"], (seen, ground) => {
let values;
values = P.dict(P.list(seen).flatMap((one) => (P.t(one.trusted) && !P.t(one.refused)) ? [[[one.loop, one.measurand], one.value]] : []));
return P.list(seen).map((one) => _judged(one, values, ground));
});
let _seen = P.def(["typed", "value", "refused"], (typed, value, refused = "") => {
return P.call(Seen, [typed.key, typed.loop, typed.measurand, value], {"trusted": !P.t(refused), "refused": refused});
});
let _is_percent = P.def(["typed"], (typed) => {
return P.and(P.eq(typed.measurand, "do"), () => P.eq(typed.unit, "%"));
});
let _in_base = P.def(["typed"], (typed) => {
let base;
if (P.t(_is_percent(typed))) {
return _seen(typed, typed.value);
}
try {
base = plausibility.to_base(typed.measurand, typed.value, typed.unit, P.or(typed.basis, () => null));
} catch (error) {
if (!(error instanceof P.ValueError)) throw error;
return _seen(typed, typed.value, UNKNOWN_UNIT);
}
return _seen(typed, base);
});
let _others = P.def(["typed", "found", "ground"], (typed, found, ground) => {
let known, one, others, seen;
others = P.dict([]);
for ([one, seen] of P.iter(P.kw.zip([typed, found], {"strict": true}))) {
known = P.m.get(MEASURANDS, one.measurand);
if (((P.eq(one.unit, "%")) || P.t(seen.refused) || (((known !== null)) && !P.t(known.holds(seen.value))))) {
continue;
}
if ((!P.has(others, one.loop))) {
P.put(others, one.loop, P.dict([["altitude_m", ground.altitude_m]]));
}
P.put(P.at(others, one.loop), one.measurand, seen.value);
}
return others;
});
let _doubted = P.def(["typed", "seen", "others", "ground"], (typed, seen, others, ground) => {
let codes, doubts, refused, trusted, value;
if (P.t(seen.refused)) {
return seen;
}
value = seen.value;
if (P.t(_is_percent(typed))) {
if ((!P.has(others, "temp"))) {
return _seen(typed, value, NEEDS_TEMPERATURE);
}
value = plausibility.oxygen_from_percent(value, P.at(others, "temp"), ground.altitude_m);
}
doubts = P.call_method(plausibility, "check", [typed.measurand, value, ""], {"last": P.m.get(ground.last, [typed.loop, typed.measurand]), "others": P.dict(P.list(P.m.items(others)).flatMap(([name, other]) => (!P.eq(name, typed.measurand)) ? [[name, other]] : [])), "limits": P.m.get(ground.limits, typed.measurand), "method": typed.method});
if ((P.eq(typed.basis, "ion"))) {
doubts = P.list(doubts).flatMap((doubt) => (!P.eq(doubt.code, "ion_for_nitrogen")) ? [doubt] : []);
}
codes = P.list(doubts).map((doubt) => doubt.code);
refused = P.next(P.list([OUTSIDE_RANGE, NOT_A_NUMBER]).flatMap((code) => (P.has(codes, code)) ? [code] : []), "");
trusted = P.and(!P.t(refused), () => plausibility.is_trusted(doubts, typed.checked_twice));
return P.call(Seen, [typed.key, typed.loop, typed.measurand, value, P.tuple(doubts), trusted], {"refused": refused});
});
let band_of = P.def(["ground", "loop", "measurand"], (ground, loop, measurand) => {
let context, name;
context = P.m.get(ground.contexts, loop);
name = (((context !== null)) ? pick_context(measurand, context) : "");
return (P.t(name) ? P.m.get(ground.bands, [measurand, name]) : null);
});
let _judged = P.def(["seen", "values", "ground"], (seen, values, ground) => {
let band, word;
band = band_of(ground, seen.loop, seen.measurand);
if (!P.t(seen.trusted)) {
word = MEASURE_AGAIN;
} else {
if (((band === null))) {
word = IN_BAND;
} else {
if ((P.eq(seen.measurand, "tan"))) {
word = judge_ammonia(seen.value, band, band_of(ground, seen.loop, "nh3"), P.m.get(values, [seen.loop, "ph"]), P.m.get(values, [seen.loop, "temp"]));
} else {
word = judge(seen.value, band);
}
}
}
return P.make(Seen, [seen.key, seen.loop, seen.measurand, seen.value, seen.doubts, seen.trusted, word, band, seen.refused]);
});
return { UNIT_NAMES, NEEDS_TEMPERATURE, UNKNOWN_UNIT, NOT_A_NUMBER, OUTSIDE_RANGE, Typed, Ground, Seen, unit_name, look, words_of, _seen, _is_percent, _in_base, _others, _doubted, band_of, _judged };
})();

M["apps.calc.advice.situation"] = (() => {
class Reading extends P.Thing {
}
P.dataclass(Reading, [["value", null], ["age_h", () => 0.0], ["trusted", () => true], ["hour", () => null], ["method", () => ""], ["doubt", () => ""], ["id", () => ""]]);
class Past extends P.Thing {
}
P.dataclass(Past, [["on", null], ["value", null]]);
class Fish extends P.Thing {
}
P.dataclass(Fish, [["species", null], ["count", null], ["mean_weight_g", null], ["weights_g", () => []], ["stocked_on", () => null]]);
class Media extends P.Thing {
}
P.dataclass(Media, [["kind", null], ["litres", null]]);
class Crop extends P.Thing {
}
P.dataclass(Crop, [["code", null], ["group", null], ["area_m2", null]]);
class Germination extends P.Thing {
}
P.dataclass(Germination, [["crop", null], ["percent", null], ["temp_c", () => null]]);
class Source extends P.Thing {
}
P.dataclass(Source, [["ph", null], ["alkalinity", null], ["tan", () => 0.0], ["total_chlorine", () => 0.0], ["chloramine", () => false], ["temp_c", () => null], ["nitrate", () => 0.0], ["sodium", () => null]]);
class Event extends P.Thing {
}
P.dataclass(Event, [["code", null], ["on", null]]);
class Hold extends P.Thing {
}
P.dataclass(Hold, [["product", null], ["until", null], ["touches", () => "both"]]);
class Loop extends P.Thing {
}
P.dataclass(Loop, [["id", null], ["kind", null], ["volume_l", null], ["volume_within_pct", () => 10.0], ["tank_l", () => null], ["readings", () => P.dict()], ["history", () => P.dict()], ["second", () => P.dict()], ["ph_swing", () => null], ["fish", () => []], ["crops", () => []], ["media", () => []], ["feed_g_day", () => null], ["protein", () => 0.32], ["fed_hours_ago", () => null], ["air_l_min", () => null], ["pump_l_h", () => null], ["sown_crop", () => ""], ["given_7d", () => P.dict()], ["deaths", () => []]]);
class Situation extends P.Thing {
}
P.dataclass(Situation, [["kind", null], ["today", null], ["loops", null], ["source", () => null], ["signs", () => P.frozenset()], ["events", () => []], ["holds", () => []], ["filter_age_days", () => null], ["altitude_m", () => 0.0], ["outage_minutes", () => null], ["feed_conversion", () => null], ["expected_topup_l_day", () => null], ["germination", () => []]]);
return { Reading, Past, Fish, Media, Crop, Germination, Source, Event, Hold, Loop, Situation };
})();

M["apps.calc.species"] = (() => {
class Species extends P.Thing {
}
P.dataclass(Species, [["code", null], ["name", null], ["scientific_name", null], ["dies_below_c", null], ["feed_min_c", null], ["best_low_c", null], ["best_high_c", null], ["feed_max_c", null], ["dies_above_c", null], ["oxygen_target_mg_l", null], ["oxygen_limit_mg_l", null], ["protein_low", null], ["protein_high", null], ["most_kg_m3", null], ["market_g", null], ["tgc", null], ["ration", null], ["feeding", null], ["cold_water", null], ["winter_hardy", null], ["chloride_helps", null], ["sources", null]]);
let _points = P.def(["rows"], (rows) => {
return P.tuple(P.list(rows).map(([x, y]) => [P.float(x), P.float(y)]));
});
const species_table = (() => { const table = P.dict([["nile_tilapia", P.make(Species, ["nile_tilapia", "Nile tilapia", "Oreochromis niloticus", 12, 17, 27, 30, 33, 36, 5, 3, 0.28, 0.32, 20, 600, 1.04, [[1.0, 10.0], [5.0, 6.0], [20.0, 4.0], [50.0, 3.5], [100.0, 2.5], [250.0, 1.8], [450.0, 1.4], [800.0, 1.0]], [[17.0, 0.0], [20.0, 0.25], [24.0, 0.6], [26.0, 0.85], [27.0, 1.0], [30.0, 1.0], [31.0, 0.8], [33.0, 0.6]], false, false, true, ["fao589", "srac282", "practice"]])], ["common_carp", P.make(Species, ["common_carp", "Common carp", "Cyprinus carpio", 4, 10, 25, 28, 32, 34, 5, 3, 0.3, 0.38, 15, 600, 0.76, [[1.0, 10.0], [5.0, 6.0], [20.0, 4.0], [50.0, 3.5], [100.0, 2.5], [250.0, 1.8], [450.0, 1.4], [800.0, 1.0]], [[10.0, 0.1], [12.0, 0.2], [14.0, 0.2], [18.0, 0.6], [20.0, 0.6], [23.0, 0.9], [25.0, 1.0], [28.0, 1.0], [29.0, 0.9], [31.0, 0.4], [32.0, 0.4]], false, true, true, ["ficke_fao", "carp1984", "practice"]])], ["koi", P.make(Species, ["koi", "Koi", "Cyprinus rubrofuscus", 4, 10, 25, 28, 32, 34, 5, 3, 0.3, 0.38, 15, null, 0.76, [[1.0, 10.0], [5.0, 6.0], [20.0, 4.0], [50.0, 3.5], [100.0, 2.5], [250.0, 1.8], [450.0, 1.4], [800.0, 1.0]], [[10.0, 0.1], [12.0, 0.2], [14.0, 0.2], [18.0, 0.6], [20.0, 0.6], [23.0, 0.9], [25.0, 1.0], [28.0, 1.0], [29.0, 0.9], [31.0, 0.4], [32.0, 0.4]], false, true, true, ["ficke_fao", "carp1984", "practice"]])], ["goldfish", P.make(Species, ["goldfish", "Goldfish", "Carassius auratus", 2, 8, 18, 24, 30, 35, 5, 3, 0.28, 0.32, 10, null, 0.35, [[1.0, 10.0], [5.0, 6.0], [20.0, 4.0], [50.0, 3.5], [100.0, 2.5], [250.0, 1.8], [450.0, 1.4], [800.0, 1.0]], [[8.0, 0.1], [12.0, 0.3], [16.0, 0.7], [18.0, 1.0], [24.0, 1.0], [28.0, 0.6], [30.0, 0.3]], false, true, true, ["practice"]])], ["channel_catfish", P.make(Species, ["channel_catfish", "Channel catfish", "Ictalurus punctatus", 5, 15, 26, 29, 32, 33.5, 5, 3, 0.25, 0.36, 20, 400, 0.67, [[1.0, 10.0], [5.0, 6.0], [20.0, 4.0], [50.0, 3.0], [100.0, 2.0], [400.0, 1.5], [800.0, 1.0]], [[15.0, 0.15], [18.0, 0.2], [21.0, 0.4], [24.0, 0.8], [26.0, 1.0], [29.0, 1.0], [32.0, 0.4]], false, true, true, ["fao589", "tomasso1986", "practice"]])], ["air_breathing_catfish", P.make(Species, ["air_breathing_catfish", "Air-breathing catfish", "Clarias gariepinus", 12, 18, 26, 30, 33, 35, 3, 1.5, 0.3, 0.4, 30, 800, 1.2, [[1.0, 10.0], [5.0, 6.0], [20.0, 4.0], [50.0, 3.5], [100.0, 2.5], [250.0, 1.8], [450.0, 1.4], [800.0, 1.0]], [[18.0, 0.1], [20.0, 0.3], [24.0, 0.7], [26.0, 1.0], [30.0, 1.0], [31.0, 0.8], [33.0, 0.5]], false, false, true, ["practice"]])], ["rainbow_trout", P.make(Species, ["rainbow_trout", "Rainbow trout", "Oncorhynchus mykiss", 2, 5, 14, 16, 18, 22, 8, 6, 0.4, 0.45, 15, 1000, 1.15, [[1.0, 5.0], [5.0, 3.5], [10.0, 2.5], [50.0, 1.9], [100.0, 1.6], [300.0, 1.3], [1000.0, 1.0]], [[5.0, 0.3], [8.0, 0.6], [12.0, 0.8], [14.0, 1.0], [16.0, 1.0], [17.0, 0.7], [18.0, 0.5]], true, false, true, ["fao589", "practice"]])], ["barramundi", P.make(Species, ["barramundi", "Barramundi", "Lates calcarifer", 16, 20, 26, 29, 32, 34, 5, 4, 0.38, 0.45, 15, 400, 0.65, [[1.0, 8.0], [5.0, 5.0], [20.0, 4.0], [50.0, 3.0], [100.0, 2.0], [250.0, 1.5], [500.0, 1.0]], [[20.0, 0.2], [23.0, 0.5], [26.0, 1.0], [29.0, 1.0], [32.0, 0.5]], false, false, true, ["ficke_fao", "practice"]])], ["jade_perch", P.make(Species, ["jade_perch", "Jade perch", "Scortum barcoo", 13, 18, 24, 28, 31, 33, 5, 3, 0.32, 0.4, 20, 500, 0.66, [[1.0, 10.0], [5.0, 6.0], [20.0, 4.0], [50.0, 3.5], [100.0, 2.5], [250.0, 1.8], [450.0, 1.4], [800.0, 1.0]], [[18.0, 0.2], [21.0, 0.6], [24.0, 1.0], [28.0, 1.0], [31.0, 0.5]], false, false, true, ["practice"]])], ["silver_perch", P.make(Species, ["silver_perch", "Silver perch", "Bidyanus bidyanus", 8, 12, 23, 28, 30, 33, 5, 3, 0.32, 0.36, 15, 500, 0.47, [[1.0, 10.0], [5.0, 6.0], [20.0, 4.0], [50.0, 3.5], [100.0, 2.5], [250.0, 1.8], [450.0, 1.4], [800.0, 1.0]], [[12.0, 0.1], [16.0, 0.3], [20.0, 0.7], [23.0, 1.0], [28.0, 1.0], [30.0, 0.5]], false, false, true, ["practice"]])], ["murray_cod", P.make(Species, ["murray_cod", "Murray cod", "Maccullochella peelii", 8, 14, 18, 22, 27, 30, 6, 4, 0.45, 0.5, 15, 600, 0.65, [[1.0, 8.0], [5.0, 5.0], [20.0, 4.0], [50.0, 3.0], [100.0, 2.0], [250.0, 1.5], [500.0, 1.0]], [[14.0, 0.3], [16.0, 0.6], [18.0, 1.0], [22.0, 1.0], [25.0, 0.6], [27.0, 0.3]], false, false, true, ["practice"]])], ["largemouth_bass", P.make(Species, ["largemouth_bass", "Largemouth bass", "Micropterus salmoides", 4, 10, 22, 27, 30, 34, 6, 4, 0.4, 0.45, 12, 400, 0.5, [[1.0, 8.0], [5.0, 5.0], [20.0, 4.0], [50.0, 3.0], [100.0, 2.0], [250.0, 1.5], [500.0, 1.0]], [[10.0, 0.1], [14.0, 0.3], [18.0, 0.6], [22.0, 1.0], [27.0, 1.0], [30.0, 0.4]], false, true, false, ["tomasso1986", "practice"]])], ["bluegill", P.make(Species, ["bluegill", "Bluegill", "Lepomis macrochirus", 4, 10, 22, 27, 30, 34, 6, 4, 0.4, 0.45, 12, 400, 0.5, [[1.0, 8.0], [5.0, 5.0], [20.0, 4.0], [50.0, 3.0], [100.0, 2.0], [250.0, 1.5], [500.0, 1.0]], [[10.0, 0.1], [14.0, 0.3], [18.0, 0.6], [22.0, 1.0], [27.0, 1.0], [30.0, 0.4]], false, true, false, ["tomasso1986", "practice"]])], ["yellow_perch", P.make(Species, ["yellow_perch", "Yellow perch", "Perca flavescens", 4, 10, 22, 25, 26, 30, 6, 4, 0.4, 0.45, 12, 400, 0.5, [[1.0, 8.0], [5.0, 5.0], [20.0, 4.0], [50.0, 3.0], [100.0, 2.0], [250.0, 1.5], [500.0, 1.0]], [[10.0, 0.1], [14.0, 0.3], [18.0, 0.6], [22.0, 1.0], [25.0, 1.0], [26.0, 0.7]], false, true, true, ["ncrac", "practice"]])], ["tilapia", P.make(Species, ["nile_tilapia", "Nile tilapia", "Oreochromis niloticus", 12, 17, 27, 30, 33, 36, 5, 3, 0.28, 0.32, 20, 600, 1.04, [[1.0, 10.0], [5.0, 6.0], [20.0, 4.0], [50.0, 3.5], [100.0, 2.5], [250.0, 1.8], [450.0, 1.4], [800.0, 1.0]], [[17.0, 0.0], [20.0, 0.25], [24.0, 0.6], [26.0, 0.85], [27.0, 1.0], [30.0, 1.0], [31.0, 0.8], [33.0, 0.6]], false, false, true, ["fao589", "srac282", "practice"]])], ["carp", P.make(Species, ["common_carp", "Common carp", "Cyprinus carpio", 4, 10, 25, 28, 32, 34, 5, 3, 0.3, 0.38, 15, 600, 0.76, [[1.0, 10.0], [5.0, 6.0], [20.0, 4.0], [50.0, 3.5], [100.0, 2.5], [250.0, 1.8], [450.0, 1.4], [800.0, 1.0]], [[10.0, 0.1], [12.0, 0.2], [14.0, 0.2], [18.0, 0.6], [20.0, 0.6], [23.0, 0.9], [25.0, 1.0], [28.0, 1.0], [29.0, 0.9], [31.0, 0.4], [32.0, 0.4]], false, true, true, ["ficke_fao", "carp1984", "practice"]])], ["trout", P.make(Species, ["rainbow_trout", "Rainbow trout", "Oncorhynchus mykiss", 2, 5, 14, 16, 18, 22, 8, 6, 0.4, 0.45, 15, 1000, 1.15, [[1.0, 5.0], [5.0, 3.5], [10.0, 2.5], [50.0, 1.9], [100.0, 1.6], [300.0, 1.3], [1000.0, 1.0]], [[5.0, 0.3], [8.0, 0.6], [12.0, 0.8], [14.0, 1.0], [16.0, 1.0], [17.0, 0.7], [18.0, 0.5]], true, false, true, ["fao589", "practice"]])], ["bass_perch", P.make(Species, ["largemouth_bass", "Largemouth bass", "Micropterus salmoides", 4, 10, 22, 27, 30, 34, 6, 4, 0.4, 0.45, 12, 400, 0.5, [[1.0, 8.0], [5.0, 5.0], [20.0, 4.0], [50.0, 3.0], [100.0, 2.0], [250.0, 1.5], [500.0, 1.0]], [[10.0, 0.1], [14.0, 0.3], [18.0, 0.6], [22.0, 1.0], [27.0, 1.0], [30.0, 0.4]], false, true, false, ["tomasso1986", "practice"]])]]); return () => table; })();
let species_named = P.def(["code"], (code) => {
let message, table;
table = species_table();
if ((!P.has(table, code))) {
message = ("species must be one of " + P.format(P.m.join(", ", table), "") + ", not " + P.format(code, ""));
throw P.make(P.ValueError, [message]);
}
return P.at(table, code);
});
let interpolate = P.def(["points", "x", "logarithmic"], (points, x, logarithmic = false) => {
let share, x0, x1, y0, y1;
if (((x <= P.at(P.at(points, 0), 0)))) {
return P.at(P.at(points, 0), 1);
}
for ([[x0, y0], [x1, y1]] of P.iter(P.pairwise(points))) {
if (((x <= x1))) {
share = (P.t(logarithmic) ? (P.math.log((x / x0)) / P.math.log((x1 / x0))) : (P.sub(x, x0) / P.sub(x1, x0)));
return (y0 + (share * P.sub(y1, y0)));
}
}
return P.at(P.at(points, (-1)), 1);
});
return { Species, _points, species_table, species_named, interpolate };
})();

M["apps.calc.feed"] = (() => {
const require = M["apps.calc.quantities"].require;
const interpolate = M["apps.calc.species"].interpolate;
const species_named = M["apps.calc.species"].species_named;
let TAN_PER_PROTEIN = 0.092;
let OXYGEN_PER_FEED = 0.65;
let ALKALINITY_PER_N = 7.14;
let ALKALINITY_PER_NITRATE_N = 3.57;
let tan_g_day = P.def(["feed_g_day", "protein_fraction"], (feed_g_day, protein_fraction) => {
require("feed_g_day", feed_g_day);
require("protein_fraction", protein_fraction);
return ((feed_g_day * protein_fraction) * TAN_PER_PROTEIN);
});
let oxygen_g_day = P.def(["feed_g_day"], (feed_g_day) => {
return (require("feed_g_day", feed_g_day) * OXYGEN_PER_FEED);
});
let alkalinity_use_g_day = P.def(["feed_g_day", "protein_fraction", "no3_n_g_day"], (feed_g_day, protein_fraction, no3_n_g_day = 0.0) => {
let given_back, made;
made = (ALKALINITY_PER_N * tan_g_day(feed_g_day, protein_fraction));
given_back = (ALKALINITY_PER_NITRATE_N * require("no3_n_g_day", no3_n_g_day));
return P.max(0.0, P.sub(made, given_back));
});
let ration_percent = P.def(["species", "weight_g", "temp_c"], (species, weight_g, temp_c) => {
let kind;
kind = species_named(species);
require("weight_g", weight_g);
return (P.call(interpolate, [kind.ration, weight_g], {"logarithmic": true}) * temperature_factor(kind, temp_c));
});
let temperature_factor = P.def(["species", "temp_c"], (species, temp_c) => {
require("temp_c", temp_c);
if (!(((species.feed_min_c <= temp_c) && (temp_c <= species.feed_max_c)))) {
return 0.0;
}
return interpolate(species.feeding, temp_c);
});
return { TAN_PER_PROTEIN, OXYGEN_PER_FEED, ALKALINITY_PER_N, ALKALINITY_PER_NITRATE_N, tan_g_day, oxygen_g_day, alkalinity_use_g_day, ration_percent, temperature_factor };
})();

M["apps.calc.filtration"] = (() => {
const require = M["apps.calc.quantities"].require;
let REFERENCE_RATE = 0.5;
let THETA_WARM = 1.05;
let THETA_COLD = 1.09;
let MEDIA = P.dict([["gravel", 120.0], ["coarse_gravel", 70.0], ["pea_gravel", 295.0], ["volcanic_rock", 300.0], ["pumice", 250.0], ["expanded_clay", 250.0], ["moving_bed", 500.0], ["bioballs", 600.0], ["brushes", 100.0], ["scrub_pads", 1310.0]]);
let temperature_factor = P.def(["temp_c"], (temp_c) => {
let by_theta;
require("temp_c", temp_c);
if (((temp_c >= 25))) {
return 1.0;
}
if (((temp_c >= 20))) {
return P.math.pow(THETA_WARM, (temp_c - 25));
}
by_theta = (P.math.pow(THETA_WARM, (-5)) * P.math.pow(THETA_COLD, (temp_c - 20)));
return P.min(by_theta, P.math.pow(2, ((temp_c - 20) / 5)));
});
let capacity_g_day = P.def(["area_m2", "temp_c"], (area_m2, temp_c) => {
return ((require("area_m2", area_m2) * REFERENCE_RATE) * temperature_factor(temp_c));
});
let media_area_m2 = P.def(["kind", "litres"], (kind, litres) => {
let message;
if ((!P.has(MEDIA, kind))) {
message = ("kind must be one of " + P.format(P.m.join(", ", MEDIA), "") + ", not " + P.format(kind, ""));
throw P.make(P.ValueError, [message]);
}
return ((P.at(MEDIA, kind) * require("litres", litres)) / 1000);
});
return { REFERENCE_RATE, THETA_WARM, THETA_COLD, MEDIA, temperature_factor, capacity_g_day, media_area_m2 };
})();

M["apps.calc.growth"] = (() => {
const require = M["apps.calc.quantities"].require;
const require_between = M["apps.calc.quantities"].require_between;
const student_t_quantile = M["apps.calc.statistics"].student_t_quantile;
class Biomass extends P.Thing {
}
P.dataclass(Biomass, [["kg", null], ["kg_low", null], ["kg_high", null], ["mean_g", null], ["cv", null]]);
let biomass = P.def(["weights_g", "count"], (weights_g, count) => {
let deviation, finite, half, kg, mean, message, n, spread, weight;
n = P.len(weights_g);
require_between("the number of weights", n, 2, 100000);
for (weight of P.iter(weights_g)) {
require("weight_g", weight);
}
require("count", count);
if (((count < n))) {
message = ("count must not be below the " + P.format(n, "") + " fish weighed, not " + P.format(count, ""));
throw P.make(P.ValueError, [message]);
}
mean = P.fmean(weights_g);
deviation = P.stdev(weights_g);
finite = P.math.sqrt((1 - (n / count)));
half = (((student_t_quantile(0.975, (n - 1)) * deviation) / P.math.sqrt(n)) * finite);
kg = ((count * mean) / 1000);
spread = ((count * half) / 1000);
return P.make(Biomass, [kg, P.max(0.0, P.sub(kg, spread)), P.add(kg, spread), mean, (deviation / mean)]);
});
let density_kg_m3 = P.def(["biomass_kg", "volume_l"], (biomass_kg, volume_l) => {
return ((require("biomass_kg", biomass_kg) / require("volume_l", volume_l)) * 1000);
});
return { Biomass, biomass, density_kg_m3 };
})();

M["apps.calc.advice.facts"] = (() => {
const ammonia = M["apps.calc.ammonia"];
const feed = M["apps.calc.feed"];
const filtration = M["apps.calc.filtration"];
const growth = M["apps.calc.growth"];
const judgement = M["apps.calc.judgement"];
const oxygen = M["apps.calc.oxygen"];
const Band = M["apps.calc.judgement"].Band;
const LoopContext = M["apps.calc.judgement"].LoopContext;
const species_table = M["apps.calc.species"].species_table;
let FRESH_H = 24.0;
let USABLE_H = 72.0;
let SLOW_H = (30 * 24.0);
let SLOW = P.frozenset(P.set(["no3", "k", "ca", "mg", "po4", "fe", "na", "cl", "gh", "bw", "bed_sludge"]));
let YOUNG_DAYS = 45;
let NO_FEED_COLD, NO_FEED_WARM;
[NO_FEED_WARM, NO_FEED_COLD] = P.list([5.0, 6.5]);
let ROOM_NEEDED_PCT = 10.0;
class Facts extends P.Thing {
static __init__ = P.def(["situation", "loop", "bands"], function (situation, loop, bands) {
this.s = situation;
this.loop = loop;
this.bands = bands;
return null;
});
static { this.prototype["reading"] = P.def(["code"], function (code) {
let found, oldest;
found = P.m.get(this.loop.readings, code);
oldest = ((P.has(SLOW, code)) ? SLOW_H : USABLE_H);
return ((P.t(found) && P.t(found.trusted) && ((found.age_h <= oldest))) ? found : null);
}); }
static { this.prototype["v"] = P.def(["code"], function (code) {
let found;
found = this.reading(code);
return (P.t(found) ? found.value : null);
}); }
static { this.prototype["fresh"] = P.def(["code"], function (code) {
let found;
found = this.reading(code);
return ((P.t(found) && ((found.age_h < FRESH_H))) ? found.value : null);
}); }
static { this.prototype["above"] = P.def(["code", "limit"], function (code, limit) {
let value;
value = this.v(code);
return P.and((value !== null), () => (limit !== null), () => (value > limit));
}); }
static { this.prototype["below"] = P.def(["code", "limit"], function (code, limit) {
let value;
value = this.v(code);
return P.and((value !== null), () => (limit !== null), () => (value < limit));
}); }
static { this.prototype["past"] = P.def(["code"], function (code) {
let found, now;
found = P.list(P.m.get(this.loop.history, code, [])).map((p) => [P.float(P.m.toordinal(p.on)), p.value]);
now = this.reading(code);
if (P.t(now)) {
P.m.append(found, [(P.m.toordinal(this.s.today) - (now.age_h / 24)), now.value]);
}
return found;
}); }
static { this.prototype["trend"] = P.def(["code"], function (code) {
return judgement.trend(code, P.slice(this.past(code), (-5), null));
}); }
static { this.prototype["rose_thrice"] = P.def(["code"], function (code) {
let last;
last = P.list(P.slice(this.past(code), (-3), null)).map(([_, value]) => value);
return P.and(P.eq(P.len(last), 3), () => ((P.at(last, 0) < P.at(last, 1)) && (P.at(last, 1) < P.at(last, 2))));
}); }
static { this.prototype["per_day"] = P.def(["code"], function (code) {
let last;
last = P.slice(this.past(code), (-2), null);
if ((((P.len(last) < 2)) || ((P.sub(P.at(P.at(last, 1), 0), P.at(P.at(last, 0), 0)) < 0.5)))) {
return null;
}
return (P.sub(P.at(P.at(last, 1), 1), P.at(P.at(last, 0), 1)) / P.sub(P.at(P.at(last, 1), 0), P.at(P.at(last, 0), 0)));
}); }
static { this.prototype["dropped_share"] = P.def(["code"], function (code) {
let last;
last = P.list(P.slice(this.past(code), (-2), null)).map(([_, value]) => value);
return (((P.eq(P.len(last), 2)) && ((P.at(last, 0) > 0))) ? (1 - (P.at(last, 1) / P.at(last, 0))) : 0.0);
}); }
static { P.getter(this, "context", P.def([], function () {
return P.call(LoopContext, [], {"system_kind": this.s.kind, "loop_kind": this.loop.kind, "species": P.tuple(P.list(this.loop.fish).flatMap((batch) => ((P.attr(batch, "count") > 0)) ? [batch.species] : [])), "crop_groups": P.tuple(P.sorted(P.set(P.list(this.loop.crops).map((crop) => crop.group)))), "cold": P.any(P.list(this.species).map((kind) => kind.cold_water)), "cycling": this.cycling});
}), true); }
static { this.prototype["band"] = P.def(["measurand"], function (measurand) {
let context;
context = judgement.pick_context(measurand, this.context);
if (((P.eq(measurand, "temp")) && ((P.len(this.context.species) > 1)))) {
return this._temp_of_all();
}
return P.m.get(this.bands, [measurand, context], P.make(Band, []));
}); }
static { this.prototype["_temp_of_all"] = P.def([], function () {
let amber_hi, amber_lo, found, highs, lows, names, red_hi, red_lo, t_hi, t_lo;
names = P.set(P.list(this.context.species).map((code) => P.m.get(judgement.TEMP_CONTEXTS, code, "")));
found = P.list(P.sorted(names)).flatMap((n) => (P.has(this.bands, ["temp", n])) ? [P.at(this.bands, ["temp", n])] : []);
highs = P.list(found).map((b) => [b.t_hi, b.amber_hi, b.red_hi]);
lows = P.list(found).map((b) => [b.t_lo, b.amber_lo, b.red_lo]);
[t_hi, amber_hi, red_hi] = P.list(P.list(P.kw.zip([...P.iter(highs)], {"strict": true})).map((column) => _least(column)));
[t_lo, amber_lo, red_lo] = P.list(P.list(P.kw.zip([...P.iter(lows)], {"strict": true})).map((column) => _most(column)));
return P.make(Band, [red_lo, amber_lo, t_lo, t_hi, amber_hi, red_hi, P.m.join("+", P.sorted(names))]);
}); }
static { this.prototype["judged"] = P.def(["measurand"], function (measurand) {
let value, worked_out;
worked_out = P.dict([["nh3", "nh3_highest"], ["density", "density"], ["feed_area", "feed_per_area"]]);
if ((P.has(worked_out, measurand))) {
value = P.getattr(this, P.at(worked_out, measurand));
return value;
}
return this.v(measurand);
}); }
static { this.prototype["word"] = P.def(["measurand"], function (measurand) {
let nh3, value;
value = this.judged(measurand);
if (((value === null))) {
return judgement.MEASURE_AGAIN;
}
if ((P.eq(measurand, "tan"))) {
nh3 = (P.t(this.has_fish) ? this.band("nh3") : null);
return judgement.judge_ammonia(value, this.band("tan"), nh3, this.v("ph"), this.v("temp"));
}
return judgement.judge(value, this.band(measurand));
}); }
static { this.prototype["side"] = P.def(["measurand"], function (measurand) {
let value;
value = this.judged(measurand);
if (((value === null))) {
return "";
}
if (((P.eq(measurand, "tan")) && (!P.eq(this.word("tan"), judgement.IN_BAND)))) {
return "high";
}
return judgement.side(value, this.band(measurand));
}); }
static { P.getter(this, "species", P.def([], function () {
let table;
table = species_table();
return P.tuple(P.list(this.loop.fish).flatMap((b) => (P.t(P.attr(b, "count")) && (P.has(table, b.species))) ? [P.at(table, b.species)] : []));
}), true); }
static { P.getter(this, "has_fish", P.def([], function () {
return P.any(P.list(this.loop.fish).map((batch) => (P.attr(batch, "count") > 0)));
}), false); }
static { P.getter(this, "has_plants", P.def([], function () {
return P.bool(this.loop.crops);
}), false); }
static { P.getter(this, "fruiting", P.def([], function () {
return P.any(P.list(this.loop.crops).map((crop) => P.eq(crop.group, "fruiting")));
}), false); }
static { P.getter(this, "cold", P.def([], function () {
return this.context.cold;
}), false); }
static { P.getter(this, "plant_water", P.def([], function () {
return P.or(P.eq(this.loop.kind, "plant"), () => P.eq(this.s.kind, "plants_only"));
}), false); }
static { P.getter(this, "coupled", P.def([], function () {
return P.and(P.eq(this.loop.kind, "whole"), () => P.eq(this.s.kind, "coupled"));
}), false); }
static { P.getter(this, "biomass_kg", P.def([], function () {
return (P.sum(P.list(this.loop.fish).map((batch) => (P.attr(batch, "count") * batch.mean_weight_g))) / 1000);
}), true); }
static { P.getter(this, "fish_count", P.def([], function () {
return P.sum(P.list(this.loop.fish).map((batch) => P.attr(batch, "count")));
}), false); }
static { P.getter(this, "density", P.def([], function () {
if ((!P.t(this.has_fish) || !P.t(this.loop.tank_l))) {
return null;
}
return growth.density_kg_m3(this.biomass_kg, this.loop.tank_l);
}), true); }
static { P.getter(this, "no_feed_oxygen", P.def([], function () {
if ((P.t(this.species) && (P.all(P.list(this.species).map((kind) => (kind.oxygen_target_mg_l < NO_FEED_WARM)))))) {
return P.max(P.list(this.species).map((kind) => kind.oxygen_target_mg_l));
}
return (P.t(this.cold) ? NO_FEED_COLD : NO_FEED_WARM);
}), false); }
static { P.getter(this, "oxygen_limit", P.def([], function () {
return P.kw.max([P.list(this.species).map((kind) => kind.oxygen_limit_mg_l)], {"default": 3.0});
}), false); }
static { P.getter(this, "feed_min_c", P.def([], function () {
return P.kw.max([P.list(this.species).map((kind) => kind.feed_min_c)], {"default": (-2.0)});
}), false); }
static { P.getter(this, "feed_max_c", P.def([], function () {
return P.kw.min([P.list(this.species).map((kind) => kind.feed_max_c)], {"default": 45.0});
}), false); }
static { P.getter(this, "nh3", P.def([], function () {
let ph, tan, temp;
[tan, ph, temp] = P.list([this.v("tan"), this.v("ph"), this.v("temp")]);
if ((((tan === null)) || ((ph === null)) || ((temp === null)))) {
return null;
}
return ammonia.nh3_n(tan, ph, temp);
}), true); }
static { P.getter(this, "nh3_highest", P.def([], function () {
let ph, tan, temp;
[tan, ph, temp] = P.list([this.v("tan"), this.v("ph"), this.v("temp")]);
if ((((tan === null)) || ((ph === null)) || ((temp === null)))) {
return null;
}
return judgement.highest_nh3(tan, ph, temp);
}), true); }
static { P.getter(this, "nh3_target", P.def([], function () {
return P.or(this.band("nh3").t_hi, () => 0.02);
}), true); }
static { P.getter(this, "do_pct", P.def([], function () {
let do_, temp;
[do_, temp] = P.list([this.v("do"), this.v("temp")]);
if ((((do_ === null)) || ((temp === null)))) {
return null;
}
return oxygen.percent(do_, temp, this.s.altitude_m);
}), true); }
static { P.getter(this, "feed_g_day", P.def([], function () {
let given;
given = this.v("feed");
return (((given === null)) ? this.loop.feed_g_day : given);
}), false); }
static { P.getter(this, "ration_g_day", P.def([], function () {
let known, temp;
temp = this.v("temp");
known = P.list(this.loop.fish).flatMap((b) => (P.t(P.attr(b, "count")) && (P.has(species_table(), b.species))) ? [b] : []);
if ((((temp === null)) || !P.t(known))) {
return null;
}
return P.sum(P.list(known).map((b) => (((P.attr(b, "count") * b.mean_weight_g) * feed.ration_percent(b.species, b.mean_weight_g, temp)) / 100)));
}), true); }
static { P.getter(this, "tan_g_day", P.def([], function () {
if ((!P.t(this.feed_g_day) || !P.t(this.has_fish))) {
return null;
}
return feed.tan_g_day(this.feed_g_day, this.loop.protein);
}), true); }
static { P.getter(this, "media_m2", P.def([], function () {
if (!P.t(this.loop.media)) {
return null;
}
return P.sum(P.list(this.loop.media).map((m) => filtration.media_area_m2(m.kind, m.litres)));
}), true); }
static { P.getter(this, "filter_g_day", P.def([], function () {
let temp;
temp = this.v("temp");
if ((((this.media_m2 === null)) || ((temp === null)))) {
return null;
}
return filtration.capacity_g_day(this.media_m2, temp);
}), true); }
static { P.getter(this, "bed_m2", P.def([], function () {
return P.sum(P.list(this.loop.crops).map((crop) => crop.area_m2));
}), false); }
static { P.getter(this, "feed_per_area", P.def([], function () {
if ((!P.t(this.coupled) || !P.t(this.bed_m2) || !P.t(this.feed_g_day))) {
return null;
}
return (this.feed_g_day / this.bed_m2);
}), true); }
static { P.getter(this, "minutes_without_air", P.def([], function () {
let do_, fed, temp;
[do_, temp] = P.list([this.v("do"), this.v("temp")]);
if ((((do_ === null)) || ((temp === null)) || !P.t(this.has_fish))) {
return null;
}
fed = P.and((this.loop.fed_hours_ago !== null), () => (this.loop.fed_hours_ago < 3));
return oxygen.minutes_without_air(do_, temp, this.biomass_kg, this.loop.volume_l, this.oxygen_limit, fed);
}), true); }
static { P.getter(this, "cycling", P.def([], function () {
let age;
age = this.s.filter_age_days;
return P.and(!P.t(this.has_fish), () => !P.t(this.plant_water), () => (age !== null), () => (age < 120));
}), false); }
static { P.getter(this, "young", P.def([], function () {
return P.and((this.s.filter_age_days !== null), () => (this.s.filter_age_days < YOUNG_DAYS));
}), false); }
static { this.prototype["has"] = P.def([], function (...signs) {
return P.any(P.list(signs).map((sign) => P.has(this.s.signs, sign)));
}); }
static { this.prototype["days_since"] = P.def([], function (...codes) {
let days;
days = P.list(this.s.events).flatMap((event) => (P.has(codes, event.code)) ? [P.sub(this.s.today, event.on).days] : []);
return P.kw.min([P.list(days).flatMap((d) => ((d >= 0)) ? [d] : [])], {"default": null});
}); }
static { this.prototype["within_days"] = P.def(["limit"], function (limit, ...codes) {
let days;
days = this.days_since(...P.iter(codes));
return P.and((days !== null), () => (days < limit));
}); }
}
let _least = P.def(["values"], (values) => {
return P.kw.min([P.list(values).flatMap((v) => ((v !== null)) ? [v] : [])], {"default": null});
});
let _most = P.def(["values"], (values) => {
return P.kw.max([P.list(values).flatMap((v) => ((v !== null)) ? [v] : [])], {"default": null});
});
return { FRESH_H, USABLE_H, SLOW_H, SLOW, YOUNG_DAYS, NO_FEED_COLD, NO_FEED_WARM, ROOM_NEEDED_PCT, Facts, _least, _most };
})();

M["apps.calc.advice.results"] = (() => {
let GOOD_TO_KNOW, NEXT_VISIT, NOW, SOON, TODAY;
[NOW, TODAY, SOON, NEXT_VISIT, GOOD_TO_KNOW] = P.list(["now", "today", "within_3_days", "next_visit", "good_to_know"]);
let URGENCIES = [NOW, TODAY, SOON, NEXT_VISIT, GOOD_TO_KNOW];
let BY_HOURS = P.dict([[NOW, 1.0], [TODAY, 12.0], [SOON, 72.0], [NEXT_VISIT, null], [GOOD_TO_KNOW, null]]);
let CLIENT, ELECTRICIAN, FISH_HEALTH, OFFICE, TECHNICIAN;
[CLIENT, TECHNICIAN, OFFICE, ELECTRICIAN, FISH_HEALTH] = P.list(["client", "technician", "office", "electrician", "fish_health"]);
class Explanation extends P.Thing {
}
P.dataclass(Explanation, [["formula", () => ""], ["inputs", () => P.dict()], ["sources", () => []], ["valid_range", () => ""], ["assumptions", () => []]]);
class Step extends P.Thing {
}
P.dataclass(Step, [["after_hours", null], ["dose", null], ["unit", null], ["substance", null]]);
class Derived extends P.Thing {
}
P.dataclass(Derived, [["code", null], ["loop", null], ["value", null], ["unit", null], ["explanation", null], ["low", () => null], ["high", () => null]]);
class Judgement extends P.Thing {
}
P.dataclass(Judgement, [["loop", null], ["measurand", null], ["value", null], ["word", null], ["side", null], ["context", null], ["trend", null], ["reading", () => ""]]);
class Advice extends P.Thing {
}
P.dataclass(Advice, [["rule", null], ["loop", null], ["urgency", null], ["who", null], ["by_hours", null], ["recheck_hours", null], ["source", null], ["priority", null], ["dose", () => null], ["unit", () => ""], ["substance", () => ""], ["params", () => P.dict()], ["steps", () => []], ["cautions", () => []], ["explanation", () => Explanation()], ["feed_percent", () => null], ["feed_hours", () => null], ["change_fraction", () => null], ["not_before_hours", () => 0.0], ["answers", () => []]]);
class NotTrusted extends P.Thing {
}
P.dataclass(NotTrusted, [["loop", null], ["measurand", null], ["value", null], ["why", null], ["reading", () => ""]]);
class Held extends P.Thing {
}
P.dataclass(Held, [["rule", null], ["loop", null], ["what", null], ["because", null]]);
class Assessment extends P.Thing {
}
P.dataclass(Assessment, [["derived", null], ["judgements", null], ["advice", null], ["not_trusted", null], ["held", null]]);
return { GOOD_TO_KNOW, NEXT_VISIT, NOW, SOON, TODAY, URGENCIES, BY_HOURS, CLIENT, ELECTRICIAN, FISH_HEALTH, OFFICE, TECHNICIAN, Explanation, Step, Derived, Judgement, Advice, NotTrusted, Held, Assessment };
})();

M["apps.calc.advice.doses"] = (() => {
const carbonate = M["apps.calc.carbonate"];
const Explanation = M["apps.calc.advice.results"].Explanation;
const Step = M["apps.calc.advice.results"].Step;
class Substance extends P.Thing {
}
P.dataclass(Substance, [["code", null], ["k", () => 0.0], ["ca", () => 0.0], ["na", () => 0.0], ["mg", () => 0.0], ["p", () => 0.0], ["fe", () => 0.0], ["cl", () => 0.0], ["n", () => 0.0], ["s", () => 0.0]]);
let _CA, _CL, _K, _MG, _N, _NA, _P;
[_K, _CA, _NA, _MG, _P, _CL, _N] = P.list([39.098, 40.078, 22.99, 24.305, 30.974, 35.45, 14.007]);
let _S = 32.06;
let SUBSTANCES = P.dict(P.list([P.call(Substance, ["KHCO3"], {"k": (_K / 100.115)}), P.call(Substance, ["NaHCO3"], {"na": (_NA / 84.006)}), P.call(Substance, ["K2CO3"], {"k": ((2 * _K) / 138.205)}), P.call(Substance, ["Ca(OH)2"], {"ca": (_CA / 74.092)}), P.call(Substance, ["KOH"], {"k": (_K / 56.105)}), P.call(Substance, ["CaCO3"], {"ca": (_CA / 100.086)}), P.call(Substance, ["K2SO4"], {"k": ((2 * _K) / 174.25), "s": (_S / 174.25)}), P.call(Substance, ["KCl"], {"k": (_K / 74.548), "cl": (_CL / 74.548)}), P.call(Substance, ["NaCl"], {"na": (_NA / 58.44), "cl": (_CL / 58.44)}), P.call(Substance, ["CaCl2.2H2O"], {"ca": (_CA / 147.01), "cl": ((2 * _CL) / 147.01)}), P.call(Substance, ["MgSO4.7H2O"], {"mg": (_MG / 246.47), "s": (_S / 246.47)}), P.call(Substance, ["KH2PO4"], {"k": (_K / 136.08), "p": (_P / 136.08)}), P.call(Substance, ["KNO3"], {"k": (_K / 101.102), "n": (_N / 101.102)}), P.call(Substance, ["5Ca(NO3)2.NH4NO3.10H2O"], {"ca": ((5 * _CA) / 1080.62), "n": ((12 * _N) / 1080.62)}), P.call(Substance, ["NH4H2PO4"], {"p": (_P / 115.025), "n": (_N / 115.025)}), P.call(Substance, ["NH4Cl"], {"n": (_N / 53.49), "cl": (_CL / 53.49)}), P.call(Substance, ["Fe-EDTA 13 %"], {"fe": 0.13}), P.call(Substance, ["Fe-DTPA 11 %"], {"fe": 0.11}), P.call(Substance, ["Fe-EDDHA 6 %"], {"fe": 0.06})]).map((s) => [s.code, s]));
let BICARBONATES = ["KHCO3", "NaHCO3"];
let grams_for = P.def(["substance", "element", "mg_l", "volume_l"], (substance, element, mg_l, volume_l) => {
let share;
share = P.getattr(P.at(SUBSTANCES, substance), element);
return (((mg_l / share) * volume_l) / 1000);
});
let brings = P.def(["substance", "grams", "volume_l"], (substance, grams, volume_l) => {
let known, per_litre;
known = P.m.get(SUBSTANCES, substance, P.make(Substance, [substance]));
per_litre = ((grams * 1000) / volume_l);
return P.dict(P.list(["k", "ca", "na", "fe"]).map((e) => [e, (P.getattr(known, e) * per_litre)]));
});
let alkalinity_grams = P.def(["salt", "mg_l_caco3", "volume_l"], (salt, mg_l_caco3, volume_l) => {
let strength;
strength = ((P.eq(salt, "CaCO3")) ? 1.0 : carbonate.salt_named(salt).strength);
return (((mg_l_caco3 / strength) * volume_l) / 1000);
});
let weekly_steps = P.def(["substance", "grams", "parts", "every_hours"], (substance, grams, parts, every_hours) => {
return P.tuple(P.list(P.range(parts)).map((i) => P.make(Step, [(i * every_hours), (grams / parts), "g", substance])));
});
let dose_explanation = P.def(["formula", "inputs", "source"], (formula, inputs, source, ...assumptions) => {
const words = P.words(assumptions);
let { "valid": valid = "" } = words;
let keys;
keys = P.tuple(P.fromkeys([source, "chemistry"]));
return P.make(Explanation, [formula, inputs, keys, valid, P.tuple(assumptions)]);
});
return { Substance, _CA, _CL, _K, _MG, _N, _NA, _P, _S, SUBSTANCES, BICARBONATES, grams_for, brings, alkalinity_grams, weekly_steps, dose_explanation };
})();

M["apps.calc.water"] = (() => {
const units = M["apps.calc.units"];
const require = M["apps.calc.quantities"].require;
const require_between = M["apps.calc.quantities"].require_between;
let DECHLORINATORS = P.dict([["sodium_thiosulfate", 7.0], ["ascorbic_acid", 2.484], ["sodium_ascorbate", 2.794]]);
let DECHLORINATION_MARGIN = 1.1;
let CHLORAMINE_N_PER_CHLORINE = (units.N / (2 * units.CHLORIDE));
let CHLORIDE_SALTS = P.dict([["NaCl", [(58.44 / units.CHLORIDE), (units.SODIUM / 58.44)]], ["KCl", [(74.548 / units.CHLORIDE), 0.0]], ["CaCl2.2H2O", [(147.008 / (2 * units.CHLORIDE)), 0.0]]]);
let _one_of = P.def(["name", "value", "allowed"], (name, value, allowed) => {
let message;
if ((!P.has(allowed, value))) {
message = (P.format(name, "") + " must be one of " + P.format(P.m.join(", ", allowed), "") + ", not " + P.format(value, ""));
throw P.make(P.ValueError, [message]);
}
return value;
});
let change_fraction = P.def(["now", "target", "source"], (now, target, source) => {
let message, value;
for (value of P.iter([now, target, source])) {
require("concentration_mg_l", value);
}
if (((now <= target))) {
return 0.0;
}
if (((source >= target))) {
message = ("the new water holds " + P.format(source, ("g")) + " mg/L, not below the target of " + P.format(target, ("g")) + " mg/L");
throw P.make(P.ValueError, [message]);
}
return (P.sub(now, target) / P.sub(now, source));
});
let after_changes = P.def(["now", "source", "fraction", "times"], (now, source, fraction, times = 1) => {
require("concentration_mg_l", now);
require("concentration_mg_l", source);
require("fraction", fraction);
require_between("times", times, 0, 1000);
return P.float((source + (P.sub(now, source) * ((1 - fraction) ** times))));
});
let dechlorinator_g = P.def(["litres", "total_chlorine_mg_l", "agent"], (litres, total_chlorine_mg_l, agent) => {
let factor;
factor = P.at(DECHLORINATORS, _one_of("agent", agent, DECHLORINATORS));
require("litres", litres);
require("total_chlorine_mg_l", total_chlorine_mg_l);
return ((((litres * total_chlorine_mg_l) / 1000) * factor) * DECHLORINATION_MARGIN);
});
let chloramine_n_mg_l = P.def(["total_chlorine_mg_l"], (total_chlorine_mg_l) => {
return (require("total_chlorine_mg_l", total_chlorine_mg_l) * CHLORAMINE_N_PER_CHLORINE);
});
let chloride_needed_mg_l = P.def(["no2_n_mg_l", "chloride_mg_l", "ratio"], (no2_n_mg_l, chloride_mg_l, ratio = 10.0) => {
require("no2_n_mg_l", no2_n_mg_l);
require("chloride_mg_l", chloride_mg_l);
require("ratio", ratio);
return P.max(0.0, ((ratio * units.from_nitrogen(no2_n_mg_l, "no2")) - chloride_mg_l));
});
let nitrite_chloride_g = P.def(["volume_l", "no2_n_mg_l", "chloride_mg_l", "salt", "ratio"], (volume_l, no2_n_mg_l, chloride_mg_l, salt, ratio = 10.0) => {
let _, needed, per_chloride;
[per_chloride, _] = P.list(P.at(CHLORIDE_SALTS, _one_of("salt", salt, CHLORIDE_SALTS)));
needed = chloride_needed_mg_l(no2_n_mg_l, chloride_mg_l, ratio);
return (((require("volume_l", volume_l) * needed) * per_chloride) / 1000);
});
let sodium_added_mg_l = P.def(["volume_l", "dose_g", "salt"], (volume_l, dose_g, salt) => {
let _, sodium;
[_, sodium] = P.list(P.at(CHLORIDE_SALTS, _one_of("salt", salt, CHLORIDE_SALTS)));
return (((require("dose_g", dose_g) * 1000) / require("volume_l", volume_l)) * sodium);
});
return { DECHLORINATORS, DECHLORINATION_MARGIN, CHLORAMINE_N_PER_CHLORINE, CHLORIDE_SALTS, _one_of, change_fraction, after_changes, dechlorinator_g, chloramine_n_mg_l, chloride_needed_mg_l, nitrite_chloride_g, sodium_added_mg_l };
})();

M["apps.calc.advice.guards"] = (() => {
const ammonia = M["apps.calc.ammonia"];
const carbonate = M["apps.calc.carbonate"];
const judgement = M["apps.calc.judgement"];
const units = M["apps.calc.units"];
const water = M["apps.calc.water"];
const BICARBONATES = M["apps.calc.advice.doses"].BICARBONATES;
const SUBSTANCES = M["apps.calc.advice.doses"].SUBSTANCES;
const alkalinity_grams = M["apps.calc.advice.doses"].alkalinity_grams;
const ROOM_NEEDED_PCT = M["apps.calc.advice.facts"].ROOM_NEEDED_PCT;
const SLOW = M["apps.calc.advice.facts"].SLOW;
const Step = M["apps.calc.advice.results"].Step;
const Chemistry = M["apps.calc.carbonate"].Chemistry;
let MOST_PH_RISE = 0.2;
let MOST_PH_CHANGE = 0.3;
let MOST_TEMP_CHANGE = 2.0;
let KIT_BLIND_ALK = 20.0;
let BLIND_FIRST_STEP = 5.0;
let BASE_TAN_LIMIT = 1.0;
let POTASSIUM_WEEK = 20.0;
let SODIUM_CAP = 50.0;
let MOST_DAY, MOST_STEP;
[MOST_STEP, MOST_DAY] = P.list([0.25, 0.5]);
let LEAST_STEP = 0.05;
let CHLORAMINE_N = 0.33;
let LEAST_DOSE_ALK = 0.5;
class Refusal extends P.Thing {
}
P.dataclass(Refusal, [["code", null]]);
class BasePlan extends P.Thing {
}
P.dataclass(BasePlan, [["salt", null], ["steps", null], ["total_g", null], ["reaches", null], ["left_mg_l", null], ["left_caco3_g", null], ["ph_minutes", null], ["ph_hours", null]]);
let base_refusal = P.def(["f", "against_trap"], (f, against_trap = false) => {
let tan;
if (((P.any(P.list(["alk", "ph"]).map((code) => (f.fresh(code) === null)))) || ((f.v("temp") === null)))) {
return "measure_first";
}
if (((f.loop.volume_within_pct > ROOM_NEEDED_PCT))) {
return "volume_unknown";
}
tan = f.v("tan");
if (((tan === null))) {
return "ammonia_unknown";
}
if ((((tan > BASE_TAN_LIMIT)) && !P.t(against_trap))) {
return "ammonia_high";
}
return "";
});
let base_step_alk = P.def(["f", "alk", "ph", "salt", "wanted", "most_rise"], (f, alk, ph, salt, wanted, most_rise = MOST_PH_RISE) => {
let _, high, low, middle, tan, temp, water;
if (((alk < KIT_BLIND_ALK))) {
wanted = P.min(wanted, BLIND_FIRST_STEP);
}
temp = f.v("temp");
tan = P.or(f.v("tan"), () => 0.0);
if ((((temp === null)) || ((wanted <= 0)))) {
return 0.0;
}
[low, high] = P.list([0.0, wanted]);
water = P.make(_Start, [alk, ph, temp, tan]);
if (P.t(_harmless(f, water, salt, high, most_rise))) {
return high;
}
for (_ of P.iter(P.range(24))) {
middle = (P.add(low, high) / 2);
if (P.t(_harmless(f, water, salt, middle, most_rise))) {
low = middle;
} else {
high = middle;
}
}
return low;
});
class _Start extends P.Thing {
}
P.dataclass(_Start, [["alk", null], ["ph", null], ["temp", null], ["tan", null]]);
let _harmless = P.def(["f", "now", "salt", "step", "most_rise"], (f, now, salt, step, most_rise) => {
let dose, highest, hours, minutes, toxic;
dose = (step / carbonate.salt_named(salt).strength);
minutes = carbonate.ph_after_base_closed(now.alk, now.ph, now.temp, salt, dose);
hours = carbonate.ph_after_base_held(now.alk, now.ph, now.temp, salt, dose);
highest = P.max(minutes, hours);
if (((P.sub(highest, now.ph) > (most_rise + 1e-06)))) {
return false;
}
if ((!P.t(f.has_fish) || (P.eq(now.tan, 0)))) {
return true;
}
toxic = ammonia.nh3_n(now.tan, P.min(P.add(highest, judgement.DAILY_PH_RISE), 11.0), now.temp);
return (toxic < f.nh3_target);
});
let potassium_room = P.def(["f"], (f) => {
return P.max(0.0, P.sub(POTASSIUM_WEEK, P.m.get(f.loop.given_7d, "K", 0.0)));
});
let sodium_room = P.def(["f"], (f) => {
let now;
now = f.v("na");
return (((now !== null)) ? P.max(0.0, P.sub(SODIUM_CAP, now)) : 0.0);
});
let base_plan = P.def(["f", "target", "salt", "against_trap", "most_rise"], (f, target, salt = "KHCO3", against_trap = false, most_rise = MOST_PH_RISE) => {
let alk, at_alk, at_ph, closed, dose, grams, left, ph, room, step, steps, temp, why;
why = P.call(base_refusal, [f], {"against_trap": against_trap});
[alk, ph] = P.list([f.fresh("alk"), f.fresh("ph")]);
if ((P.t(why) || ((alk === null)) || ((ph === null)))) {
return P.make(Refusal, [P.or(why, () => "measure_first")]);
}
if ((!P.has(BICARBONATES, salt))) {
return P.make(Refusal, ["not_for_rules"]);
}
if (((P.sub(target, alk) <= LEAST_DOSE_ALK))) {
return P.make(Refusal, ["not_needed"]);
}
room = _room_alk(f, salt);
steps = [];
[at_alk, at_ph, closed] = P.list([alk, ph, ph]);
while ((((P.sub(target, at_alk) > LEAST_DOSE_ALK)) && ((P.len(steps) < 7)))) {
step = P.min(base_step_alk(f, at_alk, at_ph, salt, P.sub(target, at_alk), most_rise), room);
if (((step < LEAST_DOSE_ALK))) {
break;
}
grams = alkalinity_grams(salt, step, f.loop.volume_l);
P.m.append(steps, P.make(Step, [(24.0 * P.len(steps)), grams, "g", salt]));
dose = (step / carbonate.salt_named(salt).strength);
temp = P.or(f.v("temp"), () => 20.0);
if ((P.eq(P.len(steps), 1))) {
closed = carbonate.ph_after_base_closed(at_alk, at_ph, temp, salt, dose);
}
at_ph = carbonate.ph_after_base_held(at_alk, at_ph, temp, salt, dose);
[at_alk, room] = P.list([P.add(at_alk, step), P.sub(room, step)]);
if ((((alk < KIT_BLIND_ALK)) || P.t(against_trap))) {
break;
}
}
if (!P.t(steps)) {
return P.make(Refusal, [(((room < LEAST_DOSE_ALK)) ? "no_room_for_salt" : "would_harm")]);
}
left = P.max(0.0, P.sub(target, at_alk));
return P.make(BasePlan, [salt, P.tuple(steps), P.sum(P.list(steps).map((step) => step.dose)), at_alk, left, alkalinity_grams("CaCO3", left, f.loop.volume_l), closed, at_ph]);
});
let _room_alk = P.def(["f", "salt"], (f, salt) => {
let strength;
strength = carbonate.salt_named(salt).strength;
if ((P.eq(salt, "NaHCO3"))) {
return ((sodium_room(f) / P.at(SUBSTANCES, salt).na) * strength);
}
return ((potassium_room(f) / P.at(SUBSTANCES, salt).k) * strength);
});
class ChangePlan extends P.Thing {
}
P.dataclass(ChangePlan, [["fraction", null], ["wanted", null], ["litres", null], ["steps", null], ["hours_apart", null], ["ph_after", null], ["temp_after", null], ["nh3_after", null], ["dechlorinator_g", null]]);
let water_change = P.def(["f", "wanted", "emergency", "most_ph"], (f, wanted, emergency = false, most_ph = MOST_PH_CHANGE) => {
let total, why;
if (((f.s.source === null))) {
return P.make(Refusal, ["source_unknown"]);
}
if (((wanted <= 0))) {
return P.make(Refusal, ["not_needed"]);
}
total = P.min(wanted, (P.t(emergency) ? MOST_DAY : MOST_STEP));
if ((P.t(f.plant_water) && !P.t(f.has_fish))) {
return _plan(f, total, wanted, null);
}
why = _change_refusal(f);
if (P.t(why)) {
return P.make(Refusal, [why]);
}
total = _harmless_total(f, total, most_ph);
if (((total < LEAST_STEP))) {
return P.make(Refusal, [P.or(_step_faults(f, LEAST_STEP, most_ph), () => "too_small")]);
}
return _plan(f, total, wanted, _mixed(f, total));
});
let _change_refusal = P.def(["f"], (f) => {
let ph, source, toxic;
if ((P.any(P.list(["ph", "alk", "temp"]).map((code) => (f.v(code) === null))))) {
return "measure_first";
}
[source, ph] = P.list([f.s.source, f.v("ph")]);
toxic = P.and(f.has_fish, () => (P.or(f.nh3_highest, () => 0.0) > f.nh3_target));
if ((P.t(toxic) && P.t(source) && ((ph !== null)) && ((source.ph > P.add(ph, MOST_PH_CHANGE))))) {
return "source_ph_high";
}
return "";
});
let _waters = P.def(["f"], (f) => {
let alk, freed, message, ph, source, source_temp, tank, temp;
source = f.s.source;
[ph, alk, temp] = P.list([f.v("ph"), f.v("alk"), f.v("temp")]);
if ((((source === null)) || ((ph === null)) || ((alk === null)) || ((temp === null)))) {
message = "a water change needs the source water, pH, alkalinity and temperature";
throw P.make(P.ValueError, [message]);
}
tank = P.make(Chemistry, [ph, alk, temp, P.or(f.v("tan"), () => 0.0)]);
source_temp = (((source.temp_c === null)) ? temp : source.temp_c);
freed = (P.t(source.chloramine) ? (CHLORAMINE_N * source.total_chlorine) : 0.0);
return [tank, P.make(Chemistry, [source.ph, source.alkalinity, source_temp, P.add(source.tan, freed)])];
});
let _mixed = P.def(["f", "fraction"], (f, fraction) => {
let source, tank;
[tank, source] = P.list(_waters(f));
return carbonate.mix(tank, source, fraction);
});
let _nh3 = P.def(["mixed"], (mixed) => {
let highest;
highest = P.min(P.add(P.max(mixed.ph_minutes, mixed.ph_hours), judgement.DAILY_PH_RISE), 11.0);
return ammonia.nh3_n(mixed.tan_mg_l, highest, mixed.temp_c);
});
let _step_faults = P.def(["f", "fraction", "most_ph"], (f, fraction, most_ph) => {
let _, mixed, tank;
[tank, _] = P.list(_waters(f));
mixed = _mixed(f, fraction);
if (((P.max(P.list([mixed.ph_minutes, mixed.ph_hours]).map((ph) => P.abs(P.sub(ph, tank.ph)))) > most_ph))) {
return "ph_would_jump";
}
if (((P.abs(P.sub(mixed.temp_c, tank.temp_c)) > MOST_TEMP_CHANGE))) {
return "temperature_would_jump";
}
if ((P.t(f.has_fish) && ((_nh3(mixed) > P.max(f.nh3_target, P.or(f.nh3_highest, () => 0.0)))))) {
return "ammonia_would_rise";
}
return "";
});
let _harmless_total = P.def(["f", "wanted", "most_ph"], (f, wanted, most_ph) => {
let _, high, low, middle;
if (!P.t(_step_faults(f, wanted, most_ph))) {
return wanted;
}
[low, high] = P.list([0.0, wanted]);
for (_ of P.iter(P.range(20))) {
middle = (P.add(low, high) / 2);
if (P.t(_step_faults(f, middle, most_ph))) {
high = middle;
} else {
low = middle;
}
}
return low;
});
let _plan = P.def(["f", "total", "wanted", "mixed"], (f, total, wanted, mixed) => {
let agent, chlorine, count, litres, source, step;
count = P.math.ceil(((total / MOST_STEP) - 1e-09));
step = (total / count);
source = f.s.source;
litres = (step * f.loop.volume_l);
chlorine = (P.t(source) ? source.total_chlorine : 0.0);
agent = water.dechlorinator_g(litres, P.min(chlorine, 10.0), "sodium_thiosulfate");
return P.call(ChangePlan, [], {"fraction": total, "wanted": wanted, "litres": (litres * count), "steps": count, "hours_apart": 1.0, "ph_after": (P.t(mixed) ? mixed.ph_minutes : P.or(f.v("ph"), () => 0.0)), "temp_after": (P.t(mixed) ? mixed.temp_c : P.or(f.v("temp"), () => 0.0)), "nh3_after": (P.t(mixed) ? _nh3(mixed) : 0.0), "dechlorinator_g": agent});
});
class ChloridePlan extends P.Thing {
}
P.dataclass(ChloridePlan, [["steps", null], ["chloride_mg_l", null], ["assumed_chloride", null]]);
let chloride_plan = P.def(["f"], (f) => {
let by_sodium, chloride, grams, needed, no2, steps;
no2 = f.fresh("no2");
if (((no2 === null))) {
return P.make(Refusal, ["measure_first"]);
}
if (((f.loop.volume_within_pct > ROOM_NEEDED_PCT))) {
return P.make(Refusal, ["volume_unknown"]);
}
if (!(P.all(P.list(f.species).map((kind) => kind.chloride_helps)))) {
return P.make(Refusal, ["chloride_does_not_help"]);
}
chloride = f.v("cl");
needed = water.chloride_needed_mg_l(no2, P.or(chloride, () => 0.0));
if (((needed <= 0))) {
return P.make(Refusal, ["not_needed"]);
}
by_sodium = P.min(needed, ((sodium_room(f) * units.CHLORIDE) / units.SODIUM));
steps = P.list([["NaCl", by_sodium], ["CaCl2.2H2O", P.sub(needed, by_sodium)]]).flatMap(([salt, share]) => (((grams = (((share * P.at(P.at(water.CHLORIDE_SALTS, salt), 0)) * f.loop.volume_l) / 1000)) > 0.05)) ? [P.make(Step, [0.0, grams, "g", salt])] : []);
return P.make(ChloridePlan, [P.tuple(steps), needed, (chloride === null)]);
});
let feed_percent = P.def(["f"], (f) => {
let limits;
if (!P.t(f.has_fish)) {
return null;
}
limits = [];
if ((P.t(f.below("do", f.no_feed_oxygen)) || P.t(f.above("tan", 1.0)))) {
P.m.append(limits, 0.0);
}
if ((P.t(f.below("temp", f.feed_min_c)) || P.t(f.above("temp", f.feed_max_c)))) {
P.m.append(limits, 0.0);
}
if (P.t(f.above("no2", 0.5))) {
P.m.append(limits, 25.0);
}
if (P.t(f.within_days(2, "fish_handled"))) {
P.m.append(limits, 50.0);
}
return P.kw.min([limits], {"default": null});
});
let can_dose = P.def(["f"], (f, ...codes) => {
if ((P.any(P.list(codes).map((code) => (((P.has(SLOW, code)) ? f.v(code) : f.fresh(code)) === null))))) {
return "measure_first";
}
if (((f.loop.volume_within_pct > ROOM_NEEDED_PCT))) {
return "volume_unknown";
}
return "";
});
return { MOST_PH_RISE, MOST_PH_CHANGE, MOST_TEMP_CHANGE, KIT_BLIND_ALK, BLIND_FIRST_STEP, BASE_TAN_LIMIT, POTASSIUM_WEEK, SODIUM_CAP, MOST_DAY, MOST_STEP, LEAST_STEP, CHLORAMINE_N, LEAST_DOSE_ALK, Refusal, BasePlan, base_refusal, base_step_alk, _Start, _harmless, potassium_room, sodium_room, base_plan, _room_alk, ChangePlan, water_change, _change_refusal, _waters, _mixed, _nh3, _step_faults, _harmless_total, _plan, ChloridePlan, chloride_plan, feed_percent, can_dose };
})();

M["apps.calc.advice.registry"] = (() => {
const BY_HOURS = M["apps.calc.advice.results"].BY_HOURS;
const Advice = M["apps.calc.advice.results"].Advice;
const Explanation = M["apps.calc.advice.results"].Explanation;
let ELECTRICITY, FISH_NOW, FISH_SOON, NITRITE_AND_BUFFER, PLANTS, REST;
[ELECTRICITY, FISH_NOW, NITRITE_AND_BUFFER, FISH_SOON, PLANTS, REST] = P.list([10, 20, 30, 40, 50, 60]);
class Act extends P.Thing {
}
P.dataclass(Act, [["params", () => P.dict()], ["dose", () => null], ["unit", () => ""], ["substance", () => ""], ["steps", () => []], ["explanation", () => null], ["feed_percent", () => null], ["feed_hours", () => null], ["change_fraction", () => null], ["cautions", () => []], ["urgency", () => null], ["who", () => null], ["recheck_hours", () => null]]);
class Rule extends P.Thing {
static { this.prototype["advice"] = P.def(["facts"], function (facts) {
let act, urgency;
act = this.look(facts);
if (((act === null))) {
return null;
}
urgency = P.or(act.urgency, () => this.urgency);
return P.call(Advice, [], {"rule": this.code, "loop": facts.loop.id, "urgency": urgency, "who": P.or(act.who, () => this.who), "by_hours": P.at(BY_HOURS, urgency), "recheck_hours": P.or(act.recheck_hours, () => this.recheck_hours), "source": this.source, "priority": this.priority, "dose": act.dose, "unit": act.unit, "substance": act.substance, "params": act.params, "steps": act.steps, "cautions": [...P.iter(this.cautions), ...P.iter(act.cautions)], "explanation": P.or(act.explanation, () => P.call(Explanation, [], {"sources": [this.source]})), "feed_percent": act.feed_percent, "feed_hours": act.feed_hours, "change_fraction": act.change_fraction, "answers": this.answers});
}); }
}
P.dataclass(Rule, [["code", null], ["ref", null], ["urgency", null], ["who", null], ["recheck_hours", null], ["source", null], ["priority", null], ["answers", null], ["cautions", null], ["once", null], ["wet", null], ["cleans", null], ["fallback", null], ["look", null]]);
let RULES = P.dict([]);
let rule = P.def(["code", "ref", "urgency", "who", "source", "priority", "recheck_hours", "answers", "cautions", "once", "wet", "cleans", "fallback"], (code, ref = "", urgency, who, source, priority = REST, recheck_hours = null, answers = [], cautions = [], once = false, wet = true, cleans = false, fallback = false) => {
let register = P.def(["look"], (look) => {
let message;
if ((P.has(RULES, code))) {
message = ("two rules are called " + P.format(code, ""));
throw P.make(P.ValueError, [message]);
}
P.put(RULES, code, P.make(Rule, [code, ref, urgency, who, recheck_hours, source, priority, answers, cautions, once, wet, cleans, fallback, look]));
return look;
});
return register;
});
return { ELECTRICITY, FISH_NOW, FISH_SOON, NITRITE_AND_BUFFER, PLANTS, REST, Act, Rule, RULES, rule };
})();

M["apps.calc.advice.shared"] = (() => {
const dose_explanation = M["apps.calc.advice.doses"].dose_explanation;
const MOST_PH_CHANGE = M["apps.calc.advice.guards"].MOST_PH_CHANGE;
const MOST_PH_RISE = M["apps.calc.advice.guards"].MOST_PH_RISE;
const ChangePlan = M["apps.calc.advice.guards"].ChangePlan;
const Refusal = M["apps.calc.advice.guards"].Refusal;
const base_plan = M["apps.calc.advice.guards"].base_plan;
const water_change = M["apps.calc.advice.guards"].water_change;
const Act = M["apps.calc.advice.registry"].Act;
let BASE_CAUTIONS = ["goggles", "dissolve_first", "test_before_next", "stop_and_call"];
let CHANGE_CAUTIONS = ["match_water", "dechlorinate", "discharge"];
let target_alkalinity = P.def(["f"], (f) => {
return P.or(f.band("alk").t_lo, () => 60.0);
});
let base_act = P.def(["f", "target", "source", "params", "against_trap", "most_rise", "who", "urgency", "feed_percent", "feed_hours"], (f, target, source, params = null, against_trap = false, most_rise = MOST_PH_RISE, who = null, urgency = null, feed_percent = null, feed_hours = null) => {
let extra, plan, plan_na;
extra = P.dict(P.or(params, () => P.dict([])));
plan = P.call(base_plan, [f, target], {"against_trap": against_trap, "most_rise": most_rise});
if ((P.isinstance(plan, [Refusal]))) {
plan_na = P.call(base_plan, [f, target], {"salt": "NaHCO3", "against_trap": against_trap, "most_rise": most_rise});
plan = ((P.isinstance(plan_na, [Refusal])) ? plan : plan_na);
}
if ((P.isinstance(plan, [Refusal]))) {
P.put(extra, "no_dose", plan.code);
return P.call(Act, [extra], {"who": who, "urgency": urgency, "feed_percent": feed_percent, "feed_hours": feed_hours});
}
return P.call(Act, [P.dict([...P.iter(extra.items()), ...P.iter(_plan_params(plan, target).items())])], {"dose": P.at(plan.steps, 0).dose, "unit": "g", "substance": plan.salt, "steps": plan.steps, "explanation": _base_explanation(f, plan, source), "cautions": BASE_CAUTIONS, "who": who, "urgency": urgency, "feed_percent": feed_percent, "feed_hours": feed_hours});
});
let _plan_params = P.def(["plan", "target"], (plan, target) => {
return P.dict([["total_g", plan.total_g], ["days", P.float(P.len(plan.steps))], ["target", target], ["reaches", plan.reaches], ["left_caco3_g", plan.left_caco3_g], ["ph_minutes", plan.ph_minutes]]);
});
let _base_explanation = P.def(["f", "plan", "source"], (f, plan, source) => {
let inputs;
inputs = P.dict([["alkalinity", P.or(f.v("alk"), () => 0.0)], ["ph", P.or(f.v("ph"), () => 0.0)], ["temp", P.or(f.v("temp"), () => 0.0)], ["tan", P.or(f.v("tan"), () => 0.0)], ["volume_l", f.loop.volume_l], ["ph_minutes", plan.ph_minutes], ["potassium_given_7d", P.m.get(f.loop.given_7d, "K", 0.0)]]);
return P.call(dose_explanation, ["base_step", inputs, source, "volume_within_pct"], {"valid": "base_step"});
});
let change_act = P.def(["f", "wanted", "params", "emergency", "most_ph", "source", "who", "urgency", "feed_percent", "feed_hours"], (f, wanted, params = null, emergency = false, most_ph = MOST_PH_CHANGE, source = "chemistry", who = null, urgency = null, feed_percent = null, feed_hours = null) => {
let cautions, explanation, extra, fraction, plan;
extra = P.dict(P.or(params, () => P.dict([])));
plan = P.call(water_change, [f, wanted], {"emergency": emergency, "most_ph": most_ph});
fraction = null;
cautions = [];
if ((P.isinstance(plan, [ChangePlan]))) {
[fraction, cautions] = P.list([plan.fraction, CHANGE_CAUTIONS]);
extra = P.or_(extra, P.dict([["percent", (100 * plan.fraction)], ["litres", plan.litres], ["parts", P.float(plan.steps)], ["dechlorinator_g", plan.dechlorinator_g], ["ph_after", plan.ph_after], ["wanted_percent", (100 * plan.wanted)]]));
} else {
P.put(extra, "no_change", plan.code);
}
explanation = dose_explanation("water_change", P.dict([["wanted", wanted], ["volume_l", f.loop.volume_l], ["allowed", P.or(fraction, () => 0.0)]]), source);
return P.call(Act, [extra], {"change_fraction": fraction, "cautions": cautions, "explanation": explanation, "who": who, "urgency": urgency, "feed_percent": feed_percent, "feed_hours": feed_hours});
});
return { BASE_CAUTIONS, CHANGE_CAUTIONS, target_alkalinity, base_act, _plan_params, _base_explanation, change_act };
})();

M["apps.calc.advice.air"] = (() => {
const feed = M["apps.calc.feed"];
const oxygen = M["apps.calc.oxygen"];
const dose_explanation = M["apps.calc.advice.doses"].dose_explanation;
const Refusal = M["apps.calc.advice.guards"].Refusal;
const water_change = M["apps.calc.advice.guards"].water_change;
const FISH_NOW = M["apps.calc.advice.registry"].FISH_NOW;
const FISH_SOON = M["apps.calc.advice.registry"].FISH_SOON;
const REST = M["apps.calc.advice.registry"].REST;
const Act = M["apps.calc.advice.registry"].Act;
const rule = M["apps.calc.advice.registry"].rule;
const CLIENT = M["apps.calc.advice.results"].CLIENT;
const FISH_HEALTH = M["apps.calc.advice.results"].FISH_HEALTH;
const GOOD_TO_KNOW = M["apps.calc.advice.results"].GOOD_TO_KNOW;
const NOW = M["apps.calc.advice.results"].NOW;
const SOON = M["apps.calc.advice.results"].SOON;
const TECHNICIAN = M["apps.calc.advice.results"].TECHNICIAN;
const TODAY = M["apps.calc.advice.results"].TODAY;
const CHANGE_CAUTIONS = M["apps.calc.advice.shared"].CHANGE_CAUTIONS;
let WARM_WATER_C = 28.0;
let MOST_BY_ITSELF_PCT = 110.0;
let AIR_G_PER_H_L_MIN = 0.12;
let HOURS_A_DAY = 24.0;
let oxygen_emergency = P.def(["f"], (f) => {
let params;
if ((!P.t(f.has_fish) || !P.t(f.below("do", f.band("do").red_lo)))) {
return null;
}
params = P.dict([["do", P.or(f.v("do"), () => 0.0)]]);
if (((f.minutes_without_air !== null))) {
P.put(params, "minutes", f.minutes_without_air);
}
return P.call(Act, [params], {"feed_percent": 0, "feed_hours": 24});
});
oxygen_emergency = P.call(rule, ["oxygen_emergency"], {"ref": "R17", "urgency": NOW, "who": CLIENT, "source": "fao589", "priority": FISH_NOW, "recheck_hours": 0.5, "answers": ["do.low"], "cautions": ["air_on", "no_oxygen_chemicals"]})(oxygen_emergency);
let oxygen_low = P.def(["f"], (f) => {
let band, do_, params, temp;
[band, do_] = P.list([f.band("do"), f.v("do")]);
if ((!P.t(f.has_fish) || ((do_ === null)) || ((band.red_lo === null)) || ((band.amber_lo === null)))) {
return null;
}
if (!(((band.red_lo <= do_) && (do_ < band.amber_lo)))) {
return null;
}
params = P.dict([["do", do_], ["feed_from", f.no_feed_oxygen]]);
temp = f.v("temp");
if ((((temp !== null)) && ((temp >= WARM_WATER_C)))) {
P.put(params, "warm_c", temp);
P.put(params, "holds", oxygen.saturation_mg_l(temp, f.s.altitude_m));
}
if ((((f.density !== null)) && ((f.density > 15)) && P.t(f.loop.tank_l))) {
P.put(params, "harvest_kg", (f.biomass_kg - ((15 * f.loop.tank_l) / 1000)));
}
return P.call(Act, [params], {"feed_percent": 0, "feed_hours": 24});
});
oxygen_low = P.call(rule, ["oxygen_low"], {"ref": "R16", "urgency": TODAY, "who": CLIENT, "source": "benson1984", "priority": FISH_SOON, "recheck_hours": 24, "answers": ["do.low"], "cautions": ["air_on"]})(oxygen_low);
let oxygen_of_cold_water = P.def(["f"], (f) => {
let do_, full;
[do_, full] = P.list([f.v("do"), f.do_pct]);
if ((((do_ === null)) || ((full === null)) || (!P.eq(f.side("do"), "high")) || ((full > MOST_BY_ITSELF_PCT)))) {
return null;
}
return P.make(Act, [P.dict([["do", do_], ["percent", full]])]);
});
oxygen_of_cold_water = P.call(rule, ["oxygen_of_cold_water"], {"urgency": GOOD_TO_KNOW, "who": CLIENT, "source": "benson1984", "priority": REST, "recheck_hours": 336, "answers": ["do.high"], "wet": false})(oxygen_of_cold_water);
let _readings_good = P.def(["f"], (f) => {
let do_, fine, known, no2;
[no2, do_] = P.list([f.v("no2"), f.v("do")]);
known = P.and((no2 !== null), () => (do_ !== null), () => (f.nh3_highest !== null));
if ((!P.t(known) || ((no2 === null)) || ((do_ === null)) || ((f.nh3_highest === null)))) {
return false;
}
fine = P.and((do_ >= P.or(f.band("do").amber_lo, () => 0.0)), () => (no2 < 0.3));
return P.and(fine, () => (f.nh3_highest < 0.05));
});
let gasping_water_good = P.def(["f"], (f) => {
let plan;
if ((!P.t(f.has_fish) || !P.t(f.has("fish_gasping")) || !P.t(_readings_good(f)))) {
return null;
}
plan = water_change(f, 0.3);
if ((P.isinstance(plan, [Refusal]))) {
return P.call(Act, [P.dict([["no_change", plan.code]])], {"feed_percent": 0, "feed_hours": 24});
}
return P.call(Act, [P.dict([["percent", (100 * plan.fraction)], ["litres", plan.litres], ["parts", P.float(plan.steps)], ["dechlorinator_g", plan.dechlorinator_g]])], {"change_fraction": plan.fraction, "cautions": CHANGE_CAUTIONS, "feed_percent": 0, "feed_hours": 24});
});
gasping_water_good = P.call(rule, ["gasping_water_good"], {"ref": "R18", "urgency": NOW, "who": TECHNICIAN, "source": "practice", "priority": FISH_NOW, "recheck_hours": 2, "cautions": ["no_random_medicine", "air_on"]})(gasping_water_good);
let gasping = P.def(["f"], (f) => {
if ((!P.t(f.has_fish) || !P.t(f.has("fish_gasping")) || P.t(_readings_good(f)))) {
return null;
}
return P.call(Act, [P.dict([])], {"feed_percent": 0, "feed_hours": 24});
});
gasping = P.call(rule, ["gasping"], {"urgency": NOW, "who": CLIENT, "source": "fao589", "priority": FISH_NOW, "recheck_hours": 0.5, "cautions": ["air_on", "no_oxygen_chemicals"]})(gasping);
let gills_to_fish_health = P.def(["f"], (f) => {
let gasps;
gasps = P.and(f.has_fish, () => f.has("fish_gasping"), () => _readings_good(f));
return (P.t(gasps) ? P.make(Act, [P.dict([])]) : null);
});
gills_to_fish_health = P.call(rule, ["gills_to_fish_health"], {"urgency": TODAY, "who": FISH_HEALTH, "source": "practice", "priority": FISH_SOON, "recheck_hours": 48, "cautions": ["no_random_medicine"], "wet": false})(gills_to_fish_health);
let oxygen_short_for_feed = P.def(["f"], (f) => {
let carried, demand, explanation, supply;
if ((!P.t(f.has_fish) || !P.t(f.feed_g_day) || ((f.loop.air_l_min === null)))) {
return null;
}
supply = ((f.loop.air_l_min * AIR_G_PER_H_L_MIN) * HOURS_A_DAY);
demand = feed.oxygen_g_day(f.feed_g_day);
if (((demand <= supply))) {
return null;
}
carried = (supply / feed.OXYGEN_PER_FEED);
explanation = dose_explanation("air_supply", P.dict([["feed_g_day", f.feed_g_day], ["air_l_min", f.loop.air_l_min], ["demand", demand], ["supply", supply]]), "timmons", "air_transfer");
return P.call(Act, [P.dict([["demand", demand], ["supply", supply], ["feed_g", carried], ["air_l_min", (((1.5 * demand) / HOURS_A_DAY) / AIR_G_PER_H_L_MIN)]])], {"explanation": explanation});
});
oxygen_short_for_feed = P.call(rule, ["oxygen_short_for_feed"], {"ref": "R58", "urgency": SOON, "who": TECHNICIAN, "source": "timmons", "priority": FISH_SOON, "recheck_hours": 168})(oxygen_short_for_feed);
return { WARM_WATER_C, MOST_BY_ITSELF_PCT, AIR_G_PER_H_L_MIN, HOURS_A_DAY, oxygen_emergency, oxygen_low, oxygen_of_cold_water, _readings_good, gasping_water_good, gasping, gills_to_fish_health, oxygen_short_for_feed };
})();

M["apps.calc.advice.alkalinity"] = (() => {
const SUBSTANCES = M["apps.calc.advice.doses"].SUBSTANCES;
const alkalinity_grams = M["apps.calc.advice.doses"].alkalinity_grams;
const dose_explanation = M["apps.calc.advice.doses"].dose_explanation;
const potassium_room = M["apps.calc.advice.guards"].potassium_room;
const FISH_SOON = M["apps.calc.advice.registry"].FISH_SOON;
const NITRITE_AND_BUFFER = M["apps.calc.advice.registry"].NITRITE_AND_BUFFER;
const REST = M["apps.calc.advice.registry"].REST;
const Act = M["apps.calc.advice.registry"].Act;
const rule = M["apps.calc.advice.registry"].rule;
const CLIENT = M["apps.calc.advice.results"].CLIENT;
const NEXT_VISIT = M["apps.calc.advice.results"].NEXT_VISIT;
const SOON = M["apps.calc.advice.results"].SOON;
const TECHNICIAN = M["apps.calc.advice.results"].TECHNICIAN;
const TODAY = M["apps.calc.advice.results"].TODAY;
const base_act = M["apps.calc.advice.shared"].base_act;
const target_alkalinity = M["apps.calc.advice.shared"].target_alkalinity;
let ACID_37_EQ_PER_L = 12.0;
let KHCO3_PER_FEED = 0.1;
let SWING_PH = 0.6;
let METHODS_APART_PH = 0.4;
let RAIN_DROP = 0.3;
let TINY = 1e-09;
let _buffered = P.def(["f"], (f) => {
return !P.t(f.plant_water);
});
let alkalinity_gone = P.def(["f"], (f) => {
if ((!P.t(_buffered(f)) || !P.t(f.below("alk", f.band("alk").red_lo)))) {
return null;
}
return base_act(f, target_alkalinity(f), "chemistry", P.dict([["alk", P.or(f.v("alk"), () => 0.0)]]));
});
alkalinity_gone = P.call(rule, ["alkalinity_gone"], {"ref": "R10", "urgency": TODAY, "who": CLIENT, "source": "chemistry", "priority": NITRITE_AND_BUFFER, "recheck_hours": 1, "answers": ["alk.low"], "cautions": ["kit_error_at_low_alkalinity"]})(alkalinity_gone);
let alkalinity_low = P.def(["f"], (f) => {
let act, alk, band, planned;
[band, alk] = P.list([f.band("alk"), f.v("alk")]);
if ((!P.t(_buffered(f)) || ((alk === null)) || ((band.red_lo === null)) || ((band.amber_lo === null)))) {
return null;
}
if (!(((band.red_lo <= alk) && (alk < band.amber_lo)))) {
return null;
}
act = base_act(f, target_alkalinity(f), "chemistry", P.dict([["alk", alk]]));
planned = P.sum(P.list(act.steps).flatMap((step) => (P.eq(step.substance, "KHCO3")) ? [step.dose] : []));
return P.kw.replace([act], {"params": P.dict([...P.iter(act.params.items()), ["daily_g", _daily_base_g(f, planned)]])});
});
alkalinity_low = P.call(rule, ["alkalinity_low"], {"ref": "R11", "urgency": SOON, "who": CLIENT, "source": "chemistry", "priority": NITRITE_AND_BUFFER, "recheck_hours": 72, "answers": ["alk.low"]})(alkalinity_low);
let _daily_base_g = P.def(["f", "planned_g"], (f, planned_g) => {
let fall, room_g, wanted;
fall = (-P.or(f.per_day("alk"), () => 0.0));
if (((fall > 0))) {
wanted = alkalinity_grams("KHCO3", fall, f.loop.volume_l);
} else {
wanted = (KHCO3_PER_FEED * P.or(f.feed_g_day, () => 0.0));
}
room_g = (((potassium_room(f) / P.at(SUBSTANCES, "KHCO3").k) * f.loop.volume_l) / 1000);
return P.min(wanted, (P.max(0.0, P.sub(room_g, planned_g)) / 7));
});
let water_acid = P.def(["f"], (f) => {
let params;
if ((!P.t(_buffered(f)) || !P.t(f.below("ph", f.band("ph").amber_lo)))) {
return null;
}
params = P.dict([["ph", P.or(f.v("ph"), () => 0.0)]]);
if ((((P.or(f.v("alk"), () => 0.0) >= target_alkalinity(f))) && P.t(f.below("tan", 0.5)))) {
P.put(params, "air_out", 1.0);
}
return base_act(f, target_alkalinity(f), "rakocy2007", params);
});
water_acid = P.call(rule, ["water_acid"], {"ref": "R12", "urgency": TODAY, "who": TECHNICIAN, "source": "rakocy2007", "priority": NITRITE_AND_BUFFER, "recheck_hours": 12, "answers": ["ph.low"]})(water_acid);
let source_hard_alkaline = P.def(["f"], (f) => {
let alk, ml_per_1000_l, params, ph, remove, source;
[ph, alk] = P.list([f.band("ph"), f.band("alk")]);
if ((!P.t(_buffered(f)) || !P.t(f.above("ph", ph.amber_hi)) || !P.t(f.above("alk", alk.amber_hi)))) {
return null;
}
params = P.dict([["ph", P.or(f.v("ph"), () => 0.0)], ["alk", P.or(f.v("alk"), () => 0.0)]]);
source = f.s.source;
if ((((source === null)) || ((source.alkalinity <= target_alkalinity(f))))) {
return P.make(Act, [P.dict([...P.iter(params.items()), ["no_dose", (((source === null)) ? "source_unknown" : "not_needed")]])]);
}
remove = P.sub(source.alkalinity, target_alkalinity(f));
ml_per_1000_l = (((remove / 50.043) / ACID_37_EQ_PER_L) * 1000);
return P.call(Act, [P.dict([...P.iter(params.items()), ["barrel_l", 1000.0], ["source_alk", source.alkalinity]])], {"dose": ml_per_1000_l, "unit": "mL", "substance": "HCl 37 %", "explanation": dose_explanation("acid_source", P.dict([["source_alkalinity", source.alkalinity], ["target", target_alkalinity(f)], ["mol_per_litre", ACID_37_EQ_PER_L]]), "chemistry")});
});
source_hard_alkaline = P.call(rule, ["source_hard_alkaline"], {"ref": "R13", "urgency": NEXT_VISIT, "who": TECHNICIAN, "source": "chemistry", "priority": REST, "recheck_hours": 168, "answers": ["ph.high", "alk.high"], "cautions": ["acid_into_water", "acid_source_only", "trained_only", "goggles"]})(source_hard_alkaline);
let afternoon_ph_swing = P.def(["f"], (f) => {
let swing;
swing = f.loop.ph_swing;
if ((((swing === null)) || ((swing <= SWING_PH)) || ((f.do_pct === null)) || ((f.do_pct <= 110)))) {
return null;
}
return P.make(Act, [P.dict([["swing", swing], ["percent", f.do_pct]])]);
});
afternoon_ph_swing = P.call(rule, ["afternoon_ph_swing"], {"ref": "R14", "urgency": SOON, "who": CLIENT, "source": "practice", "recheck_hours": 72, "answers": ["ph.high", "do.high"]})(afternoon_ph_swing);
let ph_methods_disagree = P.def(["f"], (f) => {
let first, second;
[first, second] = P.list([P.m.get(f.loop.readings, "ph"), P.m.get(f.loop.second, "ph")]);
if ((((first === null)) || ((second === null)) || ((P.abs(P.sub(first.value, second)) <= P.add(METHODS_APART_PH, TINY))))) {
return null;
}
return P.make(Act, [P.dict([["first", first.value], ["second", second]])]);
});
ph_methods_disagree = P.call(rule, ["ph_methods_disagree"], {"ref": "R15", "urgency": NEXT_VISIT, "who": TECHNICIAN, "source": "wastewater_ph", "recheck_hours": 12, "wet": false})(ph_methods_disagree);
let rain_diluted = P.def(["f"], (f) => {
let params;
if (((P.min(f.dropped_share("alk"), f.dropped_share("ec")) <= P.add(RAIN_DROP, TINY)))) {
return null;
}
params = P.dict([["alk_drop", (100 * f.dropped_share("alk"))], ["ec_drop", (100 * f.dropped_share("ec"))]]);
if ((P.t(f.plant_water) || !P.t(f.below("alk", target_alkalinity(f))))) {
return P.make(Act, [P.dict([...P.iter(params.items()), ["no_dose", "not_needed"]])]);
}
return base_act(f, target_alkalinity(f), "chemistry", params);
});
rain_diluted = P.call(rule, ["rain_diluted"], {"ref": "R68", "urgency": SOON, "who": CLIENT, "source": "chemistry", "priority": FISH_SOON, "recheck_hours": 24, "answers": ["alk.low", "ec.low"]})(rain_diluted);
return { ACID_37_EQ_PER_L, KHCO3_PER_FEED, SWING_PH, METHODS_APART_PH, RAIN_DROP, TINY, _buffered, alkalinity_gone, alkalinity_low, _daily_base_g, water_acid, source_hard_alkaline, afternoon_ph_swing, ph_methods_disagree, rain_diluted };
})();

M["apps.calc.advice.ammonia"] = (() => {
const ammonia = M["apps.calc.ammonia"];
const water = M["apps.calc.water"];
const guards = M["apps.calc.advice.guards"];
const FISH_NOW = M["apps.calc.advice.registry"].FISH_NOW;
const FISH_SOON = M["apps.calc.advice.registry"].FISH_SOON;
const NITRITE_AND_BUFFER = M["apps.calc.advice.registry"].NITRITE_AND_BUFFER;
const Act = M["apps.calc.advice.registry"].Act;
const rule = M["apps.calc.advice.registry"].rule;
const CLIENT = M["apps.calc.advice.results"].CLIENT;
const NOW = M["apps.calc.advice.results"].NOW;
const SOON = M["apps.calc.advice.results"].SOON;
const TECHNICIAN = M["apps.calc.advice.results"].TECHNICIAN;
const TODAY = M["apps.calc.advice.results"].TODAY;
const base_act = M["apps.calc.advice.shared"].base_act;
const change_act = M["apps.calc.advice.shared"].change_act;
const target_alkalinity = M["apps.calc.advice.shared"].target_alkalinity;
const DAILY_PH_RISE = M["apps.calc.judgement"].DAILY_PH_RISE;
let TRAP_PH = 6.3;
let SAFE_NH3 = 0.05;
let _tan_high = P.def(["f"], (f) => {
return P.and(f.has_fish, () => f.above("tan", f.band("tan").t_hi));
});
let _acute = P.def(["f"], (f) => {
let gasping, red, toxic;
red = f.band("nh3").red_hi;
toxic = P.and((f.nh3_highest !== null), () => (red !== null), () => (f.nh3_highest >= red));
gasping = P.and(f.has("fish_gasping"), () => f.above("tan", 2.0));
return P.and(f.has_fish, () => P.or(toxic, () => gasping));
});
let _trapped = P.def(["f"], (f) => {
return P.and(f.has_fish, () => (P.or(f.v("tan"), () => 0.0) >= 0.5), () => f.below("ph", TRAP_PH), () => !P.t(_acute(f)));
});
let _wanted_change = P.def(["f"], (f) => {
let freed, incoming, mixed, ph, source, tan, target, temp;
[tan, ph, temp, source] = P.list([f.v("tan"), f.v("ph"), f.v("temp"), f.s.source]);
if ((((tan === null)) || ((source === null)))) {
return 0.0;
}
freed = (P.t(source.chloramine) ? (guards.CHLORAMINE_N * source.total_chlorine) : 0.0);
incoming = P.add(source.tan, freed);
target = 1.0;
if ((((ph !== null)) && ((temp !== null)))) {
mixed = P.min(P.add(P.max(ph, source.ph), DAILY_PH_RISE), 11.0);
target = P.min(target, (SAFE_NH3 / ammonia.unionised_fraction(mixed, temp)));
}
if ((((incoming >= target)) || ((tan <= target)))) {
return (((incoming >= tan)) ? 0.0 : guards.MOST_STEP);
}
return water.change_fraction(tan, target, incoming);
});
let acute_ammonia = P.def(["f"], (f) => {
let params;
if (!P.t(_acute(f))) {
return null;
}
params = P.dict([["tan", P.or(f.v("tan"), () => 0.0)], ["nh3", P.or(f.nh3_highest, () => 0.0)]]);
return P.call(change_act, [f, _wanted_change(f), params], {"emergency": true, "source": "srac463", "feed_percent": 0, "feed_hours": 24});
});
acute_ammonia = P.call(rule, ["acute_ammonia"], {"ref": "R01", "urgency": NOW, "who": TECHNICIAN, "source": "srac463", "priority": FISH_NOW, "recheck_hours": 2, "answers": ["tan.high", "nh3.high"], "cautions": ["no_base_now", "air_on"]})(acute_ammonia);
let toxic_share_high = P.def(["f"], (f) => {
let params;
if ((!P.t(f.has_fish) || P.t(_acute(f)) || P.t(_trapped(f)) || ((f.nh3_highest === null)))) {
return null;
}
if (((f.nh3_highest <= f.nh3_target))) {
return null;
}
params = P.dict([["tan", P.or(f.v("tan"), () => 0.0)], ["nh3", f.nh3_highest], ["ph", P.or(f.v("ph"), () => 0.0)]]);
return P.call(change_act, [f, guards.MOST_STEP, params], {"feed_percent": 0, "feed_hours": 24});
});
toxic_share_high = P.call(rule, ["toxic_share_high"], {"ref": "R02", "urgency": TODAY, "who": TECHNICIAN, "source": "emerson1975", "priority": FISH_SOON, "recheck_hours": 12, "answers": ["tan.high", "nh3.high", "ph.high"], "cautions": ["no_base_now", "no_acid_in_fish_water"]})(toxic_share_high);
let ammonia_above_filter = P.def(["f"], (f) => {
let high;
if ((!P.t(_tan_high(f)) || P.t(_acute(f)) || P.t(_trapped(f)))) {
return null;
}
if ((((f.nh3_highest === null)) || ((f.nh3_highest > f.nh3_target)))) {
return null;
}
high = f.above("tan", f.band("tan").amber_hi);
return P.call(Act, [P.dict([["tan", P.or(f.v("tan"), () => 0.0)]])], {"urgency": (P.t(high) ? TODAY : null), "feed_percent": (P.t(f.above("tan", 1.0)) ? 0 : 50), "feed_hours": 72});
});
ammonia_above_filter = P.call(rule, ["ammonia_above_filter"], {"ref": "R03", "urgency": SOON, "who": CLIENT, "source": "fao589", "priority": FISH_SOON, "recheck_hours": 48, "answers": ["tan.high"], "cautions": ["no_bed_clean_now"]})(ammonia_above_filter);
let ammonia_rising_low_buffer = P.def(["f"], (f) => {
let params;
if ((!P.t(f.has_fish) || !P.t(f.rose_thrice("tan")) || !P.t(f.below("alk", f.band("alk").amber_lo)))) {
return null;
}
params = P.dict([["tan", P.or(f.v("tan"), () => 0.0)], ["alk", P.or(f.v("alk"), () => 0.0)]]);
return base_act(f, target_alkalinity(f), "chemistry", params);
});
ammonia_rising_low_buffer = P.call(rule, ["ammonia_rising_low_buffer"], {"ref": "R04", "urgency": TODAY, "who": CLIENT, "source": "chemistry", "priority": NITRITE_AND_BUFFER, "recheck_hours": 24, "answers": ["alk.low"]})(ammonia_rising_low_buffer);
let filter_hurt = P.def(["f"], (f) => {
let days, hurt, rising;
hurt = f.within_days(14, "filter_cleaned", "bed_cleaned", "medicated", "power_cut");
rising = P.or(f.rose_thrice("tan"), () => P.and(_tan_high(f), () => (P.or(f.per_day("tan"), () => 0.0) > 0)));
if ((!P.t(f.has_fish) || !P.t(hurt) || !P.t(rising))) {
return null;
}
days = P.or(f.days_since("filter_cleaned", "bed_cleaned", "medicated", "power_cut"), () => 0);
return P.call(Act, [P.dict([["tan", P.or(f.v("tan"), () => 0.0)], ["days", P.float(days)]])], {"feed_percent": 25, "feed_hours": 72});
});
filter_hurt = P.call(rule, ["filter_hurt"], {"ref": "R05", "urgency": TODAY, "who": TECHNICIAN, "source": "practice", "priority": FISH_SOON, "recheck_hours": 24, "answers": ["tan.high"], "cautions": ["biosecurity", "no_bed_clean_now"]})(filter_hurt);
let acid_holds_ammonia = P.def(["f"], (f) => {
let act, change, params;
if (!P.t(_trapped(f))) {
return null;
}
params = P.dict([["tan", P.or(f.v("tan"), () => 0.0)], ["ph", P.or(f.v("ph"), () => 0.0)]]);
act = P.call(base_act, [f, target_alkalinity(f), "emerson1975", params], {"against_trap": true, "feed_percent": 0, "feed_hours": 24, "most_rise": (guards.MOST_PH_RISE / 2)});
change = P.call(change_act, [f, 0.2], {"most_ph": (guards.MOST_PH_RISE / 2)});
return _with_change(act, change);
});
acid_holds_ammonia = P.call(rule, ["acid_holds_ammonia"], {"ref": "R06", "urgency": TODAY, "who": TECHNICIAN, "source": "emerson1975", "priority": NITRITE_AND_BUFFER, "recheck_hours": 24, "answers": ["tan.high", "ph.low"], "cautions": ["fast_lime_kills"]})(acid_holds_ammonia);
let _with_change = P.def(["act", "change"], (act, change) => {
return P.call(Act, [P.dict([...P.iter(change.params.items()), ...P.iter(act.params.items())])], {"dose": act.dose, "unit": act.unit, "substance": act.substance, "steps": act.steps, "explanation": act.explanation, "feed_percent": act.feed_percent, "feed_hours": act.feed_hours, "change_fraction": change.change_fraction, "cautions": P.tuple(P.fromkeys([...P.iter(act.cautions), ...P.iter(change.cautions)]))});
});
return { TRAP_PH, SAFE_NH3, _tan_high, _acute, _trapped, _wanted_change, acute_ammonia, toxic_share_high, ammonia_above_filter, ammonia_rising_low_buffer, filter_hurt, acid_holds_ammonia, _with_change };
})();

M["apps.calc.advice.clarity"] = (() => {
const water = M["apps.calc.water"];
const dose_explanation = M["apps.calc.advice.doses"].dose_explanation;
const CHLORAMINE_N = M["apps.calc.advice.guards"].CHLORAMINE_N;
const FISH_NOW = M["apps.calc.advice.registry"].FISH_NOW;
const FISH_SOON = M["apps.calc.advice.registry"].FISH_SOON;
const PLANTS = M["apps.calc.advice.registry"].PLANTS;
const Act = M["apps.calc.advice.registry"].Act;
const rule = M["apps.calc.advice.registry"].rule;
const CLIENT = M["apps.calc.advice.results"].CLIENT;
const NEXT_VISIT = M["apps.calc.advice.results"].NEXT_VISIT;
const NOW = M["apps.calc.advice.results"].NOW;
const SOON = M["apps.calc.advice.results"].SOON;
const TECHNICIAN = M["apps.calc.advice.results"].TECHNICIAN;
const TODAY = M["apps.calc.advice.results"].TODAY;
const change_act = M["apps.calc.advice.shared"].change_act;
let CHLORINE_LIMIT = 0.02;
let chlorine_found = P.def(["f"], (f) => {
let calm, chlorine, fresh, grams, params;
chlorine = f.v("chlorine");
if ((((chlorine === null)) || ((chlorine <= 0)) || P.t(f.plant_water))) {
return null;
}
fresh = (f.fresh("chlorine") !== null);
grams = water.dechlorinator_g(f.loop.volume_l, chlorine, "sodium_thiosulfate");
calm = P.and((chlorine <= CHLORINE_LIMIT), () => !P.t(f.has("fish_gasping", "fish_lethargic")));
params = P.dict([["chlorine", chlorine], ["ascorbic_g", water.dechlorinator_g(f.loop.volume_l, chlorine, "ascorbic_acid")], ["freed_n", (CHLORAMINE_N * chlorine)]]);
if (P.t(calm)) {
P.put(params, "repeat_test", 1.0);
}
return P.call(Act, [(P.t(fresh) ? params : P.dict([...P.iter(params.items()), ["no_dose", "measure_first"]]))], {"dose": (P.t(fresh) ? grams : null), "unit": "g", "substance": "sodium thiosulfate", "explanation": dose_explanation("dechlorinate", P.dict([["chlorine", chlorine], ["volume_l", f.loop.volume_l]]), "chemistry"), "urgency": (P.t(calm) ? TODAY : null)});
});
chlorine_found = P.call(rule, ["chlorine_found"], {"ref": "R22", "urgency": NOW, "who": CLIENT, "source": "chemistry", "priority": FISH_NOW, "recheck_hours": 0.25, "answers": ["chlorine.high"], "cautions": ["air_on", "chloramine_frees_ammonia"]})(chlorine_found);
let _share_down = P.def(["now", "target", "source"], (now, target, source) => {
if ((((source >= target)) || ((now <= target)))) {
return 0.0;
}
return water.change_fraction(now, target, source);
});
let nitrate_high = P.def(["f"], (f) => {
let band, no3, params, rising, source, wanted;
[band, no3] = P.list([f.band("no3"), f.v("no3")]);
if ((P.t(f.plant_water) || ((no3 === null)) || ((band.t_hi === null)))) {
return null;
}
rising = (P.or(f.per_day("no3"), () => 0.0) > 5);
if ((!P.t(f.above("no3", band.amber_hi)) && !P.t(rising))) {
return null;
}
source = (P.t(f.s.source) ? f.s.source.nitrate : 0.0);
wanted = _share_down(no3, band.t_hi, source);
params = P.dict([["no3", no3], ["per_day", P.or(f.per_day("no3"), () => 0.0)]]);
return P.call(change_act, [f, wanted, params], {"feed_percent": (P.t(f.has_fish) ? 80 : null), "feed_hours": 168});
});
nitrate_high = P.call(rule, ["nitrate_high"], {"ref": "R33", "urgency": NEXT_VISIT, "who": TECHNICIAN, "source": "chemistry", "priority": PLANTS, "recheck_hours": 336, "answers": ["no3.high"]})(nitrate_high);
let salt_built_up = P.def(["f"], (f) => {
let params, read, sodium;
sodium = f.above("na", f.band("na").amber_hi);
if ((!P.t(sodium) && !P.t(f.above("cl", f.band("cl").amber_hi)))) {
return null;
}
read = P.dict([["na", f.v("na")], ["cl", f.v("cl")]]);
params = P.dict(P.list(P.m.items(read)).flatMap(([k, v]) => ((v !== null)) ? [[k, v]] : []));
if ((P.t(f.has_fish) && P.t(f.above("no2", f.band("no2").t_hi)))) {
return P.make(Act, [P.dict([...P.iter(params.items()), ["no_change", "nitrite_up"]])]);
}
return change_act(f, 0.15, params);
});
salt_built_up = P.call(rule, ["salt_built_up"], {"ref": "R66", "urgency": NEXT_VISIT, "who": TECHNICIAN, "source": "osu_ec_ph", "priority": PLANTS, "recheck_hours": 720, "answers": ["na.high", "cl.high"]})(salt_built_up);
let rotten_pockets = P.def(["f"], (f) => {
if ((!P.t(f.has("egg_smell")) || P.t(f.plant_water))) {
return null;
}
return P.make(Act, [(P.t(f.young) ? P.dict([["young", 1.0]]) : P.dict([]))]);
});
rotten_pockets = P.call(rule, ["rotten_pockets"], {"ref": "R34", "urgency": SOON, "who": TECHNICIAN, "source": "practice", "priority": FISH_SOON, "recheck_hours": 120, "answers": ["no3.low"], "cautions": ["open_air"], "cleans": true})(rotten_pockets);
let algae = P.def(["f"], (f) => {
if ((!P.t(f.has("algae_green_water", "algae_string")) && !P.t(f.below("secchi", 30)))) {
return null;
}
return P.make(Act, [P.dict([])]);
});
algae = P.call(rule, ["algae"], {"ref": "R35", "urgency": NEXT_VISIT, "who": CLIENT, "source": "fao589", "recheck_hours": 168, "answers": ["secchi.low"], "cautions": ["no_algicide"]})(algae);
let cloudy_white = P.def(["f"], (f) => {
if ((!P.t(f.has("cloudy_white_water")) || !P.t(f.has_fish))) {
return null;
}
return P.call(Act, [P.dict([])], {"feed_percent": 0, "feed_hours": 48});
});
cloudy_white = P.call(rule, ["cloudy_white"], {"ref": "R37", "urgency": SOON, "who": CLIENT, "source": "practice", "priority": FISH_SOON, "recheck_hours": 48})(cloudy_white);
return { CHLORINE_LIMIT, chlorine_found, _share_down, nitrate_high, salt_built_up, rotten_pockets, algae, cloudy_white };
})();

M["apps.calc.advice.cycling"] = (() => {
const units = M["apps.calc.units"];
const dose_explanation = M["apps.calc.advice.doses"].dose_explanation;
const grams_for = M["apps.calc.advice.doses"].grams_for;
const FISH_SOON = M["apps.calc.advice.registry"].FISH_SOON;
const REST = M["apps.calc.advice.registry"].REST;
const Act = M["apps.calc.advice.registry"].Act;
const rule = M["apps.calc.advice.registry"].rule;
const CLIENT = M["apps.calc.advice.results"].CLIENT;
const GOOD_TO_KNOW = M["apps.calc.advice.results"].GOOD_TO_KNOW;
const SOON = M["apps.calc.advice.results"].SOON;
const TECHNICIAN = M["apps.calc.advice.results"].TECHNICIAN;
const base_act = M["apps.calc.advice.shared"].base_act;
const interpolate = M["apps.calc.species"].interpolate;
let DOSE_TO_TAN = 2.0;
let DOSE_BELOW_NO2, DOSE_BELOW_TAN;
[DOSE_BELOW_TAN, DOSE_BELOW_NO2] = P.list([0.5, 5.0]);
let BASE_BELOW_ALK, BASE_TO_ALK;
[BASE_BELOW_ALK, BASE_TO_ALK] = P.list([60.0, 80.0]);
let STALL_AFTER = 1.3;
let _READY_DAY = [[16.0, 48.0], [20.0, 38.0], [25.0, 28.0], [28.0, 24.0]];
let ready_day = P.def(["temp_c"], (temp_c) => {
return interpolate(_READY_DAY, temp_c);
});
let _age = P.def(["f"], (f) => {
return P.float(P.or(f.s.filter_age_days, () => 0));
});
let cycling_dose = P.def(["f"], (f) => {
let grams, no2, tan;
[tan, no2] = P.list([f.fresh("tan"), f.v("no2")]);
if ((!P.t(f.cycling) || ((tan === null)) || ((tan >= DOSE_BELOW_TAN)))) {
return null;
}
if ((((no2 === null)) || ((no2 >= DOSE_BELOW_NO2)))) {
return null;
}
grams = grams_for("NH4Cl", "n", P.sub(DOSE_TO_TAN, tan), f.loop.volume_l);
return P.call(Act, [P.dict([["day", _age(f)], ["tan", tan]])], {"dose": grams, "unit": "g", "substance": "NH4Cl", "explanation": dose_explanation("element_dose", P.dict([["mg_l", P.sub(DOSE_TO_TAN, tan)], ["volume_l", f.loop.volume_l], ["share", (units.N / 53.49)]]), "chemistry")});
});
cycling_dose = P.call(rule, ["cycling_dose"], {"urgency": SOON, "who": TECHNICIAN, "source": "fao589", "priority": REST, "recheck_hours": 72, "cautions": ["no_fish_while_cycling"]})(cycling_dose);
let cycling_base = P.def(["f"], (f) => {
if ((!P.t(f.cycling) || !P.t(f.below("alk", BASE_BELOW_ALK)))) {
return null;
}
return P.call(base_act, [f, BASE_TO_ALK, "ebeling2006", P.dict([["alk", P.or(f.v("alk"), () => 0.0)]])], {"against_trap": true});
});
cycling_base = P.call(rule, ["cycling_base"], {"urgency": SOON, "who": TECHNICIAN, "source": "ebeling2006", "priority": FISH_SOON, "recheck_hours": 72, "answers": ["alk.low", "ph.low"]})(cycling_base);
let cycling_on_course = P.def(["f"], (f) => {
let temp;
temp = P.or(f.v("temp"), () => 25.0);
if ((!P.t(f.cycling) || ((f.v("tan") === null)) || ((_age(f) > (STALL_AFTER * ready_day(temp)))))) {
return null;
}
if ((P.t(f.above("tan", 5.0)) || P.t(f.above("no2", f.band("no2").amber_hi)))) {
return null;
}
return P.make(Act, [P.dict([["day", _age(f)], ["ready_day", ready_day(temp)]])]);
});
cycling_on_course = P.call(rule, ["cycling_on_course"], {"urgency": GOOD_TO_KNOW, "who": CLIENT, "source": "chemistry", "priority": REST, "recheck_hours": 72, "answers": ["no2.high", "tan.high"], "wet": false})(cycling_on_course);
let cycling_stalled = P.def(["f"], (f) => {
let late, temp, waiting;
if ((!P.t(f.cycling) || ((f.v("tan") === null)))) {
return null;
}
temp = P.or(f.v("temp"), () => 25.0);
late = (_age(f) > (STALL_AFTER * ready_day(temp)));
waiting = P.or(f.above("tan", DOSE_BELOW_TAN), () => f.above("no2", DOSE_BELOW_TAN));
if ((!P.t(f.above("tan", 5.0)) && !(P.t(late) && P.t(waiting)))) {
return null;
}
return P.make(Act, [P.dict([["day", _age(f)], ["ready_day", ready_day(temp)], ["causes", P.m.join(", ", _causes(f))]])]);
});
cycling_stalled = P.call(rule, ["cycling_stalled"], {"urgency": SOON, "who": TECHNICIAN, "source": "fao589", "priority": REST, "recheck_hours": 72, "answers": ["tan.high", "no2.high"]})(cycling_stalled);
let _causes = P.def(["f"], (f) => {
let found;
found = [["ph_under_6_5", f.below("ph", 6.5)], ["alkalinity_under_40", f.below("alk", 40)], ["ammonia_over_5", f.above("tan", 5)], ["under_15_degrees", f.below("temp", 15)], ["chlorine", f.above("chlorine", 0)], ["oxygen_under_2", f.below("do", 2)]];
return P.list(found).flatMap(([code, holds]) => P.t(holds) ? [code] : []);
});
return { DOSE_TO_TAN, DOSE_BELOW_NO2, DOSE_BELOW_TAN, BASE_BELOW_ALK, BASE_TO_ALK, STALL_AFTER, _READY_DAY, ready_day, _age, cycling_dose, cycling_base, cycling_on_course, cycling_stalled, _causes };
})();

M["apps.calc.advice.fallback"] = (() => {
const guards = M["apps.calc.advice.guards"];
const FISH_SOON = M["apps.calc.advice.registry"].FISH_SOON;
const PLANTS = M["apps.calc.advice.registry"].PLANTS;
const REST = M["apps.calc.advice.registry"].REST;
const Act = M["apps.calc.advice.registry"].Act;
const rule = M["apps.calc.advice.registry"].rule;
const CLIENT = M["apps.calc.advice.results"].CLIENT;
const GOOD_TO_KNOW = M["apps.calc.advice.results"].GOOD_TO_KNOW;
const NEXT_VISIT = M["apps.calc.advice.results"].NEXT_VISIT;
const OFFICE = M["apps.calc.advice.results"].OFFICE;
const SOON = M["apps.calc.advice.results"].SOON;
const TECHNICIAN = M["apps.calc.advice.results"].TECHNICIAN;
const TODAY = M["apps.calc.advice.results"].TODAY;
const HARMFUL = M["apps.calc.judgement"].HARMFUL;
const IN_BAND = M["apps.calc.judgement"].IN_BAND;
const MEASURE_AGAIN = M["apps.calc.judgement"].MEASURE_AGAIN;
const NEAR_EDGE = M["apps.calc.judgement"].NEAR_EDGE;
let VITAL = P.frozenset(P.set(["temp", "ph", "alk", "tan", "nh3", "no2", "do", "chlorine", "flow_pct"]));
let _FALLBACKS = [["temp", "low", CLIENT, "fao589"], ["temp", "high", CLIENT, "fao589"], ["ph", "low", TECHNICIAN, "fao589"], ["ph", "high", TECHNICIAN, "fao589"], ["alk", "low", CLIENT, "fao589"], ["alk", "high", TECHNICIAN, "fao589"], ["tan", "high", TECHNICIAN, "fao589"], ["nh3", "high", TECHNICIAN, "emerson1975"], ["no2", "high", TECHNICIAN, "fao589"], ["no3", "low", TECHNICIAN, "fao589"], ["no3", "high", TECHNICIAN, "fao589"], ["do", "low", CLIENT, "fao589"], ["do", "high", CLIENT, "practice"], ["ec", "low", TECHNICIAN, "osu_ec_ph"], ["ec", "high", TECHNICIAN, "osu_ec_ph"], ["k", "low", TECHNICIAN, "practice"], ["k", "high", TECHNICIAN, "practice"], ["ca", "low", TECHNICIAN, "practice"], ["ca", "high", TECHNICIAN, "practice"], ["mg", "low", TECHNICIAN, "practice"], ["mg", "high", TECHNICIAN, "practice"], ["po4", "low", TECHNICIAN, "practice"], ["po4", "high", TECHNICIAN, "practice"], ["fe", "low", TECHNICIAN, "rakocy2007"], ["fe", "high", TECHNICIAN, "practice"], ["na", "high", TECHNICIAN, "osu_ec_ph"], ["cl", "high", TECHNICIAN, "osu_ec_ph"], ["chlorine", "high", CLIENT, "practice"], ["flow_pct", "low", TECHNICIAN, "practice"], ["flow_pct", "high", TECHNICIAN, "practice"], ["density", "high", OFFICE, "fao589"], ["feed_area", "low", TECHNICIAN, "fao589"], ["feed_area", "high", TECHNICIAN, "fao589"], ["batt", "low", TECHNICIAN, "practice"], ["batt", "high", TECHNICIAN, "practice"]];
let JUDGED = P.tuple(P.fromkeys(P.list(_FALLBACKS).map(([measurand, ..._]) => measurand)));
let _SIDES = P.dict([["low", "below"], ["high", "above"]]);
let _urgency = P.def(["measurand", "word"], (measurand, word) => {
if ((P.eq(word, NEAR_EDGE))) {
return GOOD_TO_KNOW;
}
if ((!P.has(VITAL, measurand))) {
return ((P.eq(word, HARMFUL)) ? SOON : NEXT_VISIT);
}
return ((P.eq(word, HARMFUL)) ? TODAY : SOON);
});
let _winter_rest = P.def(["f", "measurand", "side"], (f, measurand, side) => {
return P.and(P.eq([measurand, side], ["temp", "low"]), () => f.has_fish, () => P.all(P.list(f.species).map((kind) => kind.winter_hardy)));
});
let _look = P.def(["measurand", "side"], (measurand, side) => {
let look = P.def(["f"], (f) => {
let band, feed, limit, params, resting, value, word;
[word, value] = P.list([f.word(measurand), f.judged(measurand)]);
if (((P.has([IN_BAND, MEASURE_AGAIN], word)) || ((value === null)) || (!P.eq(f.side(measurand), side)))) {
return null;
}
band = f.band(measurand);
limit = ((P.eq(side, "low")) ? band.t_lo : band.t_hi);
params = P.dict([["value", value]]);
if (((limit !== null))) {
P.put(params, "limit", limit);
}
resting = P.and(_winter_rest(f, measurand, side), () => !P.eq(word, HARMFUL));
feed = ((P.has(VITAL, measurand)) ? guards.feed_percent(f) : null);
return P.call(Act, [params], {"urgency": (P.t(resting) ? GOOD_TO_KNOW : _urgency(measurand, word)), "feed_percent": feed, "feed_hours": (((feed === null)) ? null : 24)});
});
look.__doc__ = (P.format(measurand, "") + " " + P.format(P.at(_SIDES, side), "") + " its band, and no other rule has answered.");
return look;
});
let _measurand, _side, _source, _who;
for ([_measurand, _side, _who, _source] of P.iter(_FALLBACKS)) {
P.call(rule, [(P.format(_measurand, "") + "_" + P.format(P.at(_SIDES, _side), "") + "_band")], {"urgency": NEXT_VISIT, "who": _who, "source": _source, "priority": ((P.has(VITAL, _measurand)) ? FISH_SOON : PLANTS), "recheck_hours": ((P.has(VITAL, _measurand)) ? 72 : 336), "answers": [(P.format(_measurand, "") + "." + P.format(_side, ""))], "fallback": true})(_look(_measurand, _side));
}
let feed_held_back = P.def(["f"], (f) => {
let percent;
percent = guards.feed_percent(f);
return (((percent === null)) ? null : P.call(Act, [P.dict([])], {"feed_percent": percent, "feed_hours": 24}));
});
feed_held_back = P.call(rule, ["feed_held_back"], {"urgency": TODAY, "who": CLIENT, "source": "fao589", "priority": REST, "recheck_hours": 24, "answers": ["feed.high"], "fallback": true, "wet": false})(feed_held_back);
return { VITAL, _FALLBACKS, JUDGED, _SIDES, _urgency, _winter_rest, _look, _measurand, _side, _source, _who, feed_held_back };
})();

M["apps.calc.advice.fish"] = (() => {
const feed = M["apps.calc.feed"];
const dose_explanation = M["apps.calc.advice.doses"].dose_explanation;
const FISH_NOW = M["apps.calc.advice.registry"].FISH_NOW;
const FISH_SOON = M["apps.calc.advice.registry"].FISH_SOON;
const REST = M["apps.calc.advice.registry"].REST;
const Act = M["apps.calc.advice.registry"].Act;
const rule = M["apps.calc.advice.registry"].rule;
const CLIENT = M["apps.calc.advice.results"].CLIENT;
const FISH_HEALTH = M["apps.calc.advice.results"].FISH_HEALTH;
const GOOD_TO_KNOW = M["apps.calc.advice.results"].GOOD_TO_KNOW;
const NEXT_VISIT = M["apps.calc.advice.results"].NEXT_VISIT;
const OFFICE = M["apps.calc.advice.results"].OFFICE;
const SOON = M["apps.calc.advice.results"].SOON;
const TECHNICIAN = M["apps.calc.advice.results"].TECHNICIAN;
const TODAY = M["apps.calc.advice.results"].TODAY;
let RATE_25_C = 0.5;
let DEATHS_A_DAY = 0.01;
let CONVERSION_POOR = 2.2;
let SIZES_APART = 0.3;
let NOVICE_END_KG_M3 = 15.0;
let flashing_water_good = P.def(["f"], (f) => {
let good;
if ((!P.t(f.has_fish) || !P.t(f.has("fish_flashing")))) {
return null;
}
good = P.all(P.list(_WATER).map((code) => P.has(["in_band", "near_edge", "measure_again"], f.word(code))));
return (P.t(good) ? P.make(Act, [P.dict([])]) : null);
});
flashing_water_good = P.call(rule, ["flashing_water_good"], {"ref": "R19", "urgency": SOON, "who": FISH_HEALTH, "source": "practice", "priority": FISH_SOON, "recheck_hours": 72, "cautions": ["no_random_medicine", "biosecurity"], "wet": false})(flashing_water_good);
let _WATER = ["tan", "no2", "ph", "do"];
let disease_signs = P.def(["f"], (f) => {
if ((!P.t(f.has_fish) || !P.t(f.has("fish_white_spots", "fish_cotton", "fish_ulcers")))) {
return null;
}
return P.make(Act, [((P.eq(f.s.kind, "decoupled")) ? P.dict([["transfer", 1.0]]) : P.dict([]))]);
});
disease_signs = P.call(rule, ["disease_signs"], {"ref": "R20", "urgency": TODAY, "who": FISH_HEALTH, "source": "practice", "priority": FISH_SOON, "recheck_hours": 24, "wet": false, "cautions": ["no_random_medicine", "biosecurity", "harvest_hold_if_treated"]})(disease_signs);
let feed_refused = P.def(["f"], (f) => {
if ((!P.t(f.has_fish) || !(P.t(f.has("feed_left")) || P.t(f.below("feed_response", 2))))) {
return null;
}
return P.call(Act, [P.dict([])], {"feed_percent": 70, "feed_hours": 72});
});
feed_refused = P.call(rule, ["feed_refused"], {"ref": "R21", "urgency": NEXT_VISIT, "who": CLIENT, "source": "fao589", "priority": FISH_SOON, "recheck_hours": 72, "answers": ["feed_response.low"]})(feed_refused);
let too_many_fish = P.def(["f"], (f) => {
let dense, densest, half, loaded, params, to;
if (!P.t(f.has_fish)) {
return null;
}
densest = P.kw.min([P.list(f.species).map((kind) => kind.most_kg_m3)], {"default": 20.0});
dense = P.and((f.density !== null), () => (f.density > densest));
half = P.and((f.filter_g_day !== null), () => (f.tan_g_day !== null));
loaded = P.and(half, () => (P.or(f.tan_g_day, () => 0.0) > (0.5 * P.or(f.filter_g_day, () => 0.0))));
if ((!P.t(dense) && !P.t(loaded))) {
return null;
}
params = P.dict([["densest", densest]]);
if ((((f.density !== null)) && P.t(f.loop.tank_l))) {
P.put(params, "density", f.density);
to = P.min(NOVICE_END_KG_M3, densest);
P.put(params, "harvest_kg", P.max(0.0, (f.biomass_kg - ((to * f.loop.tank_l) / 1000))));
}
if ((P.t(loaded) && P.t(f.tan_g_day) && P.t(f.filter_g_day))) {
P.put(params, "share_percent", ((100 * f.tan_g_day) / f.filter_g_day));
}
return P.make(Act, [params]);
});
too_many_fish = P.call(rule, ["too_many_fish"], {"ref": "R56", "urgency": SOON, "who": OFFICE, "source": "fao589", "priority": FISH_SOON, "recheck_hours": 168, "answers": ["density.high"]})(too_many_fish);
let filter_short = P.def(["f"], (f) => {
let area, cap, explanation, made, needed, per_m2, takes;
[made, takes, area] = P.list([f.tan_g_day, f.filter_g_day, f.media_m2]);
if ((((made === null)) || ((takes === null)) || ((area === null)) || ((made <= takes)))) {
return null;
}
per_m2 = (P.t(area) ? (takes / area) : RATE_25_C);
needed = (made / per_m2);
cap = (takes / (f.loop.protein * feed.TAN_PER_PROTEIN));
explanation = dose_explanation("filter_area", P.dict([["feed_g_day", P.or(f.feed_g_day, () => 0.0)], ["protein", f.loop.protein], ["tan_g_day", made], ["capacity_g_day", takes], ["media_m2", area]]), "timmons", "media_surface");
return P.call(Act, [P.dict([["needed_m2", needed], ["more_m2", P.sub(needed, area)], ["feed_g", cap]])], {"explanation": explanation});
});
filter_short = P.call(rule, ["filter_short"], {"ref": "R57", "urgency": NEXT_VISIT, "who": TECHNICIAN, "source": "timmons", "priority": FISH_SOON, "recheck_hours": 720})(filter_short);
let too_cold_to_feed = P.def(["f"], (f) => {
let hardy, params, resting;
if ((!P.t(f.has_fish) || !P.t(f.below("temp", f.feed_min_c)))) {
return null;
}
hardy = P.all(P.list(f.species).map((kind) => kind.winter_hardy));
resting = P.and(hardy, () => !P.t(f.below("temp", f.band("temp").red_lo)));
params = P.dict([["temp", P.or(f.v("temp"), () => 0.0)], ["feed_min", f.feed_min_c]]);
return P.call(Act, [(P.t(resting) ? P.dict([...P.iter(params.items()), ["resting", 1.0]]) : params)], {"feed_percent": 0, "feed_hours": 24, "urgency": (P.t(resting) ? GOOD_TO_KNOW : null)});
});
too_cold_to_feed = P.call(rule, ["too_cold_to_feed"], {"ref": "R59", "urgency": SOON, "who": CLIENT, "source": "fao589", "priority": FISH_SOON, "recheck_hours": 24, "answers": ["temp.low"]})(too_cold_to_feed);
let too_hot = P.def(["f"], (f) => {
let beyond;
if ((!P.t(f.has_fish) || !P.t(f.above("temp", (f.feed_max_c - 2))))) {
return null;
}
beyond = f.above("temp", f.feed_max_c);
return P.call(Act, [P.dict([["temp", P.or(f.v("temp"), () => 0.0)], ["feed_max", f.feed_max_c]])], {"feed_percent": (P.t(beyond) ? 0 : 50), "feed_hours": 24});
});
too_hot = P.call(rule, ["too_hot"], {"ref": "R60", "urgency": TODAY, "who": CLIENT, "source": "fao589", "priority": FISH_SOON, "recheck_hours": 6, "answers": ["temp.high"], "cautions": ["air_on"]})(too_hot);
let deaths = P.def(["f"], (f) => {
let before, last, running, share;
if ((!P.t(f.fish_count) || ((P.len(f.loop.deaths) < 2)))) {
return null;
}
[before, last] = P.list(P.slice(f.loop.deaths, (-2), null));
running = P.and(P.eq(P.sub(last.on, before.on).days, 1), () => (P.sub(f.s.today, last.on).days <= 2));
share = (DEATHS_A_DAY * P.add(f.fish_count, last.value));
if ((!P.t(running) || ((P.min(before.value, last.value) <= share)))) {
return null;
}
return P.call(Act, [P.dict([["dead", P.add(before.value, last.value)]])], {"feed_percent": 0, "feed_hours": 24});
});
deaths = P.call(rule, ["deaths"], {"ref": "R61", "urgency": TODAY, "who": FISH_HEALTH, "source": "practice", "priority": FISH_NOW, "recheck_hours": 12, "cautions": ["no_random_medicine", "do_not_eat_dead_fish", "biosecurity"]})(deaths);
let growth_poor = P.def(["f"], (f) => {
let params, spread;
if (!P.t(f.has_fish)) {
return null;
}
params = P.dict([]);
if ((((f.s.feed_conversion !== null)) && ((f.s.feed_conversion > CONVERSION_POOR)))) {
P.put(params, "conversion", f.s.feed_conversion);
}
spread = _largest_spread(f);
if ((((spread !== null)) && ((spread > SIZES_APART)))) {
P.put(params, "spread_percent", (100 * spread));
}
if (P.t(f.has("fish_missing"))) {
P.put(params, "missing", 1.0);
}
return (P.t(params) ? P.make(Act, [params]) : null);
});
growth_poor = P.call(rule, ["growth_poor"], {"ref": "R64", "urgency": NEXT_VISIT, "who": TECHNICIAN, "source": "ksu2021", "priority": REST, "recheck_hours": 720, "cautions": []})(growth_poor);
let _largest_spread = P.def(["f"], (f) => {
let batch, found, mean, n, variance;
found = [];
for (batch of P.iter(f.loop.fish)) {
n = P.len(batch.weights_g);
if (((n >= 5))) {
mean = (P.sum(batch.weights_g) / n);
variance = (P.sum(P.list(batch.weights_g).map((w) => (P.sub(w, mean) ** 2))) / (n - 1));
P.m.append(found, ((variance ** 0.5) / mean));
}
}
return P.kw.max([found], {"default": null});
});
let off_flavour = P.def(["f"], (f) => {
return ((P.t(f.has_fish) && P.t(f.has("fish_off_flavour"))) ? P.make(Act, [P.dict([])]) : null);
});
off_flavour = P.call(rule, ["off_flavour"], {"ref": "R70", "urgency": GOOD_TO_KNOW, "who": CLIENT, "source": "fao589", "priority": REST, "wet": false, "cautions": ["discharge"]})(off_flavour);
return { RATE_25_C, DEATHS_A_DAY, CONVERSION_POOR, SIZES_APART, NOVICE_END_KG_M3, flashing_water_good, _WATER, disease_signs, feed_refused, too_many_fish, filter_short, too_cold_to_feed, too_hot, deaths, growth_poor, _largest_spread, off_flavour };
})();

M["apps.calc.advice.hardware"] = (() => {
const FISH_NOW = M["apps.calc.advice.registry"].FISH_NOW;
const FISH_SOON = M["apps.calc.advice.registry"].FISH_SOON;
const REST = M["apps.calc.advice.registry"].REST;
const Act = M["apps.calc.advice.registry"].Act;
const rule = M["apps.calc.advice.registry"].rule;
const CLIENT = M["apps.calc.advice.results"].CLIENT;
const NEXT_VISIT = M["apps.calc.advice.results"].NEXT_VISIT;
const NOW = M["apps.calc.advice.results"].NOW;
const SOON = M["apps.calc.advice.results"].SOON;
const TECHNICIAN = M["apps.calc.advice.results"].TECHNICIAN;
const TODAY = M["apps.calc.advice.results"].TODAY;
const change_act = M["apps.calc.advice.shared"].change_act;
let BED_SLUDGE_PCT = 25.0;
let LEAK_TIMES = 3.0;
let LOW_LEVEL_MM = 50.0;
let SIPHON_FILL = [10.0, 20.0];
let SETTLER_L_PER_KG = [10.0, 25.0];
let bed_full_of_sludge = P.def(["f"], (f) => {
let deep, params;
deep = f.above("bed_sludge", BED_SLUDGE_PCT);
if (((P.eq(f.loop.kind, "fish")) || !(P.t(deep) || P.t(f.has("bed_overflows"))))) {
return null;
}
params = P.dict([]);
if (P.t(deep)) {
P.put(params, "sludge", P.or(f.v("bed_sludge"), () => 0.0));
}
if (P.t(f.young)) {
P.put(params, "young", 1.0);
}
return P.make(Act, [params]);
});
bed_full_of_sludge = P.call(rule, ["bed_full_of_sludge"], {"ref": "R39", "urgency": NEXT_VISIT, "who": TECHNICIAN, "source": "practice", "priority": REST, "recheck_hours": 720, "answers": ["bed_sludge.high"], "cautions": ["test_after_clean"], "cleans": true})(bed_full_of_sludge);
let settler_stale = P.def(["f"], (f) => {
let high, kg, low;
if ((!P.t(f.has("settler_smells")) || (P.eq(f.loop.kind, "plant")))) {
return null;
}
kg = ((P.or(f.feed_g_day, () => 0.0) / 1000) * 2.5);
[low, high] = P.list(SETTLER_L_PER_KG);
return P.make(Act, [(P.t(kg) ? P.dict([["low_l", (low * kg)], ["high_l", (high * kg)]]) : P.dict([]))]);
});
settler_stale = P.call(rule, ["settler_stale"], {"ref": "R40", "urgency": SOON, "who": CLIENT, "source": "timmons", "priority": REST, "recheck_hours": 168, "cautions": ["sludge_off_leaves"]})(settler_stale);
let flow_low = P.def(["f"], (f) => {
if (P.t(f.has("pump_stopped"))) {
return P.call(Act, [P.dict([["percent", 0.0]])], {"urgency": NOW});
}
if (!P.t(f.below("flow_pct", f.band("flow_pct").amber_lo))) {
return null;
}
return P.make(Act, [P.dict([["percent", P.or(f.v("flow_pct"), () => 0.0)]])]);
});
flow_low = P.call(rule, ["flow_low"], {"ref": "R52", "urgency": TODAY, "who": TECHNICIAN, "source": "practice", "priority": FISH_SOON, "recheck_hours": 1, "answers": ["flow_pct.low"], "cautions": ["unplug_first"]})(flow_low);
let air_stopped = P.def(["f"], (f) => {
let minutes;
if ((!P.t(f.has_fish) || !P.t(f.has("air_stopped")))) {
return null;
}
minutes = f.minutes_without_air;
return P.call(Act, [(((minutes === null)) ? P.dict([]) : P.dict([["minutes", minutes]]))], {"feed_percent": 0, "feed_hours": 24});
});
air_stopped = P.call(rule, ["air_stopped"], {"urgency": NOW, "who": CLIENT, "source": "practice", "priority": FISH_NOW, "recheck_hours": 0.25, "cautions": ["air_on", "unplug_first"]})(air_stopped);
let siphon_stuck = P.def(["f"], (f) => {
let fill, high, low, odd;
fill = f.v("siphon_fill");
[low, high] = P.list(SIPHON_FILL);
odd = P.and((fill !== null), () => !(((low <= fill) && (fill <= high))));
if ((!P.t(f.has("siphon_never_breaks")) && !P.t(odd))) {
return null;
}
return P.make(Act, [(((fill === null)) ? P.dict([]) : P.dict([["minutes", fill]]))]);
});
siphon_stuck = P.call(rule, ["siphon_stuck"], {"ref": "R53", "urgency": SOON, "who": CLIENT, "source": "fao589", "priority": REST, "recheck_hours": 24})(siphon_stuck);
let leak_suspected = P.def(["f"], (f) => {
let dry, expected, much, params, topup;
[expected, topup] = P.list([f.s.expected_topup_l_day, f.v("topup")]);
much = P.and((expected !== null), () => (topup !== null), () => (topup > (LEAK_TIMES * expected)));
dry = P.and(f.has("pump_sucks_air"), () => P.or(f.above("level", LOW_LEVEL_MM), () => (f.v("level") === null)));
if ((!P.t(much) && !P.t(dry))) {
return null;
}
params = P.dict([]);
if ((P.t(much) && ((topup !== null)) && ((expected !== null)))) {
params = P.or_(params, P.dict([["topup", topup], ["expected", expected]]));
}
if (P.t(dry)) {
return P.call(Act, [P.dict([...P.iter(params.items()), ["dry", 1.0]])], {"urgency": NOW, "cautions": ["air_on", "unplug_first"]});
}
return P.make(Act, [params]);
});
leak_suspected = P.call(rule, ["leak_suspected"], {"ref": "R54", "urgency": TODAY, "who": TECHNICIAN, "source": "practice", "priority": FISH_SOON, "recheck_hours": 24, "cautions": ["dechlorinate"]})(leak_suspected);
let level_low = P.def(["f"], (f) => {
if ((!P.t(f.above("level", LOW_LEVEL_MM)) || P.t(f.has("pump_sucks_air")))) {
return null;
}
return P.make(Act, [P.dict([["mm", P.or(f.v("level"), () => 0.0)]])]);
});
level_low = P.call(rule, ["level_low"], {"urgency": SOON, "who": CLIENT, "source": "fao589", "priority": FISH_SOON, "recheck_hours": 24, "cautions": ["dechlorinate"]})(level_low);
let metal_found = P.def(["f"], (f) => {
let after_new;
if ((P.t(f.plant_water) && !P.t(f.has_fish))) {
return null;
}
after_new = P.and(f.has("fish_lethargic"), () => f.within_days(30, "new_metal"));
if ((!P.t(f.has("metal_part")) && !P.t(after_new))) {
return null;
}
return P.call(change_act, [f, 0.25, P.dict([])], {"source": "practice"});
});
metal_found = P.call(rule, ["metal_found"], {"ref": "R69", "urgency": TODAY, "who": TECHNICIAN, "source": "practice", "priority": FISH_SOON, "recheck_hours": 24})(metal_found);
return { BED_SLUDGE_PCT, LEAK_TIMES, LOW_LEVEL_MM, SIPHON_FILL, SETTLER_L_PER_KG, bed_full_of_sludge, settler_stale, flow_low, air_stopped, siphon_stuck, leak_suspected, level_low, metal_found };
})();

M["apps.calc.advice.nitrite"] = (() => {
const guards = M["apps.calc.advice.guards"];
const dose_explanation = M["apps.calc.advice.doses"].dose_explanation;
const FISH_SOON = M["apps.calc.advice.registry"].FISH_SOON;
const NITRITE_AND_BUFFER = M["apps.calc.advice.registry"].NITRITE_AND_BUFFER;
const Act = M["apps.calc.advice.registry"].Act;
const rule = M["apps.calc.advice.registry"].rule;
const CLIENT = M["apps.calc.advice.results"].CLIENT;
const GOOD_TO_KNOW = M["apps.calc.advice.results"].GOOD_TO_KNOW;
const SOON = M["apps.calc.advice.results"].SOON;
const TECHNICIAN = M["apps.calc.advice.results"].TECHNICIAN;
const TODAY = M["apps.calc.advice.results"].TODAY;
const change_act = M["apps.calc.advice.shared"].change_act;
const NEAR_EDGE = M["apps.calc.judgement"].NEAR_EDGE;
let SALT_CAUTIONS = ["dissolve_first", "stop_and_call", "salt_and_plants", "calcium_chloride_apart", "do_not_dilute_chloride"];
let _chloride = P.def(["f", "act"], (f, act) => {
let assumed, first, inputs, params, plan, sodium;
plan = guards.chloride_plan(f);
params = P.dict(act.params);
if ((P.isinstance(plan, [guards.Refusal]))) {
P.put(params, "no_dose", plan.code);
return P.call(Act, [params], {"feed_percent": act.feed_percent, "feed_hours": act.feed_hours, "urgency": act.urgency, "change_fraction": act.change_fraction, "cautions": act.cautions, "explanation": act.explanation});
}
P.put(params, "chloride", plan.chloride_mg_l);
inputs = P.dict([["no2", P.or(f.v("no2"), () => 0.0)], ["cl", P.or(f.v("cl"), () => 0.0)], ["volume_l", f.loop.volume_l], ["ratio", 10.0]]);
assumed = (P.t(plan.assumed_chloride) ? ["chloride_taken_as_zero"] : []);
sodium = (((f.v("na") !== null)) ? [] : ["sodium_unknown"]);
first = (P.t(plan.steps) ? P.at(plan.steps, 0) : null);
return P.call(Act, [params], {"dose": (P.t(first) ? first.dose : null), "unit": "g", "substance": (P.t(first) ? first.substance : ""), "steps": plan.steps, "explanation": dose_explanation("chloride", inputs, "srac462", ...P.iter(assumed), ...P.iter(sodium)), "feed_percent": act.feed_percent, "feed_hours": act.feed_hours, "change_fraction": act.change_fraction, "cautions": [...P.iter(act.cautions), ...P.iter(SALT_CAUTIONS)], "urgency": act.urgency});
});
let nitrite_harmful = P.def(["f"], (f) => {
let change, no2, red;
[red, no2] = P.list([f.band("no2").red_hi, f.v("no2")]);
if ((!P.t(f.has_fish) || ((red === null)) || ((no2 === null)) || ((no2 < red)))) {
return null;
}
change = P.call(change_act, [f, 0.3, P.dict([["no2", no2]])], {"source": "srac462", "feed_percent": 0, "feed_hours": 24});
return _chloride(f, change);
});
nitrite_harmful = P.call(rule, ["nitrite_harmful"], {"ref": "R07", "urgency": TODAY, "who": TECHNICIAN, "source": "srac462", "priority": NITRITE_AND_BUFFER, "recheck_hours": 12, "answers": ["no2.high"], "cautions": ["air_on"]})(nitrite_harmful);
let _raised = P.def(["f"], (f) => {
let band, no2;
[band, no2] = P.list([f.band("no2"), f.v("no2")]);
if ((!P.t(f.has_fish) || ((no2 === null)) || ((band.t_hi === null)) || ((band.red_hi === null)))) {
return false;
}
return ((band.t_hi < no2) && (no2 < band.red_hi));
});
let nitrite_young_filter = P.def(["f"], (f) => {
let act;
if ((!P.t(_raised(f)) || !P.t(f.young))) {
return null;
}
act = P.call(Act, [P.dict([["no2", P.or(f.v("no2"), () => 0.0)]])], {"feed_percent": 25, "feed_hours": 48});
return _chloride(f, act);
});
nitrite_young_filter = P.call(rule, ["nitrite_young_filter"], {"ref": "R08", "urgency": TODAY, "who": CLIENT, "source": "srac462", "priority": NITRITE_AND_BUFFER, "recheck_hours": 36, "answers": ["no2.high"]})(nitrite_young_filter);
let nitrite_old_filter = P.def(["f"], (f) => {
let near;
if ((!P.t(_raised(f)) || P.t(f.young))) {
return null;
}
near = P.eq(f.word("no2"), NEAR_EDGE);
return P.call(Act, [P.dict([["no2", P.or(f.v("no2"), () => 0.0)]])], {"feed_percent": (P.t(near) ? null : 50), "feed_hours": (P.t(near) ? null : 48), "urgency": (P.t(near) ? GOOD_TO_KNOW : null)});
});
nitrite_old_filter = P.call(rule, ["nitrite_old_filter"], {"ref": "R09", "urgency": SOON, "who": TECHNICIAN, "source": "practice", "priority": FISH_SOON, "recheck_hours": 48, "answers": ["no2.high"], "cleans": true})(nitrite_old_filter);
return { SALT_CAUTIONS, _chloride, nitrite_harmful, _raised, nitrite_young_filter, nitrite_old_filter };
})();

M["apps.calc.advice.nutrients"] = (() => {
const feed = M["apps.calc.feed"];
const guards = M["apps.calc.advice.guards"];
const SUBSTANCES = M["apps.calc.advice.doses"].SUBSTANCES;
const dose_explanation = M["apps.calc.advice.doses"].dose_explanation;
const grams_for = M["apps.calc.advice.doses"].grams_for;
const weekly_steps = M["apps.calc.advice.doses"].weekly_steps;
const BasePlan = M["apps.calc.advice.guards"].BasePlan;
const base_plan = M["apps.calc.advice.guards"].base_plan;
const can_dose = M["apps.calc.advice.guards"].can_dose;
const potassium_room = M["apps.calc.advice.guards"].potassium_room;
const PLANTS = M["apps.calc.advice.registry"].PLANTS;
const Act = M["apps.calc.advice.registry"].Act;
const rule = M["apps.calc.advice.registry"].rule;
const NEXT_VISIT = M["apps.calc.advice.results"].NEXT_VISIT;
const OFFICE = M["apps.calc.advice.results"].OFFICE;
const TECHNICIAN = M["apps.calc.advice.results"].TECHNICIAN;
const Step = M["apps.calc.advice.results"].Step;
let WEEK_H = 168.0;
let IRON_TARGET = 2.0;
let IRON_DAYS = 21;
let FRUIT_POTASSIUM = 80.0;
let EC_STEP = 0.3;
let GROW_OUT_PERCENT = 1.5;
let _dose = P.def(["f", "substance", "element", "mg_l", "source", "parts", "every_hours", "params", "cautions", "why", "assumed"], (f, substance, element, mg_l, source, parts = 1, every_hours = WEEK_H, params = null, cautions = [], why = "", assumed = []) => {
let extra, grams, inputs, steps;
extra = P.dict(P.or(params, () => P.dict([])));
if ((P.t(why) || ((mg_l <= 0)))) {
return P.call(Act, [P.dict([...P.iter(extra.items()), ["no_dose", P.or(why, () => "not_needed")]])], {"cautions": cautions});
}
grams = grams_for(substance, element, mg_l, f.loop.volume_l);
steps = weekly_steps(substance, grams, parts, every_hours);
inputs = P.dict([["mg_l", mg_l], ["volume_l", f.loop.volume_l], ["share", P.getattr(P.at(SUBSTANCES, substance), element)]]);
return P.call(Act, [P.dict([...P.iter(extra.items()), ["mg_l", mg_l], ["total_g", grams], ["parts", P.float(parts)]])], {"dose": P.at(steps, 0).dose, "unit": "g", "substance": substance, "steps": steps, "cautions": ["dissolve_first", ...P.iter(cautions)], "explanation": dose_explanation("element_dose", inputs, source, ...P.iter(assumed))});
});
let nitrogen_short = P.def(["f"], (f) => {
let low, params, tan;
low = P.or(f.below("no3", f.band("no3").amber_lo), () => P.eq(f.trend("ec"), "falling"));
if ((!P.t(f.coupled) || !P.t(low) || !P.t(f.has("old_leaves_pale")))) {
return null;
}
params = P.dict([["area", f.bed_m2]]);
tan = f.v("tan");
if ((((tan !== null)) && ((tan < 0.5)) && P.t(f.ration_g_day) && ((guards.feed_percent(f) === null)))) {
P.put(params, "feed_g", f.ration_g_day);
}
P.put(params, "add_kg", P.max(0.0, P.min(_fish_for_area(f), _fish_room(f))));
return P.make(Act, [params]);
});
nitrogen_short = P.call(rule, ["nitrogen_short"], {"ref": "R23", "urgency": NEXT_VISIT, "who": OFFICE, "source": "fao589", "priority": PLANTS, "recheck_hours": 336, "answers": ["no3.low", "ec.low"], "cautions": ["do_not_overfeed"], "wet": false})(nitrogen_short);
let _fish_for_area = P.def(["f"], (f) => {
let per_m2;
per_m2 = (P.t(f.fruiting) ? 65.0 : 45.0);
return (((f.bed_m2 * per_m2) / ((GROW_OUT_PERCENT / 100) * 1000)) - f.biomass_kg);
});
let _fish_room = P.def(["f"], (f) => {
let densest, per_kg, rooms;
rooms = [];
densest = P.kw.min([P.list(f.species).map((kind) => kind.most_kg_m3)], {"default": 15.0});
if (P.t(f.loop.tank_l)) {
P.m.append(rooms, ((densest * f.loop.tank_l) / 1000));
}
per_kg = ((GROW_OUT_PERCENT / 100) * 1000);
if (((f.filter_g_day !== null))) {
P.m.append(rooms, ((0.5 * f.filter_g_day) / feed.tan_g_day(per_kg, f.loop.protein)));
}
if (((f.loop.air_l_min !== null))) {
P.m.append(rooms, (((f.loop.air_l_min * 0.12) * 24) / feed.oxygen_g_day(per_kg)));
}
return P.sub(P.kw.min([rooms], {"default": 0.0}), f.biomass_kg);
});
let fruit_hungry = P.def(["f"], (f) => {
let days, ec, k, limit, params, wanted;
ec = f.v("ec");
limit = (P.t(f.plant_water) ? f.band("ec").t_lo : 0.6);
if ((!P.t(f.fruiting) || ((ec === null)) || ((limit === null)) || ((ec >= limit)))) {
return null;
}
params = P.dict([["ec", ec], ["target_ec", limit]]);
if (P.t(f.plant_water)) {
days = P.max(1.0, P.round(((P.sub(limit, ec) / EC_STEP) + 0.499)));
return P.make(Act, [P.dict([...P.iter(params.items()), ["ec_step", EC_STEP], ["days", days]])]);
}
k = f.v("k");
if (((k === null))) {
return P.make(Act, [P.dict([...P.iter(params.items()), ["no_dose", "measure_first"]])]);
}
wanted = P.min(P.sub(FRUIT_POTASSIUM, k), potassium_room(f));
return P.call(_dose, [f, "K2SO4", "k", wanted, "chemistry"], {"params": P.dict([...P.iter(params.items()), ["k", k]]), "why": P.or(can_dose(f, "k"), () => _room(wanted))});
});
fruit_hungry = P.call(rule, ["fruit_hungry"], {"ref": "R24", "urgency": NEXT_VISIT, "who": TECHNICIAN, "source": "osu_ec_ph", "priority": PLANTS, "recheck_hours": 168, "answers": ["ec.low", "k.low"], "cautions": ["no_nitrogen_salts_with_fish"]})(fruit_hungry);
let _room = P.def(["wanted"], (wanted) => {
return (((wanted > 0)) ? "" : "no_room_for_salt");
});
let potassium_short = P.def(["f"], (f) => {
let by_base, grams, k, params, plan, wanted;
k = f.v("k");
if ((((k === null)) || !P.t(f.below("k", f.band("k").t_lo)))) {
return null;
}
if (!P.t(f.has("old_leaf_edges_burnt", "weak_fruit"))) {
return null;
}
wanted = P.min(10.0, potassium_room(f));
params = P.dict([["k", k]]);
plan = (P.t(f.below("ph", 6.4)) ? base_plan(f, (P.or(f.v("alk"), () => 0.0) + 12.8)) : null);
if ((P.isinstance(plan, [BasePlan]))) {
by_base = P.at(plan.steps, 0).dose;
grams = P.min(by_base, grams_for("KHCO3", "k", wanted, f.loop.volume_l));
return P.call(Act, [P.dict([...P.iter(params.items()), ["mg_l", wanted]])], {"dose": grams, "unit": "g", "substance": "KHCO3", "steps": [P.make(Step, [0.0, grams, "g", "KHCO3"])], "cautions": ["goggles", "dissolve_first"], "explanation": dose_explanation("element_dose", P.dict([["mg_l", wanted], ["volume_l", f.loop.volume_l], ["share", P.at(SUBSTANCES, "KHCO3").k]]), "chemistry")});
}
return P.call(_dose, [f, "K2SO4", "k", wanted, "chemistry"], {"params": params, "why": P.or(can_dose(f, "k"), () => _room(wanted))});
});
potassium_short = P.call(rule, ["potassium_short"], {"ref": "R25", "urgency": NEXT_VISIT, "who": TECHNICIAN, "source": "chemistry", "priority": PLANTS, "recheck_hours": 240, "answers": ["k.low"]})(potassium_short);
let iron_chelate = P.def(["ph"], (ph) => {
if ((((ph !== null)) && ((ph > 7.2)))) {
return "Fe-EDDHA 6 %";
}
return ((((ph !== null)) && ((ph < 6.5))) ? "Fe-EDTA 13 %" : "Fe-DTPA 11 %");
});
let iron_short = P.def(["f"], (f) => {
let assumed, fe, params, sign, wanted;
sign = P.and(f.has("new_leaves_yellow_between_veins"), () => f.has_plants);
if ((!P.t(sign) && !P.t(f.below("fe", f.band("fe").amber_lo)))) {
return null;
}
fe = f.v("fe");
if ((((fe === null)) && P.t(f.within_days(IRON_DAYS, "iron_given")))) {
return P.make(Act, [P.dict([["no_dose", "iron_given"]])]);
}
wanted = P.sub(IRON_TARGET, P.or(fe, () => 0.0));
params = (((fe === null)) ? P.dict([]) : P.dict([["fe", fe]]));
assumed = (((fe === null)) ? ["iron_taken_as_zero"] : []);
return P.call(_dose, [f, iron_chelate(f.v("ph")), "fe", wanted, "rakocy2007"], {"params": params, "why": can_dose(f), "assumed": assumed});
});
iron_short = P.call(rule, ["iron_short"], {"ref": "R26", "urgency": NEXT_VISIT, "who": TECHNICIAN, "source": "rakocy2007", "priority": PLANTS, "recheck_hours": 168, "answers": ["fe.low"], "cautions": ["eddha_red"]})(iron_short);
let magnesium_short = P.def(["f"], (f) => {
let low, mg, params, sign;
sign = P.and(f.has("old_leaves_yellow_between_veins"), () => f.has_plants);
low = f.below("mg", f.band("mg").amber_lo);
if ((!P.t(low) && !(P.t(sign) && !P.t(f.above("mg", f.band("mg").t_hi))))) {
return null;
}
mg = f.v("mg");
params = (((mg === null)) ? P.dict([]) : P.dict([["mg", mg]]));
return P.call(_dose, [f, "MgSO4.7H2O", "mg", 5.0, "chemistry"], {"params": params, "why": can_dose(f)});
});
magnesium_short = P.call(rule, ["magnesium_short"], {"ref": "R27", "urgency": NEXT_VISIT, "who": TECHNICIAN, "source": "chemistry", "priority": PLANTS, "recheck_hours": 240, "answers": ["mg.low"]})(magnesium_short);
let phosphorus_short = P.def(["f"], (f) => {
let potassium, sign, wanted;
sign = P.and(f.has("old_leaves_purple"), () => f.below("po4", 1.0));
if ((!P.t(sign) && !P.t(f.below("po4", f.band("po4").amber_lo)))) {
return null;
}
potassium = (P.at(SUBSTANCES, "KH2PO4").k / P.at(SUBSTANCES, "KH2PO4").p);
wanted = P.min(1.0, (potassium_room(f) / potassium));
return P.call(_dose, [f, "KH2PO4", "p", wanted, "chemistry"], {"params": P.dict([["po4", P.or(f.v("po4"), () => 0.0)]]), "why": P.or(can_dose(f, "po4"), () => _room(wanted))});
});
phosphorus_short = P.call(rule, ["phosphorus_short"], {"ref": "R27", "urgency": NEXT_VISIT, "who": TECHNICIAN, "source": "chemistry", "priority": PLANTS, "recheck_hours": 240, "answers": ["po4.low"], "cautions": ["calcium_chloride_apart"]})(phosphorus_short);
let blossom_end_rot = P.def(["f"], (f) => {
let ca, params, short, target, why;
if ((!P.t(f.has("blossom_end_rot")) || !P.t(f.has_plants))) {
return null;
}
[ca, target] = P.list([f.v("ca"), f.band("ca").t_lo]);
short = P.and((ca !== null), () => (target !== null), () => (ca < target));
why = P.or(can_dose(f, "ca"), () => (P.t(short) ? "" : "not_needed"));
params = (((ca === null)) ? P.dict([]) : P.dict([["ca", ca]]));
return P.call(_dose, [f, "CaCl2.2H2O", "ca", 20.0, "chemistry"], {"parts": 2, "every_hours": WEEK_H, "params": params, "why": why});
});
blossom_end_rot = P.call(rule, ["blossom_end_rot"], {"ref": "R29", "urgency": NEXT_VISIT, "who": TECHNICIAN, "source": "practice", "priority": PLANTS, "recheck_hours": 336, "answers": ["ca.low"], "cautions": ["calcium_chloride_apart", "no_hydroxide"]})(blossom_end_rot);
return { WEEK_H, IRON_TARGET, IRON_DAYS, FRUIT_POTASSIUM, EC_STEP, GROW_OUT_PERCENT, _dose, nitrogen_short, _fish_for_area, _fish_room, fruit_hungry, _room, potassium_short, iron_chelate, iron_short, magnesium_short, phosphorus_short, blossom_end_rot };
})();

M["apps.calc.advice.pests"] = (() => {
const PLANTS = M["apps.calc.advice.registry"].PLANTS;
const REST = M["apps.calc.advice.registry"].REST;
const Act = M["apps.calc.advice.registry"].Act;
const rule = M["apps.calc.advice.registry"].rule;
const CLIENT = M["apps.calc.advice.results"].CLIENT;
const NEXT_VISIT = M["apps.calc.advice.results"].NEXT_VISIT;
const SOON = M["apps.calc.advice.results"].SOON;
const TECHNICIAN = M["apps.calc.advice.results"].TECHNICIAN;
let APHIDS_A_LEAF = 5.0;
let WHITEFLY_A_CARD = 10.0;
let aphids = P.def(["f"], (f) => {
let count;
count = f.v("aphids");
if (((count === null))) {
return (P.t(f.has("aphids")) ? P.make(Act, [P.dict([])]) : null);
}
return (((count > APHIDS_A_LEAF)) ? P.make(Act, [P.dict([["count", count]])]) : null);
});
aphids = P.call(rule, ["aphids"], {"ref": "R48", "urgency": NEXT_VISIT, "who": CLIENT, "source": "fao589", "priority": PLANTS, "recheck_hours": 120, "once": true, "wet": false, "cautions": ["nothing_drips", "no_insecticide"]})(aphids);
let whitefly = P.def(["f"], (f) => {
let count;
count = f.v("whitefly");
if (((count === null))) {
return (P.t(f.has("whitefly")) ? P.make(Act, [P.dict([])]) : null);
}
return (((count > WHITEFLY_A_CARD)) ? P.make(Act, [P.dict([["count", count]])]) : null);
});
whitefly = P.call(rule, ["whitefly"], {"ref": "R49", "urgency": SOON, "who": TECHNICIAN, "source": "fmars2022", "priority": PLANTS, "recheck_hours": 168, "once": true, "wet": false, "cautions": ["label_dose", "no_insecticide"]})(whitefly);
let caterpillars = P.def(["f"], (f) => {
return (P.t(f.has("caterpillars")) ? P.make(Act, [P.dict([])]) : null);
});
caterpillars = P.call(rule, ["caterpillars"], {"ref": "R49", "urgency": SOON, "who": TECHNICIAN, "source": "fmars2022", "priority": PLANTS, "recheck_hours": 168, "once": true, "wet": false, "cautions": ["label_dose", "no_insecticide"]})(caterpillars);
let mildew = P.def(["f"], (f) => {
return (P.t(f.has("mildew")) ? P.make(Act, [P.dict([])]) : null);
});
mildew = P.call(rule, ["mildew"], {"ref": "R49", "urgency": SOON, "who": TECHNICIAN, "source": "practice", "priority": PLANTS, "recheck_hours": 168, "once": true, "wet": false, "cautions": ["nothing_drips"]})(mildew);
let mosquito_larvae = P.def(["f"], (f) => {
return ((P.t(f.has("mosquito_larvae")) || P.t(f.above("larvae", 0))) ? P.make(Act, [P.dict([])]) : null);
});
mosquito_larvae = P.call(rule, ["mosquito_larvae"], {"ref": "R65", "urgency": SOON, "who": CLIENT, "source": "wa_doh_bti", "priority": REST, "recheck_hours": 168, "once": true, "cautions": ["label_dose"]})(mosquito_larvae);
return { APHIDS_A_LEAF, WHITEFLY_A_CARD, aphids, whitefly, caterpillars, mildew, mosquito_larvae };
})();

M["apps.calc.advice.plants"] = (() => {
const PLANTS = M["apps.calc.advice.registry"].PLANTS;
const REST = M["apps.calc.advice.registry"].REST;
const Act = M["apps.calc.advice.registry"].Act;
const rule = M["apps.calc.advice.registry"].rule;
const CLIENT = M["apps.calc.advice.results"].CLIENT;
const NEXT_VISIT = M["apps.calc.advice.results"].NEXT_VISIT;
const SOON = M["apps.calc.advice.results"].SOON;
const TECHNICIAN = M["apps.calc.advice.results"].TECHNICIAN;
let GERMINATION_OK = 80.0;
let WARM_LIMIT = P.dict([["lettuce_loose_leaf", 26], ["lettuce_head", 26], ["spinach", 18], ["parsley", 24], ["celery", 24]]);
let COOL_CROPS = P.frozenset(P.set(["spinach", "parsley"]));
let tip_burn = P.def(["f"], (f) => {
return ((P.t(f.has("tip_burn")) && P.t(f.has_plants)) ? P.make(Act, [P.dict([])]) : null);
});
tip_burn = P.call(rule, ["tip_burn"], {"ref": "R30", "urgency": NEXT_VISIT, "who": CLIENT, "source": "practice", "priority": PLANTS, "recheck_hours": 240})(tip_burn);
let leaf_salt_burn = P.def(["f"], (f) => {
let burnt;
burnt = P.and(f.has("leaf_edges_burnt"), () => f.has_plants);
if ((!P.t(burnt) || !P.t(f.above("ec", f.band("ec").amber_hi)))) {
return null;
}
return P.call(Act, [P.dict([["ec", P.or(f.v("ec"), () => 0.0)]])], {"dose": (0.25 * f.loop.volume_l), "unit": "L", "substance": "water to the soil garden", "change_fraction": 0.25});
});
leaf_salt_burn = P.call(rule, ["leaf_salt_burn"], {"ref": "R31", "urgency": SOON, "who": TECHNICIAN, "source": "osu_ec_ph", "priority": PLANTS, "recheck_hours": 72, "answers": ["ec.high"], "cautions": ["discharge"]})(leaf_salt_burn);
let germination_poor = P.def(["f"], (f) => {
let limit, params, poor, worst;
poor = P.list(f.s.germination).flatMap((g) => (((g.percent < GERMINATION_OK)) && (!P.has(COOL_CROPS, g.crop))) ? [g] : []);
if (!P.t(poor)) {
return null;
}
worst = P.kw.min([poor], {"key": ((g) => g.percent)});
params = P.dict([["crop", worst.crop], ["percent", worst.percent]]);
limit = P.m.get(WARM_LIMIT, worst.crop);
if ((((limit !== null)) && ((worst.temp_c !== null)) && ((worst.temp_c > limit)))) {
params = P.or_(params, P.dict([["temp", worst.temp_c], ["limit_c", limit]]));
}
return P.make(Act, [params]);
});
germination_poor = P.call(rule, ["germination_poor"], {"ref": "R41", "urgency": NEXT_VISIT, "who": CLIENT, "source": "harrington_minges1954", "priority": REST, "once": true, "wet": false, "cautions": ["pellet_must_split"]})(germination_poor);
let cool_crop_slow = P.def(["f"], (f) => {
let poor;
poor = P.any(P.list(f.s.germination).flatMap((g) => (P.has(COOL_CROPS, g.crop)) ? [(g.percent < GERMINATION_OK)] : []));
return ((P.t(f.has("slow_cool_crop")) || P.t(poor)) ? P.make(Act, [P.dict([])]) : null);
});
cool_crop_slow = P.call(rule, ["cool_crop_slow"], {"ref": "R42", "urgency": NEXT_VISIT, "who": CLIENT, "source": "harrington_minges1954", "priority": REST, "once": true, "wet": false})(cool_crop_slow);
let seedlings_fail = P.def(["f"], (f) => {
return (P.t(f.has("seedlings_fall", "seedlings_leggy")) ? P.make(Act, [P.dict([])]) : null);
});
seedlings_fail = P.call(rule, ["seedlings_fail"], {"ref": "R44", "urgency": SOON, "who": CLIENT, "source": "practice", "priority": REST, "once": true, "wet": false})(seedlings_fail);
let bolting = P.def(["f"], (f) => {
return (P.t(f.has("bolting")) ? P.make(Act, [P.dict([])]) : null);
});
bolting = P.call(rule, ["bolting"], {"ref": "R45", "urgency": NEXT_VISIT, "who": CLIENT, "source": "fao589", "priority": REST, "once": true, "wet": false})(bolting);
let roots_rot = P.def(["f"], (f) => {
if ((!P.t(f.has("roots_brown")) || (P.eq(f.loop.kind, "fish")))) {
return null;
}
return P.make(Act, [P.dict([])]);
});
roots_rot = P.call(rule, ["roots_rot"], {"ref": "R46", "urgency": SOON, "who": TECHNICIAN, "source": "practice", "priority": PLANTS, "recheck_hours": 120, "cautions": ["no_fungicide"]})(roots_rot);
let wilting_white_roots = P.def(["f"], (f) => {
let wilts;
wilts = P.and(f.has("wilting_at_noon"), () => !P.t(f.has("roots_brown")), () => !P.eq(f.loop.kind, "fish"));
return (P.t(wilts) ? P.make(Act, [P.dict([])]) : null);
});
wilting_white_roots = P.call(rule, ["wilting_white_roots"], {"ref": "R46", "urgency": SOON, "who": TECHNICIAN, "source": "practice", "priority": PLANTS, "recheck_hours": 24})(wilting_white_roots);
let no_fruit_set = P.def(["f"], (f) => {
let air;
if (!P.t(f.has("flowers_drop"))) {
return null;
}
air = f.v("air_t");
return P.make(Act, [(((air === null)) ? P.dict([]) : P.dict([["air", air]]))]);
});
no_fruit_set = P.call(rule, ["no_fruit_set"], {"ref": "R72", "urgency": NEXT_VISIT, "who": CLIENT, "source": "practice", "priority": REST, "once": true, "wet": false, "recheck_hours": 336})(no_fruit_set);
return { GERMINATION_OK, WARM_LIMIT, COOL_CROPS, tip_burn, leaf_salt_burn, germination_poor, cool_crop_slow, seedlings_fail, bolting, roots_rot, wilting_white_roots, no_fruit_set };
})();

M["apps.calc.advice.power"] = (() => {
const dose_explanation = M["apps.calc.advice.doses"].dose_explanation;
const ELECTRICITY = M["apps.calc.advice.registry"].ELECTRICITY;
const FISH_NOW = M["apps.calc.advice.registry"].FISH_NOW;
const FISH_SOON = M["apps.calc.advice.registry"].FISH_SOON;
const Act = M["apps.calc.advice.registry"].Act;
const rule = M["apps.calc.advice.registry"].rule;
const CLIENT = M["apps.calc.advice.results"].CLIENT;
const ELECTRICIAN = M["apps.calc.advice.results"].ELECTRICIAN;
const NOW = M["apps.calc.advice.results"].NOW;
const SOON = M["apps.calc.advice.results"].SOON;
const TECHNICIAN = M["apps.calc.advice.results"].TECHNICIAN;
let power_cut = P.def(["f"], (f) => {
let explanation, out, params;
out = f.s.outage_minutes;
if ((((out === null)) || !P.t(f.has_fish))) {
return null;
}
params = P.dict([["out", out]]);
explanation = null;
if (((f.minutes_without_air !== null))) {
P.put(params, "minutes", f.minutes_without_air);
if (((out > f.minutes_without_air))) {
P.put(params, "past", 1.0);
}
explanation = dose_explanation("minutes_without_air", P.dict([["do", P.or(f.v("do"), () => 0.0)], ["temp", P.or(f.v("temp"), () => 0.0)], ["biomass_kg", f.biomass_kg], ["volume_l", f.loop.volume_l], ["limit", f.oxygen_limit]]), "practice", "surface_ignored", "others_breathe");
}
return P.call(Act, [params], {"explanation": explanation, "feed_percent": 0, "feed_hours": 24});
});
power_cut = P.call(rule, ["power_cut"], {"ref": "R51", "urgency": NOW, "who": CLIENT, "source": "practice", "priority": FISH_NOW, "recheck_hours": 0.25, "cautions": ["air_on"]})(power_cut);
let fault_current = P.def(["f"], (f) => {
return (P.t(f.has("electric_tingle", "rcd_trips_again")) ? P.make(Act, [P.dict([])]) : null);
});
fault_current = P.call(rule, ["fault_current"], {"ref": "R74", "urgency": NOW, "who": ELECTRICIAN, "source": "fao589", "priority": ELECTRICITY, "once": true, "wet": false, "cautions": ["electrician_only"]})(fault_current);
let rcd_dead = P.def(["f"], (f) => {
return (P.t(f.has("rcd_does_not_trip")) ? P.make(Act, [P.dict([])]) : null);
});
rcd_dead = P.call(rule, ["rcd_dead"], {"urgency": NOW, "who": ELECTRICIAN, "source": "fao589", "priority": ELECTRICITY, "once": true, "wet": false, "cautions": ["electrician_only"]})(rcd_dead);
let backup_battery_low = P.def(["f"], (f) => {
if (!P.t(f.below("batt", f.band("batt").amber_lo))) {
return null;
}
return P.make(Act, [P.dict([["volts", P.or(f.v("batt"), () => 0.0)]])]);
});
backup_battery_low = P.call(rule, ["backup_battery_low"], {"urgency": SOON, "who": TECHNICIAN, "source": "practice", "priority": FISH_SOON, "recheck_hours": 72, "answers": ["batt.low"], "cautions": ["battery"], "wet": false})(backup_battery_low);
return { power_cut, fault_current, rcd_dead, backup_battery_low };
})();

M["apps.calc.advice.records"] = (() => {
const FISH_SOON = M["apps.calc.advice.registry"].FISH_SOON;
const REST = M["apps.calc.advice.registry"].REST;
const Act = M["apps.calc.advice.registry"].Act;
const rule = M["apps.calc.advice.registry"].rule;
const CLIENT = M["apps.calc.advice.results"].CLIENT;
const GOOD_TO_KNOW = M["apps.calc.advice.results"].GOOD_TO_KNOW;
const TECHNICIAN = M["apps.calc.advice.results"].TECHNICIAN;
const TODAY = M["apps.calc.advice.results"].TODAY;
let IMPOSSIBLE = P.frozenset(P.set(["outside_range", "not_a_number", "unknown_unit", "oversaturated"]));
let _untrusted = P.def(["f"], (f) => {
return P.sorted(P.list(P.m.items(f.loop.readings)).flatMap(([code, r]) => !P.t(r.trusted) ? [code] : []));
});
let impossible_reading = P.def(["f"], (f) => {
let codes;
codes = P.list(_untrusted(f)).flatMap((c) => (P.has(IMPOSSIBLE, P.at(f.loop.readings, c).doubt)) ? [c] : []);
return (P.t(codes) ? P.make(Act, [P.dict([["measurands", P.m.join(", ", codes)]])]) : null);
});
impossible_reading = P.call(rule, ["impossible_reading"], {"ref": "R75", "urgency": TODAY, "who": TECHNICIAN, "source": "practice", "priority": REST, "recheck_hours": 1, "wet": false})(impossible_reading);
let measure_again = P.def(["f"], (f) => {
let codes;
codes = P.list(_untrusted(f)).flatMap((c) => (!P.has(IMPOSSIBLE, P.at(f.loop.readings, c).doubt)) ? [c] : []);
return (P.t(codes) ? P.make(Act, [P.dict([["measurands", P.m.join(", ", codes)]])]) : null);
});
measure_again = P.call(rule, ["measure_again"], {"urgency": TODAY, "who": TECHNICIAN, "source": "practice", "priority": REST, "recheck_hours": 12, "wet": false})(measure_again);
let feed_spoilt = P.def(["f"], (f) => {
return (P.t(f.has("feed_mould", "feed_rancid", "feed_out_of_date")) ? P.make(Act, [P.dict([])]) : null);
});
feed_spoilt = P.call(rule, ["feed_spoilt"], {"ref": "R67", "urgency": TODAY, "who": CLIENT, "source": "practice", "priority": FISH_SOON, "once": true, "wet": false})(feed_spoilt);
let harvest_hold = P.def(["f"], (f) => {
let last, running;
running = P.list(f.s.holds).flatMap((hold) => ((hold.until >= f.s.today)) ? [hold] : []);
if (!P.t(running)) {
return null;
}
last = P.kw.max([running], {"key": ((hold) => hold.until)});
return P.make(Act, [P.dict([["product", last.product], ["until", P.m.isoformat(last.until)], ["touches", last.touches]])]);
});
harvest_hold = P.call(rule, ["harvest_hold"], {"urgency": GOOD_TO_KNOW, "who": CLIENT, "source": "practice", "priority": FISH_SOON, "once": true, "wet": false})(harvest_hold);
return { IMPOSSIBLE, _untrusted, impossible_reading, measure_again, feed_spoilt, harvest_hold };
})();

M["apps.calc.advice.derived"] = (() => {
const carbonate = M["apps.calc.carbonate"];
const feed = M["apps.calc.feed"];
const growth = M["apps.calc.growth"];
const oxygen = M["apps.calc.oxygen"];
const Derived = M["apps.calc.advice.results"].Derived;
const Explanation = M["apps.calc.advice.results"].Explanation;
const DAILY_PH_RISE = M["apps.calc.judgement"].DAILY_PH_RISE;
let derive = P.def(["f"], (f) => {
let made;
made = [...P.iter(_ammonia(f)), ...P.iter(_oxygen(f)), ...P.iter(_carbon_dioxide(f)), ...P.iter(_fish(f)), ...P.iter(_load(f)), ...P.iter(_air_time(f)), ...P.iter(_days(f))];
return P.list(made).flatMap((one) => P.t(P.math.isfinite(one.value)) ? [one] : []);
});
let _one = P.def(["f", "code", "value", "unit", "inputs", "sources", "valid", "assumed", "low", "high"], (f, code, value, unit, inputs, sources, valid = "", assumed = [], low = null, high = null) => {
let explanation;
explanation = P.make(Explanation, [code, inputs, sources, valid, assumed]);
return P.make(Derived, [code, f.loop.id, value, unit, explanation, low, high]);
});
let _ammonia = P.def(["f"], (f) => {
let inputs, raised;
if ((((f.nh3 === null)) || ((f.nh3_highest === null)) || P.t(f.plant_water))) {
return [];
}
inputs = P.dict([["tan", P.or(f.v("tan"), () => 0.0)], ["ph", P.or(f.v("ph"), () => 0.0)], ["temp", P.or(f.v("temp"), () => 0.0)]]);
raised = P.dict([...P.iter(inputs.items()), ["ph", P.add(P.at(inputs, "ph"), DAILY_PH_RISE)]]);
return [P.call(_one, [f, "nh3", f.nh3, "mg/L", inputs, ["emerson1975"]], {"valid": "0-50 °C"}), P.call(_one, [f, "nh3_highest", f.nh3_highest, "mg/L", raised, ["emerson1975", "practice"]], {"valid": "0-50 °C", "assumed": ["afternoon_ph"]})];
});
let _oxygen = P.def(["f"], (f) => {
let do_, full, inputs, made, temp;
[temp, do_] = P.list([f.v("temp"), f.v("do")]);
if (((temp === null))) {
return [];
}
inputs = P.dict([["temp", temp], ["altitude_m", f.s.altitude_m]]);
full = oxygen.saturation_mg_l(temp, f.s.altitude_m);
made = [P.call(_one, [f, "do_saturation", full, "mg/L", inputs, ["benson1984"]], {"valid": "0-40 °C"})];
if ((((do_ !== null)) && ((f.do_pct !== null)))) {
P.m.append(made, _one(f, "do_pct", f.do_pct, "%", P.dict([...P.iter(inputs.items()), ["do", do_]]), ["benson1984"]));
}
return made;
});
let _carbon_dioxide = P.def(["f"], (f) => {
let alk, inputs, ph, sources, temp, value;
[alk, ph, temp] = P.list([f.v("alk"), f.v("ph"), f.v("temp")]);
if ((((alk === null)) || ((ph === null)) || ((temp === null)) || !(((6.0 <= ph) && (ph <= 8.5))))) {
return [];
}
value = carbonate.co2_mg_l(alk, ph, temp);
inputs = P.dict([["alk", alk], ["ph", ph], ["temp", temp]]);
sources = ["plummer1982", "davies1962"];
return [P.call(_one, [f, "co2", value, "mg/L", inputs, sources], {"valid": "pH 6-8.5"})];
});
let _fish = P.def(["f"], (f) => {
let count, high, inputs, low, made, sources;
if (!P.t(f.has_fish)) {
return [];
}
[low, high] = P.list(_biomass_range(f));
count = P.dict([["count", P.float(f.fish_count)]]);
made = [P.call(_one, [f, "biomass", f.biomass_kg, "kg", count, ["student1908"]], {"low": low, "high": high})];
if ((((f.density !== null)) && P.t(f.loop.tank_l))) {
inputs = P.dict([["biomass", f.biomass_kg], ["tank_l", f.loop.tank_l]]);
P.m.append(made, _one(f, "density", f.density, "kg/m³", inputs, ["fao589"]));
}
if (((f.ration_g_day !== null))) {
inputs = P.dict([["biomass", f.biomass_kg], ["temp", P.or(f.v("temp"), () => 0.0)]]);
sources = ["srac282", "fao589", "practice"];
P.m.append(made, _one(f, "ration", f.ration_g_day, "g/day", inputs, sources));
}
return made;
});
let _biomass_range = P.def(["f"], (f) => {
let found, samples;
samples = P.list(f.loop.fish).flatMap((b) => P.t(P.attr(b, "count")) ? [b] : []);
if ((!P.t(samples) || (P.any(P.list(samples).map((b) => !(((2 <= P.len(b.weights_g)) && (P.len(b.weights_g) <= P.attr(b, "count"))))))))) {
return [null, null];
}
found = P.list(samples).map((b) => growth.biomass(b.weights_g, P.attr(b, "count")));
return [P.sum(P.list(found).map((b) => b.kg_low)), P.sum(P.list(found).map((b) => b.kg_high))];
});
let _load = P.def(["f"], (f) => {
let breathed, fed, inputs, made, of, share, sources, used;
made = [];
fed = f.feed_g_day;
if ((!P.t(fed) || !P.t(f.has_fish) || ((f.tan_g_day === null)))) {
return made;
}
inputs = P.dict([["feed", fed], ["protein", f.loop.protein]]);
P.m.append(made, _one(f, "tan_load", f.tan_g_day, "g/day", inputs, ["timmons"]));
used = feed.alkalinity_use_g_day(fed, f.loop.protein);
P.m.append(made, P.call(_one, [f, "alkalinity_use", used, "g/day", inputs, ["ebeling2006"]], {"assumed": ["plants_give_back_part"]}));
breathed = feed.oxygen_g_day(fed);
P.m.append(made, _one(f, "oxygen_demand", breathed, "g/day", P.dict([["feed", fed]]), ["timmons"]));
if ((((f.filter_g_day !== null)) && ((f.media_m2 !== null)) && ((f.filter_g_day > 0)))) {
of = P.dict([["media_m2", f.media_m2], ["temp", P.or(f.v("temp"), () => 0.0)]]);
sources = ["fao589", "timmons", "rusten2006"];
P.m.append(made, _one(f, "filter_capacity", f.filter_g_day, "g/day", of, sources));
share = ((100 * f.tan_g_day) / f.filter_g_day);
of = P.dict([["tan_load", f.tan_g_day], ["filter_capacity", f.filter_g_day]]);
P.m.append(made, _one(f, "filter_share", share, "%", of, sources));
}
if (((f.feed_per_area !== null))) {
of = P.dict([["feed", fed], ["area_m2", f.bed_m2]]);
P.m.append(made, _one(f, "feed_area", f.feed_per_area, "g/m²/day", of, ["fao589"]));
}
return made;
});
let _air_time = P.def(["f"], (f) => {
let assumed, inputs;
if (((f.minutes_without_air === null))) {
return [];
}
inputs = P.dict([["do", P.or(f.v("do"), () => 0.0)], ["temp", P.or(f.v("temp"), () => 0.0)], ["biomass", f.biomass_kg], ["volume_l", f.loop.volume_l], ["limit", f.oxygen_limit]]);
assumed = ["surface_ignored", "others_breathe"];
return [P.call(_one, [f, "minutes_without_air", f.minutes_without_air, "min", inputs, ["practice"]], {"assumed": assumed})];
});
let _days = P.def(["f"], (f) => {
let code, days, events, made;
made = [];
for ([code, events] of P.iter([["days_since_visit", ["visited"]], ["days_since_clean", ["filter_cleaned", "bed_cleaned", "settler_drained"]]])) {
days = f.days_since(...P.iter(events));
if (((days !== null))) {
P.m.append(made, _one(f, code, P.float(days), "days", P.dict([]), []));
}
}
if ((((f.s.filter_age_days !== null)) && P.t(f.cycling))) {
P.m.append(made, _one(f, "cycling_day", P.float(f.s.filter_age_days), "days", P.dict([]), []));
}
return made;
});
return { derive, _one, _ammonia, _oxygen, _carbon_dioxide, _fish, _biomass_range, _load, _air_time, _days };
})();

M["apps.calc.advice.settle"] = (() => {
const guards = M["apps.calc.advice.guards"];
const BICARBONATES = M["apps.calc.advice.doses"].BICARBONATES;
const brings = M["apps.calc.advice.doses"].brings;
const RULES = M["apps.calc.advice.registry"].RULES;
const URGENCIES = M["apps.calc.advice.results"].URGENCIES;
const Held = M["apps.calc.advice.results"].Held;
let BASE_ORDER = ["acid_holds_ammonia", "alkalinity_gone", "water_acid", "ammonia_rising_low_buffer", "alkalinity_low", "rain_diluted", "cycling_base", "potassium_short"];
let NO_BASE_WITH = ["acute_ammonia", "toxic_share_high"];
let WEEK_H = 168.0;
let LEAST_SHARE = 0.1;
class Table extends P.Thing {
static { this.prototype["has"] = P.def([], function (...rules) {
let present;
present = P.set(P.list(this.advice).map((one) => one.rule));
return P.next(P.list(rules).flatMap((code) => (P.has(present, code)) ? [code] : []), "");
}); }
static { this.prototype["hold"] = P.def(["one", "what", "because"], function (one, what, because) {
P.m.append(this.held, P.make(Held, [one.rule, one.loop, what, because]));
return null;
}); }
static { this.prototype["change"] = P.def(["one", "new"], function (one, new_) {
let at;
at = P.m.index(this.advice, one);
P.splice(this.advice, at, (at + 1), (P.t(new_) ? [new_] : []));
return null;
}); }
}
P.dataclass(Table, [["facts", null], ["advice", null], ["held", () => P.list()]]);
let settle = P.def(["facts", "advice"], (facts, advice) => {
let table;
table = P.make(Table, [facts, P.kw.sorted([advice], {"key": ((one) => [one.priority, _rank(one)])})]);
_one_base(table);
_one_change(table);
_base_or_change(table);
_week_of_metals(table);
_iron_and_treatment(table);
_clean_after_doses(table);
_one_word_on_feed(table);
return [table.advice, table.held];
});
let hold_for_fault = P.def(["advice"], (advice) => {
let held, wet;
if (!(P.any(P.list(advice).map((one) => P.eq(one.rule, "fault_current"))))) {
return [advice, []];
}
wet = P.list(advice).flatMap((one) => P.t(P.at(RULES, one.rule).wet) ? [one] : []);
held = P.list(wet).map((one) => P.make(Held, [one.rule, one.loop, "advice", "fault_current"]));
return [P.list(advice).flatMap((one) => !P.t(P.at(RULES, one.rule).wet) ? [one] : []), held];
});
let in_order = P.def(["advice"], (advice) => {
return P.kw.sorted([advice], {"key": ((one) => [P.m.index(URGENCIES, one.urgency), one.priority, one.rule])});
});
let _rank = P.def(["one"], (one) => {
return ((P.has(BASE_ORDER, one.rule)) ? P.m.index(BASE_ORDER, one.rule) : P.len(BASE_ORDER));
});
let _without_dose = P.def(["one", "because"], (one, because) => {
let params;
params = P.dict([...P.iter(one.params.items()), ["no_dose", because]]);
return P.kw.replace([one], {"dose": null, "unit": "", "substance": "", "steps": [], "params": params});
});
let _gives_base = P.def(["one"], (one) => {
return P.and((one.dose !== null), () => P.has(BICARBONATES, one.substance));
});
let _one_base = P.def(["table"], (table) => {
let because, code, given, one, stop;
stop = table.has(...P.iter(NO_BASE_WITH));
given = "";
for (code of P.iter(BASE_ORDER)) {
one = P.next(P.list(table.advice).flatMap((a) => ((P.eq(a.rule, code)) && P.t(_gives_base(a))) ? [a] : []), null);
if (((one === null))) {
continue;
}
if ((P.t(stop) || P.t(given))) {
because = P.or(stop, () => given);
table.hold(one, "dose", because);
table.change(one, _without_dose(one, (P.t(given) ? "other_base" : "no_base_now")));
} else {
given = code;
}
}
return null;
});
let _one_change = P.def(["table"], (table) => {
let given, one, params;
given = "";
for (one of P.iter(P.list(table.advice))) {
if (((one.change_fraction === null))) {
continue;
}
if (P.t(given)) {
table.hold(one, "change", given);
params = P.dict([...P.iter(one.params.items()), ["no_change", "other_change"]]);
table.change(one, P.kw.replace([one], {"change_fraction": null, "params": params}));
}
given = P.or(given, () => one.rule);
}
return null;
});
let _base_or_change = P.def(["table"], (table) => {
let base, change, params;
base = P.next(P.list(table.advice).flatMap((one) => P.t(_gives_base(one)) ? [one] : []), null);
change = P.next(P.list(table.advice).flatMap((one) => ((one.change_fraction !== null)) ? [one] : []), null);
if ((((base === null)) || ((change === null)) || ((base === change)) || P.t(table.facts.plant_water))) {
return null;
}
if (((P.m.index(table.advice, base) < P.m.index(table.advice, change)))) {
table.hold(change, "change", base.rule);
params = P.dict([...P.iter(change.params.items()), ["no_change", "base_today"]]);
table.change(change, P.kw.replace([change], {"change_fraction": null, "params": params}));
} else {
table.hold(base, "dose", change.rule);
table.change(base, _without_dose(base, "change_today"));
}
return null;
});
let _week_of_metals = P.def(["table"], (table) => {
let f, kept, metal, mg_l, one, room, share, step;
f = table.facts;
room = P.dict([["k", guards.potassium_room(f)], ["na", guards.sodium_room(f)]]);
for (one of P.iter(P.list(table.advice))) {
if (!P.t(one.steps)) {
continue;
}
kept = [];
for (step of P.iter(one.steps)) {
share = _share_within(step, room, f.loop.volume_l);
if (((share < LEAST_SHARE))) {
continue;
}
P.m.append(kept, P.kw.replace([step], {"dose": (step.dose * share)}));
for ([metal, mg_l] of P.iter(P.m.items(brings(step.substance, P.at(kept, (-1)).dose, f.loop.volume_l)))) {
if (((P.has(room, metal)) && ((step.after_hours < WEEK_H)))) {
P.put(room, metal, P.sub(P.at(room, metal), mg_l));
}
}
}
if (((P.sum(P.list(kept).map((s) => s.dose)) < (P.sum(P.list(one.steps).map((s) => s.dose)) - 1e-06)))) {
table.hold(one, "dose", "week_of_metals");
table.change(one, _with_steps(one, P.tuple(kept)));
}
}
return null;
});
let _share_within = P.def(["step", "room", "volume_l"], (step, room, volume_l) => {
let brought, shares;
if (((step.after_hours >= WEEK_H))) {
return 1.0;
}
brought = brings(step.substance, step.dose, volume_l);
shares = P.list(room).flatMap((m) => ((P.at(brought, m) > 1e-09)) ? [(P.at(room, m) / P.at(brought, m))] : []);
return P.max(0.0, P.min([1.0, ...P.iter(P.list(shares).map((share) => (share + 1e-09)))]));
});
let _with_steps = P.def(["one", "steps"], (one, steps) => {
let first, params;
if (!P.t(steps)) {
return _without_dose(one, "no_room_for_salt");
}
first = P.at(steps, 0);
params = P.dict([...P.iter(one.params.items()), ["total_g", P.sum(P.list(steps).map((step) => step.dose))]]);
return P.kw.replace([one], {"dose": first.dose, "substance": first.substance, "steps": steps, "params": params});
});
let _iron_and_treatment = P.def(["table"], (table) => {
let one;
if (!P.t(table.facts.within_days(2, "medicated"))) {
return null;
}
for (one of P.iter(P.list(table.advice))) {
if (P.t(P.m.startswith(one.substance, "Fe-EDDHA"))) {
table.hold(one, "dose", "treatment");
table.change(one, _without_dose(one, "treatment"));
}
}
return null;
});
let _clean_after_doses = P.def(["table"], (table) => {
let dosing, one;
dosing = P.next(P.list(table.advice).flatMap((one) => P.t(one.steps) ? [one.rule] : []), "");
for (one of P.iter(P.list(table.advice))) {
if ((P.t(P.at(RULES, one.rule).cleans) && P.t(dosing) && (!P.eq(dosing, one.rule)))) {
table.hold(one, "postponed", dosing);
table.change(one, P.kw.replace([one], {"not_before_hours": 24.0}));
}
}
return null;
});
let _one_word_on_feed = P.def(["table"], (table) => {
let hours, least, limit, one, params, said;
limit = guards.feed_percent(table.facts);
said = P.list(table.advice).flatMap((one) => ((one.feed_percent !== null)) ? [one.feed_percent] : []);
if ((!P.t(said) && ((limit === null)))) {
return null;
}
least = P.min([...P.iter(said), ...P.iter((((limit !== null)) ? [limit] : []))]);
hours = P.kw.max([P.list(table.advice).flatMap((a) => (P.eq(a.feed_percent, least)) ? [P.or(a.feed_hours, () => 0.0)] : [])], {"default": 24.0});
for (one of P.iter(P.list(table.advice))) {
if ((((one.feed_percent !== null)) && (!P.eq(one.feed_percent, least)))) {
table.hold(one, "feed", _strictest(table, least));
table.change(one, P.kw.replace([one], {"feed_percent": least, "feed_hours": hours}));
} else {
if (((P.has(one.params, "feed_g")) && (P.eq(one.rule, "nitrogen_short")))) {
table.hold(one, "feed", _strictest(table, least));
params = P.dict(P.list(P.m.items(one.params)).flatMap(([k, v]) => (!P.eq(k, "feed_g")) ? [[k, v]] : []));
table.change(one, P.kw.replace([one], {"params": params}));
}
}
}
return null;
});
let _strictest = P.def(["table", "least"], (table, least) => {
return P.next(P.list(table.advice).flatMap((one) => (P.eq(one.feed_percent, least)) ? [one.rule] : []), "feed_guard");
});
return { BASE_ORDER, NO_BASE_WITH, WEEK_H, LEAST_SHARE, Table, settle, hold_for_fault, in_order, _rank, _without_dose, _gives_base, _one_base, _one_change, _base_or_change, _week_of_metals, _share_within, _with_steps, _iron_and_treatment, _clean_after_doses, _one_word_on_feed, _strictest };
})();

M["apps.calc.advice.assess"] = (() => {
const derive = M["apps.calc.advice.derived"].derive;
const Facts = M["apps.calc.advice.facts"].Facts;
const JUDGED = M["apps.calc.advice.fallback"].JUDGED;
const RULES = M["apps.calc.advice.registry"].RULES;
const Assessment = M["apps.calc.advice.results"].Assessment;
const Judgement = M["apps.calc.advice.results"].Judgement;
const NotTrusted = M["apps.calc.advice.results"].NotTrusted;
const hold_for_fault = M["apps.calc.advice.settle"].hold_for_fault;
const in_order = M["apps.calc.advice.settle"].in_order;
const settle = M["apps.calc.advice.settle"].settle;
const IN_BAND = M["apps.calc.judgement"].IN_BAND;
const MEASURE_AGAIN = M["apps.calc.judgement"].MEASURE_AGAIN;
let assess = P.def(["situation", "bands"], (situation, bands) => {
let advice, derived, drafts, facts, for_fault, held, index, judgements, loop, settled, withheld;
derived = [];
judgements = [];
advice = [];
held = [];
for ([index, loop] of P.iter(P.enumerate(situation.loops))) {
facts = P.make(Facts, [situation, loop, bands]);
derived = P.add(derived, derive(facts));
judgements = P.add(judgements, _judgements(facts));
drafts = P.call(_drafts, [facts], {"main": P.eq(index, 0)});
[settled, withheld] = P.list(settle(facts, drafts));
advice = P.add(advice, settled);
held = P.add(held, withheld);
}
[advice, for_fault] = P.list(hold_for_fault(advice));
return P.make(Assessment, [P.tuple(derived), P.tuple(judgements), P.tuple(in_order(advice)), P.tuple(_not_trusted(situation)), [...P.iter(held), ...P.iter(for_fault)]]);
});
let _drafts = P.def(["facts", "main"], (facts, main) => {
let answered, asked, drafts, more, one;
asked = P.list(P.m.values(RULES)).flatMap((one) => (P.t(main) || !P.t(one.once)) ? [one] : []);
drafts = _fired(facts, P.list(asked).flatMap((one) => !P.t(one.fallback) ? [one] : []));
answered = P.set(P.list(drafts).flatMap((draft) => P.list(draft.answers).map((what) => what)));
if ((P.any(P.list(drafts).map((draft) => (draft.feed_percent !== null))))) {
P.m.add(answered, "feed.high");
}
for (one of P.iter(asked)) {
if ((P.t(one.fallback) && !P.t(P.m.intersection(answered, one.answers)))) {
more = _fired(facts, [one]);
drafts = P.add(drafts, more);
if ((P.any(P.list(more).map((draft) => (draft.feed_percent !== null))))) {
P.m.add(answered, "feed.high");
}
}
}
return drafts;
});
let _fired = P.def(["facts", "rules"], (facts, rules) => {
let found;
found = P.list(rules).map((one) => one.advice(facts));
return P.list(found).flatMap((draft) => ((draft !== null)) ? [draft] : []);
});
let _judgements = P.def(["facts"], (facts) => {
let made, measurand;
made = [];
for (measurand of P.iter(JUDGED)) {
made = P.add(made, _judged(facts, measurand));
}
return made;
});
let _judged = P.def(["facts", "measurand"], (facts, measurand) => {
let band, reading, side, used, value, word;
reading = P.m.get(facts.loop.readings, measurand);
band = facts.band(measurand);
if ((((band.t_lo === null)) && ((band.t_hi === null)))) {
return [];
}
if ((((reading !== null)) && !P.t(reading.trusted))) {
return [P.make(Judgement, [facts.loop.id, measurand, reading.value, MEASURE_AGAIN, "", band.context, "unknown", reading.id])];
}
value = facts.judged(measurand);
if (((value === null))) {
return [];
}
word = facts.word(measurand);
side = ((P.eq(word, IN_BAND)) ? "" : facts.side(measurand));
used = (P.t(reading) ? reading.id : "");
return [P.make(Judgement, [facts.loop.id, measurand, value, word, side, band.context, facts.trend(measurand), used])];
});
let _not_trusted = P.def(["situation"], (situation) => {
return P.list(situation.loops).flatMap((loop) => P.list(P.sorted(P.m.items(loop.readings))).flatMap(([code, reading]) => !P.t(reading.trusted) ? [P.make(NotTrusted, [loop.id, code, reading.value, P.or(reading.doubt, () => "not_trusted"), reading.id])] : []));
});
return { assess, _drafts, _fired, _judgements, _judged, _not_trusted };
})();

M["apps.calc.advice.today"] = (() => {
const Germination = M["apps.calc.advice.situation"].Germination;
const Reading = M["apps.calc.advice.situation"].Reading;
class Taken extends P.Thing {
}
P.dataclass(Taken, [["loop", null], ["measurand", null], ["value", null], ["age_h", () => 0.0], ["trusted", () => true], ["after", () => false], ["hour", () => null], ["method", () => ""], ["doubt", () => ""], ["id", () => ""]]);
let with_readings = P.def(["known", "taken", "elapsed_h"], (known, taken, elapsed_h = 0.0) => {
let loops, out;
loops = P.tuple(P.list(known.loops).map((loop) => _loop(loop, P.list(taken).flatMap((one) => (P.eq(one.loop, loop.id)) ? [one] : []), elapsed_h)));
out = P.list(taken).flatMap((one) => ((P.eq(one.measurand, "outage")) && ((one.value > 0))) ? [one.value] : []);
return P.kw.replace([known], {"loops": loops, "outage_minutes": (P.t(out) ? P.max(out) : known.outage_minutes), "germination": [...P.iter(known.germination), ...P.iter(_came_up(known, taken))]});
});
let _came_up = P.def(["known", "taken"], (known, taken) => {
return P.list(known.loops).flatMap((loop) => P.list(taken).flatMap((one) => ((P.eq(one.loop, loop.id)) && (P.eq(one.measurand, "germination")) && P.t(one.trusted) && P.t(loop.sown_crop)) ? [P.make(Germination, [loop.sown_crop, one.value])] : []));
});
let _loop = P.def(["loop", "taken", "elapsed_h"], (loop, taken, elapsed_h) => {
let fed, feed, flow, one, readings;
readings = P.dict(P.list(P.m.items(loop.readings)).map(([code, reading]) => [code, P.kw.replace([reading], {"age_h": P.add(reading.age_h, elapsed_h)})]));
for (one of P.iter(P.kw.sorted([taken], {"key": ((one) => [one.after, (-one.age_h)])}))) {
P.put(readings, one.measurand, P.make(Reading, [one.value, one.age_h, one.trusted, one.hour, one.method, one.doubt, one.id]));
}
[feed, flow, fed] = P.list([P.m.get(readings, "feed"), P.m.get(readings, "flow"), P.m.get(readings, "fed_ago")]);
if ((((flow !== null)) && P.t(loop.pump_l_h))) {
P.put(readings, "flow_pct", P.kw.replace([flow], {"value": (((100 * flow.value) * 60) / loop.pump_l_h)}));
}
return P.kw.replace([loop], {"readings": P.dict(P.list(P.m.items(readings)).flatMap(([code, reading]) => (!P.eq(code, "feed")) ? [[code, reading]] : [])), "second": P.dict([...P.iter(loop.second.items()), ...P.iter(_second(taken).items())]), "feed_g_day": (((feed !== null)) ? feed.value : loop.feed_g_day), "fed_hours_ago": (((fed !== null)) ? P.add(fed.value, fed.age_h) : loop.fed_hours_ago), "ph_swing": _swing(loop, taken)});
});
let _swing = P.def(["loop", "taken"], (loop, taken) => {
let by_method, one, spans;
spans = (((loop.ph_swing !== null)) ? [loop.ph_swing] : []);
by_method = P.dict([]);
for (one of P.iter(taken)) {
if (((P.eq(one.measurand, "ph")) && P.t(one.trusted) && !P.t(one.after))) {
P.put(by_method, one.method, [...P.iter(P.m.get(by_method, one.method, [])), one.value]);
}
}
spans = P.add(spans, P.list(P.m.values(by_method)).flatMap((values) => ((P.len(values) > 1)) ? [P.sub(P.max(values), P.min(values))] : []));
return (P.t(spans) ? P.max(spans) : null);
});
let _second = P.def(["taken"], (taken) => {
let found, one;
found = P.dict([]);
for (one of P.iter(taken)) {
if ((P.t(one.trusted) && !P.t(one.after))) {
if ((!P.has(found, one.measurand))) {
P.put(found, one.measurand, P.dict([]));
}
P.put(P.at(found, one.measurand), one.method, one.value);
}
}
return P.dict(P.list(P.m.items(found)).flatMap(([code, values]) => ((P.len(values) > 1)) ? [[code, P.at(P.list(P.m.values(values)), 1)]] : []));
});
return { Taken, with_readings, _came_up, _loop, _swing, _second };
})();

M["apps.calc.advice.cautions"] = (() => {
let _ = P.str;
let CAUTIONS = P.dict([["goggles", _("Wear gloves and goggles; keep powders off skin and eyes.")], ["dissolve_first", _("Dissolve in a bucket of system water first and pour slowly into the sump, pumps running.")], ["test_before_next", _("Test again before each next step.")], ["stop_and_call", _("Stop and call us if fish gasp or the pH moves by more than 0.2.")], ["match_water", _("New water within 2 °C and 0.3 pH of the tank.")], ["dechlorinate", _("Tap water holds chlorine: treat it before it goes in, and never leave a hose running.")], ["discharge", _("Old water goes to your own soil garden, not into a drain or stream; local rules decide.")], ["no_base_now", _("Do not raise the pH now: it makes ammonia more toxic.")], ["air_on", _("All air on first.")], ["no_acid_in_fish_water", _("Never put acid into fish water.")], ["no_bed_clean_now", _("Do not clean the beds or the biofilter now.")], ["biosecurity", _("Disinfect nets and tools; move nothing between places without a check for disease.")], ["fast_lime_kills", _("Raising the pH fast turns this ammonia deadly.")], ["salt_and_plants", _("Sodium and chloride build up and harm beans and strawberries first.")], ["calcium_chloride_apart", _("Never mix calcium chloride with phosphate, sulfate or bicarbonate in one bucket.")], ["do_not_dilute_chloride", _("Do not dilute the chloride while nitrite is up.")], ["kit_error_at_low_alkalinity", _("At this level the kit may be wrong by all of its reading: small steps, measure again after an hour.")], ["acid_into_water", _("Acid into water, never water into acid; open air, gloves and goggles.")], ["acid_source_only", _("Only into the source barrel, never into a tank with fish.")], ["trained_only", _("Only by trained people.")], ["no_oxygen_chemicals", _("No chemicals as a source of oxygen.")], ["no_random_medicine", _("No medicine without the word of a fish-health professional: plants take it up.")], ["chloramine_frees_ammonia", _("Chloramine leaves ammonia behind: test it for 24 hours.")], ["open_air", _("Work in open air: the gas is poisonous. Keep the stirred water away from the fish.")], ["no_algicide", _("No algicide: copper kills fish, filter and plants.")], ["do_not_overfeed", _("Do not overfeed to feed the plants.")], ["no_nitrogen_salts_with_fish", _("No nitrate or ammonium fertiliser where fish live.")], ["eddha_red", _("EDDHA colours the water red and hides the fish; that is normal.")], ["no_hydroxide", _("Never a hydroxide for this.")], ["pellet_must_split", _("A pellet must get wet through and not dry again.")], ["no_fungicide", _("No fungicide.")], ["nothing_drips", _("Nothing may drip into the water: soap harms gills.")], ["no_insecticide", _("No pyrethrum, neem or garden spray: they harm fish or the filter.")], ["label_dose", _("By the label; where a licence is needed, by people who hold it.")], ["harvest_hold_if_treated", _("If treated: nothing is eaten until the hold ends.")], ["do_not_eat_dead_fish", _("Do not eat fish found dead; gloves, bag, bin.")], ["test_after_clean", _("Test ammonia for five days after cleaning.")], ["sludge_off_leaves", _("No sludge on leaves that are eaten.")], ["unplug_first", _("Unplug before hands go into the water.")], ["electrician_only", _("Only a licensed electrician; nobody touches the water.")], ["battery", _("Do not short the poles; charge outdoors.")], ["no_fish_while_cycling", _("Only while no fish are in the system.")]]);
return { _, CAUTIONS };
})();

M["apps.calc.advice.texts"] = (() => {
let _ = P.str;
let TEXTS = P.dict([["acute_ammonia", _("Ammonia is at a harmful level ({nh3} un-ionised, {tan} in all): run all air, take out dead fish and old feed, and do not raise the pH.")], ["toxic_share_high", _("Ammonia is too high for this pH and temperature ({nh3} un-ionised at the day's highest pH, {tan} in all): shade the water, give no base, and test the pH of the source water.")], ["ammonia_above_filter", _("Ammonia ({tan}) is more than the filter takes: rinse the mechanical filter in system water and check alkalinity and the oxygen leaving the filter.")], ["ammonia_rising_low_buffer", _("Ammonia has risen three times running ({tan}) while alkalinity is short ({alk}): the filter lacks carbonate.")], ["filter_hurt", _("Ammonia ({tan}) is rising {days} days after the filter was disturbed: bring in ripe media from a healthy, checked system and test daily.")], ["acid_holds_ammonia", _("The water is acid (pH {ph}) and holds ammonia ({tan}) that is harmless now and turns toxic when the pH is raised fast: raise it slowly, at most 0.2 a day.")], ["nitrite_harmful", _("Nitrite ({no2}) is at a harmful level: run all air; after the water change bring chloride to ten times the nitrite.")], ["nitrite_young_filter", _("Nitrite ({no2}) is raised because the filter is still growing: keep chloride at ten times the nitrite and wait.")], ["nitrite_old_filter", _("Nitrite ({no2}) is raised in a ripe filter: look for sludge pockets, cold, or too little oxygen in the filter, and clean half of it at most.")], ["alkalinity_gone", _("Alkalinity ({alk}) is nearly used up and the pH may fall within days: give one small step of base and measure again after an hour.")], ["alkalinity_low", _("Alkalinity is low ({alk}): raise it in small daily steps, then hold it.")], ["water_acid", _("The water is too acid (pH {ph}): the filter has used up the buffer.")], ["source_hard_alkaline", _("pH ({ph}) and alkalinity ({alk}) are both high: blend the source with rain water, test the media with vinegar, and treat only water in the source barrel, aired for 24 hours.")], ["afternoon_ph_swing", _("The pH swings by {swing} within a day at {percent} oxygen: that is algae. Shade all open water, net the algae out and measure at dawn.")], ["ph_methods_disagree", _("Two methods give pH {first} and {second}: calibrate the meter at 7 and 4 with fresh buffer, check it in a third buffer, and use new drops.")], ["rain_diluted", _("Alkalinity fell by {alk_drop} and conductivity by {ec_drop}: rain has diluted the water. Fit a screened overflow.")], ["oxygen_emergency", _("Oxygen is dangerously low ({do}): start the backup air now, splash and pour, move some fish to clean aerated water, and look for the cause.")], ["oxygen_of_cold_water", _("Oxygen is high ({do}, {percent} of saturation) because the water is cold: nothing to do.")], ["oxygen_low", _("Oxygen is low ({do}): add an air line, also at night, and shade the tank. Feed again only when {feed_from} or more is measured, in the middle of the morning.")], ["gasping_water_good", _("Fish gasp though oxygen, nitrite and ammonia are good: test for chlorine, ask about smoke or sprays, and photograph the gills.")], ["gasping", _("Fish gasp at the surface: start the backup air now, then test oxygen, ammonia, nitrite and chlorine.")], ["gills_to_fish_health", _("Have a fish-health professional look at the gills.")], ["oxygen_short_for_feed", _("The feed asks for {demand} of oxygen a day and the air brings about {supply}: add air up to {air_l_min}, or feed at most {feed_g}.")], ["chlorine_found", _("The test shows chlorine ({chlorine}): treat the whole loop at once and run all air. Ascorbic acid serves as well: {ascorbic_g}.")], ["nitrate_high", _("Nitrate ({no3}) is more than the plants use: plant a quarter more, and let some water go to the soil garden.")], ["salt_built_up", _("Salt has built up: renew water over two weeks, with rain water, and use potassium bicarbonate instead of sodium bicarbonate.")], ["rotten_pockets", _("A smell of rotten eggs means sludge without oxygen: find the dead corner, air it, and clean half of the bed or the settler.")], ["algae", _("Green water or string algae live on light: cover tank, holes and pots, keep the air on all night; three to four dark days or a UV lamp help.")], ["cloudy_white", _("Cloudy white water comes from too much feed: check the mechanical filter and measure oxygen.")], ["nitrogen_short", _("The plants are short of nitrogen: too little feed for {area} of bed. Feed up to the table, or take out a quarter of the plants.")], ["fruit_hungry", _("The water is thin for fruiting crops (conductivity {ec}; they want {target_ec}).")], ["potassium_short", _("Potassium is short ({k}) and the plants show it.")], ["iron_short", _("New leaves yellow between green veins show a lack of iron; bring it to 2 mg/L with the chelate that fits the pH, every three weeks.")], ["magnesium_short", _("Old leaves yellow between the veins show a lack of magnesium; a 1–2 % spray on the leaves helps too.")], ["phosphorus_short", _("Phosphorus is short ({po4}); cold roots show the same sign.")], ["blossom_end_rot", _("Black blossom ends mean that calcium does not reach the fruit: water evenly, with shorter dry times, lower the conductivity by 0.3 mS/cm and take off the spoilt fruit.")], ["tip_burn", _("Brown tips inside lettuce come from still, humid air and fast growth: move the air with a fan, shade by a third, lower the conductivity and harvest five days earlier. Spraying calcium does not reach the heart.")], ["leaf_salt_burn", _("Leaf edges are burnt and conductivity is high ({ec}): let {litres} of the plant water go to the soil garden and fill up with fresh.")], ["germination_poor", _("Only {percent} came up: take a new lot, keep seed sealed at 2–8 °C, and sow on the surface.")], ["cool_crop_slow", _("Spinach and parsley come up cool: sow them at 10–18 °C.")], ["seedlings_fail", _("Seedlings that fall or grow thin want fresh medium, less water, moving air, more light, and no system water.")], ["bolting", _("The plants bolt: harvest now, shade, choose kinds that stand heat, and keep the roots at 18–22 °C.")], ["roots_rot", _("The roots rot: bring oxygen at the roots over 5 mg/L and the water under 25 °C, take out sick plants and clean the raft.")], ["wilting_white_roots", _("Plants wilt though the roots are not brown: check for a clogged line, a pot that does not touch the water, and heat.")], ["no_fruit_set", _("Flowers drop without fruit: shake or brush them at noon, and shade in heat.")], ["aphids", _("Aphids: wash them off with a jet of water over a cloth on the land side, bring in ladybirds or parasitoids, cut off tips. Soap only as a spot spray on plants lifted out.")], ["whitefly", _("Whitefly: yellow cards, Encarsia, screens; Beauveria by its label on a dry day.")], ["caterpillars", _("Caterpillars: pick by hand; Bt kurstaki by its label.")], ["mildew", _("Mildew: give the plants more room and spray potassium bicarbonate, 5 g/L, on a dry day.")], ["mosquito_larvae", _("Mosquito larvae: screen openings, empty saucers, use Bti by its label.")], ["flashing_water_good", _("Fish rub themselves though the water is good: set them apart and have a fish-health professional look with a microscope before anything is done.")], ["disease_signs", _("Fish show signs of disease: keep nets and tools apart, move sick fish to a separate tank, and call a fish-health professional.")], ["feed_refused", _("Fish leave feed: take out what is left, and check temperature, oxygen, ammonia and the age of the feed.")], ["too_many_fish", _("There are more fish than this system should carry: harvest, add air, and stock no more.")], ["filter_short", _("The feed makes more ammonia than the filter takes: {needed_m2} of media are needed ({more_m2} more), or feed at most {feed_g}.")], ["too_cold_to_feed", _("The water ({temp}) is below the feeding temperature of these fish ({feed_min}): do not handle them.")], ["too_hot", _("The water is hot ({temp}): feed only at dawn, run all air, shade the tank, and exchange some water at dawn.")], ["deaths", _("Too many fish die ({dead} in two days): do the full test, call a fish-health professional, move no fish or tools, and harvest no fish.")], ["growth_poor", _("Feed turns poorly into fish: net and grade, count again, score the feeding, and check the age of the feed.")], ["off_flavour", _("Fish taste of earth: keep them 3–7 days unfed in clean aerated water before harvest.")], ["bed_full_of_sludge", _("The bed is full of sludge: clean half of it, drain the settler twice a week, and check that 10–20 L/min reach each square metre.")], ["settler_stale", _("The settler smells: drain it every two to three days and shorten its pipe.")], ["flow_low", _("The flow is at {percent} of what it was: clean the strainer, then the pump; else fit the spare pump.")], ["air_stopped", _("The air has stopped: start the backup air now and look for the cause.")], ["siphon_stuck", _("The siphon does not work: set the flow so that the bed fills in 10–20 minutes, clean the bell, and check the air tube.")], ["leak_suspected", _("Water is being lost: compare with a bucket for 24 hours, then shut off bed after bed.")], ["level_low", _("The water stands {mm} under its mark: top up with water free of chlorine and look for the reason.")], ["metal_found", _("Copper or zinc may be in the water: take the metal out and run carbon.")], ["power_cut", _("The power is out: backup air first, note the time, open the lid; without air splash with a bucket, five minutes in every ten. Restart the pump slowly and test ammonia and nitrite for three days.")], ["fault_current", _("There may be a fault current: switch everything off at the board and stay away from the water; call an electrician. Battery air may run if it is reached without touching water or metal.")], ["rcd_dead", _("The RCD does not trip: put everything on it out of use until an electrician has seen it. Battery air first.")], ["backup_battery_low", _("The backup battery is weak ({volts}): charge it outdoors and test it again, or renew it.")], ["impossible_reading", _("These readings cannot be right: {measurands}. Check unit and decimal point, and measure again.")], ["measure_again", _("These readings are not trusted: {measurands}. Measure again with a kit in date and a meter that passed its check.")], ["feed_spoilt", _("The feed is spoilt: put it in the bin and open a new bag; use it within 60 days.")], ["harvest_hold", _("Do not eat what was treated with {product} until {until}.")], ["cycling_dose", _("Day {day} of bringing the filter in: ammonia ({tan}) is used up, give the next dose.")], ["cycling_base", _("Bringing a filter in uses much alkalinity ({alk}): raise it.")], ["cycling_on_course", _("Day {day} of bringing the filter in: this is usual, wait. It is expected to be ready about day {ready_day}.")], ["cycling_stalled", _("Day {day} of bringing the filter in and not ready (expected about day {ready_day}): look for what holds it back.")], ["temp_below_band", _("The water ({value}) is cooler than these fish or roots like ({limit}): cover and insulate.")], ["temp_above_band", _("The water ({value}) is warmer than these fish or roots like ({limit}): shade, more air, top up at dawn.")], ["ph_below_band", _("pH {value} is under the target ({limit}): watch it weekly and measure alkalinity.")], ["ph_above_band", _("pH {value} is over the target ({limit}): test the source water and the media, stop bases, and watch ammonia.")], ["alk_below_band", _("Alkalinity ({value}) nears the lower end of its target ({limit}): measure again next week.")], ["alk_above_band", _("Alkalinity ({value}) is over the target ({limit}): stop bases and blend the top-up with rain water.")], ["tan_above_band", _("Ammonia ({value}) is over the target ({limit}): measure pH and temperature, rinse the mechanical filter and test again.")], ["nh3_above_band", _("Un-ionised ammonia ({value}) is over its limit ({limit}): give no base and test again in the late afternoon.")], ["no2_above_band", _("Nitrite ({value}) is over the target ({limit}): test again and look at the filter's oxygen.")], ["no3_below_band", _("Nitrate ({value}) is under the target ({limit}): the plants may want more feed or fish.")], ["no3_above_band", _("Nitrate ({value}) is over the target ({limit}): more plants, or renew some water.")], ["do_below_band", _("Oxygen ({value}) is under the target ({limit}): check the air stones and measure at dawn.")], ["do_above_band", _("Oxygen ({value}) is over the target ({limit}): look for algae and measure at dawn; check the probe.")], ["ec_below_band", _("Conductivity ({value}) is under the target ({limit}): feed the plants a little more, in small steps.")], ["ec_above_band", _("Conductivity ({value}) is over the target ({limit}): renew some of the plant water.")], ["k_below_band", _("Potassium ({value}) is under the target ({limit}): prefer potassium bases and watch old leaves.")], ["k_above_band", _("Potassium ({value}) is over the target ({limit}): prefer calcium bases.")], ["ca_below_band", _("Calcium ({value}) is under the target ({limit}): prefer calcium bases and watch fruit and lettuce tips.")], ["ca_above_band", _("Calcium ({value}) is over the target ({limit}): prefer potassium bases; rain water for the top-up.")], ["mg_below_band", _("Magnesium ({value}) is under the target ({limit}): watch old leaves.")], ["mg_above_band", _("Magnesium ({value}) is over the target ({limit}): rain water for the top-up.")], ["po4_below_band", _("Phosphate ({value}) is under the target ({limit}): watch for purple leaves.")], ["po4_above_band", _("Phosphate ({value}) is over the target ({limit}): drain solids more often.")], ["fe_below_band", _("Iron ({value}) is under the target ({limit}): the next dose is near.")], ["fe_above_band", _("Iron ({value}) is over the target ({limit}): leave out the next dose.")], ["na_above_band", _("Sodium ({value}) is over the target ({limit}): no sodium bicarbonate; find where it comes from.")], ["cl_above_band", _("Chloride ({value}) is over the target ({limit}): look at the source water.")], ["chlorine_above_band", _("Chlorine ({value}) in the plant water: let it stand aired for a day.")], ["flow_pct_below_band", _("The flow is at {value} of what it was: clean the strainer.")], ["flow_pct_above_band", _("The flow is at {value} of what it was: check valves on their marks and the measurement.")], ["density_above_band", _("{value} of fish in the tank are over {limit}: plan a harvest.")], ["feed_area_below_band", _("Feed per bed area ({value}) is under the usual {limit}: the plants may go short.")], ["feed_area_above_band", _("Feed per bed area ({value}) is over the usual {limit}: nitrate will build up.")], ["batt_below_band", _("The backup battery ({value}) is under {limit}: charge it and read it off the charger.")], ["batt_above_band", _("The backup battery reads {value}, over {limit}: read it again off the charger.")], ["feed_held_back", _("The water allows less feed than usual.")]]);
let EXTRAS = P.dict([[["acute_ammonia", "litres"], _("Half an hour after each part, test again.")], [["oxygen_emergency", "minutes"], _("Without air the fish may have only about {minutes}, counted cautiously: air on now.")], [["oxygen_low", "warm_c"], _("At {warm_c} water holds only {holds}.")], [["oxygen_low", "harvest_kg"], _("Harvest the biggest fish, about {harvest_kg}.")], [["chlorine_found", "repeat_test"], _("The fish look calm: repeat the test once; no colour means below what the kit can tell.")], [["chlorine_found", "freed_n"], _("Where the utility uses chloramine this frees about {freed_n} of ammonia: test ammonia for 24 hours.")], [["alkalinity_low", "daily_g"], _("To hold it, about {daily_g} of potassium bicarbonate a day; test again after three days.")], [["alkalinity_low", "left_caco3_g"], _("What is left after this week's potassium comes from calcium carbonate: {left_caco3_g} in a bag in the flow.")], [["water_acid", "air_out"], _("Alkalinity is enough: the acid is carbon dioxide. Air the water a little more and test the pH again after an hour.")], [["salt_built_up", "na"], _("Sodium is at {na}.")], [["salt_built_up", "cl"], _("Chloride is at {cl}.")], [["nitrogen_short", "feed_g"], _("By the table the fish can take {feed_g}.")], [["nitrogen_short", "add_kg"], _("After quarantine there is use and room for about {add_kg} more fish.")], [["fruit_hungry", "ec_step"], _("Give complete plant feed in steps of {ec_step} a day for {days} days.")], [["germination_poor", "limit_c"], _("It was sown at {temp}; above {limit_c} this seed fails.")], [["rotten_pockets", "young"], _("The filter is young: do not clean it, only add air.")], [["bed_full_of_sludge", "young"], _("The filter is young: wait with cleaning.")], [["disease_signs", "transfer"], _("Stop the transfer to the plants.")], [["too_many_fish", "harvest_kg"], _("About {harvest_kg} should come out.")], [["too_many_fish", "share_percent"], _("Their feed uses {share_percent} of the filter.")], [["too_cold_to_feed", "resting"], _("For these fish this is winter rest and no alarm.")], [["power_cut", "minutes"], _("Counted cautiously the fish have about {minutes} without air: air on now.")], [["power_cut", "past"], _("It has been out for {out}, longer than that.")], [["leak_suspected", "topup"], _("{topup} were topped up where {expected} are usual.")], [["leak_suspected", "dry"], _("Pump off, air on, close the bed valves.")], [["settler_stale", "low_l"], _("Each time {low_l} to {high_l}.")], [["growth_poor", "conversion"], _("{conversion} of feed went into each kilogram gained.")], [["growth_poor", "spread_percent"], _("Sizes differ by {spread_percent}: the big ones eat the small.")], [["growth_poor", "missing"], _("Fish are missing: check net and lid against birds.")], [["cycling_stalled", "causes"], _("Found so far: {causes}.")], [["no_fruit_set", "air"], _("The air was at {air}.")]]);
let OF_THE_OFFICE = P.dict([["dosing_plan", _("Dosing plan for {measurands}: measure before each step and stop if it does not agree.")]]);
return { _, TEXTS, EXTRAS, OF_THE_OFFICE };
})();

M["apps.calc.advice.sentences"] = (() => {
const CLIENT = M["apps.calc.advice.results"].CLIENT;
const NOW = M["apps.calc.advice.results"].NOW;
const Step = M["apps.calc.advice.results"].Step;
const EXTRAS = M["apps.calc.advice.texts"].EXTRAS;
const OF_THE_OFFICE = M["apps.calc.advice.texts"].OF_THE_OFFICE;
const TEXTS = M["apps.calc.advice.texts"].TEXTS;
let _ = P.str;
let DOSE = _("Dose: {dose} of {substance}.");
let DOSE_STEP = _("After {after_hours}: {dose} of {substance}.");
let DOSE_BAG = _("Use the labelled bags that we leave, one for each date.");
let CHANGE = _("Change {litres} of the water in {parts} parts, an hour apart ({percent} of it).");
let CHANGE_ONCE = _("Change {litres} of the water ({percent} of it).");
let CHANGE_MORE = _("More may follow on another day.");
let CHANGE_AGENT = _("Into the new water of each part: {dechlorinator_g} of sodium thiosulfate.");
let FEED_NONE = _("Do not feed for {feed_hours}.");
let FEED_LESS = _("Feed {feed_percent} of the usual amount for {feed_hours}.");
let POSTPONED = _("Not before {not_before_hours} have passed, because of the dose.");
let RECHECK = _("Look again after {recheck_hours}.");
let CAUSE_WORDS = P.dict([["ph_under_6_5", _("pH under 6.5")], ["alkalinity_under_40", _("alkalinity under 40 mg/L")], ["ammonia_over_5", _("ammonia over 5 mg/L")], ["under_15_degrees", _("under 15 °C")], ["chlorine", _("chlorine")], ["oxygen_under_2", _("oxygen under 2 mg/L")]]);
let NO_DOSE = P.dict([["measure_first", _("No dose yet: the readings it rests on are missing, not trusted, or older than a day.")], ["volume_unknown", _("No dose yet: the volume of the loop is not known within 10 %.")], ["ammonia_unknown", _("No dose yet: ammonia must be measured before the pH is raised.")], ["ammonia_high", _("No base now: with this much ammonia only the slow steps against acid water are allowed.")], ["no_base_now", _("No base now: it would make ammonia more toxic.")], ["other_base", _("The base is given by another line of this list: one a day.")], ["change_today", _("No base today: the water change moves the pH enough.")], ["would_harm", _("No dose: even a small one would move the water too far.")], ["no_room_for_salt", _("No dose: the week's potassium or the sodium limit is used up.")], ["not_needed", _("No dose is needed.")], ["chloride_does_not_help", _("Chloride does not help these fish against nitrite.")], ["source_unknown", _("No dose yet: the source water is not on record.")], ["iron_given", _("Iron was given within three weeks; measure it before more is given.")], ["treatment", _("No dose while the fish are treated.")], ["not_for_rules", _("Only a trained technician may work with this salt.")]]);
let NO_CHANGE = P.dict([["source_unknown", _("No water change yet: the source water of this place is not on record.")], ["measure_first", _("No water change yet: pH, alkalinity and temperature must be measured first.")], ["source_ph_high", _("No water change with this source: its pH would make the ammonia more toxic.")], ["ph_would_jump", _("No water change with this source: the pH would jump.")], ["temperature_would_jump", _("No water change with this source: bring its temperature within 2 °C first.")], ["ammonia_would_rise", _("No water change with this source: un-ionised ammonia would rise.")], ["nitrite_up", _("No water change now: it would dilute the chloride while nitrite is up.")], ["other_change", _("The water change of another line of this list is enough for today.")], ["base_today", _("No water change today: the base moves the pH enough.")], ["not_needed", _("No water change is needed.")], ["too_small", _("No water change: what is safe would be too little to help.")]]);
let FORMATS = P.dict([["tan", [2, "mg/L"]], ["nh3", [3, "mg/L"]], ["no2", [2, "mg/L"]], ["no3", [0, "mg/L"]], ["alk", [0, "mg/L CaCO3"]], ["ph", [1, ""]], ["first", [1, ""]], ["second", [1, ""]], ["swing", [1, ""]], ["ph_after", [1, ""]], ["ph_minutes", [1, ""]], ["do", [1, "mg/L"]], ["holds", [1, "mg/L"]], ["feed_from", [1, "mg/L"]], ["chlorine", [2, "mg/L"]], ["freed_n", [2, "mg/L"]], ["chloride", [0, "mg/L"]], ["na", [0, "mg/L"]], ["cl", [0, "mg/L"]], ["k", [0, "mg/L"]], ["ca", [0, "mg/L"]], ["mg", [0, "mg/L"]], ["po4", [1, "mg/L"]], ["fe", [1, "mg/L"]], ["mg_l", [1, "mg/L"]], ["target", [0, "mg/L CaCO3"]], ["reaches", [0, "mg/L CaCO3"]], ["source_alk", [0, "mg/L CaCO3"]], ["ec", [2, "mS/cm"]], ["target_ec", [1, "mS/cm"]], ["ec_step", [1, "mS/cm"]], ["temp", [1, "°C"]], ["limit_c", [1, "°C"]], ["warm_c", [1, "°C"]], ["feed_min", [0, "°C"]], ["feed_max", [0, "°C"]], ["air", [0, "°C"]], ["percent", [0, "%"]], ["wanted_percent", [0, "%"]], ["alk_drop", [0, "%"]], ["ec_drop", [0, "%"]], ["sludge", [0, "%"]], ["share_percent", [0, "%"]], ["spread_percent", [0, "%"]], ["feed_percent", [0, "%"]], ["litres", [0, "L"]], ["barrel_l", [0, "L"]], ["low_l", [0, "L"]], ["high_l", [0, "L"]], ["parts", [0, ""]], ["days", [0, ""]], ["day", [0, ""]], ["ready_day", [0, ""]], ["dead", [0, ""]], ["count", [0, ""]], ["total_g", [0, "g"]], ["daily_g", [0, "g"]], ["left_caco3_g", [0, "g"]], ["ascorbic_g", [1, "g"]], ["dechlorinator_g", [1, "g"]], ["feed_g", [0, "g/day"]], ["demand", [0, "g"]], ["supply", [0, "g"]], ["air_l_min", [0, "L/min"]], ["harvest_kg", [1, "kg"]], ["add_kg", [1, "kg"]], ["density", [0, "kg/m³"]], ["densest", [0, "kg/m³"]], ["area", [1, "m²"]], ["needed_m2", [0, "m²"]], ["more_m2", [0, "m²"]], ["minutes", [0, "min"]], ["out", [0, "min"]], ["topup", [0, "L/day"]], ["expected", [0, "L/day"]], ["mm", [0, "mm"]], ["volts", [1, "V"]], ["conversion", [1, "kg"]], ["per_day", [1, "mg/L"]], ["feed_hours", [0, "h"]], ["after_hours", [0, "h"]], ["not_before_hours", [0, "h"]], ["recheck_hours", [1, "h"]]]);
class Sentence extends P.Thing {
}
P.dataclass(Sentence, [["msgid", null], ["params", null], ["unit", () => ""], ["measurand", () => ""]]);
let sentences = P.def(["advice"], (advice) => {
let code, of, param, said, text;
of = (P.t(P.m.endswith(advice.rule, "_band")) ? P.at(P.m.split(P.at(advice.answers, 0), "."), 0) : "");
text = P.or(P.m.get(TEXTS, advice.rule), () => P.at(OF_THE_OFFICE, advice.rule));
said = [P.call(Sentence, [text, _main_params(advice)], {"measurand": of})];
for ([[code, param], text] of P.iter(P.m.items(EXTRAS))) {
if (((P.eq(code, advice.rule)) && P.t(_worth_saying(P.m.get(advice.params, param))))) {
P.m.append(said, P.make(Sentence, [text, advice.params]));
}
}
return [...P.iter(said), ...P.iter(_dose(advice)), ...P.iter(_change(advice)), ...P.iter(_feed(advice)), ...P.iter(_after(advice))];
});
let readable_hours = P.def(["hours"], (hours) => {
if (((hours < 2))) {
return [P.round((hours * 60)), "min"];
}
return (((hours < 48)) ? [P.round(hours), "h"] : [P.round((hours / 24)), "days"]);
});
let _main_params = P.def(["advice"], (advice) => {
if ((P.eq(advice.rule, "leaf_salt_burn"))) {
return P.dict([...P.iter(advice.params.items()), ["litres", P.or(advice.dose, () => 0.0)]]);
}
return advice.params;
});
let _worth_saying = P.def(["value"], (value) => {
return ((P.isinstance(value, [P.str])) ? P.bool(value) : P.and((value !== null), () => (value > 0.05)));
});
let _dose = P.def(["advice"], (advice) => {
let from_bags, only, reason, said;
reason = P.str(P.m.get(advice.params, "no_dose", ""));
if ((((advice.dose === null)) || (P.eq(advice.unit, "L")))) {
return (P.t(reason) ? [P.make(Sentence, [P.at(NO_DOSE, reason), P.dict([])])] : []);
}
only = P.make(Step, [0.0, advice.dose, advice.unit, advice.substance]);
said = P.list(P.or(advice.steps, () => [only])).map((step) => _step(step));
from_bags = P.and(P.eq(advice.who, CLIENT), () => !P.eq(advice.urgency, NOW));
return (P.t(from_bags) ? [...P.iter(said), P.make(Sentence, [DOSE_BAG, P.dict([])])] : said);
});
let _step = P.def(["step"], (step) => {
let msgid, params;
msgid = ((P.eq(step.after_hours, 0)) ? DOSE : DOSE_STEP);
params = P.dict([["after_hours", step.after_hours], ["dose", step.dose], ["substance", step.substance]]);
return P.make(Sentence, [msgid, params, step.unit]);
});
let _change = P.def(["advice"], (advice) => {
let once, reason, said;
reason = P.str(P.m.get(advice.params, "no_change", ""));
if ((((advice.change_fraction === null)) || (!P.has(advice.params, "parts")))) {
return (P.t(reason) ? [P.make(Sentence, [P.at(NO_CHANGE, reason), P.dict([])])] : []);
}
once = P.eq(P.at(advice.params, "parts"), 1);
said = [P.make(Sentence, [(P.t(once) ? CHANGE_ONCE : CHANGE), advice.params])];
if (((P.float(P.m.get(advice.params, "wanted_percent", 0.0)) > ((100 * advice.change_fraction) + 5)))) {
P.m.append(said, P.make(Sentence, [CHANGE_MORE, P.dict([])]));
}
if (P.t(_worth_saying(P.m.get(advice.params, "dechlorinator_g")))) {
P.m.append(said, P.make(Sentence, [CHANGE_AGENT, advice.params]));
}
return said;
});
let _feed = P.def(["advice"], (advice) => {
let params;
if (((advice.feed_percent === null))) {
return [];
}
params = P.dict([["feed_percent", advice.feed_percent], ["feed_hours", P.or(advice.feed_hours, () => 24.0)]]);
return [P.make(Sentence, [(P.t(advice.feed_percent) ? FEED_LESS : FEED_NONE), params])];
});
let _after = P.def(["advice"], (advice) => {
let said;
said = [];
if (P.t(advice.not_before_hours)) {
P.m.append(said, P.make(Sentence, [POSTPONED, P.dict([["not_before_hours", advice.not_before_hours]])]));
}
if (P.t(advice.recheck_hours)) {
P.m.append(said, P.make(Sentence, [RECHECK, P.dict([["recheck_hours", advice.recheck_hours]])]));
}
return said;
});
return { _, DOSE, DOSE_STEP, DOSE_BAG, CHANGE, CHANGE_ONCE, CHANGE_MORE, CHANGE_AGENT, FEED_NONE, FEED_LESS, POSTPONED, RECHECK, CAUSE_WORDS, NO_DOSE, NO_CHANGE, FORMATS, Sentence, sentences, readable_hours, _main_params, _worth_saying, _dose, _step, _change, _feed, _after };
})();

M["apps.calc.advice.substances"] = (() => {
let _ = P.str;
let SUBSTANCE_WORDS = P.dict([["KHCO3", _("potassium bicarbonate")], ["NaHCO3", _("sodium bicarbonate (baking soda)")], ["CaCO3", _("calcium carbonate")], ["K2CO3", _("potassium carbonate")], ["Ca(OH)2", _("hydrated lime")], ["KOH", _("potassium hydroxide")], ["KCl", _("potassium chloride")], ["KNO3", _("potassium nitrate")], ["5Ca(NO3)2.NH4NO3.10H2O", _("calcium nitrate, fertiliser grade")], ["NH4H2PO4", _("monoammonium phosphate")], ["K2SO4", _("potassium sulfate")], ["KH2PO4", _("monopotassium phosphate")], ["MgSO4.7H2O", _("magnesium sulfate (Epsom salt)")], ["CaCl2.2H2O", _("calcium chloride dihydrate")], ["NaCl", _("salt without iodine or additives")], ["NH4Cl", _("ammonium chloride")], ["Fe-EDTA 13 %", _("iron chelate EDTA, 13 % iron")], ["Fe-DTPA 11 %", _("iron chelate DTPA, 11 % iron")], ["Fe-EDDHA 6 %", _("iron chelate EDDHA, 6 % iron")], ["HCl 37 %", _("hydrochloric acid 37 %, into 1000 L of source water")], ["HCl", _("hydrochloric acid, into the barrel of source water")], ["H3PO4", _("phosphoric acid, into the barrel of source water")], ["sodium thiosulfate", _("sodium thiosulfate")], ["water to the soil garden", _("water to the soil garden")]]);
return { _, SUBSTANCE_WORDS };
})();

M["apps.core.drawing.scale"] = (() => {
class Band extends P.Thing {
}
P.dataclass(Band, [["good_low", () => null], ["good_high", () => null], ["harmful_low", () => null], ["harmful_high", () => null], ["scale_min", () => null], ["scale_max", () => null]]);
let _PLACES = [["harmful_low", (1 / 8)], ["good_low", (3 / 8)], ["good_high", (5 / 8)], ["harmful_high", (7 / 8)]];
let _limits = P.def(["band"], (band) => {
let found, name, place, value;
found = [];
for ([name, place] of P.iter(_PLACES)) {
value = P.getattr(band, name);
if (((value === null))) {
continue;
}
if (!P.t(P.math.isfinite(value))) {
throw P.make(P.ValueError, [(P.format(name, "") + " is not a finite number")]);
}
if ((!P.t(found) || ((value >= P.at(P.at(found, (-1)), 0))))) {
P.m.append(found, [P.float(value), place]);
}
}
return found;
});
let _ends = P.def(["band", "limits"], (band, limits) => {
let final, final_at, first, first_at, high, low, step;
[low, high] = P.list([band.scale_min, band.scale_max]);
if (!P.t(limits)) {
return [(((low === null)) ? 0.0 : low), (((high === null)) ? 1.0 : high)];
}
[[first, first_at], [final, final_at]] = P.list([P.at(limits, 0), P.at(limits, (-1))]);
if ((((P.len(limits) > 1)) && ((final > first)))) {
step = (P.sub(final, first) / P.sub(final_at, first_at));
} else {
step = (P.or(P.abs(final), () => 1.0) / final_at);
}
if (((low === null))) {
low = (((first >= 0)) ? P.max(0.0, (first - (step * first_at))) : (first - (step * first_at)));
}
if (((high === null))) {
high = (final + (step * (1 - final_at)));
}
return [P.min(low, first), P.max(high, final)];
});
let anchors = P.def(["band"], (band) => {
let high, limits, low;
limits = _limits(band);
[low, high] = P.list(_ends(band, limits));
return [[low, 0.0], ...P.iter(limits), [high, 1.0]];
});
let place = P.def(["band", "value", "log"], (band, value, log = false) => {
let high, high_at, low, low_at, points, share;
if (!P.t(P.math.isfinite(value))) {
throw P.make(P.ValueError, ["a value on a water line must be a finite number"]);
}
points = anchors(band);
if (((value <= P.at(P.at(points, 0), 0)))) {
return 0.0;
}
for ([[low, low_at], [high, high_at]] of P.iter(P.pairwise(points))) {
if (((value > high))) {
continue;
}
if (((high <= low))) {
return high_at;
}
if ((P.t(log) && ((low > 0)))) {
share = (P.math.log((value / low)) / P.math.log((high / low)));
} else {
share = (P.sub(value, low) / P.sub(high, low));
}
return (low_at + (P.sub(high_at, low_at) * share));
}
return 1.0;
});
return { Band, _PLACES, _limits, _ends, anchors, place };
})();

M["apps.core.drawing.ink"] = (() => {
let SANS = "Atkinson Hyperlegible Next";
let SERIF = "Literata";
let ARABIC = "Noto Sans Arabic";
class Role extends P.Thing {
}
P.dataclass(Role, [["fill", null], ["stroke", null], ["width", () => 0.0], ["dash", () => ""]]);
let ROLES = P.make(P.MappingProxyType, [P.dict([["band", P.make(Role, ["wash", "none"])], ["water", P.make(Role, ["wash", "none"])], ["ground", P.make(Role, ["ground", "none"])], ["base", P.make(Role, ["none", "ink", 1])], ["thin", P.make(Role, ["none", "ink", 1])], ["thin2", P.make(Role, ["none", "ink2", 1])], ["hair", P.make(Role, ["none", "hair", 1])], ["tick", P.make(Role, ["none", "ink", 1.5])], ["tick-harm", P.make(Role, ["none", "pen", 1.5])], ["hatch", P.make(Role, ["none", "pen", 0.8])], ["run", P.make(Role, ["none", "ink", 2.25])], ["run-pen", P.make(Role, ["none", "pen", 2.25])], ["last", P.make(Role, ["ground", "ink", 1.6])], ["last-pen", P.make(Role, ["ground", "pen", 1.6])], ["today", P.make(Role, ["ink", "ground", 1.5])], ["today-pen", P.make(Role, ["pen", "ground", 1.5])], ["solid", P.make(Role, ["ink", "none"])], ["solid2", P.make(Role, ["ink2", "none"])], ["solid-pen", P.make(Role, ["pen", "none"])], ["on-pen", P.make(Role, ["onpen", "none"])], ["dash", P.make(Role, ["none", "ink2", 1.4, "3 2.4"])], ["edge", P.make(Role, ["none", "edge", 1])], ["edge-dash", P.make(Role, ["none", "edge", 1, "4 4"])], ["below", P.make(Role, ["none", "edge", 6])], ["line", P.make(Role, ["none", "ink", 1.8])], ["likely", P.make(Role, ["none", "ink", 1.5, "5 3"])], ["pen", P.make(Role, ["none", "pen", 1.6])], ["pen-dash", P.make(Role, ["none", "pen", 1.3, "4 3"])], ["fan-half", P.make(Role, ["fan-half", "none"])], ["fan-nine", P.make(Role, ["fan-nine", "none"])], ["pipe", P.make(Role, ["none", "ink", 2])], ["pipe-hand", P.make(Role, ["none", "ink", 2, "7 4"])], ["wall", P.make(Role, ["none", "ink", 1.6])], ["wall-still", P.make(Role, ["none", "ink", 1.6, "5 4"])], ["sprig", P.make(Role, ["none", "ink", 1.3])], ["hollow", P.make(Role, ["ground", "ink", 1.4])], ["hollow-still", P.make(Role, ["ground", "ink2", 1.4, "3 2.4"])], ["text", P.make(Role, ["ink", "none"])], ["text2", P.make(Role, ["ink2", "none"])], ["text-pen", P.make(Role, ["pen", "none"])], ["text-ground", P.make(Role, ["ground", "none"])]])]);
let number = P.def(["value"], (value) => {
let text;
text = P.m.rstrip(P.m.rstrip((P.format(value, (".1f"))), "0"), ".");
return ((P.has(P.set(["-0", ""]), text)) ? "0" : text);
});
let escape = P.def(["text"], (text) => {
return P.escape(P.str(text));
});
class Ink extends P.Thing {
static __init__ = P.def(["palette"], function (palette = null) {
this.palette = palette;
return null;
});
static { this.prototype["paint"] = P.def(["role", "extra"], function (role, extra = "") {
let out, spec;
if (((this.palette === null))) {
return ("class=\"k-" + P.format(role, "") + P.format((P.t(extra) ? P.add(" ", extra) : ""), "") + "\"");
}
spec = P.at(ROLES, role);
out = ("fill=\"" + P.format(this._colour(spec.fill), "") + "\" stroke=\"" + P.format(this._colour(spec.stroke), "") + "\"");
if (P.t(spec.width)) {
out = P.add(out, (" stroke-width=\"" + P.format(spec.width, ("g")) + "\""));
}
if (P.t(spec.dash)) {
out = P.add(out, (" stroke-dasharray=\"" + P.format(spec.dash, "") + "\""));
}
return out;
}); }
static { this.prototype["_colour"] = P.def(["name"], function (name) {
return (((P.eq(name, "none")) || ((this.palette === null))) ? "none" : P.at(this.palette, name));
}); }
static { this.prototype["path"] = P.def(["role", "data", "extra"], function (role, data, extra = "") {
return ("<path " + P.format(this.paint(role, extra), "") + " d=\"" + P.format(data, "") + "\"/>");
}); }
static { this.prototype["line"] = P.def(["role", "x1", "y1", "x2", "y2"], function (role, x1, y1, x2, y2) {
return this.path(role, ("M" + P.format(number(x1), "") + " " + P.format(number(y1), "") + "L" + P.format(number(x2), "") + " " + P.format(number(y2), "")));
}); }
static { this.prototype["rect"] = P.def(["role", "x", "y", "width", "height"], function (role, x, y, width, height) {
return ("<rect " + P.format(this.paint(role), "") + " x=\"" + P.format(number(x), "") + "\" y=\"" + P.format(number(y), "") + "\" width=\"" + P.format(number(P.max(width, 0)), "") + "\" height=\"" + P.format(number(P.max(height, 0)), "") + "\"/>");
}); }
static { this.prototype["circle"] = P.def(["role", "x", "y", "radius"], function (role, x, y, radius) {
return ("<circle " + P.format(this.paint(role), "") + " cx=\"" + P.format(number(x), "") + "\" cy=\"" + P.format(number(y), "") + "\" r=\"" + P.format(number(radius), "") + "\"/>");
}); }
static { this.prototype["text"] = P.def(["role", "x", "y", "content", "size", "anchor", "weight", "serif"], function (role, x, y, content, size = 13, anchor = "start", weight = 400, serif = false) {
let out;
out = ("<text " + P.format(this.paint(role, (P.t(serif) ? "k-serif" : "")), "") + " x=\"" + P.format(number(x), "") + "\" y=\"" + P.format(number(y), "") + "\"");
if (((this.palette !== null))) {
out = P.add(out, (" font-family=\"" + P.format((P.t(serif) ? SERIF : SANS), "") + ", " + P.format(ARABIC, "") + "\""));
}
out = P.add(out, (" font-size=\"" + P.format(size, ("g")) + "\""));
if ((!P.eq(anchor, "start"))) {
out = P.add(out, (" text-anchor=\"" + P.format(anchor, "") + "\""));
}
if ((!P.eq(weight, 400))) {
out = P.add(out, (" font-weight=\"" + P.format(weight, "") + "\""));
}
return (P.format(out, "") + ">" + P.format(escape(content), "") + "</text>");
}); }
static { this.prototype["text_runs"] = P.def(["x", "y", "runs", "gap", "anchor"], function (x, y, runs, gap, anchor = "start") {
let dx, later, out, run, weight;
[out, later] = P.list([("<text x=\"" + P.format(number(x), "") + "\" y=\"" + P.format(number(y), "") + "\""), ""]);
if (((this.palette !== null))) {
out = P.add(out, (" font-family=\"" + P.format(SANS, "") + ", " + P.format(ARABIC, "") + "\""));
}
if ((!P.eq(anchor, "start"))) {
out = P.add(out, (" text-anchor=\"" + P.format(anchor, "") + "\""));
}
for (run of P.iter(runs)) {
if (!P.t(run.content)) {
continue;
}
dx = (P.t(later) ? (" dx=\"" + P.format(number(gap), "") + "\"") : "");
weight = ((!P.eq(run.weight, 400)) ? (" font-weight=\"" + P.format(run.weight, "") + "\"") : "");
later = P.add(later, ("<tspan " + P.format(this.paint(run.role), "") + " font-size=\"" + P.format(run.size, ("g")) + "\"" + P.format(weight, "") + P.format(dx, "") + ">" + P.format(escape(run.content), "") + "</tspan>"));
}
return (P.format(out, "") + ">" + P.format(later, "") + "</text>");
}); }
static { this.prototype["svg"] = P.def(["width", "height", "body", "title", "kind"], function (width, height, body, title = "", kind = "") {
let inner, named, role;
role = (P.t(title) ? ("role=\"img\" aria-label=\"" + P.format(escape(title), "") + "\"") : "aria-hidden=\"true\"");
inner = ((P.t(title) && ((this.palette !== null))) ? ("<title>" + P.format(escape(title), "") + "</title>") : "");
named = ((P.t(kind) && ((this.palette === null))) ? (" class=\"" + P.format(kind, "") + "\"") : "");
return ("<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"" + P.format(number(width), "") + "\" height=\"" + P.format(number(height), "") + "\" viewBox=\"0 0 " + P.format(number(width), "") + " " + P.format(number(height), "") + "\" " + P.format(role, "") + P.format(named, "") + ">" + P.format(inner, "") + P.format(body, "") + "</svg>");
}); }
}
return { SANS, SERIF, ARABIC, Role, ROLES, number, escape, Ink };
})();

M["apps.core.drawing.shapes"] = (() => {
const number = M["apps.core.drawing.ink"].number;
let IN_BAND = "in_band";
let NEAR_EDGE = "near_edge";
let OUT_OF_BAND = "out_of_band";
let HARMFUL = "harmful";
let MEASURE_AGAIN = "measure_again";
let JUDGEMENTS = [IN_BAND, NEAR_EDGE, OUT_OF_BAND, HARMFUL, MEASURE_AGAIN];
let PENNED = P.frozenset(P.set([OUT_OF_BAND, HARMFUL]));
let check_word = P.def(["word"], (word) => {
if ((!P.has(JUDGEMENTS, word))) {
throw P.make(P.ValueError, [(P.format(P.repr(word), "") + " is not a judgement: " + P.format(P.m.join(", ", JUDGEMENTS), ""))]);
}
return word;
});
let diamond = P.def(["x", "y", "half"], (x, y, half) => {
return ("M" + P.format(number(x), "") + " " + P.format(number(P.sub(y, half)), "") + "L" + P.format(number(P.add(x, half)), "") + " " + P.format(number(y), "") + "L" + P.format(number(x), "") + " " + P.format(number(P.add(y, half)), "") + "L" + P.format(number(P.sub(x, half)), "") + " " + P.format(number(y), "") + "Z");
});
let judgement_shape = P.def(["ink", "word", "x", "y", "hollow", "size"], (ink, word, x, y, hollow = false, size = 1.0) => {
let half, role, state;
state = (P.t(hollow) ? "last" : "today");
role = ((P.has(PENNED, word)) ? (P.format(state, "") + "-pen") : state);
if ((P.eq(word, MEASURE_AGAIN))) {
return ink.circle("dash", x, y, (5 * size));
}
if ((P.eq(word, OUT_OF_BAND))) {
return ink.path(role, diamond(x, y, ((P.t(hollow) ? 5.6 : 7.2) * size)));
}
if ((P.eq(word, HARMFUL))) {
half = ((P.t(hollow) ? 4.4 : 6.2) * size);
return ink.rect(role, P.sub(x, half), P.sub(y, half), (2 * half), (2 * half));
}
return ink.circle(role, x, y, ((P.t(hollow) ? 4.4 : 5.6) * size));
});
return { IN_BAND, NEAR_EDGE, OUT_OF_BAND, HARMFUL, MEASURE_AGAIN, JUDGEMENTS, PENNED, check_word, diamond, judgement_shape };
})();

M["apps.core.drawing.waterline"] = (() => {
const Ink = M["apps.core.drawing.ink"].Ink;
const number = M["apps.core.drawing.ink"].number;
const place = M["apps.core.drawing.scale"].place;
const PENNED = M["apps.core.drawing.shapes"].PENNED;
const check_word = M["apps.core.drawing.shapes"].check_word;
const judgement_shape = M["apps.core.drawing.shapes"].judgement_shape;
const format_plain = M["apps.core.numbers"].format_plain;
const SafeString = P.SafeString;
let _PAD = 9.0;
let _NUMBERS_HEIGHT = 16;
let _TOO_NEAR = 4.0;
let _hatch = P.def(["ink", "left", "right", "top", "bottom"], (ink, left, right, top, bottom) => {
let data, end, height, start, x;
[height, data] = P.list([P.sub(bottom, top), ""]);
x = (P.sub(left, height) + 3);
while (((x < right))) {
[start, end] = P.list([P.max(x, left), P.min(P.add(x, height), right)]);
if (((P.sub(end, start) > 1))) {
data = P.add(data, ("M" + P.format(number(start), "") + " " + P.format(number(P.sub(bottom, P.sub(start, x))), "") + "L" + P.format(number(end), "") + " " + P.format(number(P.sub(bottom, P.sub(end, x))), "")));
}
x = P.add(x, 5);
}
return (P.t(data) ? ink.path("hatch", data) : "");
});
class _Line extends P.Thing {
static __init__ = P.def(["ink", "band", "width", "height", "numbers", "channel", "log"], function (ink, band, width, height, numbers, channel, log) {
[this.ink, this.band, this.log] = P.list([ink, band, log]);
[this.width, this.height, this.numbers] = P.list([width, height, numbers]);
this.centre = (P.t(numbers) ? (P.sub(height, _NUMBERS_HEIGHT) / 2) : (height / 2));
this.reach = (P.t(numbers) ? 10.0 : 7.0);
if (P.t(numbers)) {
this.band_height = 20.0;
} else {
this.band_height = (P.t(channel) ? height : 16.0);
}
return null;
});
static { this.prototype["x"] = P.def(["value"], function (value) {
return (_PAD + ((this.width - (2 * _PAD)) * P.call(place, [this.band, value], {"log": this.log})));
}); }
static { this.prototype["upright"] = P.def(["role", "value", "reach"], function (role, value, reach) {
let x;
x = this.x(value);
return this.ink.line(role, x, P.sub(this.centre, reach), x, P.add(this.centre, reach));
}); }
static { this.prototype["ground"] = P.def([], function () {
let band, bottom, left, limit, out, right, right_end, top;
[band, right_end] = P.list([this.band, P.sub(this.width, _PAD)]);
left = (((band.good_low !== null)) ? this.x(band.good_low) : _PAD);
right = (((band.good_high !== null)) ? this.x(band.good_high) : right_end);
out = "";
if ((((band.good_low !== null)) || ((band.good_high !== null)))) {
top = (this.centre - (this.band_height / 2));
out = P.add(out, this.ink.rect("band", left, top, P.sub(right, left), this.band_height));
}
[top, bottom] = P.list([(P.sub(this.centre, this.reach) + 1), (P.add(this.centre, this.reach) - 1)]);
if (((band.harmful_high !== null))) {
out = P.add(out, _hatch(this.ink, this.x(band.harmful_high), right_end, top, bottom));
out = P.add(out, this.upright("tick-harm", band.harmful_high, this.reach));
}
if (((band.harmful_low !== null))) {
out = P.add(out, _hatch(this.ink, _PAD, this.x(band.harmful_low), top, bottom));
out = P.add(out, this.upright("tick-harm", band.harmful_low, this.reach));
}
out = P.add(out, this.ink.line("base", _PAD, this.centre, right_end, this.centre));
for (limit of P.iter([band.good_low, band.good_high])) {
if (((limit !== null))) {
out = P.add(out, this.upright("tick", limit, (this.reach + 1)));
}
}
return out;
}); }
static { this.prototype["below"] = P.def(["limit"], function (limit) {
let c, x;
[x, c] = P.list([this.x(limit), this.centre]);
return P.add(P.add(this.ink.line("below", _PAD, c, x, c), this.ink.path("today", ("M" + P.format(number((x - 9)), "") + " " + P.format(number(c), "") + "L" + P.format(number(x), "") + " " + P.format(number((c - 6)), "") + "V" + P.format(number((c + 6)), "") + "Z"))), this.upright("tick", limit, 7));
}); }
static { this.prototype["values"] = P.def(["today", "last", "word", "last_word"], function (today, last, word, last_word) {
let c, data, near, out, role, size;
[out, c] = P.list(["", this.centre]);
if ((((today !== null)) && ((last !== null)))) {
role = ((P.has(PENNED, word)) ? "run-pen" : "run");
data = ("M" + P.format(number(this.x(last)), "") + " " + P.format(number(c), "") + "L" + P.format(number(this.x(today)), "") + " " + P.format(number(c), ""));
out = P.add(out, this.ink.path(role, data, "wl-run"));
}
near = P.and((today !== null), () => (last !== null), () => (P.abs(P.sub(this.x(last), this.x(today))) < _TOO_NEAR));
if ((((last !== null)) && !P.t(near))) {
size = (P.t(this.numbers) ? 1.15 : 1.0);
out = P.add(out, P.call(judgement_shape, [this.ink, last_word, this.x(last), c], {"hollow": true, "size": size}));
}
if (((today !== null))) {
size = (P.t(this.numbers) ? 1.2 : 1.0);
out = P.add(out, P.call(judgement_shape, [this.ink, word, this.x(today), c], {"size": size}));
}
return out;
}); }
static { this.prototype["printed_limits"] = P.def(["size", "locale"], function (size, locale) {
let name, out, text, value;
out = "";
for (name of P.iter(["harmful_low", "good_low", "good_high", "harmful_high"])) {
value = P.getattr(this.band, name);
if (((value !== null))) {
text = format_plain(value, locale);
out = P.add(out, P.call_method(this.ink, "text", ["text2", this.x(value), (this.height - 2), text], {"size": size, "anchor": "middle"}));
}
}
return out;
}); }
}
let water_line = P.def(["band", "today", "last", "word", "last_word", "width", "height", "numbers", "log", "below_limit", "title", "palette", "channel", "number_size", "locale"], (band, today, last, word, last_word = null, width, height, numbers = false, log = false, below_limit = null, title, palette = null, channel = true, number_size = 12.5, locale = null) => {
let body, drawing, earlier, ink;
check_word(word);
earlier = check_word(P.or(last_word, () => "in_band"));
ink = P.make(Ink, [palette]);
drawing = P.call(_Line, [ink, band], {"width": width, "height": height, "numbers": numbers, "channel": channel, "log": log});
body = drawing.ground();
if (((below_limit !== null))) {
body = P.add(body, drawing.below(below_limit));
}
body = P.add(body, P.m.values(drawing, today, last, word, earlier));
if (P.t(numbers)) {
body = P.add(body, drawing.printed_limits(number_size, locale));
}
return P.make(SafeString, [P.call_method(ink, "svg", [width, height, body], {"title": title, "kind": "wl"})]);
});
return { _PAD, _NUMBERS_HEIGHT, _TOO_NEAR, _hatch, _Line, water_line };
})();

M["apps.core.drawing.words"] = (() => {
const format_plain = M["apps.core.numbers"].format_plain;
const with_unit = M["apps.core.numbers"].with_unit;
const _ = P.gettext;
let band_text = P.def(["band", "unit", "locale"], (band, unit = "", locale = null) => {
let high, high_text, low, low_text;
[low, high] = P.list([band.good_low, band.good_high]);
if ((((low === null)) && ((high === null)))) {
return "";
}
low_text = (((low !== null)) ? with_unit(format_plain(low, locale), unit) : "");
high_text = (((high !== null)) ? with_unit(format_plain(high, locale), unit) : "");
if (((high === null))) {
return P.mod(_("good from %(low)s up"), P.dict([["low", low_text]]));
}
if ((((low === null)) || (P.eq(low, 0)))) {
return P.mod(_("good up to %(high)s"), P.dict([["high", high_text]]));
}
return P.mod(_("good from %(low)s to %(high)s"), P.dict([["low", format_plain(low, locale)], ["high", high_text]]));
});
return { band_text };
})();
