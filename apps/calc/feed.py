"""Feed: how much fish take, and what it turns into."""

from apps.calc.quantities import require
from apps.calc.species import Species, interpolate, species_named

TAN_PER_PROTEIN = 0.092  # 0.16 nitrogen x 0.80 assimilated x 0.80 excreted x 0.90
OXYGEN_PER_FEED = 0.65  # fish, filter and solids together; 0.6 to 0.7
FISH_OXYGEN_PER_FEED = 0.45  # the fish alone; 0.25 to 0.5
CO2_PER_OXYGEN = 1.375  # by mass, as many molecules breathed out as in: 44.01 / 32.00
ALKALINITY_PER_N = 7.14  # g CaCO3 per g nitrogen nitrified
ALKALINITY_PER_NITRATE_N = 3.57  # g CaCO3 given back per g nitrate nitrogen taken up by plants
# g feed per square metre and day that a bed of the group can use, at 32 % protein
FEED_PER_AREA: dict[str, tuple[float, float]] = {"leafy": (40.0, 50.0), "fruiting": (50.0, 80.0)}


def tan_g_day(feed_g_day: float, protein_fraction: float) -> float:
    """Return the total ammonia nitrogen [g/day] that fed fish make.

    Valid range: feed 0 to 999 999 g/day, protein 0.05 to 0.7; ValueError outside.
    References: timmons.

    >>> tan_g_day(100, 0.32)
    2.944
    """
    require("feed_g_day", feed_g_day)
    require("protein_fraction", protein_fraction)
    return feed_g_day * protein_fraction * TAN_PER_PROTEIN


def oxygen_g_day(feed_g_day: float) -> float:
    """Return the oxygen [g/day] that fish, filter and solids take for that feed.

    0.65 g per g of feed, the middle of 0.6 to 0.7. Valid range: 0 to 999 999 g/day.
    References: timmons, practice.

    >>> oxygen_g_day(180)
    117.0
    """
    return require("feed_g_day", feed_g_day) * OXYGEN_PER_FEED


def fish_oxygen_g_day(feed_g_day: float) -> float:
    """Return the oxygen [g/day] that the fish alone breathe for that feed.

    Valid range: 0 to 999 999 g/day. References: timmons.

    >>> fish_oxygen_g_day(315)
    141.8
    """
    return require("feed_g_day", feed_g_day) * FISH_OXYGEN_PER_FEED


def fish_co2_g_day(feed_g_day: float) -> float:
    """Return the carbon dioxide [g/day] that the fish breathe out for that feed.

    Valid range: 0 to 999 999 g/day. References: timmons, chemistry.

    >>> fish_co2_g_day(315)
    194.9
    """
    return fish_oxygen_g_day(feed_g_day) * CO2_PER_OXYGEN


def alkalinity_use_g_day(
    feed_g_day: float, protein_fraction: float, no3_n_g_day: float = 0.0
) -> float:
    """Return the alkalinity [g CaCO3/day] that nitrification takes, less what plants give back.

    ``no3_n_g_day``: nitrate nitrogen that the plants take up. Never below zero.
    Valid range: as :func:`tan_g_day`; ValueError outside. References: ebeling2006, chemistry.

    >>> alkalinity_use_g_day(180, 0.32)
    37.8
    """
    made = ALKALINITY_PER_N * tan_g_day(feed_g_day, protein_fraction)
    given_back = ALKALINITY_PER_NITRATE_N * require("no3_n_g_day", no3_n_g_day)
    return max(0.0, made - given_back)


def ration_percent(species: str, weight_g: float, temp_c: float) -> float:
    """Return the day's ration [% of body weight] of a fish of that weight at that temperature.

    The gentler of the known tables, by weight, times a factor of temperature that is 0 outside
    the species' feeding temperatures. The feed maker's table goes before it.
    Valid range: weight 0.01 to 30 000 g, -2 to 45 °C, species of the table; ValueError outside.
    References: srac282, fao589, practice.

    >>> ration_percent("nile_tilapia", 250, 28)
    1.8
    >>> ration_percent("nile_tilapia", 250, 16)
    0.0
    """
    kind = species_named(species)
    require("weight_g", weight_g)
    return interpolate(kind.ration, weight_g, logarithmic=True) * temperature_factor(kind, temp_c)


def temperature_factor(species: Species, temp_c: float) -> float:
    """Return the share (0 to 1) of the ration that a fish takes at ``temp_c``.

    Valid range: -2 to 45 °C; ValueError outside. References: those of the species.
    """
    require("temp_c", temp_c)
    if not species.feed_min_c <= temp_c <= species.feed_max_c:
        return 0.0
    return interpolate(species.feeding, temp_c)


def per_area_g_m2_day(feed_g_day: float, area_m2: float) -> float:
    """Return the feed per bed area [g/m2/day].

    ValueError when the area is not above zero. References: fao589.

    >>> per_area_g_m2_day(180, 4)
    45.0
    """
    require("feed_g_day", feed_g_day)
    if require("area_m2", area_m2) <= 0:
        message = "area_m2 must be above 0"
        raise ValueError(message)
    return feed_g_day / area_m2


def area_verdict(g_m2_day: float, crop_group: str) -> str:
    """Return ``low``, ``in range`` or ``high`` for a feed per area and crop group.

    ``crop_group``: leafy (40 to 50 g/m2/day) or fruiting (50 to 80); ValueError for another.
    References: fao589.

    >>> area_verdict(45, "leafy")
    'in range'
    """
    if crop_group not in FEED_PER_AREA:
        message = f"crop_group must be one of {', '.join(FEED_PER_AREA)}, not {crop_group}"
        raise ValueError(message)
    require("g_m2_day", g_m2_day)
    low, high = FEED_PER_AREA[crop_group]
    if g_m2_day < low:
        return "low"
    return "high" if g_m2_day > high else "in range"
