"""What stands behind the rules: no reading leaves its band without a word.

For each measurand and side one rule that reads the band of the loop's context and speaks only
where no other rule has answered.
"""

from apps.calc.advice import guards
from apps.calc.advice.facts import Facts
from apps.calc.advice.registry import FISH_SOON, PLANTS, REST, Act, Look, rule
from apps.calc.advice.results import (
    CLIENT,
    GOOD_TO_KNOW,
    NEXT_VISIT,
    OFFICE,
    SOON,
    TECHNICIAN,
    TODAY,
)
from apps.calc.judgement import HARMFUL, IN_BAND, MEASURE_AGAIN, NEAR_EDGE

# what fish or filter feel within hours or days; the rest is felt by plants, in weeks
VITAL = frozenset({"temp", "ph", "alk", "tan", "nh3", "no2", "do", "chlorine", "flow_pct"})

# measurand, side, who, source
_FALLBACKS: tuple[tuple[str, str, str, str], ...] = (
    ("temp", "low", CLIENT, "fao589"),
    ("temp", "high", CLIENT, "fao589"),
    ("ph", "low", TECHNICIAN, "fao589"),
    ("ph", "high", TECHNICIAN, "fao589"),
    ("alk", "low", CLIENT, "fao589"),
    ("alk", "high", TECHNICIAN, "fao589"),
    ("tan", "high", TECHNICIAN, "fao589"),
    ("nh3", "high", TECHNICIAN, "emerson1975"),
    ("no2", "high", TECHNICIAN, "fao589"),
    ("no3", "low", TECHNICIAN, "fao589"),
    ("no3", "high", TECHNICIAN, "fao589"),
    ("do", "low", CLIENT, "fao589"),
    ("do", "high", CLIENT, "practice"),
    ("ec", "low", TECHNICIAN, "osu_ec_ph"),
    ("ec", "high", TECHNICIAN, "osu_ec_ph"),
    ("k", "low", TECHNICIAN, "practice"),
    ("k", "high", TECHNICIAN, "practice"),
    ("ca", "low", TECHNICIAN, "practice"),
    ("ca", "high", TECHNICIAN, "practice"),
    ("mg", "low", TECHNICIAN, "practice"),
    ("mg", "high", TECHNICIAN, "practice"),
    ("po4", "low", TECHNICIAN, "practice"),
    ("po4", "high", TECHNICIAN, "practice"),
    ("fe", "low", TECHNICIAN, "rakocy2007"),
    ("fe", "high", TECHNICIAN, "practice"),
    ("na", "high", TECHNICIAN, "osu_ec_ph"),
    ("cl", "high", TECHNICIAN, "osu_ec_ph"),
    ("chlorine", "high", CLIENT, "practice"),
    ("flow_pct", "low", TECHNICIAN, "practice"),
    ("flow_pct", "high", TECHNICIAN, "practice"),
    ("density", "high", OFFICE, "fao589"),
    ("feed_area", "low", TECHNICIAN, "fao589"),
    ("feed_area", "high", TECHNICIAN, "fao589"),
    ("batt", "low", TECHNICIAN, "practice"),
    ("batt", "high", TECHNICIAN, "practice"),
)
JUDGED: tuple[str, ...] = tuple(dict.fromkeys(measurand for measurand, *_ in _FALLBACKS))
_SIDES = {"low": "below", "high": "above"}


def _urgency(measurand: str, word: str) -> str:
    if word == NEAR_EDGE:
        return GOOD_TO_KNOW
    if measurand not in VITAL:
        return SOON if word == HARMFUL else NEXT_VISIT
    return TODAY if word == HARMFUL else SOON


def _winter_rest(f: Facts, measurand: str, side: str) -> bool:
    """A cold-hardy fish's winter is no alarm."""
    return (
        (measurand, side) == ("temp", "low")
        and f.has_fish
        and all(kind.winter_hardy for kind in f.species)
    )


def _look(measurand: str, side: str) -> Look:
    def look(f: Facts) -> Act | None:
        word, value = f.word(measurand), f.judged(measurand)
        if word in (IN_BAND, MEASURE_AGAIN) or value is None or f.side(measurand) != side:
            return None
        band = f.band(measurand)
        limit = band.t_lo if side == "low" else band.t_hi
        params: dict[str, float | str] = {"value": value}
        if limit is not None:
            params["limit"] = limit
        resting = _winter_rest(f, measurand, side) and word != HARMFUL
        feed = guards.feed_percent(f) if measurand in VITAL else None
        return Act(
            params,
            urgency=GOOD_TO_KNOW if resting else _urgency(measurand, word),
            feed_percent=feed,
            feed_hours=None if feed is None else 24,
        )

    look.__doc__ = f"{measurand} {_SIDES[side]} its band, and no other rule has answered."
    return look


for _measurand, _side, _who, _source in _FALLBACKS:
    rule(
        f"{_measurand}_{_SIDES[_side]}_band",
        urgency=NEXT_VISIT,
        who=_who,
        source=_source,
        priority=FISH_SOON if _measurand in VITAL else PLANTS,
        recheck_hours=72 if _measurand in VITAL else 336,
        answers=(f"{_measurand}.{_side}",),
        fallback=True,
    )(_look(_measurand, _side))


@rule(
    "feed_held_back", urgency=TODAY, who=CLIENT, source="fao589", priority=REST, recheck_hours=24,
    answers=("feed.high",), fallback=True, wet=False,
)  # fmt: skip
def feed_held_back(f: Facts) -> Act | None:
    """The water allows less feed than usual, and no other rule has said so."""
    percent = guards.feed_percent(f)
    return None if percent is None else Act({}, feed_percent=percent, feed_hours=24)
