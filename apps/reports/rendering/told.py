"""What a piece of advice asks for, in a client's words: short sentences, no word of the trade.

The staff read ``calc/advice/texts.py``, which is fuller; dose, feed and days stand beside these.
Every sentence has fewer than eight words, so that a reader takes it in at one look.
"""

from collections.abc import Mapping

from apps.calc.wording import text as _

# rule -> what is to be done, for whoever does it
TOLD: Mapping[str, str] = {
    # --- ammonia and nitrite
    "acute_ammonia": _("Run all the air. Take out dead fish and old feed."),
    "toxic_share_high": _("Shade the water. Add nothing that lifts the pH."),
    "ammonia_above_filter": _("Rinse the filter mat in tank water."),
    "ammonia_rising_low_buffer": _("Give the filter more alkalinity."),
    "filter_hurt": _("Help the filter with ripe media."),
    "acid_holds_ammonia": _("Lift the pH slowly, day by day."),
    "nitrite_harmful": _("Run all the air. Salt guards the fish."),
    "nitrite_young_filter": _("Wait while the filter grows."),
    "nitrite_old_filter": _("Find what slows the filter."),
    # --- alkalinity and pH
    "alkalinity_gone": _("Lift the alkalinity at once, one step."),
    "alkalinity_low": _("Lift the alkalinity a little each day."),
    "water_acid": _("Bring the pH up in small steps."),
    "source_hard_alkaline": _("Top up with rain water."),
    "afternoon_ph_swing": _("Shade open water. Net the algae out."),
    "ph_methods_disagree": _("Check the pH meter. Use new drops."),
    "rain_diluted": _("Keep rain out. Fit an overflow."),
    # --- air
    "oxygen_emergency": _("Start the backup air. Splash and pour."),
    "oxygen_of_cold_water": _("Do nothing: cold water holds more oxygen."),
    "oxygen_low": _("Add air, day and night. Shade the tank."),
    "gasping_water_good": _("Test for chlorine. Send us gill photos."),
    "gasping": _("Start the backup air. Then call us."),
    "gills_to_fish_health": _("Have the gills looked at."),
    "oxygen_short_for_feed": _("Add air, or feed less."),
    # --- clarity and salts
    "chlorine_found": _("Treat the tap water's chlorine. Run all air."),
    "nitrate_high": _("Plant more. Let old water feed the garden."),
    "salt_built_up": _("Renew water with rain water, over weeks."),
    "rotten_pockets": _("Find the dead corner and air it."),
    "algae": _("Cover the water against the light."),
    "cloudy_white": _("Feed less until the water clears."),
    # --- nutrients
    "nitrogen_short": _("Feed up to the table. Plants want more."),
    "fruit_hungry": _("Give plant feed in small steps."),
    "potassium_short": _("Give the plants potassium."),
    "iron_short": _("Give the plants iron."),
    "magnesium_short": _("Give the plants magnesium."),
    "phosphorus_short": _("Give the plants phosphorus."),
    "blossom_end_rot": _("Water evenly. Take off spoilt fruit."),
    # --- plants
    "tip_burn": _("Move the air. Shade. Pick early."),
    "leaf_salt_burn": _("Let some plant water go. Fill fresh."),
    "germination_poor": _("Take new seed. Keep it cool and dry."),
    "cool_crop_slow": _("Sow these seeds in a cool spot."),
    "seedlings_fail": _("Water seedlings less. Give them light."),
    "bolting": _("Pick these plants now, then shade."),
    "roots_rot": _("Air and cool the roots."),
    "wilting_white_roots": _("Check that each pot touches the water."),
    "no_fruit_set": _("Shake the flowers at noon."),
    # --- pests
    "aphids": _("Wash aphids off, away from the water."),
    "whitefly": _("Hang yellow cards. Fit screens."),
    "caterpillars": _("Pick caterpillars off by hand."),
    "mildew": _("Give the plants more room."),
    "mosquito_larvae": _("Empty saucers. Screen the openings."),
    # --- fish
    "flashing_water_good": _("Set these fish apart. Treat nothing yet."),
    "disease_signs": _("Keep sick fish and nets apart."),
    "feed_refused": _("Take out feed that is left."),
    "too_many_fish": _("Harvest some fish. Add none."),
    "filter_short": _("Feed less, or add filter media."),
    "too_cold_to_feed": _("Leave the fish in peace."),
    "too_hot": _("Shade the tank. Run all the air."),
    "deaths": _("Harvest no fish. Move no nets."),
    "growth_poor": _("Count and weigh the fish again."),
    "off_flavour": _("Rest fish in clean water before harvest."),
    # --- machines
    "bed_full_of_sludge": _("Clean one half of the bed."),
    "settler_stale": _("Drain the settler more often."),
    "flow_low": _("Clean the strainer, then the pump."),
    "air_stopped": _("Start the backup air now."),
    "siphon_stuck": _("Clean the siphon's bell."),
    "leak_suspected": _("Watch the level for a day."),
    "level_low": _("Top up with treated water."),
    "metal_found": _("Take the metal part out."),
    # --- power
    "power_cut": _("Backup air first. Note the time."),
    "fault_current": _("Switch off at the board. Stay away."),
    "rcd_dead": _("Use nothing on this power switch."),
    "backup_battery_low": _("Charge the backup battery outdoors."),
    # --- records
    "impossible_reading": _("Measure again. One figure cannot be right."),
    "measure_again": _("Measure again with a fresh kit."),
    "feed_spoilt": _("Bin this feed. Open a new bag."),
    "harvest_hold": _("Wait before you eat what was treated."),
    # --- cycling
    "cycling_dose": _("Give the filter its next ammonia."),
    "cycling_base": _("Lift the alkalinity for the new filter."),
    "cycling_on_course": _("Wait. The new filter is on course."),
    "cycling_stalled": _("Find what holds the new filter back."),
    # --- no reading leaves its band without a word
    "temp_below_band": _("Cover the water to keep it warm."),
    "temp_above_band": _("Shade the water and add air."),
    "ph_below_band": _("Test the pH each week."),
    "ph_above_band": _("Add nothing that lifts the pH."),
    "alk_below_band": _("Test the alkalinity again next week."),
    "alk_above_band": _("Top up with rain water."),
    "tan_above_band": _("Rinse the filter mat. Test again."),
    "nh3_above_band": _("Test again in the late afternoon."),
    "no2_above_band": _("Test the nitrite again."),
    "no3_below_band": _("The plants could use more feed."),
    "no3_above_band": _("Plant more, or renew some water."),
    "do_below_band": _("Check the air stones. Measure at dawn."),
    "do_above_band": _("Look for algae. Measure at dawn."),
    "ec_below_band": _("Feed the plants a little more."),
    "ec_above_band": _("Renew some of the plant water."),
    "k_below_band": _("Watch the old leaves for pale edges."),
    "k_above_band": _("Give no more potassium for now."),
    "ca_below_band": _("Watch fruit and lettuce tips."),
    "ca_above_band": _("Top up with rain water."),
    "mg_below_band": _("Watch the old leaves."),
    "mg_above_band": _("Top up with rain water."),
    "po4_below_band": _("Watch for purple leaves."),
    "po4_above_band": _("Drain solids more often."),
    "fe_below_band": _("Give the plants iron next."),
    "fe_above_band": _("Leave out the next iron."),
    "na_above_band": _("Use no baking soda. Find the salt."),
    "cl_above_band": _("Look at the tap water's salt."),
    "chlorine_above_band": _("Let the water stand aired a day."),
    "flow_pct_below_band": _("Clean the pump's strainer."),
    "flow_pct_above_band": _("Check the valves on their marks."),
    "density_above_band": _("Plan a fish harvest."),
    "feed_area_below_band": _("See that plants get enough feed."),
    "feed_area_above_band": _("Plant more, or feed a little less."),
    "batt_below_band": _("Charge the backup battery."),
    "batt_above_band": _("Read the battery again, off its charger."),
    "feed_held_back": _("Feed less than usual for now."),
    "dosing_plan": _("Give the doses on their days."),
}

# what grows with the fish and is looked at each time: nobody has left it undone
NEVER_OPEN = ("feed_area_below_band", "feed_area_above_band")

# after these a client eats no fish until a person has said so
NO_FISH_RULES = ("deaths", "disease_signs", "metal_found")

# (measurand, side) -> what it means; sides as in ``verdicts.side_of``
MEANS: Mapping[tuple[str, str], str] = {
    ("ph", "low"): _("Sour water slows the filter."),
    ("ph", "high"): _("Plants find less iron in such water."),
    ("alk", "low"): _("Alkalinity keeps the pH from falling."),
    ("alk", "high"): _("So the pH will not fall."),
    ("tan", "high"): _("The filter lags behind the fish."),
    ("no2", "high"): _("It makes breathing hard for fish."),
    ("no3", "high"): _("The plants use less than there is."),
    ("no3", "low"): _("The plants want more than there is."),
    ("do", "low"): _("Fish and filter need more air."),
    ("temp", "high"): _("Warm water holds less oxygen."),
    ("temp", "low"): _("Cold fish eat less."),
    ("fe", "low"): _("New leaves may turn yellow."),
    ("k", "low"): _("Fruit and old leaves go short."),
    ("ca", "low"): _("Fruit and leaf tips go short."),
    ("mg", "low"): _("Old leaves may turn pale."),
    ("po4", "low"): _("Roots and flowers go short."),
    ("ec", "high"): _("Salts have gathered in the water."),
    ("ec", "low"): _("The plants find little to eat."),
    ("chlorine", "high"): _("Tap water has come in untreated."),
}
