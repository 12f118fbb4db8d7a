"""Fish while their household is away: how long they do without feed, what somebody else gives.

Common practice in small systems; a firm knows its own fish better. ``_`` only marks a sentence for
the translators.
"""

from dataclasses import dataclass

from apps.calc.quantities import require

_ = str

GROWN_G = 50.0
"""From this weight on fish count as grown (common practice)."""
GROWN_DAYS, FRY_DAYS = 7, 1
"""Days that healthy fish do without feed, grown and younger (common practice)."""
CARER_SHARE = 0.5
"""What somebody else feeds, as a share of the ration, and what the first day back begins with."""


def days_without_feed(weight_g: float) -> int:
    """Return for how many days healthy fish of this mean weight need no feed.

    Parameters: mean weight of the smallest fish [g]. Valid range: that of the quantity; ValueError
    outside. References: practice.

    >>> days_without_feed(180), days_without_feed(20)
    (7, 1)
    """
    require("weight_g", weight_g)
    return GROWN_DAYS if weight_g > GROWN_G else FRY_DAYS


@dataclass(frozen=True)
class CarerCard:
    """What somebody who knows nothing of fish does and leaves."""

    look: tuple[str, ...]
    leave: tuple[str, ...]
    backup: str
    handing_over: tuple[str, ...]
    after: tuple[str, ...]
    sources: tuple[str, ...] = ("practice",)


CARD = CarerCard(
    look=(
        _("Do the fish swim as usual? Do bubbles rise, does water run?"),
        _("Is the water as high as its mark? Lower: call, fill nothing up."),
        _("A dead fish: out with a net and gloves, hands washed. Several: call."),
    ),
    leave=(
        _("Give no more feed than written here, whatever they beg."),
        _("Put nothing into the water: no tap water, salt, soap or medicine."),
        _("Spray nothing on the plants."),
        _("Clean no filter, pump or pipe; move no valve; switch nothing off."),
        _("Hands stay out of the water while anything in it has mains power."),
        _("Wet plugs, or a tingle: touch nothing, keep away, call."),
    ),
    backup=_("Run the backup air for 15 minutes; see that it starts by itself, or show how."),
    handing_over=(
        _("Lock the rest of the feed away."),
        _("Feed once together, and look at air, flow and level together."),
        _("Leave this paper at the tank, and a key or the gate code with them."),
    ),
    after=(
        _("Give half the usual feed on the first day, then as usual."),
        _("Test the water, and write it down on your page."),
    ),
)  # fmt: skip
