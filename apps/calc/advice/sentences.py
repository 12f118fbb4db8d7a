"""From an advice to the sentences that say it: codes and parameters in reading order.

The upper floors translate each msgid and format each parameter by FORMATS; nothing is put
together here, so that other languages may order their words.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from apps.calc.advice.results import CLIENT, Advice
from apps.calc.advice.texts import EXTRAS, TEXTS

_ = str

URGENCY_WORDS: dict[str, str] = {
    "now": _("now"),
    "today": _("today"),
    "within_3_days": _("within 3 days"),
    "next_visit": _("next visit"),
    "good_to_know": _("good to know"),
}
WHO_WORDS: dict[str, str] = {
    "client": _("you"),
    "technician": _("our technician"),
    "office": _("our office"),
    "electrician": _("a licensed electrician"),
    "fish_health": _("a fish-health professional"),
}
WORD_WORDS: dict[str, str] = {
    "in_band": _("in band"),
    "near_edge": _("near the edge"),
    "out_of_band": _("out of band"),
    "harmful": _("harmful"),
    "measure_again": _("measure again"),
}
DOSE = _("Dose: {dose} of {substance}.")
DOSE_STEP = _("After {after_hours}: {dose} of {substance}.")
DOSE_BAG = _("Use the labelled bags that we leave, one for each date.")
CHANGE = _("Change {litres} of the water in {parts} parts, an hour apart ({percent} of it).")
CHANGE_AGENT = _("Into the new water of each part: {dechlorinator_g} of sodium thiosulfate.")
FEED_NONE = _("Do not feed for {feed_hours}.")
FEED_LESS = _("Feed {feed_percent} of the usual amount for {feed_hours}.")
POSTPONED = _("Not before {not_before_hours} have passed, because of the dose.")
RECHECK = _("Look again after {recheck_hours}.")

# why an advice names no dose
NO_DOSE: dict[str, str] = {
    "measure_first": _(
        "No dose yet: the readings it rests on are missing, not trusted, or older than a day."
    ),
    "volume_unknown": _("No dose yet: the volume of the loop is not known within 10 %."),
    "ammonia_unknown": _("No dose yet: ammonia must be measured before the pH is raised."),
    "ammonia_high": _(
        "No base now: with this much ammonia only the slow steps against acid water are allowed."
    ),
    "no_base_now": _("No base now: it would make ammonia more toxic."),
    "other_base": _("The base is given by another line of this list: one a day."),
    "would_harm": _("No dose: even a small one would move the water too far."),
    "no_room_for_salt": _("No dose: the week's potassium or the sodium limit is used up."),
    "not_needed": _("No dose is needed."),
    "chloride_does_not_help": _("Chloride does not help these fish against nitrite."),
    "source_unknown": _("No dose yet: the source water is not on record."),
    "iron_given": _("Iron was given within three weeks; measure it before more is given."),
    "treatment": _("No dose while the fish are treated."),
    "not_for_rules": _("Only a trained technician may work with this salt."),
}
# why an advice names no water change
NO_CHANGE: dict[str, str] = {
    "source_unknown": _("No water change yet: the source water of this place is not on record."),
    "measure_first": _(
        "No water change yet: pH, alkalinity and temperature must be measured first."
    ),
    "source_ph_high": _(
        "No water change with this source: its pH would make the ammonia more toxic."
    ),
    "ph_would_jump": _("No water change with this source: the pH would jump."),
    "temperature_would_jump": _(
        "No water change with this source: bring its temperature within 2 °C first."
    ),
    "ammonia_would_rise": _("No water change with this source: un-ionised ammonia would rise."),
    "nitrite_up": _("No water change now: it would dilute the chloride while nitrite is up."),
    "other_change": _("The water change of another line of this list is enough for today."),
    "not_needed": _("No water change is needed."),
    "too_small": _("No water change: what is safe would be too little to help."),
}
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
# decimals and unit of each parameter; the unit is turned into the reader's own
FORMATS: Mapping[str, tuple[int, str]] = {
    "tan": (2, "mg/L"), "nh3": (3, "mg/L"), "no2": (2, "mg/L"), "no3": (0, "mg/L"),
    "alk": (0, "mg/L CaCO3"), "ph": (1, ""), "first": (1, ""), "second": (1, ""), "swing": (1, ""),
    "ph_after": (1, ""), "ph_minutes": (1, ""), "do": (1, "mg/L"), "holds": (1, "mg/L"),
    "feed_from": (1, "mg/L"), "chlorine": (2, "mg/L"), "freed_n": (2, "mg/L"),
    "chloride": (0, "mg/L"), "na": (0, "mg/L"), "cl": (0, "mg/L"), "k": (0, "mg/L"),
    "ca": (0, "mg/L"), "mg": (0, "mg/L"), "po4": (1, "mg/L"), "fe": (1, "mg/L"),
    "mg_l": (1, "mg/L"), "target": (0, "mg/L CaCO3"), "reaches": (0, "mg/L CaCO3"),
    "source_alk": (0, "mg/L CaCO3"), "ec": (2, "mS/cm"), "target_ec": (1, "mS/cm"),
    "ec_step": (1, "mS/cm"), "temp": (1, "°C"), "limit_c": (1, "°C"), "warm_c": (1, "°C"),
    "feed_min": (0, "°C"), "feed_max": (0, "°C"), "air": (0, "°C"), "percent": (0, "%"),
    "wanted_percent": (0, "%"), "alk_drop": (0, "%"), "ec_drop": (0, "%"), "sludge": (0, "%"),
    "share_percent": (0, "%"), "spread_percent": (0, "%"), "feed_percent": (0, "%"),
    "litres": (0, "L"), "barrel_l": (0, "L"), "low_l": (0, "L"), "high_l": (0, "L"),
    "parts": (0, ""), "days": (0, ""), "day": (0, ""), "ready_day": (0, ""), "dead": (0, ""),
    "count": (0, ""), "total_g": (0, "g"), "daily_g": (0, "g"), "left_caco3_g": (0, "g"),
    "ascorbic_g": (1, "g"), "dechlorinator_g": (1, "g"), "feed_g": (0, "g/day"),
    "demand": (0, "g"), "supply": (0, "g"), "air_l_min": (0, "L/min"), "harvest_kg": (1, "kg"),
    "add_kg": (1, "kg"), "density": (0, "kg/m³"), "densest": (0, "kg/m³"), "area": (1, "m²"),
    "needed_m2": (0, "m²"), "more_m2": (0, "m²"), "minutes": (0, "min"), "out": (0, "min"),
    "topup": (0, "L/day"), "expected": (0, "L/day"), "mm": (0, "mm"), "volts": (1, "V"),
    "conversion": (1, "kg"), "per_day": (1, "mg/L"), "feed_hours": (0, "h"),
    "after_hours": (0, "h"), "not_before_hours": (0, "h"), "recheck_hours": (1, "h"),
}  # fmt: skip


@dataclass(frozen=True)
class Sentence:
    """A msgid and its raw parameters; ``unit`` is that of ``value`` and ``limit``, or a dose's."""

    msgid: str
    params: Mapping[str, float | str]
    unit: str = ""


def sentences(advice: Advice) -> list[Sentence]:
    """Return what an advice says, in reading order: what, how much, feed, when to look again."""
    said = [Sentence(TEXTS[advice.rule], _main_params(advice))]
    for (code, param), text in EXTRAS.items():
        if code == advice.rule and _worth_saying(advice.params.get(param)):
            said.append(Sentence(text, advice.params))
    return [*said, *_dose(advice), *_change(advice), *_feed(advice), *_after(advice)]


def caution_sentences(advice: Advice) -> list[Sentence]:
    """Return the cautions of an advice, each once."""
    return [Sentence(CAUTIONS[code], {}) for code in dict.fromkeys(advice.cautions)]


def _main_params(advice: Advice) -> Mapping[str, float | str]:
    if advice.rule == "leaf_salt_burn":
        return {**advice.params, "litres": advice.dose or 0.0}
    return advice.params


def _worth_saying(value: float | str | None) -> bool:
    return bool(value) if isinstance(value, str) else value is not None and value > 0.05


def _dose(advice: Advice) -> list[Sentence]:
    reason = str(advice.params.get("no_dose", ""))
    if advice.dose is None or advice.unit == "L":
        return [Sentence(NO_DOSE[reason], {})] if reason else []
    if len(advice.steps) < 2:
        params = {"dose": advice.dose, "substance": advice.substance}
        return [Sentence(DOSE, params, advice.unit)]
    said = [
        Sentence(
            DOSE if step.after_hours == 0 else DOSE_STEP,
            {"after_hours": step.after_hours, "dose": step.dose, "substance": step.substance},
            step.unit,
        )
        for step in advice.steps
    ]
    return [*said, Sentence(DOSE_BAG, {})] if advice.who == CLIENT else said


def _change(advice: Advice) -> list[Sentence]:
    reason = str(advice.params.get("no_change", ""))
    if advice.change_fraction is None or "parts" not in advice.params:
        return [Sentence(NO_CHANGE[reason], {})] if reason else []
    said = [Sentence(CHANGE, advice.params)]
    if _worth_saying(advice.params.get("dechlorinator_g")):
        said.append(Sentence(CHANGE_AGENT, advice.params))
    return said


def _feed(advice: Advice) -> list[Sentence]:
    if advice.feed_percent is None:
        return []
    params = {"feed_percent": advice.feed_percent, "feed_hours": advice.feed_hours or 24.0}
    return [Sentence(FEED_LESS if advice.feed_percent else FEED_NONE, params)]


def _after(advice: Advice) -> list[Sentence]:
    said = []
    if advice.not_before_hours:
        said.append(Sentence(POSTPONED, {"not_before_hours": advice.not_before_hours}))
    if advice.recheck_hours:
        said.append(Sentence(RECHECK, {"recheck_hours": advice.recheck_hours}))
    return said
