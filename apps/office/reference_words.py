"""The catalogue's figures in words: what each is called, and its unit."""

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

LABELS: dict[str, Promise] = {
    "red_lo": _("harmful below"), "amber_lo": _("out of band below"), "t_lo": _("good from"),
    "t_hi": _("good to"), "amber_hi": _("out of band above"), "red_hi": _("harmful above"),
    "measurand": _("measurand"), "context": _("holds for"), "note": _("note"),
    "hard_low": _("refused below"), "hard_high": _("refused above"),
    "ask_low": _("asked again below"), "ask_high": _("asked again above"),
    "decimals": _("decimals"), "unit": _("unit"), "units": _("units that may be typed"),
    "method": _("method"), "resolution": _("resolution and error"), "often": _("how often"),
    "misread": _("usual slips"), "time_of_day": _("time of day"),
    "basis_choices": _("reported as"), "derived": _("worked out, not read"),
    "scientific_name": _("scientific name"), "group": _("group"), "temp_context": _("bands of"),
    "die_low": _("dies below, °C"), "feed_min": _("feeds from, °C"),
    "opt_low": _("best from, °C"), "opt_high": _("best to, °C"), "feed_max": _("feeds to, °C"),
    "die_high": _("dies above, °C"), "ph_low": _("pH from"), "ph_high": _("pH to"),
    "do_target": _("oxygen wanted, mg/L"), "do_min": _("oxygen at least, mg/L"),
    "tan_max": _("ammonia as N at most, mg/L"), "no2_max": _("nitrite as N at most, mg/L"),
    "protein_low": _("protein from"), "protein_high": _("protein to"),
    "market_g": _("weight when eaten, g"), "months_low": _("months to it, from"),
    "months_high": _("months to it, to"), "novice_density": _("density for beginners, kg/m³"),
    "salt_ok": _("stands salt to, g/L"), "cold_hardy": _("winters outdoors"),
    "air_breather": _("breathes air"), "nitrite_sensitive": _("sensitive to nitrite"),
    "chloride_helps": _("chloride helps against nitrite"), "eaten": _("is eaten"),
    "confirm": _("asked to confirm"), "remarks": _("remarks"),
    "who": _("who"), "criticality": _("criticality"), "rhythm": _("rhythm"),
    "every_days": _("every so many days"), "tolerance_days": _("give or take, days"),
    "early_days": _("early by at most, days"),
    "minutes": _("minutes"), "tools": _("tools"), "evidence": _("evidence"),
    "skip": _("reasons beside the usual"), "done_when": _("done when"), "caution": _("caution"),
    "needs": _("where there is"), "loop": _("loop"), "order": _("place in the order of work"),
    "preparation": _("the client prepares"), "readings": _("readings"),
    "counts_from": _("counts from"),
    "every_other": _("until then every so many days"), "no_feed_hours": _("no feed before, hours"), "part": _("part"),
    "subject": _("about"), "if": _("if"), "cause": _("because"), "action": _("then"),
    "urgency": _("how soon"), "recheck_hours": _("look again after, hours"),
    "cautions": _("cautions"), "priority": _("priority, the smaller goes first"),
    "state": _("state"), "ask": _("asks"), "bad": _("bad answer"), "say": _("says"),
    "send": _("sends"), "title": _("title"), "low": _("from"), "high": _("to"), "rule": _("rule"),
    "shelf": _("keeps"), "opened": _("keeps once opened"), "shelf_days": _("keeps, days"),
    "opened_days": _("keeps once opened, days"), "store": _("stored"),
    "expiry_action": _("when it is over"), "stock_minimum": _("stock at least"),
    "always": _("may always be given"), "about": _("about"), "tasks": _("tasks"),
    "days_apart": _("days apart"), "why": _("why"), "fixed_minutes": _("minutes beside the tasks"),
    "includes": _("includes"), "when": _("when"), "type": _("what is picked"),
    "spacing_cm_low": _("spacing from, cm"), "spacing_cm_high": _("spacing to, cm"),
    "per_m2_low": _("plants a m², from"), "per_m2_high": _("plants a m², to"),
    "ec_low": _("conductivity from, mS/cm"), "ec_high": _("conductivity to, mS/cm"),
    "air_low": _("air from, °C"), "air_high": _("air to, °C"),
    "harvest_days_low": _("days to the harvest, from"),
    "harvest_days_high": _("days to the harvest, to"),
    "transplant_day_low": _("set out on day, from"),
    "transplant_day_high": _("set out on day, to"), "sow_mm_low": _("sown deep, from mm"),
    "sow_mm_high": _("sown deep, to mm"), "pelleted": _("pelleted seed"),
    "germination_days": _("days to come up by °C"), "pruning": _("pruning"),
    "harvest_sign": _("ripe when"), "store_c_low": _("stored from, °C"),
    "store_c_high": _("stored to, °C"), "store_days_low": _("keeps days, from"),
    "store_days_high": _("keeps days, to"),
    "normal_seedlings_pct": _("normal seedlings by °C, %"),
    "seed_life_years_low": _("seed keeps years, from"),
    "seed_life_years_high": _("seed keeps years, to"),
    "soil_low": _("soil from, °C"), "soil_high": _("soil to, °C"),
    "warm_germination_limit": _("comes up to, °C"), "condition": _("condition"),
    "ref": _("number"), "day": _("day"), "factor": _("factor"), "temp_c": _("at °C"),
    "n": _("nitrogen, mg/L"), "p": _("phosphorus, mg/L"), "k": _("potassium, mg/L"),
    "ca": _("calcium, mg/L"), "mg": _("magnesium, mg/L"), "s": _("sulfur, mg/L"),
    "fe": _("iron, mg/L"), "mn": _("manganese, mg/L"), "b": _("boron, mg/L"),
    "zn": _("zinc, mg/L"), "cu": _("copper, mg/L"), "mo": _("molybdenum, mg/L"),
    "overlaps": _("may run beside a test"), "source": _("source"), "code": _("code"),
}  # fmt: skip
# what names an entry or says where it comes from; the firm changes figures, not these
FIXED = frozenset(
    {
        "code", "ref", "kind", "source", "source_kind", "measurand", "context", "name", "title",
        "part", "state", "scientific_name", "temp_context", "group", "loop", "rhythm", "unit",
        "derived", "subject", "criticality", "includes", "urgency", "counts_from", "who", "type", "about",
    }
)  # fmt: skip
HIDDEN = frozenset({"code", "kind", "source", "source_kind", "name", "title", "position"})


def label_of(key: str) -> str:
    """Return what a figure is called."""
    return str(LABELS.get(key) or key.replace("_", " "))
