"""From an advice to the sentences that say it: codes and parameters in reading order.

The upper floors translate each msgid and format each parameter by FORMATS; nothing is put
together here, so that other languages may order their words.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from apps.calc.advice.cautions import CAUTIONS
from apps.calc.advice.results import CLIENT, NOW, Advice, Step
from apps.calc.advice.texts import EXTRAS, OF_THE_OFFICE, TEXTS

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
CHANGE_ONCE = _("Change {litres} of the water ({percent} of it).")
CHANGE_MORE = _("More may follow on another day.")
CHANGE_AGENT = _("Into the new water of each part: {dechlorinator_g} of sodium thiosulfate.")
FEED_NONE = _("Do not feed for {feed_hours}.")
FEED_LESS = _("Feed {feed_percent} of the usual amount for {feed_hours}.")
POSTPONED = _("Not before {not_before_hours} have passed, because of the dose.")
RECHECK = _("Look again after {recheck_hours}.")

CAUSE_WORDS: dict[str, str] = {
    "ph_under_6_5": _("pH under 6.5"),
    "alkalinity_under_40": _("alkalinity under 40 mg/L"),
    "ammonia_over_5": _("ammonia over 5 mg/L"),
    "under_15_degrees": _("under 15 °C"),
    "chlorine": _("chlorine"),
    "oxygen_under_2": _("oxygen under 2 mg/L"),
}
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
    "change_today": _("No base today: the water change moves the pH enough."),
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
    "base_today": _("No water change today: the base moves the pH enough."),
    "not_needed": _("No water change is needed."),
    "too_small": _("No water change: what is safe would be too little to help."),
}
# decimals and unit of each parameter; the unit is turned into the reader's own, and hours are
# said by readable_hours
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
    """A msgid and its raw parameters.

    ``unit``: of the parameter ``dose``; ``measurand``: that of ``value`` and ``limit``.
    """

    msgid: str
    params: Mapping[str, float | str]
    unit: str = ""
    measurand: str = ""


def sentences(advice: Advice) -> list[Sentence]:
    """Return what an advice says, in reading order: what, how much, feed, when to look again."""
    of = advice.answers[0].split(".")[0] if advice.rule.endswith("_band") else ""
    text = TEXTS.get(advice.rule) or OF_THE_OFFICE[advice.rule]
    said = [Sentence(text, _main_params(advice), measurand=of)]
    for (code, param), text in EXTRAS.items():
        if code == advice.rule and _worth_saying(advice.params.get(param)):
            said.append(Sentence(text, advice.params))
    return [*said, *_dose(advice), *_change(advice), *_feed(advice), *_after(advice)]


def readable_hours(hours: float) -> tuple[int, str]:
    """Return a time as a person says it: minutes under two hours, days from two days on.

    >>> readable_hours(0.5), readable_hours(12), readable_hours(720)
    ((30, 'min'), (12, 'h'), (30, 'days'))
    """
    if hours < 2:
        return round(hours * 60), "min"
    return (round(hours), "h") if hours < 48 else (round(hours / 24), "days")


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
    only = Step(0.0, advice.dose, advice.unit, advice.substance)
    said = [_step(step) for step in advice.steps or (only,)]
    from_bags = advice.who == CLIENT and advice.urgency != NOW
    return [*said, Sentence(DOSE_BAG, {})] if from_bags else said


def _step(step: Step) -> Sentence:
    msgid = DOSE if step.after_hours == 0 else DOSE_STEP
    params: dict[str, float | str] = {
        "after_hours": step.after_hours,
        "dose": step.dose,
        "substance": step.substance,
    }
    return Sentence(msgid, params, step.unit)


def _change(advice: Advice) -> list[Sentence]:
    reason = str(advice.params.get("no_change", ""))
    if advice.change_fraction is None or "parts" not in advice.params:
        return [Sentence(NO_CHANGE[reason], {})] if reason else []
    once = advice.params["parts"] == 1
    said = [Sentence(CHANGE_ONCE if once else CHANGE, advice.params)]
    if float(advice.params.get("wanted_percent", 0.0)) > 100 * advice.change_fraction + 5:
        said.append(Sentence(CHANGE_MORE, {}))
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
