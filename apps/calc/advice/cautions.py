"""What to be careful about, said to staff and to clients alike: code to sentence."""

_ = str

CAUTIONS: dict[str, str] = {
    "goggles": _("Wear gloves and goggles; keep powders off skin and eyes."),
    "dissolve_first": _(
        "Dissolve in a bucket of system water first and pour slowly into the sump, pumps running."
    ),
    "test_before_next": _("Test again before each next step."),
    "stop_and_call": _("Stop and call us if fish gasp or the pH moves by more than 0.2."),
    "match_water": _("New water within 2 °C and 0.3 pH of the tank."),
    "dechlorinate": _(
        "Tap water holds chlorine: treat it before it goes in, and never leave a hose running."
    ),
    "discharge": _(
        "Old water goes to your own soil garden, not into a drain or stream; local rules decide."
    ),
    "no_base_now": _("Do not raise the pH now: it makes ammonia more toxic."),
    "air_on": _("All air on first."),
    "no_acid_in_fish_water": _("Never put acid into fish water."),
    "no_bed_clean_now": _("Do not clean the beds or the biofilter now."),
    "biosecurity": _(
        "Disinfect nets and tools; move nothing between places without a check for disease."
    ),
    "fast_lime_kills": _("Raising the pH fast turns this ammonia deadly."),
    "salt_and_plants": _("Sodium and chloride build up and harm beans and strawberries first."),
    "calcium_chloride_apart": _(
        "Never mix calcium chloride with phosphate, sulfate or bicarbonate in one bucket."
    ),
    "do_not_dilute_chloride": _("Do not dilute the chloride while nitrite is up."),
    "kit_error_at_low_alkalinity": _(
        "At this level the kit may be wrong by all of its reading: small steps, measure again after an hour."
    ),
    "acid_into_water": _("Acid into water, never water into acid; open air, gloves and goggles."),
    "acid_source_only": _("Only into the source barrel, never into a tank with fish."),
    "trained_only": _("Only by trained people."),
    "no_oxygen_chemicals": _("No chemicals as a source of oxygen."),
    "no_random_medicine": _(
        "No medicine without the word of a fish-health professional: plants take it up."
    ),
    "chloramine_frees_ammonia": _("Chloramine leaves ammonia behind: test it for 24 hours."),
    "open_air": _(
        "Work in open air: the gas is poisonous. Keep the stirred water away from the fish."
    ),
    "no_algicide": _("No algicide: copper kills fish, filter and plants."),
    "do_not_overfeed": _("Do not overfeed to feed the plants."),
    "no_nitrogen_salts_with_fish": _("No nitrate or ammonium fertiliser where fish live."),
    "eddha_red": _("EDDHA colours the water red and hides the fish; that is normal."),
    "no_hydroxide": _("Never a hydroxide for this."),
    "pellet_must_split": _("A pellet must get wet through and not dry again."),
    "no_fungicide": _("No fungicide."),
    "nothing_drips": _("Nothing may drip into the water: soap harms gills."),
    "no_insecticide": _("No pyrethrum, neem or garden spray: they harm fish or the filter."),
    "label_dose": _("By the label; where a licence is needed, by people who hold it."),
    "harvest_hold_if_treated": _("If treated: nothing is eaten until the hold ends."),
    "do_not_eat_dead_fish": _("Do not eat fish found dead; gloves, bag, bin."),
    "test_after_clean": _("Test ammonia for five days after cleaning."),
    "sludge_off_leaves": _("No sludge on leaves that are eaten."),
    "unplug_first": _("Unplug before hands go into the water."),
    "electrician_only": _("Only a licensed electrician; nobody touches the water."),
    "battery": _("Do not short the poles; charge outdoors."),
    "no_fish_while_cycling": _("Only while no fish are in the system."),
}
