"""What a site survey says of a site: what wants care, what stops it, and what nobody has looked at.

The limits are common practice in small systems, unless their row says otherwise.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from apps.calc.design.sizing import FLOOR_KG_M2

# a tank passes no narrower way
NARROWEST_M = 0.7
CARE, STOP = "care", "stop"
Value = float | str | bool | None


@dataclass(frozen=True)
class Concern:
    """One thing to mind, by code, how grave (care: mind it, stop: an expert first), its figure."""

    code: str
    level: str
    figure: float | None = None


@dataclass(frozen=True)
class _Ladder:
    """Limits of one figure: from which it wants care and from which it stops; ``down``: below."""

    field: str
    care: float | None
    stop: float | None
    down: bool = False

    def level(self, value: float) -> str:
        """Return how grave a value is; empty where it is well."""
        for level, limit in ((STOP, self.stop), (CARE, self.care)):
            if limit is not None and (value < limit if self.down else value > limit):
                return level
        return ""


LADDERS = (
    _Ladder("sun_hours", 4, 3, down=True),
    _Ladder("total_chlorine_mg_l", 0.05, None),
    _Ladder("alkalinity_mg_l_caco3", 120, 250),
    _Ladder("hardness_mg_l_caco3", 200, None),
    # sodium 50, chloride 140 mg/L in water for plants: Oklahoma State University's guide, read
    _Ladder("sodium_mg_l", 50, 100),
    _Ladder("chloride_mg_l", 140, None),
    _Ladder("copper_mg_l", 0.02, 0.05),
    _Ladder("zinc_mg_l", 0.1, None),
    _Ladder("iron_mg_l", 1, None),
    _Ladder("slope_mm_m", 5, 15),
    _Ladder("socket_m", 5, None),
    _Ladder("outage_h_month", 1, 5),
    _Ladder("longest_outage_h", None, 4),
    _Ladder("narrowest_m", 0.9, NARROWEST_M, down=True),
    _Ladder("frost_days", 0, None),
)
# field, answer -> how grave
ANSWERS: Mapping[tuple[str, Value], str] = {
    ("wind", "open"): CARE, ("wind", "storms"): STOP, ("source", "surface"): CARE,
    ("chloramine", True): STOP, ("ground", "soil"): CARE, ("ground", "roof"): STOP,
    ("earthed", "no"): STOP, ("earthed", "unknown"): CARE, ("rcd", "none"): STOP,
    ("rcd", "fails"): STOP, ("rcd", "untested"): CARE, ("stairs", "yes"): CARE,
    ("drain", "shared"): CARE, ("drain", "storm"): STOP, ("drain", "nowhere"): STOP,
    ("allowed", "not_asked"): CARE, ("allowed", "permit"): CARE, ("allowed", "refused"): STOP,
    ("consent", "asked"): CARE, ("consent", "refused"): STOP,
}  # fmt: skip
# without these no size is final
NEEDED = (
    "length_m", "width_m", "ground", "sun_hours", "winter_c", "summer_c", "source",
    "alkalinity_mg_l_caco3", "earthed", "rcd", "outage_h_month", "narrowest_m", "drain", "allowed",
    "consent",
)  # fmt: skip
HELD = frozenset({"deck", "floor", "roof"})


def concerns(seen: Mapping[str, Value]) -> tuple[Concern, ...]:
    """Return what wants care, the gravest first; fields that are None or empty say nothing.

    ``seen``: field -> value, in the units of the survey (m, mm/m, hours, mg/L, kg/m2, days).
    References: practice, fao589 (a residual-current device always), geometry (loads).

    >>> [(c.code, c.level) for c in concerns({"rcd": "none", "sun_hours": 3.5})]
    [('rcd_none', 'stop'), ('sun_hours', 'care')]
    """
    found = [c for look in _LOOKS for c in look(seen)]
    return tuple(sorted(found, key=lambda c: c.level != STOP))


def _figures(seen: Mapping[str, Value]) -> Iterator[Concern]:
    for ladder in LADDERS:
        value = seen.get(ladder.field)
        if isinstance(value, int | float) and not isinstance(value, bool):
            level = ladder.level(float(value))
            if level:
                yield Concern(ladder.field, level, float(value))


def _answers(seen: Mapping[str, Value]) -> Iterator[Concern]:
    for (field, answer), level in ANSWERS.items():
        if seen.get(field) == answer:
            yield Concern(field if answer is True else f"{field}_{answer}", level)


def _well(seen: Mapping[str, Value]) -> Iterator[Concern]:
    """A well that no laboratory has seen."""
    untested = seen.get("sodium_mg_l") is None or seen.get("chloride_mg_l") is None
    if seen.get("source") == "well" and untested:
        yield Concern("well_untested", STOP)


def _source_ph(seen: Mapping[str, Value]) -> Iterator[Concern]:
    value = seen.get("ph")
    if isinstance(value, int | float) and not 6.5 <= value <= 8:
        yield Concern("ph", CARE, float(value))


def _floor(seen: Mapping[str, Value]) -> Iterator[Concern]:
    """What is not ground has to be known to carry a full tank."""
    carries = seen.get("floor_kg_m2")
    if isinstance(carries, int | float):
        if carries < FLOOR_KG_M2["tank"]:
            yield Concern("floor_weak", STOP, float(carries))
    elif seen.get("ground") in HELD:
        yield Concern("floor_unknown", STOP)


_LOOKS: tuple[Callable[[Mapping[str, Value]], Iterator[Concern]], ...] = (
    _figures, _answers, _well, _source_ph, _floor,
)  # fmt: skip


def missing(seen: Mapping[str, Value]) -> tuple[str, ...]:
    """Return the fields that a design needs and nobody has looked at yet."""
    return tuple(name for name in NEEDED if seen.get(name) in (None, ""))
