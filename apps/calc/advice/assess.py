"""From a situation to judgements, derived values and advice."""

from apps.calc.advice import (  # noqa: F401  (each module registers its rules when imported)
    air,
    alkalinity,
    ammonia,
    clarity,
    cycling,
    fallback,
    fish,
    hardware,
    nitrite,
    nutrients,
    pests,
    plants,
    power,
    records,
)
from apps.calc.advice.derived import derive
from apps.calc.advice.facts import Bands, Facts
from apps.calc.advice.fallback import JUDGED
from apps.calc.advice.registry import RULES, Rule
from apps.calc.advice.results import Advice, Assessment, Derived, Held, Judgement, NotTrusted
from apps.calc.advice.settle import hold_for_fault, in_order, settle
from apps.calc.advice.situation import Situation
from apps.calc.judgement import IN_BAND, MEASURE_AGAIN


def assess(situation: Situation, bands: Bands) -> Assessment:
    """Return what the readings of a system mean and what to do about them.

    ``bands``: limits by (measurand, context), the firm's own or the catalogue's. The answer is the
    same for the same situation: there is no clock and no chance in it. Readings that are not
    trusted are named and lead to no judgement and no dose.
    """
    derived: list[Derived] = []
    judgements: list[Judgement] = []
    advice: list[Advice] = []
    held: list[Held] = []
    for index, loop in enumerate(situation.loops):
        facts = Facts(situation, loop, bands)
        derived += derive(facts)
        judgements += _judgements(facts)
        drafts = _drafts(facts, main=index == 0)
        settled, withheld = settle(facts, drafts)
        advice += settled
        held += withheld
    advice, for_fault = hold_for_fault(advice)
    return Assessment(
        tuple(derived),
        tuple(judgements),
        tuple(in_order(advice)),
        tuple(_not_trusted(situation)),
        (*held, *for_fault),
    )


def _drafts(facts: Facts, *, main: bool) -> list[Advice]:
    asked = [one for one in RULES.values() if main or not one.once]
    drafts = _fired(facts, [one for one in asked if not one.fallback])
    answered = {what for draft in drafts for what in draft.answers}
    if any(draft.feed_percent is not None for draft in drafts):
        answered.add("feed.high")
    for one in asked:
        if one.fallback and not answered.intersection(one.answers):
            more = _fired(facts, [one])
            drafts += more
            if any(draft.feed_percent is not None for draft in more):
                answered.add("feed.high")
    return drafts


def _fired(facts: Facts, rules: list[Rule]) -> list[Advice]:
    found = (one.advice(facts) for one in rules)
    return [draft for draft in found if draft is not None]


def _judgements(facts: Facts) -> list[Judgement]:
    made = []
    for measurand in JUDGED:
        made += _judged(facts, measurand)
    return made


def _judged(facts: Facts, measurand: str) -> list[Judgement]:
    reading = facts.loop.readings.get(measurand)
    band = facts.band(measurand)
    if band.t_lo is None and band.t_hi is None:
        return []
    if reading is not None and not reading.trusted:
        return [Judgement(facts.loop.id, measurand, reading.value, MEASURE_AGAIN, "",
                          band.context, "unknown", reading.id)]  # fmt: skip
    value = facts.judged(measurand)
    if value is None:
        return []
    word = facts.word(measurand)
    side = "" if word == IN_BAND else facts.side(measurand)
    used = reading.id if reading else ""
    return [Judgement(facts.loop.id, measurand, value, word, side, band.context,
                      facts.trend(measurand), used)]  # fmt: skip


def _not_trusted(situation: Situation) -> list[NotTrusted]:
    return [
        NotTrusted(loop.id, code, reading.value, reading.doubt or "not_trusted", reading.id)
        for loop in situation.loops
        for code, reading in sorted(loop.readings.items())
        if not reading.trusted
    ]
