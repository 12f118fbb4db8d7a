"""The sentences of each rule in plain English, for translation above.

``{names}`` stand for the params of the advice, formatted by the reader's language and units.
``_`` only marks a sentence for the translators.
"""

_ = str

TEXTS: dict[str, str] = {
    # --- ammonia
    "acute_ammonia": _(
        "Ammonia is at a harmful level ({nh3} un-ionised, {tan} in all): run all air, take out dead fish and old feed, and do not raise the pH."
    ),
    "toxic_share_high": _(
        "Ammonia is too high for this pH and temperature ({nh3} un-ionised at the day's highest pH, {tan} in all): shade the water, give no base, and test the pH of the source water."
    ),
    "ammonia_above_filter": _(
        "Ammonia ({tan}) is more than the filter takes: rinse the mechanical filter in system water and check alkalinity and the oxygen leaving the filter."
    ),
    "ammonia_rising_low_buffer": _(
        "Ammonia has risen three times running ({tan}) while alkalinity is short ({alk}): the filter lacks carbonate."
    ),
    "filter_hurt": _(
        "Ammonia ({tan}) is rising {days} days after the filter was disturbed: bring in ripe media from a healthy, checked system and test daily."
    ),
    "acid_holds_ammonia": _(
        "The water is acid (pH {ph}) and holds ammonia ({tan}) that is harmless now and turns toxic when the pH is raised fast: raise it slowly, at most 0.2 a day."
    ),
    # --- nitrite
    "nitrite_harmful": _(
        "Nitrite ({no2}) is at a harmful level: run all air; after the water change bring chloride to ten times the nitrite."
    ),
    "nitrite_young_filter": _(
        "Nitrite ({no2}) is raised because the filter is still growing: keep chloride at ten times the nitrite and wait."
    ),
    "nitrite_old_filter": _(
        "Nitrite ({no2}) is raised in a ripe filter: look for sludge pockets, cold, or too little oxygen in the filter, and clean half of it at most."
    ),
    # --- alkalinity and pH
    "alkalinity_gone": _(
        "Alkalinity ({alk}) is nearly used up and the pH may fall within days: give one small step of base and measure again after an hour."
    ),
    "alkalinity_low": _("Alkalinity is low ({alk}): raise it in small daily steps, then hold it."),
    "water_acid": _("The water is too acid (pH {ph}): the filter has used up the buffer."),
    "source_hard_alkaline": _(
        "pH ({ph}) and alkalinity ({alk}) are both high: blend the source with rain water, test the media with vinegar, and treat only water in the source barrel, aired for 24 hours."
    ),
    "afternoon_ph_swing": _(
        "The pH swings by {swing} within a day at {percent} oxygen: that is algae. Shade all open water, net the algae out and measure at dawn."
    ),
    "ph_methods_disagree": _(
        "Two methods give pH {first} and {second}: calibrate the meter at 7 and 4 with fresh buffer, check it in a third buffer, and use new drops."
    ),
    "rain_diluted": _(
        "Alkalinity fell by {alk_drop} and conductivity by {ec_drop}: rain has diluted the water. Fit a screened overflow."
    ),
    # --- air
    "oxygen_emergency": _(
        "Oxygen is dangerously low ({do}): start the backup air now, splash and pour, move some fish to clean aerated water, and look for the cause."
    ),
    "oxygen_of_cold_water": _(
        "Oxygen is high ({do}, {percent} of saturation) because the water is cold: nothing to do."
    ),
    "oxygen_low": _(
        "Oxygen is low ({do}): add an air line, also at night, and shade the tank. Feed again only when {feed_from} or more is measured, in the middle of the morning."
    ),
    "gasping_water_good": _(
        "Fish gasp though oxygen, nitrite and ammonia are good: test for chlorine, ask about smoke or sprays, and photograph the gills."
    ),
    "gasping": _(
        "Fish gasp at the surface: start the backup air now, then test oxygen, ammonia, nitrite and chlorine."
    ),
    "gills_to_fish_health": _("Have a fish-health professional look at the gills."),
    "oxygen_short_for_feed": _(
        "The feed asks for {demand} of oxygen a day and the air brings about {supply}: add air up to {air_l_min}, or feed at most {feed_g}."
    ),
    # --- clarity and salts
    "chlorine_found": _(
        "The test shows chlorine ({chlorine}): treat the whole loop at once and run all air. Ascorbic acid serves as well: {ascorbic_g}."
    ),
    "nitrate_high": _(
        "Nitrate ({no3}) is more than the plants use: plant a quarter more, and let some water go to the soil garden."
    ),
    "salt_built_up": _(
        "Salt has built up: renew water over two weeks, with rain water, and use potassium bicarbonate instead of sodium bicarbonate."
    ),
    "rotten_pockets": _(
        "A smell of rotten eggs means sludge without oxygen: find the dead corner, air it, and clean half of the bed or the settler."
    ),
    "algae": _(
        "Green water or string algae live on light: cover tank, holes and pots, keep the air on all night; three to four dark days or a UV lamp help."
    ),
    "cloudy_white": _(
        "Cloudy white water comes from too much feed: check the mechanical filter and measure oxygen."
    ),
    # --- nutrients
    "nitrogen_short": _(
        "The plants are short of nitrogen: too little feed for {area} of bed. Feed up to the table, or take out a quarter of the plants."
    ),
    "fruit_hungry": _(
        "The water is thin for fruiting crops (conductivity {ec}; they want {target_ec})."
    ),
    "potassium_short": _("Potassium is short ({k}) and the plants show it."),
    "iron_short": _(
        "New leaves yellow between green veins show a lack of iron; bring it to 2 mg/L with the chelate that fits the pH, every three weeks."
    ),
    "magnesium_short": _(
        "Old leaves yellow between the veins show a lack of magnesium; a 1–2 % spray on the leaves helps too."
    ),
    "phosphorus_short": _("Phosphorus is short ({po4}); cold roots show the same sign."),
    "blossom_end_rot": _(
        "Black blossom ends mean that calcium does not reach the fruit: water evenly, with shorter dry times, lower the conductivity by 0.3 mS/cm and take off the spoilt fruit."
    ),
    # --- plants
    "tip_burn": _(
        "Brown tips inside lettuce come from still, humid air and fast growth: move the air with a fan, shade by a third, lower the conductivity and harvest five days earlier. Spraying calcium does not reach the heart."
    ),
    "leaf_salt_burn": _(
        "Leaf edges are burnt and conductivity is high ({ec}): let {litres} of the plant water go to the soil garden and fill up with fresh."
    ),
    "germination_poor": _(
        "Only {percent} came up: take a new lot, keep seed sealed at 2–8 °C, and sow on the surface."
    ),
    "cool_crop_slow": _("Spinach and parsley come up cool: sow them at 10–18 °C."),
    "seedlings_fail": _(
        "Seedlings that fall or grow thin want fresh medium, less water, moving air, more light, and no system water."
    ),
    "bolting": _(
        "The plants bolt: harvest now, shade, choose kinds that stand heat, and keep the roots at 18–22 °C."
    ),
    "roots_rot": _(
        "The roots rot: bring oxygen at the roots over 5 mg/L and the water under 25 °C, take out sick plants and clean the raft."
    ),
    "wilting_white_roots": _(
        "Plants wilt though the roots are not brown: check for a clogged line, a pot that does not touch the water, and heat."
    ),
    "no_fruit_set": _(
        "Flowers drop without fruit: shake or brush them at noon, and shade in heat."
    ),
    # --- pests
    "aphids": _(
        "Aphids: wash them off with a jet of water over a cloth on the land side, bring in ladybirds or parasitoids, cut off tips. Soap only as a spot spray on plants lifted out."
    ),
    "whitefly": _(
        "Whitefly: yellow cards, Encarsia, screens; Beauveria by its label on a dry day."
    ),
    "caterpillars": _("Caterpillars: pick by hand; Bt kurstaki by its label."),
    "mildew": _(
        "Mildew: give the plants more room and spray potassium bicarbonate, 5 g/L, on a dry day."
    ),
    "mosquito_larvae": _("Mosquito larvae: screen openings, empty saucers, use Bti by its label."),
    # --- fish
    "flashing_water_good": _(
        "Fish rub themselves though the water is good: set them apart and have a fish-health professional look with a microscope before anything is done."
    ),
    "disease_signs": _(
        "Fish show signs of disease: keep nets and tools apart, move sick fish to a separate tank, and call a fish-health professional."
    ),
    "feed_refused": _(
        "Fish leave feed: take out what is left, and check temperature, oxygen, ammonia and the age of the feed."
    ),
    "too_many_fish": _(
        "There are more fish than this system should carry: harvest, add air, and stock no more."
    ),
    "filter_short": _(
        "The feed makes more ammonia than the filter takes: {needed_m2} of media are needed ({more_m2} more), or feed at most {feed_g}."
    ),
    "too_cold_to_feed": _(
        "The water ({temp}) is below the feeding temperature of these fish ({feed_min}): do not handle them."
    ),
    "too_hot": _(
        "The water is hot ({temp}): feed only at dawn, run all air, shade the tank, and exchange some water at dawn."
    ),
    "deaths": _(
        "Too many fish die ({dead} in two days): do the full test, call a fish-health professional, move no fish or tools, and harvest no fish."
    ),
    "growth_poor": _(
        "Feed turns poorly into fish: net and grade, count again, score the feeding, and check the age of the feed."
    ),
    "off_flavour": _(
        "Fish taste of earth: keep them 3–7 days unfed in clean aerated water before harvest."
    ),
    # --- machines
    "bed_full_of_sludge": _(
        "The bed is full of sludge: clean half of it, drain the settler twice a week, and check that 10–20 L/min reach each square metre."
    ),
    "settler_stale": _(
        "The settler smells: drain it every two to three days and shorten its pipe."
    ),
    "flow_low": _(
        "The flow is at {percent} of what it was: clean the strainer, then the pump; else fit the spare pump."
    ),
    "air_stopped": _("The air has stopped: start the backup air now and look for the cause."),
    "siphon_stuck": _(
        "The siphon does not work: set the flow so that the bed fills in 10–20 minutes, clean the bell, and check the air tube."
    ),
    "leak_suspected": _(
        "Water is being lost: compare with a bucket for 24 hours, then shut off bed after bed."
    ),
    "level_low": _(
        "The water stands {mm} under its mark: top up with water free of chlorine and look for the reason."
    ),
    "metal_found": _("Copper or zinc may be in the water: take the metal out and run carbon."),
    # --- power
    "power_cut": _(
        "The power is out: backup air first, note the time, open the lid; without air splash with a bucket, five minutes in every ten. Restart the pump slowly and test ammonia and nitrite for three days."
    ),
    "fault_current": _(
        "There may be a fault current: switch everything off at the board and stay away from the water; call an electrician. Battery air may run if it is reached without touching water or metal."
    ),
    "rcd_dead": _(
        "The RCD does not trip: put everything on it out of use until an electrician has seen it. Battery air first."
    ),
    "backup_battery_low": _(
        "The backup battery is weak ({volts}): charge it outdoors and test it again, or renew it."
    ),
    # --- records
    "impossible_reading": _(
        "These readings cannot be right: {measurands}. Check unit and decimal point, and measure again."
    ),
    "measure_again": _(
        "These readings are not trusted: {measurands}. Measure again with a kit in date and a meter that passed its check."
    ),
    "feed_spoilt": _(
        "The feed is spoilt: put it in the bin and open a new bag; use it within 60 days."
    ),
    "harvest_hold": _("Do not eat what was treated with {product} until {until}."),
    # --- cycling
    "cycling_dose": _(
        "Day {day} of bringing the filter in: ammonia ({tan}) is used up, give the next dose."
    ),
    "cycling_base": _("Bringing a filter in uses much alkalinity ({alk}): raise it."),
    "cycling_on_course": _(
        "Day {day} of bringing the filter in: this is usual, wait. It is expected to be ready about day {ready_day}."
    ),
    "cycling_stalled": _(
        "Day {day} of bringing the filter in and not ready (expected about day {ready_day}): look for what holds it back."
    ),
    # --- no reading leaves its band without a word
    "temp_below_band": _(
        "The water ({value}) is cooler than these fish or roots like ({limit}): cover and insulate."
    ),
    "temp_above_band": _(
        "The water ({value}) is warmer than these fish or roots like ({limit}): shade, more air, top up at dawn."
    ),
    "ph_below_band": _(
        "pH {value} is under the target ({limit}): watch it weekly and measure alkalinity."
    ),
    "ph_above_band": _(
        "pH {value} is over the target ({limit}): test the source water and the media, stop bases, and watch ammonia."
    ),
    "alk_below_band": _(
        "Alkalinity ({value}) nears the lower end of its target ({limit}): measure again next week."
    ),
    "alk_above_band": _(
        "Alkalinity ({value}) is over the target ({limit}): stop bases and blend the top-up with rain water."
    ),
    "tan_above_band": _(
        "Ammonia ({value}) is over the target ({limit}): measure pH and temperature, rinse the mechanical filter and test again."
    ),
    "nh3_above_band": _(
        "Un-ionised ammonia ({value}) is over its limit ({limit}): give no base and test again in the late afternoon."
    ),
    "no2_above_band": _(
        "Nitrite ({value}) is over the target ({limit}): test again and look at the filter's oxygen."
    ),
    "no3_below_band": _(
        "Nitrate ({value}) is under the target ({limit}): the plants may want more feed or fish."
    ),
    "no3_above_band": _(
        "Nitrate ({value}) is over the target ({limit}): more plants, or renew some water."
    ),
    "do_below_band": _(
        "Oxygen ({value}) is under the target ({limit}): check the air stones and measure at dawn."
    ),
    "do_above_band": _(
        "Oxygen ({value}) is over the target ({limit}): look for algae and measure at dawn; check the probe."
    ),
    "ec_below_band": _(
        "Conductivity ({value}) is under the target ({limit}): feed the plants a little more, in small steps."
    ),
    "ec_above_band": _(
        "Conductivity ({value}) is over the target ({limit}): renew some of the plant water."
    ),
    "k_below_band": _(
        "Potassium ({value}) is under the target ({limit}): prefer potassium bases and watch old leaves."
    ),
    "k_above_band": _("Potassium ({value}) is over the target ({limit}): prefer calcium bases."),
    "ca_below_band": _(
        "Calcium ({value}) is under the target ({limit}): prefer calcium bases and watch fruit and lettuce tips."
    ),
    "ca_above_band": _(
        "Calcium ({value}) is over the target ({limit}): prefer potassium bases; rain water for the top-up."
    ),
    "mg_below_band": _("Magnesium ({value}) is under the target ({limit}): watch old leaves."),
    "mg_above_band": _(
        "Magnesium ({value}) is over the target ({limit}): rain water for the top-up."
    ),
    "po4_below_band": _(
        "Phosphate ({value}) is under the target ({limit}): watch for purple leaves."
    ),
    "po4_above_band": _(
        "Phosphate ({value}) is over the target ({limit}): drain solids more often."
    ),
    "fe_below_band": _("Iron ({value}) is under the target ({limit}): the next dose is near."),
    "fe_above_band": _("Iron ({value}) is over the target ({limit}): leave out the next dose."),
    "na_above_band": _(
        "Sodium ({value}) is over the target ({limit}): no sodium bicarbonate; find where it comes from."
    ),
    "cl_above_band": _(
        "Chloride ({value}) is over the target ({limit}): look at the source water."
    ),
    "chlorine_above_band": _(
        "Chlorine ({value}) in the plant water: let it stand aired for a day."
    ),
    "flow_pct_below_band": _("The flow is at {value} of what it was: clean the strainer."),
    "flow_pct_above_band": _(
        "The flow is at {value} of what it was: check valves on their marks and the measurement."
    ),
    "density_above_band": _("{value} of fish in the tank are over {limit}: plan a harvest."),
    "feed_area_below_band": _(
        "Feed per bed area ({value}) is under the usual {limit}: the plants may go short."
    ),
    "feed_area_above_band": _(
        "Feed per bed area ({value}) is over the usual {limit}: nitrate will build up."
    ),
    "batt_below_band": _(
        "The backup battery ({value}) is under {limit}: charge it and read it off the charger."
    ),
    "batt_above_band": _(
        "The backup battery reads {value}, over {limit}: read it again off the charger."
    ),
    "feed_held_back": _("The water allows less feed than usual."),
}

# A sentence more when the advice carries the named param.
EXTRAS: dict[tuple[str, str], str] = {
    ("acute_ammonia", "litres"): _("Half an hour after each part, test again."),
    ("oxygen_emergency", "minutes"): _(
        "Without air the fish may have only about {minutes}, counted cautiously: air on now."
    ),
    ("oxygen_low", "warm_c"): _("At {warm_c} water holds only {holds}."),
    ("oxygen_low", "harvest_kg"): _("Harvest the biggest fish, about {harvest_kg}."),
    ("chlorine_found", "repeat_test"): _(
        "The fish look calm: repeat the test once; no colour means below what the kit can tell."
    ),
    ("chlorine_found", "freed_n"): _(
        "Where the utility uses chloramine this frees about {freed_n} of ammonia: test ammonia for 24 hours."
    ),
    ("alkalinity_low", "daily_g"): _(
        "To hold it, about {daily_g} of potassium bicarbonate a day; test again after three days."
    ),
    ("alkalinity_low", "left_caco3_g"): _(
        "What is left after this week's potassium comes from calcium carbonate: {left_caco3_g} in a bag in the flow."
    ),
    ("water_acid", "air_out"): _(
        "Alkalinity is enough: the acid is carbon dioxide. Air the water a little more and test the pH again after an hour."
    ),
    ("salt_built_up", "na"): _("Sodium is at {na}."),
    ("salt_built_up", "cl"): _("Chloride is at {cl}."),
    ("nitrogen_short", "feed_g"): _("By the table the fish can take {feed_g}."),
    ("nitrogen_short", "add_kg"): _(
        "After quarantine there is use and room for about {add_kg} more fish."
    ),
    ("fruit_hungry", "ec_step"): _(
        "Give complete plant feed in steps of {ec_step} a day for {days} days."
    ),
    ("germination_poor", "limit_c"): _("It was sown at {temp}; above {limit_c} this seed fails."),
    ("rotten_pockets", "young"): _("The filter is young: do not clean it, only add air."),
    ("bed_full_of_sludge", "young"): _("The filter is young: wait with cleaning."),
    ("disease_signs", "transfer"): _("Stop the transfer to the plants."),
    ("too_many_fish", "harvest_kg"): _("About {harvest_kg} should come out."),
    ("too_many_fish", "share_percent"): _("Their feed uses {share_percent} of the filter."),
    ("too_cold_to_feed", "resting"): _("For these fish this is winter rest and no alarm."),
    ("power_cut", "minutes"): _(
        "Counted cautiously the fish have about {minutes} without air: air on now."
    ),
    ("power_cut", "past"): _("It has been out for {out}, longer than that."),
    ("leak_suspected", "topup"): _("{topup} were topped up where {expected} are usual."),
    ("leak_suspected", "dry"): _("Pump off, air on, close the bed valves."),
    ("settler_stale", "low_l"): _("Each time {low_l} to {high_l}."),
    ("growth_poor", "conversion"): _("{conversion} of feed went into each kilogram gained."),
    ("growth_poor", "spread_percent"): _(
        "Sizes differ by {spread_percent}: the big ones eat the small."
    ),
    ("growth_poor", "missing"): _("Fish are missing: check net and lid against birds."),
    ("cycling_stalled", "causes"): _("Found so far: {causes}."),
    ("no_fruit_set", "air"): _("The air was at {air}."),
}

# what the office advises between visits, from no reading's rule
OF_THE_OFFICE: dict[str, str] = {
    "dosing_plan": _(
        "Dosing plan for {measurands}: measure before each step and stop if it does not agree."
    ),
}
