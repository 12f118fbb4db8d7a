"""Rules on pests. Nothing that harms gills may drip into the water."""

from apps.calc.advice.facts import Facts
from apps.calc.advice.registry import PLANTS, REST, Act, rule
from apps.calc.advice.results import CLIENT, NEXT_VISIT, SOON, TECHNICIAN

APHIDS_A_LEAF = 5.0
WHITEFLY_A_CARD = 10.0


@rule(
    "aphids", ref="R48", urgency=NEXT_VISIT, who=CLIENT, source="fao589", priority=PLANTS,
    recheck_hours=120, once=True, wet=False, cautions=("nothing_drips", "no_insecticide"),
)  # fmt: skip
def aphids(f: Facts) -> Act | None:
    """More than five aphids a leaf."""
    count = f.v("aphids")
    if count is None:
        return Act({}) if f.has("aphids") else None
    return Act({"count": count}) if count > APHIDS_A_LEAF else None


@rule(
    "whitefly", ref="R49", urgency=SOON, who=TECHNICIAN, source="fmars2022", priority=PLANTS,
    recheck_hours=168, once=True, wet=False, cautions=("label_dose", "no_insecticide"),
)  # fmt: skip
def whitefly(f: Facts) -> Act | None:
    """More than ten whitefly on a card in a week."""
    count = f.v("whitefly")
    if count is None:
        return Act({}) if f.has("whitefly") else None
    return Act({"count": count}) if count > WHITEFLY_A_CARD else None


@rule(
    "caterpillars", ref="R49", urgency=SOON, who=TECHNICIAN, source="fmars2022",
    priority=PLANTS, recheck_hours=168, once=True, wet=False,
    cautions=("label_dose", "no_insecticide"),
)  # fmt: skip
def caterpillars(f: Facts) -> Act | None:
    """Caterpillars or their holes."""
    return Act({}) if f.has("caterpillars") else None


@rule(
    "mildew", ref="R49", urgency=SOON, who=TECHNICIAN, source="practice", priority=PLANTS,
    recheck_hours=168, once=True, wet=False, cautions=("nothing_drips",),
)  # fmt: skip
def mildew(f: Facts) -> Act | None:
    """Mildew on leaves."""
    return Act({}) if f.has("mildew") else None


@rule(
    "mosquito_larvae", ref="R65", urgency=SOON, who=CLIENT, source="wa_doh_bti", priority=REST,
    recheck_hours=168, once=True, cautions=("label_dose",),
)  # fmt: skip
def mosquito_larvae(f: Facts) -> Act | None:
    """Any mosquito larvae."""
    return Act({}) if f.has("mosquito_larvae") or f.above("larvae", 0) else None
