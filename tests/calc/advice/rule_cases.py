"""For each rule: situations in which it fires, in which it does not, and its boundary.

(fires, stays silent, last silent or firing step on one side of the limit, first on the other).
"""

from datetime import timedelta

from advice_builders import TODAY, fish, past, s

from apps.calc.advice import Crop, Event, Germination, Hold, Media, Past, Reading

TOMATO = (Crop("tomato", "fruiting", 4.0),)
CATFISH = (fish("channel_catfish"),)


def ago(days: int, code: str) -> tuple[Event, ...]:
    return (Event(code, TODAY - timedelta(days=days)),)


def dead(*counts: float) -> tuple[Past, ...]:
    n = len(counts)
    return tuple(Past(TODAY - timedelta(days=n - 1 - i), c) for i, c in enumerate(counts))


def cycling(values=None, day=10, **more):
    base = {"no2": 1.0, "ph": 7.4, "alk": 90.0, "temp": 25.0, "tan": 1.2, **(values or {})}
    return s(base, fish=(), filter_age_days=day, feed_g_day=None, crops=(), **more)


def untrusted(doubt):
    return s({"ec": Reading(850.0, trusted=False, doubt=doubt)})


def uneven(cv):
    """A sample of six weights whose standard deviation is ``cv`` of the mean."""
    step = 200 * cv * (5 / 6) ** 0.5
    sample = (200 - step, 200 + step) * 3
    return s(fish=(fish(weights_g=sample),))


# rule: (fires, silent, boundary silent, boundary fires)
CASES = {
    # --- ammonia: at pH 8.5 (judged at 8.7) and 28 °C 27.0 % of the total is un-ionised
    "acute_ammonia": (
        s({"tan": 2.0, "ph": 8.5, "temp": 28.0}),
        s({"tan": 0.6, "ph": 8.5, "temp": 32.0}),
        s({"tan": 2.0}, signs="fish_gasping"),
        s({"tan": 2.01}, signs="fish_gasping"),
    ),
    "toxic_share_high": (
        s({"tan": 1.0, "ph": 8.3, "temp": 28.0}),
        s({"tan": 1.0, "ph": 7.0, "temp": 24.0}),
        s({"tan": 0.30, "ph": 7.8, "temp": 28.0}),
        s({"tan": 0.31, "ph": 7.8, "temp": 28.0}),
    ),
    "ammonia_above_filter": (
        s({"tan": 0.8}), s({"tan": 0.3}), s({"tan": 0.5}), s({"tan": 0.51}),
    ),
    "ammonia_rising_low_buffer": (
        s({"tan": 0.45, "alk": 30.0}, history={"tan": past(0.1, 0.3)}),
        s({"tan": 0.45, "alk": 30.0}, history={"tan": past(0.5, 0.3)}),
        s({"tan": 0.45, "alk": 40.0}, history={"tan": past(0.1, 0.3)}),
        s({"tan": 0.45, "alk": 39.9}, history={"tan": past(0.1, 0.3)}),
    ),
    "filter_hurt": (
        s({"tan": 0.8}, history={"tan": past(0.2, 0.5)}, events=ago(3, "filter_cleaned")),
        s({"tan": 0.8}, history={"tan": past(0.2, 0.5)}),
        s({"tan": 0.8}, history={"tan": past(0.2, 0.5)}, events=ago(14, "bed_cleaned")),
        s({"tan": 0.8}, history={"tan": past(0.2, 0.5)}, events=ago(13, "bed_cleaned")),
    ),
    "acid_holds_ammonia": (
        s({"tan": 3.0, "ph": 6.2, "temp": 24.0, "alk": 30.0}),
        s({"tan": 0.4, "ph": 6.0}),
        s({"tan": 0.5, "ph": 6.3}),
        s({"tan": 0.5, "ph": 6.29}),
    ),
    # --- nitrite
    "nitrite_harmful": (
        s({"no2": 1.2, "cl": 8.0}, fish=CATFISH), s({"no2": 0.1}), s({"no2": 0.99}),
        s({"no2": 1.0}),
    ),
    "nitrite_young_filter": (
        s({"no2": 0.6}, filter_age_days=20), s({"no2": 0.6}),
        s({"no2": 0.2}, filter_age_days=20), s({"no2": 0.21}, filter_age_days=20),
    ),
    "nitrite_old_filter": (
        s({"no2": 0.6}), s({"no2": 0.6}, filter_age_days=44), s({"no2": 0.2}), s({"no2": 0.21}),
    ),
    # --- alkalinity and pH
    "alkalinity_gone": (
        s({"alk": 12.0}), s({"alk": 50.0}), s({"alk": 20.0}), s({"alk": 19.9}),
    ),
    "alkalinity_low": (
        s({"alk": 30.0}), s({"alk": 15.0}), s({"alk": 40.0}), s({"alk": 39.9}),
    ),
    "water_acid": (
        s({"ph": 6.0, "alk": 45.0}), s({"ph": 6.5}), s({"ph": 6.2}), s({"ph": 6.19}),
    ),
    "source_hard_alkaline": (
        s({"ph": 8.3, "alk": 210.0}), s({"ph": 8.3}), s({"ph": 8.0, "alk": 180.0}),
        s({"ph": 8.0, "alk": 181.0}),
    ),
    "afternoon_ph_swing": (
        s({"do": 9.5}, ph_swing=0.9), s(ph_swing=0.9), s({"do": 9.5}, ph_swing=0.6),
        s({"do": 9.5}, ph_swing=0.61),
    ),
    "ph_methods_disagree": (
        s({"ph": 6.9}, second={"ph": 6.0}), s({"ph": 6.9}), s({"ph": 6.5}, second={"ph": 6.1}),
        s({"ph": 6.5}, second={"ph": 6.05}),
    ),
    "rain_diluted": (
        s({"alk": 48.0, "ec": 0.52}, history={"alk": past(80), "ec": past(0.8)}),
        s({"alk": 48.0, "ec": 0.8}, history={"alk": past(80), "ec": past(0.8)}),
        s({"alk": 50.0, "ec": 0.7}, history={"alk": past(80), "ec": past(1.0)}),
        s({"alk": 50.0, "ec": 0.69}, history={"alk": past(80), "ec": past(1.0)}),
    ),
    # --- air
    # Benson & Krause 1984 (APHA 4500-O): 11.288 mg/L at 10 °C, 8.263 at 25 °C; 110 % is 9.089
    "oxygen_of_cold_water": (
        s({"do": 11.3, "temp": 10.0}), s({"do": 12.5, "temp": 28.0}),
        s({"do": 9.10, "temp": 25.0}), s({"do": 9.08, "temp": 25.0}),
    ),
    "oxygen_low": (s({"do": 3.4}), s({"do": 2.0}), s({"do": 4.0}), s({"do": 3.9})),
    "oxygen_emergency": (
        s({"do": 1.5}), s({"do": 3.0}), s({"do": 2.5}), s({"do": 2.49}),
    ),
    "gasping": (
        s({"do": 3.0}, signs="fish_gasping"), s({"do": 3.0}), s({"do": 4.0}, signs="fish_gasping"),
        s({"do": 3.9}, signs="fish_gasping"),
    ),
    "gasping_water_good": (
        s(signs="fish_gasping"), s(), s({"no2": 0.3}, signs="fish_gasping"),
        s({"no2": 0.29}, signs="fish_gasping"),
    ),
    "gills_to_fish_health": (
        s(signs="fish_gasping"), s(), s({"no2": 0.3}, signs="fish_gasping"),
        s({"no2": 0.29}, signs="fish_gasping"),
    ),
    # 180 g of feed ask for 117 g of oxygen; 1 L/min brings 2.88 g a day
    "oxygen_short_for_feed": (
        s(air_l_min=20.0), s(), s(air_l_min=40.7), s(air_l_min=40.6),
    ),
    # --- clarity and salts
    "chlorine_found": (
        s({"chlorine": 0.5}), s(), s({"chlorine": 0.0}), s({"chlorine": 0.005}),
    ),
    "nitrate_high": (
        s({"no3": 120.0}), s({"no3": 50.0}), s({"no3": 80.0}), s({"no3": 81.0}),
    ),
    "salt_built_up": (
        s({"na": 150.0}), s({"na": 40.0}), s({"cl": 250.0}), s({"cl": 251.0}),
    ),
    "rotten_pockets": (
        s(signs="egg_smell"), s(), s(signs="settler_smells"), s(signs="egg_smell settler_smells"),
    ),
    "algae": (
        s(signs="algae_string"), s(signs="brown_water"), s({"secchi": 30.0}), s({"secchi": 29.0}),
    ),
    "cloudy_white": (
        s(signs="cloudy_white_water"), s(), s(signs="cloudy_white_water", fish=()),
        s(signs="cloudy_white_water", fish=(fish(kg=0.2),)),
    ),
    # --- nutrients
    "nitrogen_short": (
        s({"no3": 3.0}, signs="old_leaves_pale"), s({"no3": 3.0}),
        s({"no3": 5.0}, signs="old_leaves_pale"), s({"no3": 4.9}, signs="old_leaves_pale"),
    ),
    "fruit_hungry": (
        s({"ec": 0.5, "k": 30.0}, crops=TOMATO), s({"ec": 0.5, "k": 30.0}),
        s({"ec": 0.6, "k": 30.0}, crops=TOMATO), s({"ec": 0.59, "k": 30.0}, crops=TOMATO),
    ),
    "potassium_short": (
        s({"k": 15.0}, signs="old_leaf_edges_burnt"), s({"k": 15.0}),
        s({"k": 25.0}, signs="weak_fruit"), s({"k": 24.0}, signs="weak_fruit"),
    ),
    "iron_short": (
        s({"fe": 0.2, "ph": 7.4}, signs="new_leaves_yellow_between_veins"), s({"fe": 1.5}),
        s({"fe": 0.5}), s({"fe": 0.4}),
    ),
    "magnesium_short": (
        s(signs="old_leaves_yellow_between_veins"), s(), s({"mg": 8.0}), s({"mg": 7.0}),
    ),
    "phosphorus_short": (
        s({"po4": 0.9}, signs="old_leaves_purple"), s({"po4": 0.9}), s({"po4": 0.5}),
        s({"po4": 0.4}),
    ),
    "blossom_end_rot": (
        s({"ca": 25.0}, signs="blossom_end_rot", crops=TOMATO), s({"ca": 25.0}, crops=TOMATO),
        s(signs="blossom_end_rot", crops=()), s(signs="blossom_end_rot"),
    ),
    # --- plants
    "tip_burn": (s(signs="tip_burn"), s(), s(signs="tip_burn", crops=()), s(signs="tip_burn")),
    "leaf_salt_burn": (
        s({"ec": 2.4}, signs="leaf_edges_burnt"), s({"ec": 2.4}),
        s({"ec": 1.8}, signs="leaf_edges_burnt"), s({"ec": 1.81}, signs="leaf_edges_burnt"),
    ),
    "germination_poor": (
        s(germination=(Germination("lettuce_head", 15, 30.0),)),
        s(germination=(Germination("spinach", 15, 30.0),)),
        s(germination=(Germination("lettuce_head", 80),)),
        s(germination=(Germination("lettuce_head", 79),)),
    ),
    "cool_crop_slow": (
        s(signs="slow_cool_crop"), s(), s(germination=(Germination("spinach", 80),)),
        s(germination=(Germination("spinach", 79),)),
    ),
    "seedlings_fail": (
        s(signs="seedlings_fall"), s(), s(signs="bolting"), s(signs="bolting seedlings_leggy"),
    ),
    "bolting": (s(signs="bolting"), s(), s(signs="tip_burn"), s(signs="tip_burn bolting")),
    "roots_rot": (
        s(signs="roots_brown wilting_at_noon"), s(signs="wilting_at_noon"),
        s(signs="roots_white"), s(signs="roots_brown"),
    ),
    "wilting_white_roots": (
        s(signs="wilting_at_noon roots_white"), s(signs="roots_white"),
        s(signs="wilting_at_noon roots_brown"), s(signs="wilting_at_noon"),
    ),
    "no_fruit_set": (
        s({"air_t": 35.0}, signs="flowers_drop"), s(), s(signs="weak_fruit"),
        s(signs="weak_fruit flowers_drop"),
    ),
    # --- pests
    "aphids": (s({"aphids": 9.0}), s(), s({"aphids": 5.0}), s({"aphids": 6.0})),
    "whitefly": (s({"whitefly": 30.0}), s(), s({"whitefly": 10.0}), s({"whitefly": 11.0})),
    "caterpillars": (
        s(signs="caterpillars"), s(), s(signs="mildew"), s(signs="mildew caterpillars"),
    ),
    "mildew": (s(signs="mildew"), s(), s(signs="caterpillars"), s(signs="caterpillars mildew")),
    "mosquito_larvae": (
        s(signs="mosquito_larvae"), s(), s({"larvae": 0.0}), s({"larvae": 1.0}),
    ),
    # --- fish
    "flashing_water_good": (
        s(signs="fish_flashing"), s(), s({"tan": 1.01}, signs="fish_flashing"),
        s({"tan": 1.0}, signs="fish_flashing"),
    ),
    "disease_signs": (
        s(signs="fish_ulcers"), s(), s(signs="fish_white_spots", fish=()),
        s(signs="fish_white_spots"),
    ),
    "feed_refused": (
        s(signs="feed_left"), s(), s({"feed_response": 2.0}), s({"feed_response": 1.0}),
    ),
    "too_many_fish": (
        s(fish=(fish(kg=20.0),)), s(), s(fish=(fish(kg=16.0),)), s(fish=(fish(kg=16.2),)),
    ),
    # 5.30 g/day made; gravel 120 m2/m3 at 0.5 g/m2/day: 88.3 L
    "filter_short": (
        s(media=(Media("gravel", 40),)), s(), s(media=(Media("gravel", 88.4),)),
        s(media=(Media("gravel", 88.2),)),
    ),
    "too_cold_to_feed": (
        s({"temp": 15.0}), s(), s({"temp": 17.0}), s({"temp": 16.9}),
    ),
    "too_hot": (s({"temp": 32.5}), s(), s({"temp": 31.0}), s({"temp": 31.1})),
    # 60 fish: more than 0.61 dead a day
    "deaths": (
        s(deaths=dead(2, 3)), s(deaths=dead(2)), s(deaths=dead(0, 3)), s(deaths=dead(1, 1)),
    ),
    "growth_poor": (
        s(feed_conversion=3.0), s(feed_conversion=1.7), uneven(0.29), uneven(0.31),
    ),
    "off_flavour": (
        s(signs="fish_off_flavour"), s(), s(signs="fish_off_flavour", fish=()),
        s(signs="fish_off_flavour", fish=(fish(kg=0.4),)),
    ),
    # --- machines
    "bed_full_of_sludge": (
        s({"bed_sludge": 40.0}), s(), s({"bed_sludge": 25.0}), s({"bed_sludge": 26.0}),
    ),
    "settler_stale": (
        s(signs="settler_smells"), s(), s(signs="egg_smell"), s(signs="egg_smell settler_smells"),
    ),
    "flow_low": (
        s({"flow_pct": 60.0}), s(), s({"flow_pct": 80.0}), s({"flow_pct": 79.0}),
    ),
    "air_stopped": (
        s(signs="air_stopped"), s(), s(signs="air_stopped", fish=()), s(signs="air_stopped"),
    ),
    "siphon_stuck": (
        s(signs="siphon_never_breaks"), s(), s({"siphon_fill": 20.0}), s({"siphon_fill": 21.0}),
    ),
    "leak_suspected": (
        s({"topup": 90.0}, expected_topup_l_day=20.0), s({"topup": 90.0}),
        s({"topup": 60.0}, expected_topup_l_day=20.0),
        s({"topup": 60.5}, expected_topup_l_day=20.0),
    ),
    "level_low": (s({"level": 80.0}), s(), s({"level": 50.0}), s({"level": 51.0})),
    "metal_found": (
        s(signs="metal_part"), s(signs="fish_lethargic"),
        s(signs="fish_lethargic", events=ago(30, "new_metal")),
        s(signs="fish_lethargic", events=ago(29, "new_metal")),
    ),
    # --- power
    "power_cut": (
        s(outage_minutes=50.0), s(), s(outage_minutes=50.0, fish=()), s(outage_minutes=0.0),
    ),
    "fault_current": (
        s(signs="electric_tingle"), s(), s(signs="rcd_does_not_trip"), s(signs="rcd_trips_again"),
    ),
    "rcd_dead": (
        s(signs="rcd_does_not_trip"), s(), s(signs="rcd_trips_again"),
        s(signs="rcd_trips_again rcd_does_not_trip"),
    ),
    "backup_battery_low": (
        s({"batt": 11.5}), s({"batt": 12.6}), s({"batt": 12.2}), s({"batt": 12.1}),
    ),
    # --- records
    "impossible_reading": (
        untrusted("outside_range"), s(), untrusted("kit_expired"), untrusted("unknown_unit"),
    ),
    "measure_again": (
        untrusted("kit_expired"), s(), untrusted("outside_range"), untrusted("jump"),
    ),
    "feed_spoilt": (
        s(signs="feed_mould"), s(), s(signs="feed_left"), s(signs="feed_left feed_rancid"),
    ),
    "harvest_hold": (
        s(holds=(Hold("salt bath", TODAY + timedelta(days=9), "fish"),)), s(),
        s(holds=(Hold("salt bath", TODAY - timedelta(days=1)),)),
        s(holds=(Hold("salt bath", TODAY),)),
    ),
    # --- cycling
    "cycling_dose": (
        cycling({"tan": 0.2}), s({"tan": 0.2}), cycling({"tan": 0.5}), cycling({"tan": 0.49}),
    ),
    "cycling_base": (
        cycling({"alk": 35.0}), cycling(), cycling({"alk": 60.0}), cycling({"alk": 59.0}),
    ),
    # at 25 °C ready about day 28; 1.3 times that is 36.4
    "cycling_on_course": (
        cycling({"tan": 0.0, "no2": 5.8}, day=19), s(), cycling(day=37), cycling(day=36),
    ),
    "cycling_stalled": (
        cycling({"tan": 1.5}, day=60), cycling(day=20), cycling({"tan": 1.5}, day=36),
        cycling({"tan": 1.5}, day=37),
    ),
    "feed_held_back": (
        s(events=ago(1, "fish_handled")), s(), s(events=ago(2, "fish_handled")),
        s(events=ago(1, "fish_handled")),
    ),
}  # fmt: skip
