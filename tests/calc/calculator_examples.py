"""Every calculator once or more: its input and the result that it must give."""

RAISE = {
    "volume_l": 2000,
    "alkalinity_mg_l_caco3": 20,
    "ph": 6.2,
    "temp_c": 25,
    "target_ph": 6.6,
    "salt": "KHCO3",
}
MIX = {
    "volume_l": 1000,
    "litres": 200,
    "ph": 7.0,
    "alkalinity_mg_l_caco3": 60,
    "temp_c": 26,
    "tan_mg_l": 0.5,
    "source_ph": 7.4,
    "source_alkalinity_mg_l_caco3": 80,
    "source_temp_c": 22,
    "source_tan_mg_l": 0,
}
WEATHER = {
    "date": "2015-07-15",
    "latitude_deg": "45.7167",
    "altitude_m": 200,
    "tmax_c": 26.6,
    "tmin_c": 14.8,
}
# name, input, result: every calculator once
EXAMPLES = [
    (
        "ammonia",
        {"tan_mg_l": 1.0, "ph": 8.0, "temp_c": 24},
        {"nh3_n_mg_l": 0.05017, "fraction": 0.05017, "wild_water_tan_mg_l": 0.6004},
    ),
    ("oxygen", {"temp_c": 20}, {"saturation_mg_l": 9.0924}),
    (
        "oxygen",
        {"temp_c": 25, "altitude_m": 1000, "salinity_g_kg": 0, "do_mg_l": 3.65},
        {"saturation_mg_l": 7.300, "percent": 50.0},
    ),
    ("co2", {"alkalinity_mg_l_caco3": 50, "ph": 7.0, "temp_c": 20}, {"co2_mg_l": 9.93}),
    (
        "water_change",
        {"volume_l": 1000, "now_mg_l": 200, "target_mg_l": 100, "source_mg_l": 10},
        {"fraction": 0.52632, "litres": 526.32},
    ),
    (
        "water_change",
        {"volume_l": 1000, "now_mg_l": 10, "target_mg_l": 10, "source_mg_l": 300},
        {"fraction": 0, "litres": 0},
    ),
    (
        "dechlorinate",
        {"litres": 200, "total_chlorine_mg_l": 1, "agent": "sodium_thiosulfate"},
        {"dose_g": 1.54},
    ),
    (
        "dechlorinate",
        {"litres": 200, "total_chlorine_mg_l": 1, "agent": "ascorbic_acid"},
        {"dose_g": 0.54648},
    ),
    (
        "dechlorinate",
        {"litres": 200, "total_chlorine_mg_l": 1, "agent": "sodium_ascorbate"},
        {"dose_g": 0.61468},
    ),
    (
        "nitrite_chloride",
        {"volume_l": 1000, "no2_n_mg_l": 1.0, "chloride_mg_l": 5, "salt": "NaCl"},
        {"dose_g": 45.90, "sodium_added_mg_l": 18.058},
    ),
    (
        "nitrite_chloride",
        {"volume_l": 1000, "no2_n_mg_l": 1.0, "chloride_mg_l": 5, "salt": "KCl", "ratio": 10},
        {"dose_g": 58.55, "sodium_added_mg_l": 0},
    ),
    (
        "feed",
        {"species": "nile_tilapia", "count": 150, "mean_weight_g": 100, "temp_c": 28},
        {"ration_g_day": 375.0, "percent_body_weight": 2.5},
    ),
    (
        "feed",
        {"species": "nile_tilapia", "count": 150, "mean_weight_g": 100, "temp_c": 14},
        {"ration_g_day": 0, "percent_body_weight": 0},
    ),
    (
        "biomass",
        {"weights_g": [52, 61, 58, 66, 49, 71, 55, 63, 60, 57, 68, 54, 62, 59, 65], "count": 150},
        {"kg": 9.0, "kg_low": 8.5197, "kg_high": 9.4803},
    ),
    ("growth", {"tgc": 1.04, "weight_g": 60, "temp_c": 29, "days": 56}, {"weight_g": 175.98}),
    (
        "growth",
        {"species": "nile_tilapia", "weight_g": 60, "temp_c": 29, "days": 56},
        {"weight_g": 175.98},
    ),
    ("tan_load", {"feed_g_day": 100, "protein_fraction": 0.32}, {"tan_g_day": 2.944}),
    (
        "filter",
        {"tan_g_day": 5, "temp_c": 25, "media_m2": 20},
        {"capacity_g_day": 10, "share": 0.5},
    ),
    (
        "filter",
        {"tan_g_day": 5, "temp_c": 15, "media": [{"kind": "moving_bed", "litres": 40}]},
        {"capacity_g_day": 5, "share": 1.0},
    ),
    (
        "feed_area",
        {"feed_g_day": 180, "area_m2": 4, "crop_group": "leafy"},
        {"g_m2_day": 45, "verdict": "in range"},
    ),
    (
        "conductivity",
        {"value": 1000, "unit": "uS/cm", "scale": 500},
        {"ec25_us_cm": 1000, "tds_ppm": 500},
    ),
    (
        "conductivity",
        {"value": 700, "unit": "ppm", "scale": "700"},
        {"ec25_us_cm": 1000, "tds_ppm": 700},
    ),
    (
        "conductivity",
        {"value": "1,147", "unit": "mS/cm", "scale": 640, "temp_c": 15},
        {"ec25_us_cm": 1417.8, "tds_ppm": 907.39},
    ),
    ("volume", {"shape": "box", "length_m": 1.2, "width_m": 1.0, "depth_m": 0.25}, {"litres": 300}),
    (
        "volume",
        {"shape": "upright_cylinder", "diameter_m": 1.5, "depth_m": 0.8},
        {"litres": 1413.7},
    ),
    (
        "volume",
        {"shape": "horizontal_cylinder", "diameter_m": 1.0, "length_m": 1.2, "depth_m": 0.3},
        {"litres": 237.80},
    ),
    (
        "volume",
        {"shape": "cone_bottom", "diameter_m": 1.0, "cone_height_m": 0.4, "cylinder_height_m": 0.6},
        {"litres": 575.96},
    ),
    (
        "volume",
        {
            "shape": "cone_bottom",
            "diameter_m": 1.0,
            "cone_height_m": 0.4,
            "cylinder_height_m": 0.6,
            "depth_m": 0.2,
        },
        {"litres": 13.09},
    ),
    (
        "volume",
        {"shape": "frustum", "top_diameter_m": 1.2, "bottom_diameter_m": 1.0, "depth_m": 0.7},
        {"litres": 667.06},
    ),
    (
        "volume",
        {
            "shape": "gravel_bed",
            "length_m": 1.2,
            "width_m": 1.0,
            "depth_m": 0.25,
            "void_fraction": 0.45,
        },
        {"litres": 135},
    ),
    (
        "pump_head",
        {
            "flow_l_h": 3000,
            "pipe_id_mm": 40,
            "length_m": 6,
            "fittings_k": 8,
            "static_m": 1.5,
            "temp_c": 20,
        },
        {"head_m": 1.761, "velocity_m_s": 0.6631, "watts": 47.9},
    ),
    ("evapotranspiration", WEATHER, {"et0_mm_day": 5.033, "method": "hargreaves"}),
    (
        "evapotranspiration",
        WEATHER | {"wind_m_s": 2},
        {"et0_mm_day": 4.5606, "method": "penman_monteith"},
    ),
    (
        "ammonia",
        {"tan_mg_l": 1.0, "ph": 9.5, "temp_c": 24},
        {"nh3_n_mg_l": 0.62555, "fraction": 0.62555},
    ),
    ("element", {"value": 8, "basis": "p2o5"}, {"as_element": 3.4915, "as_compound": 18.330}),
    ("element", {"value": 1, "basis": "no3"}, {"as_element": 0.22590, "as_compound": 4.4267}),
    (
        "lime_scale",
        {"alkalinity_mg_l_caco3": 80, "ph": 8.2, "temp_c": 25, "calcium_mg_l": 60},
        {"calcite_index": 0.5444},
    ),
    (
        "growth_rates",
        {"weight_g": 60, "later_weight_g": 176, "days": 56},
        {"sgr_percent_day": 1.9217},
    ),
    (
        "growth_rates",
        {
            "weight_g": 60,
            "later_weight_g": 176,
            "days": 56,
            "temp_c": 29,
            "feed_kg": 26.1,
            "count": 150,
        },
        {"sgr_percent_day": 1.9217, "tgc": 1.04, "feed_conversion": 1.5},
    ),
    ("sample_size", {"count": 150}, {"to_weigh": 17}),
    ("sample_size", {"count": 150, "cv_percent": 30, "within_percent": 5}, {"to_weigh": 74}),
    (
        "air",
        {"air_l_min": 60, "temp_c": 29, "do_mg_l": 5},
        {"clean_g_h": 20.06, "here_share": 0.36642, "here_g_h": 7.3502},
    ),
    (
        "air",
        {"air_l_min": 60, "temp_c": 29, "do_mg_l": 5, "oxygen_g_day": 184},
        {"clean_g_h": 20.06, "here_share": 0.36642, "here_g_h": 7.3502, "air_l_min": 62.58},
    ),
    (
        "loop_flow",
        {"feed_g_day": 315, "protein_fraction": 0.32, "temp_c": 29},
        {"for_ammonia_l_h": 772.8, "for_co2_l_h": 937.8, "flow_l_h": 937.8},
    ),
    (
        "loop_flow",
        {"feed_g_day": 315, "protein_fraction": 0.32, "temp_c": 29, "do_in_mg_l": 7},
        {
            "for_ammonia_l_h": 772.8,
            "for_oxygen_l_h": 2953.1,
            "for_co2_l_h": 937.8,
            "flow_l_h": 2953.1,
        },
    ),
    ("settler", {"flow_l_h": 1000}, {"surface_m2": 0.24, "across_m": 0.5528}),
    (
        "light",
        {"ppfd_umol_m2_s": 200, "hours": 16, "crop_group": "leafy"},
        {"light_mol_m2_day": 11.52, "verdict": "low"},
    ),
    ("germination", {"sown": 100, "came_up": 99}, {"rate": 0.99, "low": 0.9455, "high": 0.9982}),
]
SMALLEST = {name: payload for name, payload, _ in reversed(EXAMPLES)} | {
    "raise_ph": RAISE,
    "mix": MIX,
}
