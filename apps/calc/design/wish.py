"""What the client wants and what the site allows."""

from dataclasses import dataclass

from apps.calc.quantities import require, require_between
from apps.calc.species import species_named

BED_KINDS = ("gravel_bed", "raft", "channel")
BY_BEDS, BY_FISH, BY_ROOM = "beds", "fish", "room"
MOST_ROOM_M2, MOST_FISH_KG = 500.0, 5000.0


@dataclass(frozen=True)
class Wish:
    """Beds [m2], fish [kg a year] or room [m2], by what ``by`` says; what grows in and beside it.

    ``heads_per_m2`` and ``growing_days`` are those of the crop, each from and to.
    """

    by: str
    amount: float
    species: str
    crop_group: str
    bed_kind: str
    heads_per_m2: tuple[float, float] = (20.0, 25.0)
    growing_days: tuple[float, float] = (28.0, 42.0)

    def __post_init__(self) -> None:
        """Refuse what cannot be built, naming field and value."""
        for name, value, allowed in (
            ("by", self.by, (BY_BEDS, BY_FISH, BY_ROOM)),
            ("crop_group", self.crop_group, ("leafy", "fruiting")),
            ("bed_kind", self.bed_kind, BED_KINDS),
        ):
            if value not in allowed:
                message = f"{name} must be one of {', '.join(allowed)}, not {value}"
                raise ValueError(message)
        species_named(self.species)
        require_between("amount", self.amount, 0.5, _most(self.by))


def _most(by: str) -> float:
    return MOST_FISH_KG if by == BY_FISH else MOST_ROOM_M2


@dataclass(frozen=True)
class Site:
    """The site survey's figures: water [°C], lift and pipe [m], floor [kg/m2], source water.

    ``winter_c`` and ``summer_c``: of the water without heater or shade. ``floor_kg_m2`` None: on
    the ground. ``source_alkalinity`` [mg/L CaCO3] and ``source_chlorine`` (total, mg/L) None: not
    measured yet. ``supply_w``: volts times the fuse's amperes; None: nobody has looked.
    """

    winter_c: float
    summer_c: float
    lift_m: float = 1.5
    pipe_m: float = 6.0
    altitude_m: float = 0.0
    floor_kg_m2: float | None = None
    source_alkalinity: float | None = None
    source_chlorine: float | None = None
    supply_w: float | None = None

    def __post_init__(self) -> None:
        """Refuse figures out of range, and a summer colder than the winter."""
        require("temp_c", self.winter_c, name="winter_c")
        require("temp_c", self.summer_c, name="summer_c")
        require_between("lift_m", self.lift_m, 0.1, 10)
        require_between("pipe_m", self.pipe_m, 1, 200)
        require("altitude_m", self.altitude_m)
        if self.supply_w is not None:
            require_between("supply_w", self.supply_w, 1, 1_000_000)
        if self.summer_c < self.winter_c:
            message = (
                f"summer_c must not be below winter_c ({self.winter_c:g}), not {self.summer_c:g}"
            )
            raise ValueError(message)
