"""Weather that clients prepare for: what to do before and after it, and who is at risk.

The lists are common practice in small systems, without a dose in them. ``_`` only marks a sentence
for the translators.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from apps.calc.species import Species

_ = str

HEAT, FROST, STORM = "heat", "frost", "storm"
MARGIN_C = 4.0
"""How far a heat wave or a frost may move the water of a small tank (common practice)."""


@dataclass(frozen=True)
class Checklist:
    """What to do before a weather, and after it; ``sources`` of :mod:`apps.calc.sources`."""

    before: tuple[str, ...]
    after: tuple[str, ...] = ()
    sources: tuple[str, ...] = ("practice",)


CHECKLISTS: dict[str, Checklist] = {
    HEAT: Checklist(
        (
            _("Shade tank and beds, a third to a half of the light."),
            _("Let a second air line run, at night too: warm water holds less oxygen, least of all at dawn."),
            _("Feed at dawn only, half of it, and nothing above the highest temperature of your fish."),
            _("Top up with cool water free of chlorine, at dawn, a little at a time."),
            _("Wrap pipes and sump in something white."),
            _("Harvest leaves early in the morning; sow indoors, below 26 °C."),
            _("Do not count on ice: a kilogram cools 1,000 litres by about a tenth of a degree."),
        ),
        (_("Look at the fish at dawn on the days after, before you feed."),),
        ("practice", "benson1984"),
    ),
    FROST: Checklist(
        (
            _("Cover the tank and wrap what you can."),
            _("Keep the water moving, so that no pipe freezes."),
            _("Feed less as it gets colder, and nothing below the lowest temperature of your fish."),
            _("Do not handle the fish, and do not clean the filter."),
            _("A heater only behind a residual current device, and nobody reaches into the water while it is plugged in."),
            _("Put fleece over the crops."),
        ),
        (_("Look for leaks at joints and valves once it thaws."),),
    ),
    STORM: Checklist(
        (
            _("Charge the batteries and try the backup air for a quarter of an hour."),
            _("Tie down lids, nets, rafts and trellises; lower tall crops, harvest what is ripe."),
            _("Give no feed on the day before."),
            _("Make room for rain: lower the sump a little, or see that its overflow is screened and free."),
            _("Unplug what fish do not need and raise plugs off the ground, with dry hands and before it starts."),
            _("Put treated water aside, a tenth of what the tank holds."),
            _("Photograph everything."),
        ),
        (
            _("Touch nothing until it is dry and the residual current device holds; if it trips again, leave it to an electrician."),
            _("If the power goes: air first, note the time, no feed, open the lid; without any air splash with a bucket, five minutes in every ten."),
            _("Clear away what has fallen in; start air, then the pump, slowly. Feed again the next day, half of it."),
            _("Tell us if much rain ran in: the water has to be tested."),
        ),
    ),
}  # fmt: skip

CAUTIONS: tuple[str, ...] = (
    _("People first: nobody goes out in lightning, in a storm or onto ice for fish."),
    _("What your authorities say goes before this list."),
)  # fmt: skip


def at_risk(
    kind: str, species: Sequence[Species], temp_c: float | None, *, backup_air: bool
) -> bool:
    """Whether fish are in danger from a weather: in heat or frost by temperature, in a storm by power.

    ``temp_c`` is the last water temperature [°C], None where it was not read lately; then heat and
    frost count as a risk. Common practice. KeyError for another ``kind``.
    """
    if kind not in CHECKLISTS:
        raise KeyError(kind)
    if not species:
        return False
    if kind == STORM:
        return not backup_air
    if kind == HEAT:
        return temp_c is None or any(temp_c + MARGIN_C >= one.feed_max_c for one in species)
    tender = [one for one in species if not one.winter_hardy]
    return bool(tender) and (
        temp_c is None or any(temp_c - MARGIN_C <= one.feed_min_c for one in tender)
    )
