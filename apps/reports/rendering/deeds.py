"""Care tasks in a client's words: what was done or is due, as a short name of the deed."""

from collections.abc import Mapping

from django.utils.translation import gettext

from apps.calc.wording import text as _

DEEDS: Mapping[str, str] = {
    "records_read": _("your notes read"),
    "meters_ph_calibrate": _("pH meter set"),
    "meters_oxygen_calibrate": _("oxygen meter set"),
    "meters_conductivity_check": _("salt meter checked"),
    "meters_kit_dates": _("test kits in date"),
    "meters_control_sample": _("test kits proved"),
    "water_full_test": _("full water test"),
    "water_quick_test": _("quick water test"),
    "plant_tank_check": _("plant water checked"),
    "tank_level": _("water level"),
    "fish_look": _("fish watched"),
    "fish_deaths": _("dead fish counted"),
    "fish_feeding_response": _("how the fish feed"),
    "fish_sample_weigh": _("fish weighed"),
    "fish_count": _("fish counted"),
    "fish_health_look": _("five fish looked at closely"),
    "fish_feed": _("fish fed"),
    "backup_air_test": _("backup air tested"),
    "rcd_test": _("safety switch tested"),
    "cables_look": _("cables and sockets"),
    "rcd_electrical_test": _("safety switch measured"),
    "air_stones_look": _("air stones"),
    "moving_bed_motion": _("moving bed"),
    "flow_test": _("flow measured"),
    "float_switch_test": _("level switch"),
    "heater_check": _("heater"),
    "timer_check": _("timer"),
    "siphon_cycles": _("siphon"),
    "leak_walk": _("search for leaks"),
    "structure_check": _("frames, net and lid"),
    "valves_move": _("valves moved"),
    "spare_pump_run": _("spare pump run"),
    "pest_scout": _("search for pests"),
    "leaf_check": _("leaves compared"),
    "roots_look": _("roots"),
    "germination_count": _("seedlings counted"),
    "seed_sow": _("next seed sown"),
    "crop_prune": _("plants pruned"),
    "crop_harvest": _("ripe plants picked"),
    "shade_check": _("shade and lids"),
    "mosquito_look": _("search for larvae"),
    "feed_store_check": _("feed store"),
    "seed_store_check": _("seed store"),
    "emergency_kit_check": _("emergency kit"),
    "water_dose": _("dose for the water"),
    "iron_dose": _("iron for the plants"),
    "water_change": _("part of the water renewed"),
    "pump_strainer_clean": _("pump strainer cleaned"),
    "screen_rinse": _("filter mat rinsed"),
    "tank_solids_outlet": _("tank outlet cleared"),
    "settler_drain": _("settler drained"),
    "channels_flush": _("channels flushed"),
    "air_stones_clean": _("air stones cleaned"),
    "air_filter_clean": _("air pump's pad cleaned"),
    "air_diaphragm": _("air pump's diaphragm"),
    "pump_service": _("pump opened and cleaned"),
    "moving_bed_screen": _("moving bed's screen"),
    "rafts_scrub": _("rafts scrubbed"),
    "settler_wash": _("settler washed"),
    "static_media_backflush": _("filter media flushed"),
    "sump_vacuum": _("sump floor cleaned"),
    "bed_dig": _("look into the bed"),
    "bed_half_clean": _("half a bed cleaned"),
    "sludge_to_garden": _("sludge to the garden"),
    "media_vinegar_test": _("media tested for lime"),
    "leak_test_standing": _("leak test, standing"),
    "leak_test_running": _("leak test, running"),
    "pump_stop_test": _("pump stop test"),
    "flow_first": _("first flow measured"),
    "lid_and_net": _("lid and net fitted"),
    "filter_start": _("filter started"),
    "filter_test": _("young filter tested"),
    "cycle_test_first": _("filter's first day test"),
    "cycle_test_second": _("filter's second day test"),
    "fish_first": _("first fish"),
    "fish_first_look": _("new fish looked at"),
    "papers_given": _("papers handed over"),
    "skill_feed": _("you can feed by the scoop"),
    "skill_temperature": _("you can read the temperature"),
    "skill_top_up": _("you can top up"),
    "skill_test_kits": _("you can use the kits"),
    "skill_gasping": _("you know gasping fish"),
    "skill_backup_air": _("you can start backup air"),
    "skill_rcd": _("you can test the switch"),
    "skill_intake": _("you can clear the intake"),
    "skill_settler": _("you can drain the settler"),
    "skill_sow": _("you can sow"),
    "skill_harvest": _("you can harvest cleanly"),
    "skill_call": _("you know whom to call"),
    "left_running": _("all left running"),
}

# what a client is asked to do between visits
ASKS: Mapping[str, str] = {
    "water_quick_test": _("Do the quick water test."),
    "tank_level": _("Check the level. Note the top-up."),
    "fish_look": _("Watch the fish for three minutes."),
    "fish_deaths": _("Count and take out dead fish."),
    "fish_feeding_response": _("See how fast the fish eat."),
    "fish_feed": _("Feed by the scoop."),
    "backup_air_test": _("Run the backup air 15 minutes."),
    "rcd_test": _("Press the safety switch's test button."),
    "cables_look": _("Look over cables and sockets."),
    "air_stones_look": _("Look for even bubbles."),
    "moving_bed_motion": _("See that all the media turn."),
    "timer_check": _("Check the timer's clock."),
    "siphon_cycles": _("Watch the siphon fill and empty."),
    "leak_walk": _("Walk round and look for wet spots."),
    "pest_scout": _("Look for pests under the leaves."),
    "leaf_check": _("Compare old and new leaves."),
    "germination_count": _("Count the seedlings."),
    "seed_sow": _("Sow the next batch."),
    "crop_prune": _("Prune and tie up the plants."),
    "crop_harvest": _("Pick what is ripe. Weigh it."),
    "mosquito_look": _("Look for larvae in still water."),
    "shade_check": _("Check the shade and lids."),
    "feed_store_check": _("Keep the feed dry and cool."),
    "pump_strainer_clean": _("Unplug. Then clean the pump's strainer."),
    "screen_rinse": _("Rinse the filter mat in tank water."),
    "tank_solids_outlet": _("Clear the tank's bottom outlet."),
    "settler_drain": _("Drain the settler to the garden."),
    "sludge_to_garden": _("Empty the sludge into the garden."),
    "filter_test": _("Test the young filter's water."),
    "water_dose": _("Give the bags on their days."),
    "iron_dose": _("Give the plants their iron."),
    "fish_count": _("Count the fish."),
}

# what a client learns at a hand-over
SKILLS: Mapping[str, str] = {
    "skill_feed": _("Feeding by the scoop"),
    "skill_temperature": _("Reading the temperature"),
    "skill_top_up": _("Topping up"),
    "skill_test_kits": _("Using the test kits"),
    "skill_gasping": _("Helping fish that gasp"),
    "skill_backup_air": _("Starting the backup air"),
    "skill_rcd": _("Testing the safety switch"),
    "skill_intake": _("Clearing the pump's intake"),
    "skill_settler": _("Draining the settler"),
    "skill_sow": _("Sowing"),
    "skill_harvest": _("Harvesting cleanly"),
    "skill_call": _("Knowing whom to call"),
}

# why something was not done, as it is said to the client
WHY_NOT: Mapping[str, str] = {
    "no_access": _("we could not get in"),
    "weather": _("lightning or heavy rain"),
    "no_power": _("the power was off"),
    "declined": _("you did not want it"),
    "client_did_it": _("you did it yourself"),
    "part_missing": _("a part is missing"),
    "fish_stressed": _("the fish needed rest"),
    "too_cold": _("too cold to handle fish"),
    "not_fitted": _("this part is not fitted"),
    "filter_young": _("the young filter needs rest"),
    "meter_failed": _("the meter failed its check"),
    "unsafe": _("it was not safe"),
    "no_time": _("we ran out of time"),
}


def why_not(code: str, names: Mapping[str, str]) -> str:
    """Return why something was not done; a reason of the firm's own keeps its name."""
    return gettext(WHY_NOT.get(code, names.get(code, code)))


def skill(code: str) -> str:
    """Return what a client learns at a hand-over."""
    return gettext(SKILLS.get(code, code))


def ask(code: str, name: str) -> str:
    """Return what a client is asked to do; a task of the firm's own keeps its name."""
    return gettext(ASKS.get(code, name))


def deed(code: str, name: str) -> str:
    """Return a task in a client's words; one of the firm's own keeps its name."""
    return gettext(DEEDS.get(code, name))
